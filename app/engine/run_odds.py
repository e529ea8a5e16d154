"""How often a run would break a limit that only the worst case breaks: while it runs, beside what comes then anyway."""

from typing import NamedTuple

from app.engine.day import PlannedDay, lay_day
from app.engine.levels import levels_of
from app.engine.moment import Inspection
from app.engine.odds.counted import counted
from app.engine.odds.odds import OddsOfDay
from app.engine.part import part_of
from app.engine.power import power_limits
from app.household.clocks import clock_of
from app.household.errors import HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.replanned import free_id, replanned
from app.household.scenario import Run

COLD_RESTART = "cold_restart"
AROUND = 8  # times as long as a store takes to fill and to empty: what fills it by and by keeps it warm for longer

SURELY = 2.0  # times as much as it may be off


class RunOdds(NamedTuple):
    """Of a run.

    broken_per_run: expected times it is broken while the run lasts, if habits are independent. without_per_run: in the
    same time without the run. cut_share: of the restart, the part of the run's time in which it would be too much.
    of_another: the limit they are of, where that is not the one asked about.
    None where somebody's health or safety hangs on what draws then.
    """

    broken_per_run: float | None = None
    without_per_run: float = 0.0
    cut_share: float | None = None
    of_another: str | None = None

    @property
    def adds(self) -> float:
        """How many more times it is broken with the run than without."""
        return (self.broken_per_run or 0.0) - self.without_per_run


def odds_of_run(
    inspection: Inspection, appliance_id: str, at_ms: int, limit: str, duration_s: float | None = None
) -> RunOdds | None:
    """How often a run of an appliance that begins within the second of an instant would break a limit.

    limit: the one that speaks against it; the odds are of any level of inverter, leg or bank: of whichever the run adds
    most to.
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
        if odds.carries_a_vital_load:
            return RunOdds()
        return None if odds.cut_share is None else RunOdds(cut_share=odds.cut_share)
    if not _is_chance(with_it, begin_ms, end_ms, limit):
        return None
    own, without_it = (_odds(day, begin_ms, end_ms) for day in (with_it, without))
    told = next((levels.top for levels in levels_of(with_it) if limit in (*levels.steady, levels.top)), None)
    if told is not None and own.rules[told].carries_a_vital_load:
        return RunOdds()
    # What a store holds as the run begins, and what becomes of it afterwards, is of the hours around it.
    warm_ms = 1000 * max(sum(pair) for pair in zip(with_it.rule.allowed_s, with_it.rule.cooling_s, strict=True))
    wide_ms = max(begin_ms - AROUND * warm_ms, 0), min(end_ms + AROUND * warm_ms, with_it.laid.horizon_ms)
    found = dict[str, tuple[RunOdds, float]]()
    for top, times in counted(_odds(without, *wide_ms), _odds(with_it, *wide_ms), begin_ms, end_ms).items():
        if own.rules[top].carries_a_vital_load:
            continue
        often = times.broken_per_run, times.without_per_run
        if times.is_rough:  # reckoned from empty stores and excursion by excursion, but exactly; the safe side of both
            reckoned = own.rules[top].broken_per_day, without_it.rules[top].broken_per_day
            # Of a handful that happened to be counted little is known but that they can be.
            surely = often[0] - SURELY * times.error if reckoned[0] else often[0]
            often = (max(often[0], reckoned[0]), max(often[1], reckoned[1])) if surely > reckoned[0] else reckoned
        found[top] = RunOdds(*often, of_another=None if top == told else top), times.error
    return _most_added(found, told) if found else None


def _most_added(found: dict[str, tuple[RunOdds, float]], told: str | None) -> RunOdds:
    """Those of the rule that speaks against it, unless it surely adds more to another; found: with their errors."""
    odds, error = found[told] if told in found else next(iter(found.values()))
    # A rule to which it adds nothing displaces none, though with it fewer may be counted, as excursions join.
    least = max(odds.adds, 0.0)
    surely = [one for one, of_one in found.values() if one.adds > least + SURELY * (error + of_one)]
    return max([odds, *surely], key=lambda one: (one.adds, one.broken_per_run or 0.0))


def _odds(day: PlannedDay, begin_ms: float, end_ms: float) -> OddsOfDay:
    """The odds of what is between two instants, as if nothing were before and after."""
    return OddsOfDay(part_of(day, begin_ms, end_ms), frozenset(), end_ms)


def _is_chance(day: PlannedDay, begin_ms: float, end_ms: float, limit: str) -> bool:
    """Certain draws do not break a limit between two instants."""
    readings = power_limits(part_of(day, begin_ms, end_ms))[1]
    return all(one.verdict_certain != "over" for one in readings if one.id == limit)
