"""Ways out of a plan that does not fit: one run moved or left off, each confirmed by assessing the plan it leads to."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from app.engine.assess import assess
from app.engine.results import LADDER, Assessment, LimitReading, Verdict
from app.household.errors import HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.household import Household
from app.household.moved import with_run
from app.household.resolve import Resolved, resolve
from app.household.scenario import Run

RED: tuple[Verdict, ...] = ("chance", "over")
STEP_MIN, NEAR_MIN, FAR_STEP_MIN, FAR_MIN = 5, 60, 20, 8 * 60
WAKING_MIN = (6 * 60, 23 * 60)  # common practice, no source: nobody is sent to a machine at night
RUNS_TRIED = 4
PLANS_TRIED = 60  # assessed at most, so that an answer comes within about a second


@dataclass(frozen=True, slots=True)
class Way:
    """One change that makes the plan fit.

    start: the run's new start, HH:MM or HH:MM:SS; None to leave the run off.
    assessment: of the plan with the change.
    """

    run_id: str
    start: str | None
    assessment: Assessment


def ways_out(household: Household, scenario_id: str, assessment: Assessment) -> tuple[Way, ...]:
    """For each run that makes the trouble, the nearest time at which the plan is not red any more, else leaving it off.

    assessment: of the plan as it is. Ordered by verdict, then moves before leaving off, then the shortest move.
    Empty where the plan is not red, or where no single change helps.
    """
    if assessment.verdict not in RED:
        return ()
    resolved = resolve(household, scenario_id)
    tried = _Tried(household, resolved, assessment)
    found: list[tuple[tuple[int, bool, int], Way]] = []
    for run in _involved(resolved, assessment):
        way = tried.move(run) or tried.leave_off(run)
        if way is not None:
            shift_min = abs(_minutes(way.start) - _minutes(run.start)) if way.start is not None else 0
            found.append(((LADDER.index(way.assessment.verdict), way.start is None, shift_min), way))
    return tuple(way for _, way in sorted(found, key=lambda one: one[0]))


def _involved(resolved: Resolved, assessment: Assessment) -> list[Run]:
    """The runs that make what is red, the largest share first."""
    share: dict[str, float] = {}
    for reading in assessment.limits:
        if reading.verdict in RED:
            if reading.charge is not None:
                share |= _energy_share(assessment, reading.at_ms)
            for one in reading.contributors:
                if one.run is not None:
                    share[one.run] = max(share.get(one.run, 0.0), abs(one.va) / max(abs(reading.limit), 1e-9))
    runs = {run.id: run for run in resolved.day.runs if run.on}
    return [runs[run_id] for run_id in sorted(share, key=lambda one: -share[one]) if run_id in runs][:RUNS_TRIED]


def _energy_share(assessment: Assessment, until_ms: int) -> dict[str, float]:
    """What share of all that is drawn until an instant each run takes."""
    taken: dict[str, float] = {}
    every = 0.0
    since_ms = 0.0 if assessment.battery is None else float(assessment.battery.edges_ms[0])
    for piece in assessment.pieces:
        drawn = piece.w * max(min(piece.end_ms, until_ms) - max(piece.begin_ms, since_ms), 0)
        every += drawn
        if piece.run is not None:
            taken[piece.run] = taken.get(piece.run, 0.0) + drawn
    return {run: drawn / every for run, drawn in taken.items() if drawn > 0}


class _Tried:
    """Tries changes of one plan, as many as are allowed."""

    def __init__(self, household: Household, resolved: Resolved, before: Assessment) -> None:
        self._household = household
        self._resolved = resolved
        self._before = before
        self._left = PLANS_TRIED

    def move(self, run: Run) -> Way | None:
        """The nearest start at which the plan fits or is only just; else the nearest that is fine for a while."""
        second: Way | None = None
        for start in _starts(run):
            if not self._could_help(run, start):
                continue
            way = self._try(run, {"start": start}, start)
            if way is None or way.assessment.verdict in RED or self._breaks_order(way):
                continue
            if way.assessment.verdict != "short_time":
                return way
            second = second or way
        return second

    def leave_off(self, run: Run) -> Way | None:
        """Leaving the run off, if that is enough."""
        way = self._try(run, {"on": False}, None)
        return way if way is not None and way.assessment.verdict not in RED else None

    def _try(self, run: Run, fields: dict[str, object], start: str | None) -> Way | None:
        if self._left <= 0:
            return None
        try:
            changed = with_run(self._household, self._resolved.day.scenario_id, run.id, fields)
            self._left -= 1
            return Way(run.id, start, assess(changed, self._resolved.day.scenario_id))
        except HouseholdFaults:
            return None  # it would run into itself there

    def _could_help(self, run: Run, start: str) -> bool:
        """Whether the run, moved, no longer draws what it draws where a red limit is at its worst."""
        shift_ms = (_minutes(start) - _minutes(run.start)) * 60_000
        own = [piece for piece in self._before.pieces if piece.run == run.id]
        for reading in self._red():
            before_va = sum(one.va for one in own if one.begin_ms <= reading.at_ms < one.end_ms)
            after_va = sum(one.va for one in own if one.begin_ms + shift_ms <= reading.at_ms < one.end_ms + shift_ms)
            if before_va and after_va >= before_va:
                return False
        return True

    def _breaks_order(self, way: Way) -> bool:
        """Whether runs that wait for one another would be in a worse order than before."""
        return len(way.assessment.cautions) > len(self._before.cautions)

    def _red(self) -> Iterator[LimitReading]:
        return (
            reading
            for reading in self._before.limits
            if reading.verdict in RED and reading.contributors and reading.id != "cold_restart"
        )


def _starts(run: Run) -> Iterator[str]:
    """Starts from the nearest to the farthest, earlier and later in turn, inside the run's window or waking hours."""
    at_min = _minutes(run.start)
    first, last = (_minutes(edge) for edge in run.window) if run.window else WAKING_MIN
    for distance_min in _distances():
        for start_min in (at_min + distance_min, at_min - distance_min):
            if first <= start_min <= last:
                yield f"{start_min // 60:02d}:{start_min % 60:02d}{run.start[5:]}"


def _distances() -> Iterable[int]:
    yield from range(STEP_MIN, NEAR_MIN + 1, STEP_MIN)
    yield from range(NEAR_MIN + FAR_STEP_MIN, FAR_MIN + 1, FAR_STEP_MIN)


def _minutes(wall_clock: str) -> int:
    return wall_clock_s(wall_clock) // 60
