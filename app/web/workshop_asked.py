"""What is typed on the workshop's page: which machines, how each is used, and their circuit.

Everything is in the page's address, as it was typed: nothing of it is stored, and whoever has that sees the same.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from starlette.datastructures import QueryParams

from app.household import library
from app.household.appliance import Appliance
from app.household.names import free_name
from app.household.resolve import Resolved
from app.household.workshop_choices import NEW, How, Rests
from app.web.fields.workshop import ABOUT, CURVE, DRAWS, RESTS, RHYTHM, TYPED_AT_MOST, WIRES
from app.web.forms.run import length_text

OWN = "own:"  # before the id of a machine that the plan has already
GROUP = "Workshop"
USUAL_START, USUAL_LENGTH_S = "10:00", 3600
MACHINES_AT_MOST = 12
SHOWN_AT_MOST = 2 * MACHINES_AT_MOST  # more are shown than are taken, so that what was typed of them stays
NAMED_AT_MOST = 200  # machines in an address that are looked at

TEXTS = tuple(one.path for one in (*RHYTHM, *DRAWS, *ABOUT))
WIRE_TEXTS = (*(one.path for one in WIRES), CURVE.path, "fed_from", "leg")


@dataclass(frozen=True, slots=True)
class TypedMachine:
    """A machine that was picked, and what was typed of it.

    key: in the address, an id of the built-in library, or of the plan's own behind `OWN`. entry: None for the plan's.
    how: as chosen, else as such machines are used. sets: key of the machine it sets off; may be empty, or no machine's.
    texts: figures as typed, by their fields. since, lasts, after: as typed.
    """

    key: str
    appliance: Appliance
    entry: library.Entry | None
    how: How
    sets: str
    rests: Rests
    since: str
    lasts: str
    after: str
    texts: Mapping[str, str]

    @property
    def single(self) -> bool:
        """Its programme has one stage, so that it may be used otherwise than it says."""
        return len(self.appliance.stages) == 1


@dataclass(frozen=True, slots=True)
class Typed:
    """The whole page. circuit: an id, or `NEW`. wires: its figures as typed. find: what is looked for.

    unknown: what the address names and nothing is; twice: what it names more than once. left_out: names of machines
    beyond those that are shown.
    """

    machines: tuple[TypedMachine, ...]
    circuit: str
    wires: Mapping[str, str]
    find: str
    unknown: tuple[str, ...] = ()
    twice: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()

    def address(self) -> Iterator[tuple[str, str]]:
        """The same as an address says it, without what is left as it is."""
        for one in self.machines:
            yield "machine", one.key
            yield f"how:{one.key}", one.how
            yield f"sets:{one.key}", one.sets
            yield f"from:{one.key}", one.since
            yield f"for:{one.key}", one.lasts
            more = {"after": one.after, "rests": one.rests if any(one.texts.values()) else "", **one.texts}
            yield from ((f"{name}:{one.key}", text) for name, text in more.items() if text)
        if self.machines:
            yield "circuit", self.circuit
            yield from ((name, text) for name, text in self.wires.items() if text or name == "name")


def typed(resolved: Resolved, query: QueryParams) -> Typed:
    """Read an address; what it does not say is as such machines are used."""
    every, unknown, twice = _picked(resolved, query)
    keys = every[:SHOWN_AT_MOST]
    over = [_appliance(resolved, one) for one in every[SHOWN_AT_MOST:]]
    machines: dict[str, TypedMachine] = {}
    followers = _followers(resolved, query, keys)
    for key in keys:
        machines[key] = _machine(resolved, key, keys, query, followed=key in followers)
    circuits = [one.name or one.id for one in resolved.household.supply.circuits]
    circuit = query.get("circuit") or _circuit_of(list(machines.values()))
    wires = {name: query.get(name, "").strip() for name in WIRE_TEXTS}
    if "name" not in query:
        wires["name"] = free_name("Workshop", circuits)
    left_out = tuple(one.name for one in over if one is not None)
    return Typed(tuple(machines.values()), circuit, wires, query.get("find", "").strip(), unknown, twice, left_out)


def found_in_library(resolved: Resolved, find: str) -> tuple[library.Entry, ...]:
    """The machines of the library that suit the household's sockets and a text; all of them for an empty one."""
    sockets = library.sockets_of(resolved.household.supply.inverter)
    return tuple(one for one in library.search(find, sockets) if one.group == GROUP)


def own_machines(resolved: Resolved) -> tuple[Appliance, ...]:
    """Appliances of the plan that somebody switches on: neither always on nor the pump, and not silenced."""
    water = resolved.household.supply.water
    pump = water.pump if water is not None else None
    return tuple(
        one
        for one in resolved.household.appliances
        if not one.always_on and one.id != pump and one.id not in resolved.day.off
    )


def _picked(resolved: Resolved, query: QueryParams) -> tuple[list[str], tuple[str, ...], tuple[str, ...]]:
    """Keys of the machines: those in the address, one added with what it sets off, one taken out."""
    named = [_key(resolved, one[:TYPED_AT_MOST]) for one in query.getlist("machine")[:NAMED_AT_MOST]]
    known = [one for one in named if _appliance(resolved, one) is not None]
    keys = list(dict.fromkeys(known))
    if "shown" not in query:  # an address somebody wrote, or another page's
        keys = list(dict.fromkeys(brought for one in keys for brought in (one, *_brings(resolved, one))))
    added = _key(resolved, query.get("add", ""))
    if _appliance(resolved, added) is not None:
        keys = list(dict.fromkeys([*keys, added, *_brings(resolved, added)]))
    dropped = query.get("drop")
    keys = [one for one in keys if one != dropped]
    twice = tuple(dict.fromkeys(one for one in known if known.count(one) > 1))
    return keys, tuple(dict.fromkeys(one for one in named if one not in known)), twice


def _key(resolved: Resolved, given: str) -> str:
    """A machine by its id alone is one of the library, else the plan's own."""
    given = given.strip()
    own = f"{OWN}{given}"
    return own if _entry(given) is None and _appliance(resolved, own) is not None else given


def _entry(key: str) -> library.Entry | None:
    try:
        return library.entry(key)
    except KeyError:
        return None


def _appliance(resolved: Resolved, key: str) -> Appliance | None:
    if key.startswith(OWN):
        return next((one for one in own_machines(resolved) if one.id == key.removeprefix(OWN)), None)
    entry = _entry(key)
    return entry.appliance if entry is not None else None


def _brings(resolved: Resolved, key: str) -> list[str]:
    """What a machine sets off, as keys; of the plan's own the plan's."""
    appliance = _appliance(resolved, key)
    before = OWN if key.startswith(OWN) else ""
    called = [one.appliance for stage in appliance.stages for one in stage.sets_off] if appliance is not None else []
    return [f"{before}{one}" for one in called if _appliance(resolved, f"{before}{one}") is not None]


def _sets(resolved: Resolved, key: str, keys: list[str], query: QueryParams) -> str:
    """Which machine one sets off: as chosen, unless that was just taken out; else as its programme says."""
    said = query.get(f"sets:{key}")
    if said is not None:
        return "" if said == query.get("drop") else said[:TYPED_AT_MOST]
    return next((one for one in _brings(resolved, key) if one in keys), "")


def _followers(resolved: Resolved, query: QueryParams, keys: list[str]) -> set[str]:
    called = {key: _sets(resolved, key, keys, query) for key in keys}
    return {other for key, other in called.items() if other != key}


def _machine(resolved: Resolved, key: str, keys: list[str], query: QueryParams, *, followed: bool) -> TypedMachine:
    appliance = _appliance(resolved, key)
    assert appliance is not None  # only those are picked

    def said(name: str, usual: str = "") -> str:
        return query.get(f"{name}:{key}", usual).strip()

    usual = _usual(appliance, followed=followed)
    how = query.get(f"how:{key}", "")
    hows: dict[str, How] = {"whole": "whole", "bursts": "bursts", "follows": "follows"}
    chosen = hows.get(how, usual) if len(appliance.stages) == 1 else "programme"
    if chosen == "follows" and not followed and "drop" in query:
        chosen = usual  # what set it off was just taken out
    rests: dict[str, Rests] = {"nameplate": "nameplate", "measured": "measured", "own": "own"}
    lasts_s = sum(stage.duration_s or 0 for stage in appliance.stages) or USUAL_LENGTH_S
    return TypedMachine(
        key=key,
        appliance=appliance,
        entry=_entry(key),
        how=chosen,
        sets=_sets(resolved, key, keys, query),
        rests=rests.get(query.get(f"rests:{key}", ""), RESTS[0][0]),  # type: ignore[arg-type]
        since=said("from", USUAL_START),
        lasts=said("for", length_text(lasts_s)),
        after=said("after"),
        texts={name: said(name) for name in TEXTS},
    )


def _usual(appliance: Appliance, *, followed: bool) -> How:
    if len(appliance.stages) > 1:
        return "programme"
    if followed:
        return "follows"
    return "bursts" if appliance.stages[0].cycle is not None else "whole"


def _circuit_of(machines: list[TypedMachine]) -> str:
    """The circuit of the first machine of the plan's own that is on one, else a new one."""
    own = (one.appliance.circuit for one in machines if one.entry is None and one.appliance.circuit is not None)
    return next(own, NEW)


def with_size(asked: Typed, text: str) -> Typed:
    """The same with another wire."""
    return replace(asked, wires={**asked.wires, "conductor_mm2": text})
