"""The day's chart on the page: two drawings over one axis, and the same as tables."""

from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

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

    demand: Markup  # the stack, drawn
    starts: Markup  # the strip of starts, drawn
    axis: Markup  # the hours under both
    hours: tuple[Hour, ...]  # the stack, hour by hour
    kicks: tuple[Kick, ...]  # the largest starts, in order of time
    kicks_caption: str  # what the table of starts holds


def chart_view(resolved: Resolved, chart: DayChart) -> ChartView:
    """Draw the chart and write its tables."""
    kicks = sorted(chart.starts, key=lambda start: -start.total_va)[:KICKS]
    peak_w, peak_ms = float(chart.worst_w.max(initial=0)), chart.edges_ms[int(np.argmax(chart.worst_w))]
    demand = (
        f"Demand from midnight to noon of the next day. At most {quantity(float(chart.certain_w.max()), 'W')} for"
        f" sure; {quantity(peak_w, 'W')} at {clock(resolved.frame, peak_ms)} if everything happens to be on."
    )
    next_day = WEEKDAYS[resolved.frame.local(chart.day_ms).weekday()]
    start_limit = _span(chart.start_limit_va, "VA")
    return ChartView(
        demand=Markup(demand_svg(chart, demand, "inverter, for hours", _span(chart.limit_w, "W"))),
        starts=Markup(starts_svg(chart, _starts_label(chart, start_limit), "for a start", start_limit)),
        axis=Markup(axis_svg(chart, next_day)),
        hours=_hours(resolved, chart),
        kicks=tuple(_kick(resolved, start) for start in sorted(kicks, key=lambda start: start.at_ms)),
        kicks_caption=(
            f"The {KICKS} largest of {len(chart.starts)} starts" if len(chart.starts) > KICKS else "Starts"
        ),
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
    hours = []
    begins, ends = chart.edges_ms[:-1], chart.edges_ms[1:]
    for from_ms in range(0, chart.horizon_ms, HOUR_MS):
        to_ms = min(from_ms + HOUR_MS, chart.horizon_ms)
        first = int(np.searchsorted(ends, from_ms, side="right"))
        last = int(np.searchsorted(begins, to_ms, side="left"))
        limits_w = np.interp([from_ms, to_ms], chart.edges_ms, chart.limit_w)
        hours.append(
            Hour(
                clock(resolved.frame, from_ms),
                quantity(float(chart.certain_w[first:last].max(initial=0)), "W"),
                quantity(float(chart.worst_w[first:last].max(initial=0)), "W"),
                quantity(float(limits_w.min()), "W"),
            )
        )
    return tuple(hours)


def _kick(resolved: Resolved, start: Start) -> Kick:
    return Kick(
        clock(resolved.frame, start.at_ms),
        start.name if start.scheduled else f"{start.name}, by itself, at the worst moment",
        quantity(start.before_va, "VA"),
        quantity(start.total_va, "VA"),
        start.verdict,
        words.verdict_word(start.verdict),
    )
