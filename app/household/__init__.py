"""What people have and do: frozen models of the household file, version 1. Plain Python, no numpy."""
