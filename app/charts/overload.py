"""What an inverter carries for how long, described, with the hardest moments of a plan."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np

from app.engine.results import Assessment, Contributor, Flags, Floats, HeatReading, Piece, Verdict
from app.household.losses import continuous_at_25_w
from app.household.names import shortened
from app.household.supply import Inverter

STARTS = 3  # of the tallest starts are shown, one for each appliance
TOLD_NAMES, LONGEST_TOLD = 2, 28  # of what makes a moment are told, the largest, and how many letters of each
NAMED = 0.15  # of the largest draw, what is named beside it
ALIKE = 0.96  # starts so near to a taller one are hidden behind it


class Level(NamedTuple):
    """What is carried up to a length of time. until_s: None for hours. unit: of the value."""

    value: float
    until_s: float | None
    unit: Literal["W", "VA"]


class Moment(NamedTuple):
    """A hard moment of a plan.

    names: who makes it, the largest first. lasts_s: how long. value, unit: how high. verdict: the plan's on it.
    """

    kind: Literal["start", "heat", "steady"]
    names: tuple[str, ...]
    lasts_s: float
    value: float
    unit: Literal["W", "VA"]
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class OverloadChart:
    """The levels of an inverter, the highest first, and the moments that come nearest to them.

    levels: at 25 degC, or at the plan's coolest. warmest: at the plan's warmest; the same where it makes no difference.
    """

    levels: tuple[Level, ...]
    warmest: tuple[Level, ...]
    moments: tuple[Moment, ...]


def overload_chart(inverter: Inverter, assessment: Assessment | None, names: Mapping[str, str]) -> OverloadChart:
    """Describe an inverter under a plan.

    assessment: of the open plan; None for the inverter alone, at 25 degC. names: of the plan's appliances, by id.
    """
    if assessment is None:
        levels = _levels(inverter, 1.0, continuous_at_25_w(inverter))
        return OverloadChart(levels, levels, ())
    curves, top_va = assessment.curves, inverter.overload[-1][0]
    cool, warm = (float(of(curves.start_limit_va)) / top_va for of in (np.max, np.min))
    warmest = _levels(inverter, warm, float(curves.limit_w.min()))
    moments = _moments(assessment, names, warmest)
    return OverloadChart(_levels(inverter, cool, float(curves.limit_w.max())), warmest, tuple(moments))


def told(chart: OverloadChart, quantity: Callable[[float, str], str], duration: Callable[[float], str]) -> str:
    """The chart in sentences, for who cannot see it. quantity: a value with its unit. duration: of seconds."""
    carried = ", ".join(
        f"{quantity(level.value, level.unit)} for {'hours' if level.until_s is None else duration(level.until_s)}"
        for level in chart.levels
    )
    moments = "; ".join(moments_told(chart, quantity, duration))
    return f"The inverter carries {carried}." + (f" The hardest moments: {moments}." if moments else "")


def moments_told(
    chart: OverloadChart, quantity: Callable[[float, str], str], duration: Callable[[float], str]
) -> tuple[str, ...]:
    """Each moment with its time, for a list beside the drawing, which has not room for all of them."""
    return tuple(f"{moment_said(one, quantity)} for {duration(one.lasts_s)}" for one in chart.moments)


def moment_said(moment: Moment, quantity: Callable[[float, str], str], most: int = TOLD_NAMES) -> str:
    """What stands at a moment: who makes it and how high it goes. most: of the names; without any, the figure."""
    figure = quantity(moment.value, moment.unit)
    who = " and ".join(shortened(name, LONGEST_TOLD) for name in moment.names[:most])
    starts = " starts" if moment.kind == "start" and most == TOLD_NAMES else ""
    return f"{who}{starts}, {figure}" if who else figure


def _levels(inverter: Inverter, factor: float, continuous_w: float) -> tuple[Level, ...]:
    """Its levels, the highest first, each for no longer than those it stands on, for their time runs with it."""
    longest_s, carried = float("inf"), []
    for va, allowed_s, *_ in inverter.overload:
        longest_s = min(longest_s, allowed_s)
        carried.append(Level(va * factor, longest_s, "VA"))
    rated_va = inverter.rated_va * factor
    hours = Level(continuous_w, None, "W") if continuous_w <= rated_va else Level(rated_va, None, "VA")
    # Of two that last as long only the higher one is ever met.
    kept = [one for one, higher in pairwise([*carried, hours]) if higher is hours or one.until_s != higher.until_s]
    return (*reversed(kept), hours)


def _moments(assessment: Assessment, names: Mapping[str, str], warmest: tuple[Level, ...]) -> Iterator[Moment]:
    yield from _starts(assessment, names)
    overload = assessment.limit("inverter_overload")
    if overload is not None and overload.heat is not None and overload.heat.unit != "A":
        yield _heat(overload.heat, overload.verdict if overload.decided_by_time else "short_time", names)
    yield from _steady(assessment, names, warmest)


def _starts(assessment: Assessment, names: Mapping[str, str]) -> list[Moment]:
    """The tallest start of each of a few appliances, but for those hidden behind a taller one."""
    shown: dict[str, Moment] = {}
    for surge in sorted(assessment.surges, key=lambda surge: -surge.total_va):
        if surge.appliance not in shown and len(shown) < STARTS:
            name = names.get(surge.appliance, surge.appliance)
            start = Moment("start", (name,), surge.duration_s, surge.total_va, "VA", surge.verdict)
            if not any(_hides(taller, start) for taller in shown.values()):
                shown[surge.appliance] = start
    return list(shown.values())


def _hides(taller: Moment, start: Moment) -> bool:
    shorter_s, longer_s = sorted((taller.lasts_s, start.lasts_s))
    return start.value > taller.value * ALIKE and shorter_s > longer_s * ALIKE**8


def _heat(heat: HeatReading, verdict: Verdict, names: Mapping[str, str]) -> Moment:
    """The longest time above a level: as long as its store is full, as high as it goes."""
    unit: Literal["W", "VA"] = "W" if heat.unit == "W" else "VA"
    return Moment("heat", _largest(heat.contributors, names), heat.held_s, heat.use, unit, verdict)


def _steady(assessment: Assessment, names: Mapping[str, str], warmest: tuple[Level, ...]) -> Iterator[Moment]:
    """The highest running draw with the time it lasts, and the highest that lasts as long as any level allows.

    Everything that can be on is on, as long as that stays below what is carried for hours. Above, what comes and goes
    does not stay on: then it is what is drawn for sure, for the time above a level is a moment of its own.
    """
    hours, longest_ms = warmest[-1], (warmest[-2].until_s or 0.0) * 1000
    curves, certain = assessment.curves, bool(assessment.curves.worst_w.max() > hours.value)
    draw_w = curves.certain_w if certain else curves.worst_w
    levels_w = np.unique(draw_w)
    low, high = 0, len(levels_w) - 1
    while low < high:  # what is drawn for longer is never higher
        middle = (low + high + 1) // 2
        if _longest(curves.t_ms, draw_w >= levels_w[middle])[1] >= longest_ms:
            low = middle
        else:
            high = middle - 1
    steady = assessment.limit("inverter_continuous")
    for level_w in dict.fromkeys(levels_w[[-1, low]].tolist()):
        begin_ms, length_ms = _longest(curves.t_ms, draw_w >= level_w)
        if level_w <= 0:
            continue
        verdict: Verdict = steady.verdict if steady is not None and level_w > hours.value else "fits"
        on = [
            one for one in assessment.pieces if one.begin_ms <= begin_ms < one.end_ms and (one.certain or not certain)
        ]
        yield Moment("steady", _largest(on, names), length_ms / 1000, level_w, "W", verdict)


def _longest(t_ms: Floats, reached: Flags) -> tuple[float, float]:
    """When a draw is reached for the longest time, and how long, in milliseconds."""
    there = np.flatnonzero(np.diff(reached, prepend=False, append=False))
    begins_ms, ends_ms = t_ms[there[::2]], t_ms[there[1::2]]
    longest = int(np.argmax(ends_ms - begins_ms))
    return float(begins_ms[longest]), float(ends_ms[longest] - begins_ms[longest])


def _largest(parts: Iterable[Contributor | Piece], names: Mapping[str, str]) -> tuple[str, ...]:
    """Who draws, the largest first, each once; what is small beside the largest is not worth a name."""
    order = sorted(parts, key=lambda one: -one.w)
    worth = (one for one in order if one.w >= order[0].w * NAMED)
    return tuple(dict.fromkeys(names.get(one.appliance, one.appliance) for one in worth))
