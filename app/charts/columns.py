"""Thinning to columns: as many as a wide screen shows, each keeping the highest draw that falls in it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.charts.day import DayChart
from app.engine.results import Floats

Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """The chart's stretches on a grid of columns, neighbours of the same stretch joined.

    stretch: shape (m,), which stretch of the chart each block of columns shows.
    begin, end: shape (m,), the block's first column and the one after its last.
    """

    stretch: Whole
    begin: Whole
    end: Whole


def columns(chart: DayChart, count: int) -> Columns:
    """Put the chart on `count` columns.

    A change inside a column widens the higher of its sides to the column's edge, so that a start of a few
    seconds stays visible and nothing is drawn lower than it is.
    """
    edges = chart.edges_ms * (count / chart.horizon_ms)
    begins = np.floor(edges[:-1] + 1e-9).astype(np.int64)
    ends = np.minimum(np.maximum(np.ceil(edges[1:] - 1e-9).astype(np.int64), begins + 1), count)
    order = np.argsort(chart.worst_w, kind="stable")
    lengths = (ends - begins)[order]
    first = np.cumsum(lengths) - lengths
    covered = np.arange(int(lengths.sum())) + np.repeat(begins[order] - first, lengths)
    shown = np.zeros(count, dtype=np.int64)
    # The last of several writes to a column stays, and that is the highest: the order rises.
    shown[covered] = np.repeat(order, lengths)
    cuts = np.flatnonzero(np.diff(shown)) + 1
    begin_at = np.concatenate([[0], cuts])
    return Columns(shown[begin_at], begin_at, np.concatenate([cuts, [count]]))


def area_path(low: Whole, high: Whole, begin: Whole, end: Whole) -> str:
    """The outline of what lies between two stepped edges, as path data; empty where they meet everywhere.

    low, high: heights in drawing units, downwards, shape (m,); begin, end: columns, shape (m,).
    """
    parts: list[str] = []
    back: list[str] = []  # the way back along the lower edge, gathered forwards
    last_end = y_low = y_high = 0
    firsts, lasts = _joined((np.diff(low) != 0) | (np.diff(high) != 0))
    blocks = zip(low[firsts].tolist(), high[firsts].tolist(), begin[firsts].tolist(), end[lasts].tolist(), strict=True)
    for bottom, top, left, right in blocks:
        if top == bottom:
            continue
        if back and left == last_end:
            parts.append(f"{_v(top - y_high)}h{right - left}")
            back.append(_v(y_low - bottom))
        else:
            _close(parts, back, y_low - y_high)
            parts.append(f"M{left},{bottom}v{top - bottom}h{right - left}")
        back.append(f"h{left - right}")
        last_end, y_low, y_high = right, bottom, top
    _close(parts, back, y_low - y_high)
    return "".join(parts)


def line_path(height: Whole, begin: Whole, end: Whole) -> str:
    """A stepped line over all columns, as path data."""
    firsts, lasts = _joined(np.diff(height) != 0)
    parts: list[str] = []
    y = int(height[0])
    for level, left, right in zip(height[firsts].tolist(), begin[firsts].tolist(), end[lasts].tolist(), strict=True):
        parts.append(f"{_v(level - y)}h{right - left}" if parts else f"M{left},{level}h{right - left}")
        y = level
    return "".join(parts)


def heights(values: Floats, top: float, units: int) -> Whole:
    """Values as heights measured downwards from the drawing's upper edge, in whole drawing units."""
    return np.rint((1 - np.clip(values / top, 0, 1)) * units).astype(np.int64)


def _joined(changes: NDArray[np.bool_]) -> tuple[Whole, Whole]:
    """First and last block of each run of equal blocks, from where neighbours differ."""
    firsts = np.concatenate([[0], np.flatnonzero(changes) + 1])
    return firsts, np.concatenate([firsts[1:], [len(changes) + 1]]) - 1


def _v(step: int) -> str:
    return f"v{step}" if step else ""


def _close(parts: list[str], back: list[str], down: int) -> None:
    """End an outline: down its right side and back along its lower edge; `z` draws the first block's own."""
    if back:
        parts.append(f"v{down}{''.join(reversed(back[1:]))}z")
        back.clear()
