"""Loadstead: what can run together off the grid, when, and what will still fit."""

import os

# Sums here are small: threads of the linear algebra would only wait for one another. Before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
