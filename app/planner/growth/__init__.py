"""Room to grow: the largest that a day still carries hour by hour, and which machines fit on it."""
