"""What a plan needs at least of its supply: the smallest figures that carry it."""
