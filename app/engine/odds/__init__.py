"""How often the worst case comes, if what comes and goes does so independently."""
