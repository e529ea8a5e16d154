"""What pages send: text to values."""
