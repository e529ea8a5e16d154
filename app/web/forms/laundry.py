"""What is typed on the page of a laundry day: which loads, when each may run, what holds for all of them.

Everything is in the page's address, as it was typed: nothing of it is stored, and whoever has that sees the same.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from starlette.datastructures import QueryParams

from app.household.appliance import Appliance
from app.household.beside_plan import runs_by_itself
from app.household.fields import wall_clock_s
from app.household.gaps import run_length_s
from app.household.names import LONGEST_ID
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.web.forms.run import length_text

MOST_OF_ONE = 9
UNSAID_S = 1800  # how long a run takes where nobody has said so
TYPED_AT_MOST = 100


@dataclass(frozen=True, slots=True)
class TypedLoad:
    """One load, as it was typed.

    key: of the plan's run its id, of a new one a name that no run has. run: the plan's, None for a new one.
    number: which of its appliance's loads, from 1. may_move: a new one always does. after: key of another load, or
    empty. length: None where the programme has its own.
    """

    key: str
    appliance: Appliance
    number: int
    run: Run | None
    may_move: bool
    since: str = ""
    until: str = ""
    after: str = ""
    within: str = ""
    length: str | None = None


@dataclass(frozen=True, slots=True)
class TypedMachine:
    """An appliance and how many loads of it are wanted. count: as typed; dropped: the plan's runs that are left out."""

    appliance: Appliance
    planned: tuple[Run, ...]
    count: str
    loads: tuple[TypedLoad, ...]
    dropped: tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class Typed:
    """The whole page. begin: starts a search goes on from, by load. shown: the form was filled in, not just opened."""

    machines: tuple[TypedMachine, ...]
    done_by: str = ""
    quiet_from: str = ""
    quiet_to: str = ""
    chance: bool = False
    begin: tuple[tuple[str, str], ...] = ()
    shown: bool = False

    @property
    def loads(self) -> tuple[TypedLoad, ...]:
        """Every load of every machine."""
        return tuple(load for one in self.machines for load in one.loads)

    def address(self) -> list[tuple[str, str]]:
        """The same as an address says it."""
        said = [("shown", "1")]
        for machine in self.machines:
            if machine.planned or machine.count not in ("", "0"):
                said.append((f"n:{machine.appliance.id}", machine.count))
            said += [("left", run.id) for run in machine.dropped]
            for load in machine.loads:
                said.append(("load", load.key))
                if load.may_move and load.run is not None:
                    said.append((f"move:{load.key}", "1"))
                said += [(f"{name}:{load.key}", text) for name, text in _texts(load) if text is not None]
        said += [(name, getattr(self, name)) for name in ("done_by", "quiet_from", "quiet_to") if getattr(self, name)]
        said += [("chance", "1")] if self.chance else []
        return said + [(f"at:{key}", start) for key, start in self.begin]


def _texts(load: TypedLoad) -> Iterator[tuple[str, str | None]]:
    yield "from", load.since
    yield "by", load.until
    yield "after", load.after
    yield "within", load.within
    yield "length", load.length


def typed(resolved: Resolved, query: QueryParams, now_s: int | None) -> Typed:
    """Read an address; what it does not say is as the plan has it.

    now_s: the wall clock where the plan's day is today, for what has begun already is not moved unless told.
    """
    by_itself = runs_by_itself(resolved)
    shown = "shown" in query
    machines = []
    for appliance in resolved.household.appliances:
        runs = tuple(run for run in resolved.day.runs if run.on and run.appliance == appliance.id)
        if appliance.always_on or appliance.id in resolved.day.off:
            continue
        if not runs and (appliance.id in by_itself or appliance.id in resolved.household.any_time):
            continue
        machines.append(_machine(resolved, appliance, sorted(runs, key=lambda run: run.start), query, now_s))
    machines.sort(key=lambda one: not one.planned)
    machines = [_presets(machines, one, query) for one in machines]
    if not shown:
        return Typed(tuple(machines))
    keys = [load.key for one in machines for load in one.loads]
    return Typed(
        machines=tuple(machines),
        done_by=_said(query, "done_by"),
        quiet_from=_said(query, "quiet_from"),
        quiet_to=_said(query, "quiet_to"),
        chance="chance" in query,
        begin=tuple((key, _said(query, f"at:{key}")) for key in keys if f"at:{key}" in query),
        shown=True,
    )


def wanted_number(text: str) -> int | None:
    """How many loads were typed; None for what is no number from 0 to 9.

    >>> [wanted_number(text) for text in ("3", " 0 ", "", "10", "2.5", "many")]
    [3, 0, 0, None, None, None]
    """
    text = text.strip()
    if not text:
        return 0
    return int(text) if text.isascii() and text.isdecimal() and len(text) == 1 else None


def _machine(
    resolved: Resolved, appliance: Appliance, runs: list[Run], query: QueryParams, now_s: int | None
) -> TypedMachine:
    name = f"n:{appliance.id}"
    count = _said(query, name) if name in query else str(len(runs) if "shown" not in query else 0)
    if "shown" in query and name not in query and runs:
        count = str(len(runs))  # it came onto the plan since
    number = wanted_number(count)
    number = len(runs) if number is None else number
    for button, step in (("more", 1), ("fewer", -1)):
        if query.get(button) == appliance.id:
            number = min(max(number + step, 0), MOST_OF_ONE)
            count = str(number)
    # Of the plan's runs those go first that were left out before, then the last ones.
    left = [run.id for run in runs if run.id in query.getlist("left")]
    first_to_go = [*left, *(run.id for run in reversed(runs) if run.id not in left)]
    gone = set(first_to_go[: max(len(runs) - number, 0)])
    stay = [run for run in runs if run.id not in gone]
    ids = {run.id for run in resolved.day.runs}
    loads = [_of_plan(appliance, place + 1, run, query, now_s) for place, run in enumerate(stay)]
    last = stay[-1] if stay else None
    for place in range(len(stay), number):
        loads.append(_new(appliance, place + 1, _free_key(appliance, place + 1, ids), last, query))
    dropped = tuple(run for run in runs if run.id in gone)
    return TypedMachine(appliance, tuple(runs), count, tuple(loads), dropped)


def _of_plan(appliance: Appliance, number: int, run: Run, query: QueryParams, now_s: int | None) -> TypedLoad:
    has_begun = now_s is not None and wall_clock_s(run.start) <= now_s
    preset = TypedLoad(
        key=run.id,
        appliance=appliance,
        number=number,
        run=run,
        may_move=run.window is not None and not has_begun,
        since=run.window[0][:5] if run.window else "",
        until=run.window[1][:5] if run.window else "",
        after=run.after or "",
        within=length_text(run.within_s) if run.within_s is not None and run.after else "",
        length=length_text(run.duration_s or UNSAID_S) if not run_length_s(appliance) else None,
    )
    if run.id not in query.getlist("load"):
        return preset
    return _as_typed(replace(preset, may_move=f"move:{run.id}" in query), query)


def _new(appliance: Appliance, number: int, key: str, like: Run | None, query: QueryParams) -> TypedLoad:
    window = like.window if like is not None else None
    length_s = (like.duration_s if like is not None else None) or UNSAID_S
    preset = TypedLoad(
        key=key,
        appliance=appliance,
        number=number,
        run=None,
        may_move=True,
        since=window[0][:5] if window else "",
        until=window[1][:5] if window else "",
        length=length_text(length_s) if not run_length_s(appliance) else None,
    )
    return _as_typed(preset, query) if key in query.getlist("load") else preset


def _as_typed(preset: TypedLoad, query: QueryParams) -> TypedLoad:
    def said(name: str) -> str:
        return _said(query, f"{name}:{preset.key}")

    return replace(
        preset,
        since=said("from"),
        until=said("by"),
        after=said("after"),
        within=said("within"),
        length=None if preset.length is None else said("length"),
    )


def _presets(machines: list[TypedMachine], machine: TypedMachine, query: QueryParams) -> TypedMachine:
    """New loads of what follows another machine in this plan follow that one's load of the same number."""
    followed = _followed(machines, machine)
    if followed is None:
        return machine
    other, within = followed
    taken = {load.after for load in machine.loads}
    free = [load for load in other.loads if load.key not in taken]

    def preset(load: TypedLoad) -> TypedLoad:
        if load.run is not None or load.key in query.getlist("load") or not free:
            return load
        return replace(load, after=free.pop(0).key, within=within)

    return replace(machine, loads=tuple(preset(load) for load in machine.loads))


def _followed(machines: list[TypedMachine], machine: TypedMachine) -> tuple[TypedMachine, str] | None:
    """The machine after whose runs all of this one's run, and within how long."""
    if not machine.planned or any(run.after is None for run in machine.planned):
        return None
    waits_for = {run.after for run in machine.planned}
    for other in machines:
        if other is not machine and waits_for <= {run.id for run in other.planned}:
            within_s = machine.planned[-1].within_s
            return other, "" if within_s is None else length_text(within_s)
    return None


def _free_key(appliance: Appliance, number: int, ids: set[str]) -> str:
    key = f"{appliance.id[: LONGEST_ID - 10]}*{number}"
    while key in ids:
        key += "*"
    return key


def _said(query: QueryParams, name: str) -> str:
    return query.get(name, "").strip()[:TYPED_AT_MOST]
