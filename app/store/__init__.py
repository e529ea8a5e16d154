"""What is kept: households in parts, the log of every change, and the links that let people in."""
