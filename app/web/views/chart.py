"""The day's chart on the page: two drawings over one axis, and the same as tables."""

from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from app.charts.columns import Whole
from app.charts.day import DayChart, Start
from app.charts.svg import axis_svg, demand_svg, starts_svg
from app.engine.results import Floats, Verdict
from app.household.resolve import Resolved
from app.web import words
from app.web.figures import WEEKDAYS, clock, quantity

HOUR_MS = 3_600_000
KICKS = 40


@dataclass(frozen=True, slots=True)
class Hour:
    """One hour in the chart's table."""

    at: str  # its beginning
    certain: str  # the highest draw that is there for sure
    worst: str  # the highest draw if everything happens to be on
    limit: str  # what the inverter carries for hours, at its lowest in this hour


@dataclass(frozen=True, slots=True)
class Kick:
    """One start in the table of starts."""

    at: str  # when
    name: str  # what starts
    before: str  # what runs before it
    total: str  # what it comes to
    verdict: Verdict  # for the colour
    word: str  # the verdict in words


@dataclass(frozen=True, slots=True)
class ChartView:
    """day/_chart.html."""

    most: str  # the highest draw, and when
    largest: str  # the largest start, and when
    demand: Markup  # the stack, drawn
    starts: Markup  # the strip of starts, drawn
    axis: Markup  # the hours under both
    hours: tuple[Hour, ...]  # the stack, hour by hour
    kicks: tuple[Kick, ...]  # the largest starts, in order of time
    kicks_caption: str  # what the table of starts holds


def chart_view(resolved: Resolved, chart: DayChart) -> ChartView:
    """Draw the chart and write its tables."""
    kicks = sorted(chart.starts, key=lambda start: -start.total_va)[:KICKS]
    peak = int(np.argmax(chart.worst_w))
    most = f"peak {quantity(float(chart.worst_w[peak]), 'W')}, {clock(resolved.frame, chart.edges_ms[peak])}"
    start_limit = _span(chart.start_limit_va, "VA")
    next_day = WEEKDAYS[resolved.frame.local(chart.day_ms).weekday()]
    return ChartView(
        most=most,
        largest=_largest(resolved, kicks[0]) if kicks else "none",
        demand=Markup(demand_svg(chart, _demand_label(chart, most), "inverter, for hours", _span(chart.limit_w, "W"))),
        starts=Markup(starts_svg(chart, _starts_label(chart, start_limit), "for a start", start_limit)),
        axis=Markup(axis_svg(chart, next_day)),
        hours=_hours(resolved, chart),
        kicks=tuple(_kick(resolved, start) for start in sorted(kicks, key=lambda start: start.at_ms)),
        kicks_caption=(f"The {KICKS} largest of {len(chart.starts)} starts" if len(chart.starts) > KICKS else "Starts"),
    )


def _largest(resolved: Resolved, start: Start) -> str:
    return f"{quantity(start.total_va, 'VA')}, {start.name}, {clock(resolved.frame, start.at_ms)}"


def _demand_label(chart: DayChart, most: str) -> str:
    return (
        f"Demand from midnight to noon of the next day: {most} if everything happens to be on;"
        f" at most {quantity(float(chart.certain_w.max()), 'W')} for sure."
    )


def _span(line: Floats, unit: str) -> str:
    """A limit, or how it moves with the day's warmth."""
    least, most = (quantity(float(value), unit) for value in (line.min(), line.max()))
    return least if least == most else f"{least} to {most}"


def _starts_label(chart: DayChart, limit: str) -> str:
    if not chart.starts:
        return "Nothing starts with a kick on this day."
    largest = max(chart.starts, key=lambda start: start.total_va)
    return f"Starts. The largest: {largest.name}, {quantity(largest.total_va, 'VA')} of {limit}."


def _hours(resolved: Resolved, chart: DayChart) -> tuple[Hour, ...]:
    from_ms = np.arange(0, chart.horizon_ms, HOUR_MS)
    to_ms = np.minimum(from_ms + HOUR_MS, chart.horizon_ms)
    first = np.searchsorted(chart.edges_ms[1:], from_ms, side="right")
    last = np.searchsorted(chart.edges_ms[:-1], to_ms, side="left")
    limit_w = np.interp(np.stack([from_ms, to_ms]), chart.edges_ms, chart.limit_w).min(axis=0)
    certain_w, worst_w = (_highest(draw_w, first, last) for draw_w in (chart.certain_w, chart.worst_w))
    return tuple(
        Hour(clock(resolved.frame, at_ms), *(quantity(watts, "W") for watts in draws))
        for at_ms, *draws in zip(from_ms.tolist(), certain_w, worst_w, limit_w.tolist(), strict=True)
    )


def _highest(draw_w: Floats, first: Whole, last: Whole) -> list[float]:
    """The highest of each span of stretches, from its first to before its last."""
    return [float(draw_w[begin:end].max(initial=0)) for begin, end in zip(first, last, strict=True)]


def _kick(resolved: Resolved, start: Start) -> Kick:
    return Kick(
        clock(resolved.frame, start.at_ms),
        start.name if start.scheduled else f"{start.name}, by itself, at the worst moment",
        quantity(start.before_va, "VA"),
        quantity(start.total_va, "VA"),
        start.verdict,
        words.verdict_word(start.verdict),
    )
