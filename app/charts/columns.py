"""Thinning to columns: as many as a wide screen shows, each keeping the highest draw that falls in it."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from app.engine.results import Floats

Whole = NDArray[np.int64]

# Path data repeats a few thousand short moves; looking one up takes a fraction of the time of writing it.
MOST = 1600  # the longest move in drawing units, either way
_DOWN = ["", *(f"v{step}" for step in range(1, MOST + 1)), *(f"v{step}" for step in range(-MOST, 0))]
_RIGHT = [f"h{step}" for step in range(MOST + 1)]
_LEFT = [f"h-{step}" for step in range(MOST + 1)]


class Stretches(Protocol):
    """What can be put on columns: stretches of constant draw. edges_ms: shape (n + 1,). worst_w: shape (n,)."""

    @property
    def edges_ms(self) -> Floats:
        """Their edges."""

    @property
    def worst_w(self) -> Floats:
        """The draw in each, by which the higher one wins a column."""


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """The chart's stretches on a grid of columns, neighbours of the same stretch joined.

    stretch: shape (m,), which stretch of the chart each block of columns shows.
    begin, end: shape (m,), the block's first column and the one after its last.
    """

    stretch: Whole
    begin: Whole
    end: Whole


def columns(chart: Stretches, count: int) -> Columns:
    """Put the chart on `count` columns.

    A change inside a column widens the higher of its sides to the column's edge, so that a start of a few
    seconds stays visible and nothing is drawn lower than it is.
    """
    first_ms, last_ms = chart.edges_ms[0], chart.edges_ms[-1]
    edges = (chart.edges_ms - first_ms) * (count / (last_ms - first_ms))
    begins = np.floor(edges[:-1] + 1e-9).astype(np.int64)
    ends = np.minimum(np.maximum(np.ceil(edges[1:] - 1e-9).astype(np.int64), begins + 1), count)
    order = np.argsort(chart.worst_w, kind="stable")
    lengths = (ends - begins)[order]
    first = np.cumsum(lengths) - lengths
    covered = np.arange(int(lengths.sum())) + np.repeat(begins[order] - first, lengths)
    shown = np.zeros(count, dtype=np.int64)
    # The last of several writes to a column stays, and that is the highest: the order rises.
    shown[covered] = np.repeat(order, lengths)
    cuts = np.flatnonzero(shown[1:] != shown[:-1]) + 1
    begin_at = np.concatenate([[0], cuts])
    return Columns(shown[begin_at], begin_at, np.concatenate([cuts, [count]]))


def area_path(low: Whole, high: Whole, begin: Whole, end: Whole) -> str:
    """The outline of what lies between two stepped edges, as path data; empty where they meet everywhere.

    low, high: heights in drawing units, downwards, shape (m,); begin, end: columns, shape (m,).
    """
    filled = low != high
    if not filled.any():
        return ""
    # One outline for each run of blocks with something in them.
    turns = np.flatnonzero(np.diff(filled, prepend=False, append=False))
    parts = []
    for first, last in zip(turns[::2].tolist(), turns[1::2].tolist(), strict=True):
        left, right = begin[first:last], end[first:last]
        top, bottom = high[first:last], low[first:last]
        there = steps_path(top, left, right)
        # The way back is that along the lower edge, walked from its far end; `z` draws the last bit up.
        levels, widths = _levels(bottom, left, right)
        back = "".join(
            f"{_LEFT[width]}{_DOWN[step]}"
            for width, step in zip(widths[:0:-1], (levels[:-1] - levels[1:])[::-1].tolist(), strict=True)
        )
        rise = _DOWN[int(bottom[-1] - top[-1])]
        parts.append(f"M{left[0]},{bottom[0]}{_DOWN[int(top[0] - bottom[0])]}{there}{rise}{back}z")
    return "".join(parts)


def line_path(height: Whole, begin: Whole, end: Whole) -> str:
    """A stepped line over all columns, as path data."""
    return f"M{begin[0]},{height[0]}{steps_path(height, begin, end)}"


def heights(values: Floats, top: float, units: int) -> Whole:
    """Values as heights measured downwards from the drawing's upper edge, in whole drawing units."""
    return np.rint((1 - np.clip(values / top, 0, 1)) * units).astype(np.int64)


def steps_path(height: Whole, begin: Whole, end: Whole) -> str:
    """The moves along a stepped edge, from its first level on."""
    levels, widths = _levels(height, begin, end)
    moves = [""] * (2 * len(widths))
    moves[2::2] = map(_DOWN.__getitem__, (levels[1:] - levels[:-1]).tolist())
    moves[1::2] = map(_RIGHT.__getitem__, widths)
    return "".join(moves)


def _levels(height: Whole, begin: Whole, end: Whole) -> tuple[Whole, list[int]]:
    """The levels of a stepped edge and how wide each is, equal neighbours joined."""
    cuts = np.flatnonzero(height[1:] != height[:-1])
    firsts = np.concatenate([[0], cuts + 1])
    lasts = np.concatenate([cuts, [len(height) - 1]])
    return height[firsts], (end[lasts] - begin[firsts]).tolist()
