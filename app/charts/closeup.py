"""The close-up: the hour or so around a stretch that decides and is too short to be read on the day."""

from dataclasses import dataclass

import numpy as np

from app.charts.behaviour import behaviours
from app.charts.day import Mark, Start, marked, starts_of
from app.charts.deciding import Deciding, deciding
from app.charts.layers import Drawn, Kind, Layer, drawn, stacked
from app.engine.results import Assessment, Floats, LimitReading
from app.household.resolve import Resolved

MINUTE_MS = 60_000
PHONE_PX, READABLE_PX = 366, 24  # on the day of a phone, what is narrower than this cannot be read
LEAD_MS = 15 * MINUTE_MS  # what is shown at least before and after the stretch
NEAR_MS = 25 * MINUTE_MS  # a change this near to the stretch is shown with it
LEAST_MS, LONG_MS = 40 * MINUTE_MS, 60 * MINUTE_MS
TICKS = 6


@dataclass(frozen=True, slots=True, eq=False)
class Level:
    """What may be passed for a time only. allowed_s: how long. va: shape (n + 1,), at the edges; linear between."""

    allowed_s: float
    va: Floats


@dataclass(frozen=True, slots=True, eq=False)
class CloseUp:
    """Part of a day, stacked appliance by appliance.

    edges_ms: shape (n + 1,), edges of the stretches of constant draw, from the window's first to its last instant.
    layers: one or two bands for each appliance that draws there: what is certain, and what comes and goes.
    certain_w, worst_w, limit_w: as in `DayChart`.
    level: the level above which the time runs, if it decides and belongs to the whole inverter.
    ticks: instants of the time axis, at round minutes of the clock.
    starts, start_limit_va: the starts there and what one may come to, if a start decides; else none.
    from_share, to_share: where the window lies on the day's axis, 0 to 1.
    """

    edges_ms: Floats
    layers: tuple[Layer, ...]
    certain_w: Floats
    worst_w: Floats
    limit_w: Floats
    level: Level | None
    starts: tuple[Start, ...]
    start_limit_va: Floats | None
    deciding: Deciding
    mark: Mark
    ticks: tuple[int, ...]
    from_share: float
    to_share: float

    @property
    def from_ms(self) -> int:
        """The window's first instant."""
        return int(self.edges_ms[0])

    @property
    def to_ms(self) -> int:
        """The window's end."""
        return int(self.edges_ms[-1])

    def at_share(self, at_ms: float) -> float:
        """Where an instant lies in the window, 0 to 1."""
        return min(max((at_ms - self.from_ms) / (self.to_ms - self.from_ms), 0.0), 1.0)

    def at_ms(self, share: float) -> int:
        """The instant at a place in the window, whole milliseconds."""
        return self.from_ms + round(min(max(share, 0.0), 1.0) * (self.to_ms - self.from_ms))


def closeup(resolved: Resolved, assessment: Assessment, decisive: LimitReading | None) -> CloseUp | None:
    """Describe the time around the stretch that decides; None if nothing does, or if the day shows it well.

    A start is always too short for the day. What comes back after a power cut is not what runs: it has none.
    """
    curves, horizon_ms = assessment.curves, assessment.horizon_ms
    if decisive is None or decisive.verdict == "fits":
        return None
    stretch = deciding(decisive, curves.t_ms)
    wide_px = (stretch.to_ms - stretch.from_ms) / horizon_ms * PHONE_PX
    if stretch.by == "restart" or (stretch.by != "start" and wide_px >= READABLE_PX):
        return None
    from_ms, to_ms = window(stretch, curves.t_ms, horizon_ms)
    pieces = drawn([piece for piece in assessment.pieces if piece.begin_ms < to_ms and piece.end_ms > from_ms])
    inside = (curves.t_ms > from_ms) & (curves.t_ms < to_ms)
    bounds_ms = np.concatenate([pieces.begin_ms, pieces.end_ms])
    bounds_ms = bounds_ms[(bounds_ms > from_ms) & (bounds_ms < to_ms)]
    edges_ms = np.unique(np.concatenate([[from_ms, to_ms], curves.t_ms[inside], bounds_ms]))
    places = np.clip(np.searchsorted(curves.t_ms, edges_ms[:-1], side="right") - 1, 0, len(curves.worst_w) - 1)
    certain_w, worst_w = curves.certain_w[places], curves.worst_w[places]
    by_start = stretch.by == "start"
    surges = assessment.surges if by_start else ()
    return CloseUp(
        edges_ms=edges_ms,
        layers=stacked(pieces, _kinds(resolved, pieces), edges_ms, certain_w, worst_w),
        certain_w=certain_w,
        worst_w=worst_w,
        limit_w=np.interp(edges_ms, curves.t_ms, curves.limit_w),
        level=_level(resolved, assessment, decisive, edges_ms) if stretch.by == "heat" else None,
        starts=tuple(starts_of(resolved, [one for one in surges if from_ms <= one.at_ms < to_ms])),
        start_limit_va=np.interp(edges_ms, curves.t_ms, curves.start_limit_va) if by_start else None,
        deciding=stretch,
        mark=marked(assessment, decisive, stretch),
        ticks=_ticks(from_ms, to_ms),
        from_share=from_ms / horizon_ms,
        to_share=to_ms / horizon_ms,
    )


def window(stretch: Deciding, edges_ms: Floats, horizon_ms: int) -> tuple[int, int]:
    """From when to when to show: about 40 to 90 minutes on round edges, longer only for a long stretch.

    What leads into the stretch and out of it lies inside, and so does the next change at either side if it is near.
    """
    if stretch.by == "start":  # it may be anywhere in a long stretch; the instant is what matters
        begin_ms = max(stretch.from_ms, stretch.at_ms - NEAR_MS)
        end_ms = max(min(stretch.to_ms, stretch.at_ms + NEAR_MS), stretch.at_ms)
    else:
        begin_ms, end_ms = stretch.from_ms, stretch.to_ms
    lead_ms = max(LEAD_MS, (end_ms - begin_ms) // 3)
    from_ms, to_ms = begin_ms - lead_ms, end_ms + lead_ms
    before_ms, after_ms = edges_ms[edges_ms < begin_ms], edges_ms[edges_ms > end_ms]
    if len(before_ms) and begin_ms - before_ms[-1] <= NEAR_MS:
        from_ms = min(from_ms, int(before_ms[-1]) - 2 * MINUTE_MS)
    if len(after_ms) and after_ms[0] - end_ms <= NEAR_MS:
        to_ms = max(to_ms, int(after_ms[0]) + 2 * MINUTE_MS)
    short_ms = max(LEAST_MS - (to_ms - from_ms), 0)
    from_ms, to_ms = from_ms - short_ms // 2, to_ms + short_ms // 2
    step_ms = (5 if to_ms - from_ms <= LONG_MS else 10) * MINUTE_MS
    from_ms, to_ms = from_ms // step_ms * step_ms, -(-to_ms // step_ms) * step_ms
    # At either end of the axis the window is moved, not cut.
    from_ms, to_ms = max(from_ms, 0), to_ms + max(-from_ms, 0)
    return max(from_ms - max(to_ms - horizon_ms, 0), 0), min(to_ms, horizon_ms)


def _kinds(resolved: Resolved, pieces: Drawn) -> list[Kind]:
    """A band for each appliance, another for what of it comes and goes."""
    keys = behaviours(resolved)
    names = {appliance.id: appliance.name for appliance in resolved.household.appliances}
    # What is set off and placed by hand as well is one machine, drawn as what others set off.
    set_off = {appliance for appliance, _, by_others in pieces.whose if by_others}
    return [
        Kind(certain, "follow" if one in set_off else keys.get(one, "base"), one, names.get(one, one))
        for one, certain, _ in pieces.whose
    ]


def _level(resolved: Resolved, assessment: Assessment, reading: LimitReading, edges_ms: Floats) -> Level | None:
    """The inverter's level above which the time runs, as its room warms."""
    if reading.heat is None or reading.unit != "VA" or reading.id.startswith("leg:"):
        return None
    curves, top_va = assessment.curves, resolved.household.supply.inverter.overload[-1][0]
    # All levels scale alike, so the curve of the top one gives the others.
    start_limit_va = np.interp(edges_ms, curves.t_ms, curves.start_limit_va)
    return Level(reading.heat.allowed_s, start_limit_va * (reading.heat.level / top_va))


def _ticks(from_ms: int, to_ms: int) -> tuple[int, ...]:
    """Labels as dense as a phone can carry, at round minutes of the clock."""
    step_ms = next(
        (step * MINUTE_MS for step in (5, 10, 15, 30) if (to_ms - from_ms) / (step * MINUTE_MS) <= TICKS),
        60 * MINUTE_MS,
    )
    return tuple(range(-(-from_ms // step_ms) * step_ms, to_ms + 1, step_ms))
