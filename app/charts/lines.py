"""Limit lines: how they are drawn, and where their words go."""

from collections.abc import Iterator

import numpy as np

from app.charts.labels import Labels, Spot
from app.charts.shapes import WIDE
from app.engine.results import Floats

POINTS = np.linspace(0, 1, 73)  # a limit bends only with the temperature: over a day, a point every half hour
_BLOCKS, _CLEAR_PX = 8, 1.5  # areas that keep texts off a limit line, and how far off


def points_of(edges_ms: Floats, line: Floats) -> Floats:
    """The level of a line, given at the edges, at `POINTS` of the way from the first to the last of them."""
    return np.asarray(np.interp(edges_ms[0] + POINTS * (edges_ms[-1] - edges_ms[0]), edges_ms, line))


def limit_path(y: Floats, high: int, kind: str = "limit") -> str:
    """A limit line for a stretched drawing. y: shape of `POINTS`, shares of the height from the top."""
    levels = np.rint(y * high).astype(np.int64).tolist()
    last = len(levels) - 1
    corners = "L".join(
        f"{round(point * WIDE / last)},{level}"
        for point, level in enumerate(levels)
        if point in (0, last) or not levels[point - 1] == level == levels[point + 1]
    )
    return f'<path class="{kind}" d="M{corners}"/>'


def block_line(labels: Labels, y_px: Floats) -> None:
    """Keep texts off a limit line. y_px: shape of `POINTS`, from the top."""
    highest_px, lowest_px = float(y_px.min()), float(y_px.max())
    if lowest_px - highest_px < 2:
        labels.block(0, 1, highest_px - _CLEAR_PX, lowest_px + _CLEAR_PX)
        return
    size = (len(POINTS) - 1) // _BLOCKS
    tops_px = np.minimum(np.minimum.reduce(y_px[:-1].reshape(_BLOCKS, size), axis=1), y_px[size::size]) - _CLEAR_PX
    bottoms_px = np.maximum(np.maximum.reduce(y_px[:-1].reshape(_BLOCKS, size), axis=1), y_px[size::size]) + _CLEAR_PX
    for number, (top_px, bottom_px) in enumerate(zip(tops_px.tolist(), bottoms_px.tolist(), strict=True)):
        labels.block(number / _BLOCKS, (number + 1) / _BLOCKS, top_px, bottom_px)


def on_line(labels: Labels, y_px: Floats, wide_px: float, first: float, *, at_right: bool) -> Iterator[Spot]:
    """Places for words just over a limit line, then just under it, the better end first.

    first: share of the width at which words at the left begin.
    """
    wide = wide_px / min(labels.face.widths_px)
    last, y = len(POINTS) - 1, y_px.tolist()
    ends = [(1 - wide, "end", 1.0), (first, "start", first)]
    middles = [(x - wide / 2, "middle", x) for x in (0.5, 0.35, 0.65)]
    for over in (True, False):
        for left, anchor, x in [*(ends if at_right else ends[::-1]), *middles]:
            part = y[max(int((left - 0.02) * last), 0) : int((left + wide + 0.02) * last) + 2]
            yield Spot(x, 0, min(part) - 5 if over else max(part) + 14, anchor)
