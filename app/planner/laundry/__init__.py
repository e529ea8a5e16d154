"""Laundry day: when to run things. A local search finds plans, `assess` confirms each, a solver says what cannot be.

`search.search` is the door; `work.laundry_work` is the same as a job, JSON in and out.
"""
