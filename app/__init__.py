"""Loadstead: what can run together off the grid, when, and what will still fit."""
