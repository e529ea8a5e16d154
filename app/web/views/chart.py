"""The day's chart on the page: two drawings over one axis, and the same as tables."""

import json
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from app.charts.closeup import closeup
from app.charts.columns import Whole
from app.charts.day import DayChart, Start
from app.charts.ribbon import Ribbon, ribbon, ribbon_svg
from app.charts.svg import axis_svg, demand_svg, starts_svg
from app.engine.results import AnyTime, Assessment, Floats, LimitReading, Verdict
from app.household.resolve import Resolved
from app.web import words
from app.web.figures import WEEKDAYS, clock, quantity
from app.web.views.about import About
from app.web.views.clocks import changes_of_clocks, clock_shifts, said_of_clocks
from app.web.views.closeup import CloseUpView, closeup_view

HOUR_MS = 3_600_000
KICKS = 40
TABLE = "chart-table"


@dataclass(frozen=True, slots=True)
class Hour:
    """One hour in the chart's table."""

    at: str  # its beginning
    certain: str  # the highest draw that is there for sure
    nearly: str  # what the draw stays below nearly always, at its highest in this hour
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
class ChartTable:
    """The chart as tables."""

    hours: tuple[Hour, ...]  # the stack, hour by hour
    kicks: tuple[Kick, ...]  # the largest starts, in order of time
    kicks_caption: str  # what the table of starts holds


@dataclass(frozen=True, slots=True)
class RibbonView:
    """One any-time load over the day."""

    name: str  # the load
    drawing: Markup  # when it may be on, drawn


@dataclass(frozen=True, slots=True)
class ChartView:
    """day/_chart.html."""

    close: CloseUpView | None  # the stretch that decides, where it is too narrow to be read in the day
    ribbons: tuple[RibbonView, ...]  # the any-time loads
    horizon: int  # milliseconds from the axis' left end to its right
    day: int  # milliseconds to midnight
    clock: str  # where the clock's face is put forward or back: instants, minutes, what follows a time, as JSON
    change: str  # that clocks are put forward or back on this day; empty on others
    most: str  # the highest draw, and when
    largest: str  # the largest start, and when
    demand: Markup  # the stack, drawn
    starts: Markup  # the strip of starts, drawn
    nearly: bool  # there is a band in which the draw lies nearly always
    axis: Markup  # the hours under both
    table: ChartTable | None  # its table; None while that is folded
    table_href: str  # the page with the table


def chart_view(about: About, assessment: Assessment, chart: DayChart, decisive: LimitReading) -> ChartView:
    """Draw the chart and write its tables."""
    resolved = about.resolved
    largest = max(chart.starts, key=lambda start: start.total_va, default=None)
    peak = int(np.argmax(chart.worst_w))
    most = f"peak {quantity(float(chart.worst_w[peak]), 'W')}, {clock(resolved.frame, chart.edges_ms[peak])}"
    start_limit = _span(chart.start_limit_va, "VA")
    next_day = WEEKDAYS[resolved.frame.local(chart.day_ms).weekday()]
    close = closeup(resolved, assessment, decisive) if decisive.charge is None else None
    shifts = clock_shifts(resolved.frame)
    changes = changes_of_clocks(shifts)
    return ChartView(
        close=closeup_view(resolved, close, decisive) if close else None,
        ribbons=tuple(
            _ribbon(resolved, load, one)
            for load, one in zip(assessment.any_time, ribbon(resolved, assessment), strict=True)
        ),
        horizon=chart.horizon_ms,
        day=chart.day_ms,
        clock=json.dumps(shifts),
        change=said_of_clocks(changes),
        most=most,
        largest=_largest(resolved, largest) if largest else "none",
        demand=Markup(demand_svg(chart, _demand_label(chart, most), "inverter, for hours", _span(chart.limit_w, "W"))),
        starts=Markup(starts_svg(chart, _starts_label(chart, start_limit), "for a start", start_limit)),
        nearly=bool((chart.high_w > chart.low_w).any()),
        axis=Markup(axis_svg(chart, next_day, [one.at_ms for one in changes])),
        table=_table(resolved, chart) if TABLE in about.unfolded else None,
        table_href=about.unfold(TABLE, "tables"),
    )


def _ribbon(resolved: Resolved, load: AnyTime, one: Ribbon) -> RibbonView:
    return RibbonView(one.name, Markup(ribbon_svg(one, words.any_time_sentence(load, resolved))))


def _table(resolved: Resolved, chart: DayChart) -> ChartTable:
    kicks = sorted(chart.starts, key=lambda start: -start.total_va)[:KICKS]
    return ChartTable(
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
    draws_w = [_highest(draw_w, first, last) for draw_w in (chart.certain_w, chart.high_w, chart.worst_w)]
    return tuple(
        Hour(clock(resolved.frame, at_ms), *(quantity(watts, "W") for watts in draws))
        for at_ms, *draws in zip(from_ms.tolist(), *draws_w, limit_w.tolist(), strict=True)
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
