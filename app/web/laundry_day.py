"""A wish for a laundry day, searched: a first look at once, a job that goes on, and each day it finds worked out."""

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable, Collection, Hashable, Mapping
from dataclasses import dataclass, replace
from threading import Lock
from typing import Any, Generic, TypeVar

from app.engine.day import PlannedDay
from app.engine.results import Assessment
from app.engine.typical import typical_draw
from app.household.errors import Fault, HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.gaps import run_length_s
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.household.single import single
from app.jobs.job import Job
from app.jobs.jobs import Busy, Jobs, key_of
from app.planner.laundry.found import Proposal
from app.planner.laundry.placing import assessed
from app.planner.laundry.reading import read_task
from app.planner.laundry.reasons import Reason, reasons
from app.planner.laundry.search import search
from app.planner.laundry.wish import Wish
from app.planner.laundry.work import found_document, wish_document
from app.web.forms.laundry_wish import Wished

KIND = "laundry"
SEARCH_S, FIRST_LOOK_S = 20.0, 0.15
SETTLED_S = 4.0  # from when on a day that is proven is good enough
SEED = 1
KEPT = 32

Json = dict[str, Any]
T = TypeVar("T")


class _Lately(Generic[T]):
    """What was worked out last; a poll a second must not work it out again."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Hashable, T] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """What is kept, else what is made."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        made = make()
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return made


@dataclass(frozen=True, slots=True)
class Compared:
    """What one day comes to, to be held beside another.

    straight_wh, through_wh: of what the house draws over the horizon, straight from the sun and through the battery.
    tightest: share of the inverter's watts left at the tightest moment. done_ms: when the last of the loads has ended,
    None where none is on.
    """

    resolved: Resolved
    day: PlannedDay
    assessment: Assessment
    straight_wh: float
    through_wh: float
    tightest: float
    done_ms: int | None


@dataclass(frozen=True, slots=True)
class Searched:
    """How a search stands.

    key: of the job. job: None where none could be started, for others are waiting if it is busy. best: what is shown,
    as `found_document` has it.
    """

    key: str
    job: Job | None
    best: Json
    busy: bool

    @property
    def state(self) -> str:
        """What was found: found, stuck, searching or refused."""
        return str(self.best.get("state", "searching"))

    @property
    def starts(self) -> dict[str, str]:
        """Run id to HH:MM; empty while there is no day."""
        return dict(self.best.get("starts") or {})


_FIRST: _Lately[Json] = _Lately()
_DAYS: _Lately[Compared] = _Lately()
_REASONS: _Lately[tuple[Reason, ...]] = _Lately()


def searched(jobs: Jobs, wanted: Wished, household_key: str, behind_at_most: int) -> Searched:
    """Ask for the search of a wish, or find how far it is; with a first look, so that there is an answer at once.

    behind_at_most: other searches that may wait already. Raises HouseholdFaults for a wish that cannot be.
    """
    order = {
        "of": household_key,
        "household": wanted.household.document(),
        "scenario": wanted.scenario_id,
        "wish": wish_document(wanted.wish),
        "seconds": SEARCH_S,
        "seed": SEED,
        "begin": wanted.begin,
    }
    key = key_of(KIND, order)
    first = _FIRST.get(key, lambda: _first_look(wanted))
    job, busy = None, False
    try:
        jobs.ask(KIND, order, behind_at_most)
        job = jobs.look(key)
    except OSError:
        pass
    except Busy:
        busy = True
    best = job.best if job is not None and job.best is not None else None
    if best is not None and best.get("state") == "refused":
        raise HouseholdFaults(Fault(path, why) for path, why in best["faults"])
    found = _better(best, first)
    if job is not None and not job.ended and found.get("proven") and job.age_s > SETTLED_S:
        jobs.stop(key)  # what is left to be found is a better margin or an earlier end; enough was looked for that
    return Searched(key, job, found, busy)


def _first_look(wanted: Wished) -> Json:
    found = search(
        wanted.household,
        wanted.scenario_id,
        wanted.wish,
        seconds=FIRST_LOOK_S,
        seed=SEED,
        prove=False,
        begin=wanted.begin,
    )
    return found_document(found) if isinstance(found, Proposal) else {"state": "searching"}


def _better(best: Json | None, first: Json) -> Json:
    """Of two findings the one to be shown: a day before none, and the one that takes less through the battery."""
    if best is None:
        return first
    if first.get("state") != "found":
        return best
    if best.get("state") != "found":
        return first
    return best if best["through_bank_wh"] <= first["through_bank_wh"] else first


def today(resolved: Resolved, wanted: Collection[str]) -> Compared:
    """The plan as it is. wanted: ids of the runs whose end is told."""
    return _DAYS.get((state_of(resolved), tuple(sorted(wanted))), lambda: _compared(resolved, wanted))


def then(resolved: Resolved, wanted: Wished, starts: Mapping[str, str], ticked: Collection[str]) -> Compared:
    """The plan with what is ticked as it was found, and all else as it is.

    resolved: the plan as it is. ticked: keys of loads, ids of runs that are left out. Raises HouseholdFaults where
    that cannot be.
    """
    changed = with_ticked(resolved, wanted, starts, ticked)
    ends = [load.key for load in wanted.loads]
    return _DAYS.get((state_of(changed), tuple(sorted(ends))), lambda: _compared(changed, ends))


def with_ticked(resolved: Resolved, wanted: Wished, starts: Mapping[str, str], ticked: Collection[str]) -> Resolved:
    """The same, not yet worked out."""
    wished_runs = {run.id: run for run in wanted.household.scenarios[0].runs}
    runs: list[Run] = []
    for run in resolved.day.runs:
        if run.id not in ticked:
            runs.append(run)
        elif run.id in starts:
            runs.append(wished_runs[run.id].model_copy(update={"start": starts[run.id], "on": True}))
        else:
            runs.append(run.model_copy(update={"on": False}))
    runs += [
        wished_runs[load.key].model_copy(update={"start": starts[load.key], "on": True})
        for load in wanted.loads
        if load.run is None and load.key in ticked and load.key in starts
    ]
    day = replace(resolved.day, runs=tuple(runs))
    return replace(resolved, household=single(replace(resolved, day=day)), day=day)


def why(wanted: Wished, best: Json, proposed: Compared) -> tuple[Reason, ...]:
    """One reason for every load of a day that was found."""
    starts = dict(best["starts"])

    def made() -> tuple[Reason, ...]:
        proposal = Proposal(
            starts=starts,
            through_bank_wh=best["through_bank_wh"],
            cannot_be_below_wh=best["cannot_be_below_wh"],
            finish_ms=best["finish_ms"],
            tightest=best["tightest"],
            assessment=proposed.assessment,
        )
        return reasons(wanted.household, wanted.scenario_id, wanted.wish, proposal)

    return _REASONS.get((state_of(proposed.resolved), json.dumps(wish_document(wanted.wish))), made)


def state_of(resolved: Resolved) -> str:
    """A name for exactly this plan, which is another as soon as anything about it is."""
    text = json.dumps(single(resolved).document(), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def _compared(resolved: Resolved, wanted: Collection[str]) -> Compared:
    day, assessment = assessed(resolved)
    task, _ = read_task(resolved, Wish(()))
    drawn = typical_draw(day.laid)
    drawn_wh = float((drawn.w * (drawn.edges_ms[1:] - drawn.edges_ms[:-1])).sum()) / 3_600_000
    through_wh = task.through_bank_wh([])
    ends = [
        resolved.frame.at_ms(wall_clock_s(run.start)) + round(1000 * _length_s(resolved, run))
        for run in resolved.day.runs
        if run.on and run.id in wanted
    ]
    return Compared(
        resolved=resolved,
        day=day,
        assessment=assessment,
        straight_wh=max(drawn_wh - through_wh, 0.0),
        through_wh=through_wh,
        tightest=task.tightest([]),
        done_ms=max(ends, default=None),
    )


def _length_s(resolved: Resolved, run: Run) -> float:
    appliance = resolved.appliance(run.appliance)
    return run_length_s(appliance, run) if appliance is not None else 0.0
