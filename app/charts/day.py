"""The day's chart: an assessment as one description in data units, whoever draws it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from app.charts.behaviour import behaviours
from app.charts.deciding import Deciding, deciding
from app.charts.layers import Drawn, Kind, Layer, drawn, stacked
from app.engine.results import Assessment, Floats, LimitReading, Surge, Verdict, worst_of
from app.household.day import DayFrame
from app.household.resolve import Resolved

HOUR_S = 3600
LAST_HOUR = 36
FOR_HOURS = ("inverter_continuous", "inverter_apparent")


class Start(NamedTuple):
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
    low_w, high_w: shape (n,), between which the draw lies 95 % of the time, if habits are independent.
    limit_w: shape (n + 1,), what the inverter carries for hours, at the edges; linear between.
    start_limit_va: shape (n + 1,), what a start may come to, at the edges; linear between.
    above: the verdict on what lies above the limit line.
    """

    edges_ms: Floats
    layers: tuple[Layer, ...]
    certain_w: Floats
    worst_w: Floats
    low_w: Floats
    high_w: Floats
    limit_w: Floats
    starts: tuple[Start, ...]
    start_limit_va: Floats
    ticks: tuple[Tick, ...]
    mark: Mark | None
    above: Verdict
    day_ms: int
    horizon_ms: int

    def at_share(self, at_ms: float) -> float:
        """Where an instant lies on the day's axis, 0 to 1."""
        return min(max(at_ms / self.horizon_ms, 0.0), 1.0)

    def at_ms(self, share: float) -> int:
        """The instant at a place on the day's axis, whole milliseconds."""
        return round(min(max(share, 0.0), 1.0) * self.horizon_ms)


def day_chart(resolved: Resolved, assessment: Assessment, decisive: LimitReading | None = None) -> DayChart:
    """Describe the chart of an assessed plan.

    decisive: the limit the verdict is about, to be marked; a limit that fits is not, nor is the reserve, for the
    lowest charge comes of the whole day.
    """
    curves = assessment.curves
    pieces = drawn(assessment.pieces)
    edges_ms = _edges_ms(curves.t_ms, pieces, assessment.horizon_ms)
    band = assessment.odds.band
    draws_w = [curves.certain_w, curves.worst_w, band.low_w, np.minimum(band.high_w, curves.worst_w)]
    if edges_ms is not curves.t_ms:
        stretch = np.clip(np.searchsorted(curves.t_ms, edges_ms[:-1], side="right") - 1, 0, len(curves.worst_w) - 1)
        draws_w = [draw_w[stretch] for draw_w in draws_w]
    certain_w, worst_w, low_w, high_w = draws_w
    mark = None
    if decisive is not None and decisive.verdict != "fits" and decisive.charge is None:
        mark = marked(assessment, decisive, deciding(decisive, edges_ms))
    return DayChart(
        edges_ms=edges_ms,
        layers=stacked(pieces, _kinds(resolved, pieces), edges_ms, certain_w, worst_w),
        certain_w=certain_w,
        worst_w=worst_w,
        low_w=low_w,
        high_w=high_w,
        limit_w=np.interp(edges_ms, curves.t_ms, curves.limit_w),
        starts=tuple(starts_of(resolved, assessment.surges)),
        start_limit_va=np.interp(edges_ms, curves.t_ms, curves.start_limit_va),
        ticks=_ticks(resolved.frame),
        mark=mark,
        above=_verdict_above(assessment),
        day_ms=assessment.day_ms,
        horizon_ms=assessment.horizon_ms,
    )


def _edges_ms(t_ms: Floats, pieces: Drawn, horizon_ms: int) -> Floats:
    """Every edge of the curves and of the pieces; mostly the curves have them all."""
    bounds_ms = np.concatenate([pieces.begin_ms, pieces.end_ms])
    if (t_ms[np.searchsorted(t_ms, bounds_ms).clip(max=len(t_ms) - 1)] == bounds_ms).all():
        return t_ms
    edges_ms = np.unique(np.concatenate([t_ms, bounds_ms]))
    return edges_ms[(edges_ms >= 0) & (edges_ms <= horizon_ms)]


def _kinds(resolved: Resolved, pieces: Drawn) -> list[Kind]:
    """What each piece is drawn as: what others set off alike, else by its appliance's behaviour."""
    keys = behaviours(resolved)
    kind_of = {
        one: Kind(one[1], "follow" if one[2] else keys.get(one[0], "base")) for one in dict.fromkeys(pieces.whose)
    }
    return [kind_of[one] for one in pieces.whose]


def starts_of(resolved: Resolved, surges: Iterable[Surge]) -> Iterator[Start]:
    """The starts of an assessment, in its order."""
    names = {appliance.id: appliance.name for appliance in resolved.household.appliances}
    for at_ms, appliance, _, _, _, before_va, total_va, _, verdict, scheduled in surges:
        yield Start(at_ms, names.get(appliance, appliance), before_va, total_va, verdict, scheduled)


@lru_cache(maxsize=64)
def _ticks(frame: DayFrame) -> tuple[Tick, ...]:
    hours = [(hour, frame.at_ms(hour * HOUR_S)) for hour in range(0, LAST_HOUR + 1, 3)]
    return tuple(Tick(at_ms, hour % 24, hour == 24) for hour, at_ms in hours if at_ms <= frame.horizon_ms)


def marked(assessment: Assessment, reading: LimitReading, stretch: Deciding) -> Mark:
    """The stretch a limit is judged by, and the runs that make it."""
    if stretch.by == "heat":
        # The reading's own contributors may be those of another time of day, at which a start goes highest.
        runs = {
            piece.run
            for piece in assessment.pieces
            if piece.begin_ms < stretch.to_ms and piece.end_ms > stretch.from_ms
        }
    else:
        runs = {one.run for one in reading.contributors}
    return Mark(stretch.from_ms, stretch.to_ms, reading.verdict, frozenset(run for run in runs if run is not None))


def _verdict_above(assessment: Assessment) -> Verdict:
    """The verdict on running above the limit line, without starts, which have a strip of their own."""
    found = [
        reading.verdict
        for reading in assessment.limits
        if reading.id in FOR_HOURS
        or (reading.id == "inverter_overload" and reading.heat is not None and reading.heat.trips_at_ms is not None)
    ]
    return worst_of("short_time", *found)
