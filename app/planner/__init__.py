"""Searching over plans. Whatever it offers, `assess` has confirmed."""
