"""A workshop made of choices: which machines, how each is used, on which circuit. What comes of it are the documents
that a person would have written by hand: appliances with their stages and follow-ons, runs, the supply's circuits.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count

from app.household.errors import Faults
from app.household.guesses import LABEL_SPREADS
from app.household.household import Household
from app.household.names import LONGEST_NOTE, free_name, same_name, shortened, taken_words
from app.household.resolve import Resolved, resolve
from app.household.workshop_choices import (
    NEW,
    Json,
    Use,
    Wiring,
    check_circuit,
    check_own,
    check_uses,
    name_of,
    stage_with_figures,
)

_BASIS = {"nameplate": "nameplate", "measured": "measured", "own": "typical"}
_FOUND = {"nameplate": "its label", "measured": "a meter", "own": "own estimate"}
_TOLD = {"watts": "watts", "power_factor": "power factor", "start": "start", "cycle": "on and off"}
_MEASURED_SPREAD = 0.1  # common practice, no source; an own estimate keeps what it replaces
_CABLE = ("cable_m", "conductor_mm2", "breaker_a", "cable_a", "curve")


@dataclass(frozen=True)
class Taken:
    """Ids and names that may not be given once more: something would be taken for something else."""

    appliances: frozenset[str]
    names: tuple[str, ...]
    circuits: frozenset[str]
    runs: frozenset[str]


@dataclass(frozen=True)
class Made:
    """What choices make.

    changes: as a plan has them, `supply`, `appliances` and `runs`. circuit: its id.
    machines: the key of each of `changes["appliances"]`, in order; runs: the key of each run, by the run's id.
    ids: of each machine, by its key.
    """

    changes: Json
    circuit: str
    machines: tuple[str, ...]
    runs: Mapping[str, str]
    ids: Mapping[str, str]


def taken_in(household: Household, appliances: Iterable[str] = (), runs: Iterable[str] = ()) -> Taken:
    """Everything that the household or any of its plans has. appliances, runs: ids of what was there before."""
    every = [resolve(household, one.id) for one in household.scenarios]
    libraries = [household.appliances, *(one.household.appliances for one in every)]
    return Taken(
        appliances=frozenset(appliances) | {one.id for library in libraries for one in library},
        names=tuple(dict.fromkeys(one.name for library in libraries for one in library)),
        circuits=frozenset(
            one.id for there in (household, *(one.household for one in every)) for one in there.supply.circuits
        ),
        runs=frozenset(runs)
        | {run.id for one in every for run in one.day.runs}
        | {run_id for one in household.scenarios for run_id in one.changes.runs},
    )


def make_workshop(resolved: Resolved, uses: Sequence[Use], wiring: Wiring, taken: Taken) -> Made:
    """The documents that choices make on a plan. resolved: the plan as it is.

    Raises HouseholdFaults, each at its field: `machine`, `FIELD:KEY` of a machine, or a field of the circuit.
    """
    faults = Faults()
    check_uses(faults, uses, resolved.frame)
    check_own(faults, resolved, uses)
    circuits, circuit = _circuits(faults, resolved, wiring, taken)
    faults.raise_if_any()
    uses = [use if use.own else _named(use, taken, uses[:place]) for place, use in enumerate(uses)]
    ids = _ids(uses, taken)
    documents = [(use, _document(use, ids, circuit)) for use in uses]
    changed = [(use.key, document) for use, document in documents if not use.own or document != use.document]
    runs: dict[str, Json] = {}
    keys: dict[str, str] = {}
    for use in uses:
        if use.start is not None and use.how != "follows":
            run_id = _free_run(ids[use.key], {*taken.runs, *runs})
            runs[run_id], keys[run_id] = _run(use, ids[use.key]), use.key
    changes: Json = {"supply": {"circuits": circuits}} if circuits is not None else {}
    if changed:
        changes["appliances"] = [document for _, document in changed]
    if runs:
        changes["runs"] = runs
    return Made(changes, circuit, tuple(key for key, _ in changed), keys, ids)


def plan_with(changes: Json, name: str, date: str, parent: str) -> Json:
    """A plan that is built on another and has that besides, as the file has it, without an id."""
    return {"name": name, "date": date, "parent": parent, "changes": changes}


def _circuits(faults: Faults, resolved: Resolved, wiring: Wiring, taken: Taken) -> tuple[list[Json] | None, str]:
    """All circuits with this one in them, None where none is another; and its id."""
    there = resolved.household.supply.circuits
    before = [one.document() for one in there]
    figures = {name: value for name, value in wiring.figures.items() if value is not None}
    if wiring.circuit != NEW:
        present = next((one for one in before if one["id"] == wiring.circuit), None)
        if present is None:
            faults.add("circuit", "that circuit is there no more; choose another")
            return None, wiring.circuit
        given = {name: figures[name] for name in _CABLE if name in figures}
        changed = present | given
        if changed == present:
            return None, wiring.circuit
        check_circuit(faults, changed)
        return [changed if one is present else one for one in before], wiring.circuit
    name = str(figures.get("name") or "").strip()
    if not name:
        faults.add("name", "give the circuit a name, such as Workshop")
    elif any(same_name(name, one.name or one.id) for one in there):
        faults.add("name", taken_words("circuit", name, [one.name or one.id for one in there]))
    check_circuit(faults, figures)
    circuit_id = _free(_plain(name) or "workshop", taken.circuits)
    fresh = {"id": circuit_id, "name": name} | {
        one: figures[one] for one in (*_CABLE, "fed_from", "leg") if one in figures
    }
    return [*before, fresh], circuit_id


def _named(use: Use, taken: Taken, before: Sequence[Use]) -> Use:
    """A new machine under a name that nothing has."""
    name = free_name(name_of(use), [*taken.names, *(name_of(one) for one in before)])
    return replace(use, about={**use.about, "name": name})


def _ids(uses: Sequence[Use], taken: Taken) -> dict[str, str]:
    ids: dict[str, str] = {}
    for use in uses:
        ids[use.key] = use.document["id"] if use.own else _free(use.document["id"], {*taken.appliances, *ids.values()})
    return ids


def _document(use: Use, ids: Mapping[str, str], circuit: str) -> Json:
    """The appliance as the file has it."""
    first, *others = use.document["stages"]
    stage = dict(first)
    if not others:
        stage = stage_with_figures(use)
        if use.how in ("whole", "follows"):
            stage.pop("cycle", None)
        if use.how == "follows":
            stage.pop("duration_s", None)
    # What it sets off otherwise stays: machines of the plan that were not picked here.
    kept = [one for one in first.get("sets_off", ()) if use.own and one["appliance"] not in ids.values()]
    called = [] if use.sets_off is None else [{"appliance": ids[use.sets_off], "after_s": use.after_s}]
    stage.pop("sets_off", None)
    if kept or called:
        stage["sets_off"] = [*kept, *(_as_before(first, one) for one in called)]
    told = {name: value for name, value in use.about.items() if value is not None}
    document = use.document | {"id": ids[use.key], "circuit": circuit} | told
    if use.figures:
        document |= _rests_on(use)
        document |= {"uncertainty": told["uncertainty"]} if "uncertainty" in told else {}
    return document | {"stages": [stage, *others]}


def _as_before(stage: Json, called: Json) -> Json:
    """What a stage sets off in the words in which it says so already, if it does."""
    same = (one for one in stage.get("sets_off", ()) if {"after_s": 0} | one == called)
    return next(same, called)


def _rests_on(use: Use) -> Json:
    """What figures rest on of which some were given by hand."""
    told = list(dict.fromkeys(_TOLD.get(path.partition(".")[0], path) for path in use.figures))
    source = use.document.get("source") or {}
    rest = f" The rest: {source['text']}" if source.get("text") else ""
    text = f"{', '.join(told)}: {_FOUND[use.rests]}.{rest}"
    found: Json = {"basis": _BASIS[use.rests]} | {
        "source": {"kind": use.rests, "text": shortened(text[:1].upper() + text[1:], LONGEST_NOTE)}
    }
    if use.rests != "own" and "watts" in use.figures:
        label = LABEL_SPREADS["motor" if stage_with_figures(use).get("start") else "heats"]
        found["uncertainty"] = _MEASURED_SPREAD if use.rests == "measured" else label
    return found


def _run(use: Use, appliance_id: str) -> Json:
    run: Json = {"appliance": appliance_id, "start": use.start}
    stages = use.document["stages"]
    if len(stages) == 1 and use.length_s is not None and use.length_s != stages[0].get("duration_s"):
        run["duration_s"] = use.length_s
    return run


def _free(wanted: str, taken: Iterable[str]) -> str:
    used, base = set(taken), wanted[:90]
    return base if base not in used else next(one for n in count(2) if (one := f"{base}-{n}") not in used)


def _free_run(appliance_id: str, taken: Iterable[str]) -> str:
    used = set(taken)
    return next(one for n in count(1) if (one := f"{appliance_id[:90]}-{n}") not in used)


def _plain(name: str) -> str:
    return re.sub(r"[\W_]+", "-", name.lower()).strip("-")[:60]
