"""Figures other people published, asserted through the functions `assess` uses or through `assess` itself.

One file per source. The table or clause is named beside the check; the tolerance is half of the last
printed digit unless said otherwise. "From memory" and "common practice, no source" are said where they hold.
"""
