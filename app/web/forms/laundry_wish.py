"""From what is typed on the page of a laundry day to a household and a wish a search can take."""

from collections.abc import Container, Iterable
from dataclasses import dataclass
from typing import Any

from app.household.errors import Fault, HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.household import Household
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.household.single import single
from app.planner.laundry.wish import MOST_RUNS, Wish
from app.web.forms.laundry import MOST_OF_ONE, Typed, TypedLoad, wanted_number
from app.web.forms.run import LENGTH_WORDS, clock_typed, length_typed_s

# Beside fields, without a full stop
HOW_MANY = "give a whole number from 0 to {most}"
NOTHING_MOVES = "nothing is to be placed yet; say how many loads there are, or let a planned run be moved"
TOO_MANY = "{here} loads are too many for one day; {most} at most can be placed at once"
NO_CLOCK = "give a time of day as 18:00, or leave it empty"
QUIET_HALF = "quiet hours need both ends; give this one too, or leave both empty"
WITHIN_OF_NOTHING = "this counts from the end of another load; choose which one it follows, or leave this empty"
AFTER_NOTHING = "there is no such load; choose another one, or leave this empty"
AFTER_ITSELF = "a load cannot follow itself; choose another one"
HOW_LONG = "say how long it runs"

EARLIEST, LATEST, MIDNIGHT = "06:00", "23:00", "00:00"  # of a window of which one end was typed; as for one untyped
DAY_ENDS = "24:00"
STEP_S = 300  # a search begins loads on full five minutes


@dataclass(frozen=True, slots=True)
class Wished:
    """What is to be searched.

    household: the plan alone, with the loads that are wanted on it; new ones are off until they have a place.
    loads: what is to be placed, in the page's order. dropped: the plan's runs that are left out. begin: starts to begin
    the search from, by load.
    """

    household: Household
    scenario_id: str
    wish: Wish
    loads: tuple[TypedLoad, ...]
    dropped: tuple[Run, ...]
    begin: dict[str, str] | None


def wished(resolved: Resolved, asked: Typed, not_before: str | None) -> Wished:
    """Read what was typed.

    not_before: the wall clock from which on loads may begin, None for any.
    Raises HouseholdFaults whose paths are names of fields on the page; what only the search finds has others, which
    `field_of` turns into these.
    """
    faults: list[Fault] = []
    loads = tuple(load for load in asked.loads if load.may_move)
    for machine in asked.machines:
        if wanted_number(machine.count) is None:
            faults.append(Fault(f"n:{machine.appliance.id}", HOW_MANY.format(most=MOST_OF_ONE)))
    runs = {run.id: run for run in resolved.day.runs}
    runs |= {run.id: run.model_copy(update={"on": False}) for one in asked.machines for run in one.dropped}
    known = {*runs, *(load.key for load in loads)}
    for load in loads:
        runs[load.key] = _run(load, known, faults)
    if not loads:
        faults.append(Fault("movable", NOTHING_MOVES))
    elif len(loads) > MOST_RUNS:
        faults.append(Fault("movable", TOO_MANY.format(here=len(loads), most=MOST_RUNS)))
    done_by = _clock(asked.done_by, "done_by", faults)
    quiet = _quiet(asked, faults)
    if faults:
        raise HouseholdFaults(faults)
    household = single(resolved, runs.values())
    wish = Wish(tuple(load.key for load in loads), quiet, not_before, done_by, asked.chance)
    dropped = tuple(run for one in asked.machines for run in one.dropped)
    begin = {key: start for key, start in asked.begin if _is_clock(start)}
    return Wished(household, resolved.day.scenario_id, wish, loads, dropped, begin or _as_planned(loads))


def _as_planned(loads: Iterable[TypedLoad]) -> dict[str, str] | None:
    """Where the plan has them all, so that a day that is as good already stays as it is; None where some are new."""
    runs = {load.key: load.run for load in loads}
    starts = {
        key: run.start[:5] for key, run in runs.items() if run is not None and wall_clock_s(run.start) % STEP_S == 0
    }
    return starts if len(starts) == len(runs) else None


def field_of(path: str, loads: Iterable[TypedLoad]) -> str:
    """The field of the page a fault of the search belongs to; `movable` for what belongs to none."""
    key, _, what = path.rpartition(".")
    load = next((one for one in loads if one.key == key), None)
    if load is not None:
        names = {"window": "from", "after": "after", "within": "within"}
        return f"{names[what]}:{key}" if what in names else f"n:{load.appliance.id}"
    if path == "quiet":
        return "quiet_from"
    return path if ":" in path or path in ("done_by", "quiet_from", "quiet_to") else "movable"


def _run(load: TypedLoad, known: Container[str], faults: list[Fault]) -> Run:
    """The run a load is, with a start that counts for nothing. known: ids of what it may follow."""
    document: dict[str, Any] = {"id": load.key, "appliance": load.appliance.id}
    if load.run is not None:
        document = load.run.document()
    document = {name: value for name, value in document.items() if name not in ("window", "after", "within_s")}
    document |= {"on": load.run is not None, "start": load.run.start if load.run is not None else "12:00"}
    window = _window(load, faults)
    within_s = _length(load.within, f"within:{load.key}", faults)
    if load.within and not load.after:
        faults.append(Fault(f"within:{load.key}", WITHIN_OF_NOTHING))
    if load.after == load.key:
        faults.append(Fault(f"after:{load.key}", AFTER_ITSELF))
    elif load.after and load.after not in known:
        faults.append(Fault(f"after:{load.key}", AFTER_NOTHING))
    elif load.after:
        document |= {"after": load.after} | ({} if within_s is None else {"within_s": within_s})
    if window is not None:
        document["window"] = list(window)
    if load.length is not None:
        length_s = _length(load.length, f"length:{load.key}", faults)
        if not load.length:
            faults.append(Fault(f"length:{load.key}", HOW_LONG))
        document["duration_s"] = length_s or 60.0
    return Run.model_validate(document)


def _window(load: TypedLoad, faults: list[Fault]) -> tuple[str, str] | None:
    since = _clock(load.since, f"from:{load.key}", faults)
    until = _clock(load.until, f"by:{load.key}", faults)
    if since is None and until is None:
        return None
    if since is None:
        since = EARLIEST if wall_clock_s(until or MIDNIGHT) > wall_clock_s(EARLIEST) else MIDNIGHT
    if until is None:
        until = LATEST if wall_clock_s(since) < wall_clock_s(LATEST) else MIDNIGHT
    return since, until


def _quiet(asked: Typed, faults: list[Fault]) -> tuple[tuple[str, str], ...]:
    since = _clock(asked.quiet_from, "quiet_from", faults)
    until = _clock(asked.quiet_to, "quiet_to", faults)
    for name, typed, other in (
        ("quiet_to", asked.quiet_to, asked.quiet_from),
        ("quiet_from", asked.quiet_from, asked.quiet_to),
    ):
        if other and not typed:
            faults.append(Fault(name, QUIET_HALF))
    return () if since is None or until is None else ((since, until),)


def _clock(text: str, name: str, faults: list[Fault]) -> str | None:
    """A time of day; the end of the day may be called 24:00."""
    if not text:
        return None
    found = clock_typed(text)
    if found == DAY_ENDS:
        return MIDNIGHT
    if not _is_clock(found):
        faults.append(Fault(name, NO_CLOCK))
        return None
    return found


def _is_clock(text: str) -> bool:
    hours, _, minutes = text.partition(":")
    return (
        text.isascii()
        and len(text) == 5
        and hours.isdecimal()
        and minutes.isdecimal()
        and int(hours) < 24
        and int(minutes) < 60
    )


def _length(text: str, name: str, faults: list[Fault]) -> float | None:
    try:
        return length_typed_s(text)
    except HouseholdFaults:
        faults.append(Fault(name, LENGTH_WORDS))
        return None
