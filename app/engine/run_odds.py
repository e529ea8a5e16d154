"""How often a run would break a limit that only the worst case breaks: while it runs, beside what comes then anyway."""

from typing import NamedTuple

from app.engine.day import PlannedDay, lay_day
from app.engine.levels import levels_of
from app.engine.moment import Inspection
from app.engine.odds.odds import OddsOfDay
from app.engine.part import part_of
from app.engine.power import power_limits
from app.household.clocks import clock_of
from app.household.errors import HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.replanned import free_id, replanned
from app.household.scenario import Run

COLD_RESTART = "cold_restart"
SPREAD = 0.08  # of figures that are drawn at random, four standard deviations


class RunOdds(NamedTuple):
    """Of a run.

    broken_per_run: expected times it is broken while the run lasts, if habits are independent. without_per_run: in the
    same time without the run. cut_share: of the restart, the part of the run's time in which it would be too much.
    None where somebody's health or safety hangs on what draws then.
    """

    broken_per_run: float | None = None
    without_per_run: float = 0.0
    cut_share: float | None = None


def odds_of_run(
    inspection: Inspection, appliance_id: str, at_ms: int, limit: str, duration_s: float | None = None
) -> RunOdds | None:
    """How often a run of an appliance that begins within the second of an instant would break a limit.

    limit: the one that speaks against it; the odds are of any level of inverter, leg or bank, whichever breaks most.
    Its later runs are this one, moved. duration_s: how long, where its one stage has no length.
    None where no plan can have such a run then, or where what breaks the limit is no chance.
    """
    resolved, clock = inspection.day.resolved, clock_of(inspection.day.resolved, at_ms)
    if clock is None:
        return None
    begin_ms = at_ms // 1000 * 1000
    others = tuple(
        one
        for one in resolved.day.runs
        if one.appliance != appliance_id or resolved.frame.at_ms(wall_clock_s(one.start)) < begin_ms
    )
    run = Run(id=free_id(resolved), appliance=appliance_id, start=clock, duration_s=duration_s)
    try:
        without, with_it = (lay_day(replanned(resolved, runs)) for runs in (others, (*others, run)))
    except HouseholdFaults:
        return None
    place = next(place for place, one in enumerate(with_it.resolved.day.runs) if one.id == run.id)
    pieces = with_it.laid.pieces
    end_ms = int(pieces.end_ms[pieces.run == place].max(initial=begin_ms))
    if end_ms <= begin_ms:
        return None
    if limit == COLD_RESTART:
        odds = OddsOfDay(part_of(with_it, begin_ms, end_ms), frozenset(), end_ms)
        return RunOdds(cut_share=None if odds.carries_a_vital_load else odds.cut_share)
    if not _is_chance(with_it, begin_ms, end_ms, limit):
        return None
    were, are = (_odds(day, begin_ms, end_ms) for day in (without, with_it))
    if any(levels.top not in are for levels in levels_of(with_it) if limit in (*levels.steady, levels.top)):
        return RunOdds()
    # What a store holds as it begins, or as it ends, is of the hours around it.
    around_ms = 1000 * max(sum(pair) for pair in zip(with_it.rule.allowed_s, with_it.rule.cooling_s, strict=True))
    wide_ms = max(begin_ms - around_ms, 0), min(end_ms + around_ms, with_it.laid.horizon_ms)
    before, after = (_odds(day, *wide_ms) for day in (without, with_it))
    found = [
        RunOdds(max(were[one] + _added((were[one], are[one]), (before[one], after[one])), 0.0), were[one])
        for one in set(were) & set(are) & set(before) & set(after)
    ]
    return max(found, key=lambda one: one.broken_per_run or 0.0, default=None)


def _added(own: tuple[float, float], around: tuple[float, float]) -> float:
    """What a run adds to how often a limit is broken: without it and with it, in its time and in the hours around it.

    Of the hours around it only what is more than the spread of figures that are drawn at random.
    """
    of_own, of_around = own[1] - own[0], around[1] - around[0]
    return of_around if abs(of_around - of_own) > SPREAD * max(around) else of_own


def _odds(day: PlannedDay, begin_ms: float, end_ms: float) -> dict[str, float]:
    """How often each rule of levels is broken in any way between two instants, by its top's limit.

    Without those that no odds are told of.
    """
    limits = frozenset(levels.top for levels in levels_of(day))
    return OddsOfDay(part_of(day, begin_ms, end_ms), limits, end_ms).per_day


def _is_chance(day: PlannedDay, begin_ms: float, end_ms: float, limit: str) -> bool:
    """Certain draws do not break a limit between two instants."""
    readings = power_limits(part_of(day, begin_ms, end_ms))[1]
    return all(one.verdict_certain != "over" for one in readings if one.id == limit)
