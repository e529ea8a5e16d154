"""How often a run would break a limit that only the worst case breaks: while it runs, beside what comes then anyway."""

from typing import NamedTuple

from app.engine.day import PlannedDay, lay_day
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


class RunOdds(NamedTuple):
    """Of one limit.

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
    were, are = (_odds(day, limit, begin_ms, end_ms) for day in (without, with_it))
    if limit == COLD_RESTART or are is None or were is None or are.broken_per_run is None:
        return are
    # What a store holds as it begins, or as it ends, is of the hours around it: they count for what the run adds.
    around_ms = 1000 * max(sum(pair) for pair in zip(with_it.rule.allowed_s, with_it.rule.cooling_s, strict=True))
    wide_ms = max(begin_ms - around_ms, 0), min(end_ms + around_ms, with_it.laid.horizon_ms)
    before, after = (_odds(day, limit, *wide_ms) for day in (without, with_it))
    own = were.broken_per_run or 0.0
    if before is None or after is None or before.broken_per_run is None or after.broken_per_run is None:
        return are._replace(without_per_run=own)
    return RunOdds(max(own + after.broken_per_run - before.broken_per_run, 0.0), own)


def _odds(day: PlannedDay, limit: str, begin_ms: float, end_ms: float) -> RunOdds | None:
    part = part_of(day, begin_ms, end_ms)
    odds = OddsOfDay(part, frozenset({limit}), end_ms)
    if limit == COLD_RESTART:
        return RunOdds(cut_share=None if odds.carries_a_vital_load else odds.cut_share)
    is_sure = any(one.id == limit and one.verdict == "over" for one in power_limits(part)[1])
    return None if is_sure else RunOdds(odds.per_day.get(limit))
