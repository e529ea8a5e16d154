"""The inverter's levels over time as SVG, on a logarithmic axis: above the line it switches off."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from app.charts.labels import HOUR, Face, Labels, Spot, around
from app.charts.overload import TOLD_NAMES, Level, Moment, OverloadChart, moment_said, told
from app.charts.picture import FACES, FIGURE, NAME, levels_beside, picture_svg, round_levels, strip_svg, tick_svg
from app.charts.shapes import WIDE, grid_svg, inner, percent

PLOT_PX, AXIS_PX = 176, 22
SHORTEST_S, LONGEST_S = 0.1, 4 * 3600
HOURS_SHARE = 0.2  # of the width, at least, for what is carried for hours
HEADROOM = 1.12
DOT_PX = 4


@dataclass(frozen=True, slots=True)
class OverloadWords:
    """What is written in the drawing.

    quantity: a value with its unit, of W or VA. duration: a length of time in seconds. off_here: above the line.
    hours: at the end of the axis. warm: on the line at the plan's warmest.
    """

    quantity: Callable[[float, str], str]
    duration: Callable[[float], str]
    off_here: str = "switches off here"
    hours: str = "hours"
    warm: str = "when it is warmest"


class Scale:
    """From seconds and volt-amperes to shares of the drawing."""

    def __init__(self, chart: OverloadChart) -> None:
        lasts_s = [one.lasts_s for one in chart.moments]
        times_s = [level.until_s for level in chart.levels if level.until_s is not None]
        self._first_s = min(SHORTEST_S, *(one / 2 for one in (*times_s, *lasts_s) if one > 0))
        self._last_s = max(LONGEST_S, max(times_s) * 4)
        # What lasts for hours keeps its room, however long the longest level is.
        self._hours = min(math.log(max(times_s) / self._first_s) / self._span, 1 - HOURS_SHARE)
        self._bend = math.log(max(times_s) / self._first_s) / self._span
        highest = max(chart.levels[0].value, *(one.value for one in chart.moments), 1.0)
        self.drawn, self.top = highest, highest * HEADROOM

    @property
    def _span(self) -> float:
        return math.log(self._last_s / self._first_s)

    def x(self, seconds: float | None) -> float:
        """Share of the width; None for the end of it."""
        if seconds is None:
            return 1.0
        share = math.log(max(seconds, self._first_s) / self._first_s) / self._span
        if share <= self._bend:
            return share * self._hours / self._bend
        return min(self._hours + (share - self._bend) * (1 - self._hours) / (1 - self._bend), 0.97)

    def y(self, value: float) -> float:
        """Share of the height, from the top."""
        return 1 - value / self.top


def overload_svg(chart: OverloadChart, words: OverloadWords) -> str:
    """One drawing: the levels, what is above them, and the hardest moments."""
    scale, high_px = Scale(chart), PLOT_PX + AXIS_PX
    plot = strip_svg(0, PLOT_PX, high_px, _plot(chart, scale, words))
    axis = strip_svg(PLOT_PX, AXIS_PX, high_px, _axis(chart, scale, words))
    return picture_svg("overload", told(chart, words.quantity, words.duration), high_px, plot, axis)


def _plot(chart: OverloadChart, scale: Scale, words: OverloadWords) -> str:
    grid = grid_svg([scale.y(level) for level in (0, *round_levels(scale.drawn, 5))])
    line = _path(chart.levels, scale)
    shapes = [f'<path class="forbidden" d="{line}V0H0z"/>']
    if chart.warmest != chart.levels:
        shapes.append(f'<path class="warmest" d="{_path(chart.warmest, scale)}"/>')
    shapes.append(f'<path class="carried" d="{line}"/>')
    dots = "".join(
        f'<circle class="hard {one.kind} s-{one.verdict}" cx="{percent(scale.x(one.lasts_s))}"'
        f' cy="{percent(scale.y(one.value))}" r="{DOT_PX}"/>'
        for one in chart.moments
    )
    return "".join((grid, inner(PLOT_PX, *shapes), dots, *_texts(chart, scale, words)))


def _path(levels: tuple[Level, ...], scale: Scale) -> str:
    """Steps from the left to the right."""
    path = f"M0,{scale.y(levels[0].value) * PLOT_PX:.1f}"
    for level, lower in pairwise(levels):
        path += f"H{scale.x(level.until_s) * WIDE:.0f}V{scale.y(lower.value) * PLOT_PX:.1f}"
    return f"{path}H{WIDE}"


def _texts(chart: OverloadChart, scale: Scale, words: OverloadWords) -> list[str]:
    texts = []
    for face in FACES:
        texts.append(levels_beside(face, PLOT_PX, "kVA", [(one, scale.y(one)) for one in round_levels(scale.drawn, 5)]))
        # Rather shorter texts at all moments than long ones at some.
        tried = [_labels(chart, face, scale, words, most) for most in range(TOLD_NAMES, -1, -1)]
        texts.append(max(tried, key=lambda one: one[1])[0].svg())
    return texts


def _labels(chart: OverloadChart, face: Face, scale: Scale, words: OverloadWords, most: int) -> tuple[Labels, int]:
    """The texts in the drawing, and how many moments have one. most: of the names that are told."""
    labels = Labels(face, PLOT_PX, spare_px=4)
    lines = dict.fromkeys((chart.levels, chart.warmest))
    for levels in lines:
        _keep_off(labels, levels, scale)
    for one in chart.moments:
        x, y_px = scale.x(one.lasts_s), scale.y(one.value) * PLOT_PX
        labels.block(x, x, y_px - DOT_PX, y_px + DOT_PX, spare_px=DOT_PX)
    _place_off_here(labels, chart, scale, words)
    largest = sorted(chart.moments, key=lambda one: -one.value)
    named = sum(_place_moment(labels, one, scale, words, most) for one in largest)
    if len(lines) > 1:
        labels.place(words.warm, FIGURE, _under(chart.warmest, scale))
    return labels, named


def _under(levels: tuple[Level, ...], scale: Scale) -> Iterator[Spot]:
    """Places just under a line, at either end of each of its levels."""
    left = 0.0
    for level in levels:
        right, y_px = scale.x(level.until_s), scale.y(level.value) * PLOT_PX + 14
        yield Spot(left, 4, y_px, "start")
        yield Spot(right, -4, y_px, "end")
        left = right


def _keep_off(labels: Labels, levels: tuple[Level, ...], scale: Scale) -> None:
    """Texts stay off the line."""
    left = 0.0
    for level, lower in pairwise((*levels, levels[-1])):
        right, y_px = scale.x(level.until_s), scale.y(level.value) * PLOT_PX
        labels.block(left, right, y_px - 2, y_px + 2)
        labels.block(right, right, y_px, scale.y(lower.value) * PLOT_PX, spare_px=2)
        left = right


def _place_off_here(labels: Labels, chart: OverloadChart, scale: Scale, words: OverloadWords) -> None:
    """Above the line, where there is most room: over the lower levels, towards the right."""
    bottom_px = scale.y(chart.levels[-1].value) * PLOT_PX
    for x, anchor in ((0.98, "end"), (0.75, "middle"), (0.6, "middle")):
        spots = [Spot(x, 0, y_px, anchor) for y_px in (14, bottom_px * 0.4, bottom_px * 0.6)]
        if labels.place(words.off_here, NAME, spots):
            return


def _place_moment(labels: Labels, moment: Moment, scale: Scale, words: OverloadWords, most: int) -> bool:
    """Beside its dot, else over or under it: with so many names, with fewer, or its figure alone."""
    x, y_px = scale.x(moment.lasts_s), scale.y(moment.value) * PLOT_PX
    over, *beside = around(x, y_px, 8)
    ends = [Spot(x, 0, y_px + down_px, anchor) for down_px in (-8, 16) for anchor in ("middle", "start", "end")]
    said = (moment_said(moment, words.quantity, fewer) for fewer in range(most, -1, -1))
    return any(labels.place(text, FIGURE, [*beside, over, *ends]) for text in said)


def _axis(chart: OverloadChart, scale: Scale, words: OverloadWords) -> str:
    times_s = [level.until_s for level in chart.levels if level.until_s is not None]
    more_s = [one for one in (1.0, 60.0, 10.0, 600.0) if one not in times_s and one < max(times_s)]
    ticks = "".join(tick_svg(scale.x(one)) for one in (*times_s, *more_s))
    texts = []
    for face in FACES:
        labels = Labels(face, AXIS_PX, spare_px=4)
        labels.place(words.hours, HOUR, [Spot(1, 0, 16, "end")])
        for one in (*sorted(times_s, reverse=True), *more_s):
            labels.place(words.duration(one), HOUR, [Spot(scale.x(one), 0, 16, "middle")])
        texts.append(labels.svg())
    return "".join((ticks, *texts))
