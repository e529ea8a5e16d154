"""The day's chart: an assessment as one description in data units, whoever draws it."""

from dataclasses import dataclass

import numpy as np

from app.charts.behaviour import behaviours
from app.engine.results import Assessment, Floats, LimitReading, Surge, Verdict, worst_of
from app.household.resolve import Resolved

HOUR_S = 3600
LAST_HOUR = 36
FOR_HOURS = ("inverter_continuous", "inverter_apparent")

# From the bottom of the stack to its top. Certain draws come first, so that their top is what is there for
# sure; then what comes and goes, the day-long at the bottom.
STACK = ("base", "follow", "prog1", "prog2", "prog3", "hand1", "hand2", "hand3")


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One band of the stack.

    key: its behaviour, which is its colour. certain: drawn solid; else it comes and goes and is hatched.
    low_w, high_w: shape (n,), its lower and upper edge in each stretch, in watts.
    """

    key: str
    certain: bool
    low_w: Floats
    high_w: Floats


@dataclass(frozen=True, slots=True)
class Start:
    """One start on the strip of starts: from what runs before it to its total, in volt-amperes.

    name: what starts. scheduled: the plan says when; else it comes on by itself, here at its worst instant.
    """

    at_ms: int
    name: str
    before_va: float
    total_va: float
    verdict: Verdict
    scheduled: bool


@dataclass(frozen=True, slots=True)
class Tick:
    """A full hour on the clock's face. midnight: the day's end, labelled with the next weekday."""

    at_ms: int
    hour: int
    midnight: bool


@dataclass(frozen=True, slots=True)
class Mark:
    """The stretch the verdict is about, and the runs that make it."""

    from_ms: int
    to_ms: int
    verdict: Verdict
    runs: frozenset[str]


@dataclass(frozen=True, slots=True, eq=False)
class DayChart:
    """The stacked day.

    edges_ms: shape (n + 1,), edges of the stretches of constant draw, over the whole horizon.
    certain_w, worst_w: shape (n,), what is drawn for sure and if everything happens to be on.
    limit_w: shape (n + 1,), what the inverter carries for hours, at the edges; linear between.
    start_limit_va: shape (n + 1,), what a start may come to, at the edges; linear between.
    above: the verdict on what lies above the limit line.
    """

    edges_ms: Floats
    layers: tuple[Layer, ...]
    certain_w: Floats
    worst_w: Floats
    limit_w: Floats
    starts: tuple[Start, ...]
    start_limit_va: Floats
    ticks: tuple[Tick, ...]
    mark: Mark | None
    above: Verdict
    day_ms: int
    horizon_ms: int


def day_chart(resolved: Resolved, assessment: Assessment, decisive: LimitReading | None = None) -> DayChart:
    """Describe the chart of an assessed plan.

    decisive: the limit the verdict is about, to be marked; a limit that fits is not.
    """
    curves = assessment.curves
    pieces = assessment.pieces
    bounds = [(piece.begin_ms, piece.end_ms) for piece in pieces]
    edges_ms = np.unique(np.concatenate([curves.t_ms, np.array(bounds, dtype=np.float64).ravel()]))
    edges_ms = edges_ms[(edges_ms >= 0) & (edges_ms <= assessment.horizon_ms)]
    stretch = np.clip(np.searchsorted(curves.t_ms, edges_ms[:-1], side="right") - 1, 0, len(curves.worst_w) - 1)
    certain_w, worst_w = curves.certain_w[stretch], curves.worst_w[stretch]
    return DayChart(
        edges_ms=edges_ms,
        layers=_layers(resolved, assessment, edges_ms, certain_w, worst_w),
        certain_w=certain_w,
        worst_w=worst_w,
        limit_w=np.interp(edges_ms, curves.t_ms, curves.limit_w),
        starts=tuple(_start(resolved, surge) for surge in assessment.surges),
        start_limit_va=np.interp(edges_ms, curves.t_ms, curves.start_limit_va),
        ticks=_ticks(resolved, assessment.horizon_ms),
        mark=_mark(decisive, edges_ms),
        above=_verdict_above(assessment),
        day_ms=assessment.day_ms,
        horizon_ms=assessment.horizon_ms,
    )


def _layers(
    resolved: Resolved, assessment: Assessment, edges_ms: Floats, certain_w: Floats, worst_w: Floats
) -> tuple[Layer, ...]:
    keys = behaviours(resolved)
    members: dict[tuple[bool, str], list[int]] = {}
    for number, piece in enumerate(assessment.pieces):
        key = "follow" if piece.set_off else keys.get(piece.appliance, "base")
        members.setdefault((piece.certain, key), []).append(number)
    begins = np.searchsorted(edges_ms, [piece.begin_ms for piece in assessment.pieces])
    ends = np.searchsorted(edges_ms, [piece.end_ms for piece in assessment.pieces])
    watts = np.array([piece.w for piece in assessment.pieces])
    layers = []
    low_w = np.zeros(len(edges_ms) - 1)
    for certain in (True, False):
        # An interlock lets only the larger of a pair count: the stack never rises above the engine's curve.
        ceiling_w = certain_w if certain else worst_w
        for key in STACK:
            own = members.get((certain, key))
            if own is None:
                continue
            steps_w = np.zeros(len(edges_ms))
            np.add.at(steps_w, begins[own], watts[own])
            np.subtract.at(steps_w, ends[own], watts[own])
            draw_w = np.maximum(np.cumsum(steps_w)[:-1], 0)
            high_w = np.maximum(np.minimum(low_w + draw_w, ceiling_w), low_w)
            layers.append(Layer(key, certain, low_w, high_w))
            low_w = high_w
    return tuple(layers)


def _start(resolved: Resolved, surge: Surge) -> Start:
    appliance = resolved.appliance(surge.appliance)
    name = appliance.name if appliance else surge.appliance
    return Start(surge.at_ms, name, surge.before_va, surge.total_va, surge.verdict, surge.scheduled)


def _ticks(resolved: Resolved, horizon_ms: int) -> tuple[Tick, ...]:
    hours = [(hour, resolved.frame.at_ms(hour * HOUR_S)) for hour in range(0, LAST_HOUR + 1, 3)]
    return tuple(Tick(at_ms, hour % 24, hour == 24) for hour, at_ms in hours if at_ms <= horizon_ms)


def _mark(reading: LimitReading | None, edges_ms: Floats) -> Mark | None:
    if reading is None or reading.verdict == "fits":
        return None
    stretch = int(np.clip(np.searchsorted(edges_ms, reading.at_ms, side="right") - 1, 0, len(edges_ms) - 2))
    runs = frozenset(one.run for one in reading.contributors if one.run is not None)
    return Mark(int(edges_ms[stretch]), int(edges_ms[stretch + 1]), reading.verdict, runs)


def _verdict_above(assessment: Assessment) -> Verdict:
    """The verdict on running above the limit line, without starts, which have a strip of their own."""
    found = [
        reading.verdict
        for reading in assessment.limits
        if reading.id in FOR_HOURS
        or (reading.id == "inverter_overload" and reading.heat is not None and reading.heat.trips_at_ms is not None)
    ]
    return worst_of("short_time", *found)
