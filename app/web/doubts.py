"""What is known of a supply, what is taken for granted, what nobody knows; and what that could do to a plan.

Whatever is taken for granted is tried with a worse value: a plan that stands then does not hang on it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from app.engine.results import Verdict
from app.household.errors import HouseholdFaults
from app.household.household import Household
from app.household.supply import Circuit
from app.store.commands.parts import changed, part_named, value_at
from app.store.stored import StoredHousehold, StoredScenario
from app.web.planned import planned

# Fields with a usual value, and one that is worse: common practice, no source.
_WORSE: dict[str, dict[str, float]] = {
    "inverter": {"room_offset_k": 10, "no_load_w": 60},
    "battery": {"sharing": 1.3, "health": 0.8, "dc_path_ohm": 0.005, "room_offset_k": -10},
}
_WORSE_STARTS = 1.5


@dataclass(frozen=True, slots=True)
class Assumed:
    """A figure that was left out. part, field: which; field empty for the starts of everything not measured.

    worse: what was tried in its place. verdict: of the plan then; None where the figure cannot be that.
    """

    part: str
    field: str
    worse: float
    verdict: Verdict | None


@dataclass(frozen=True, slots=True)
class Unknown:
    """Something without which a limit is not checked. what: a code. names: of what it is about."""

    what: str
    names: tuple[str, ...] = ()


def known(stored: StoredHousehold) -> int:
    """How many figures of inverter and battery somebody gave."""
    return sum(len(_document(stored, part)) for part in _WORSE)


def assumed(stored: StoredHousehold, scenario: StoredScenario) -> Iterator[Assumed]:
    """What is taken for granted, each tried with a worse value: an assessment each."""
    for part, fields in _WORSE.items():
        for field, worse in fields.items():
            alone = field == "sharing" and stored.household.supply.battery.modules == 1
            if value_at(_document(stored, part), [field]) is None and not alone:
                yield Assumed(part, field, worse, _tried(stored, scenario, "supply", part, [field], worse))
    starting = [
        one for one in stored.household.appliances if one.basis != "measured" and any(s.start for s in one.stages)
    ]
    if starting:
        yield Assumed("appliances", "", _WORSE_STARTS, _with_larger_starts(stored, scenario))


def unknown(household: Household) -> Iterator[Unknown]:
    """What is not there to be checked."""
    if household.supply.battery.dc_fuse_a is None:
        yield Unknown("dc_fuse")
    circuits = household.supply.circuits
    if not circuits:
        yield Unknown("no_circuits")
        return
    if names := tuple(one.name or one.id for one in circuits if one.breaker_a is None):
        yield Unknown("no_breaker", names)
    if names := tuple(one.name or one.id for one in circuits if not _has_cable(one)):
        yield Unknown("no_cable", names)
    if names := tuple(one.name for one in household.appliances if one.circuit is None):
        yield Unknown("no_circuit", names)


def _has_cable(circuit: Circuit) -> bool:
    return circuit.cable_m is not None and circuit.conductor_mm2 is not None


def _document(stored: StoredHousehold, part: str) -> Any:
    piece = part_named(stored, "supply", part)
    return {} if piece is None or piece.removed else piece.document


def _tried(
    stored: StoredHousehold, scenario: StoredScenario, kind: Any, name: str, path: list[Any], value: Any
) -> Verdict | None:
    piece = part_named(stored, kind, name)
    assert piece is not None  # every household has these parts
    return _verdict(stored, scenario, [replace(piece, document=changed(piece.document, path, value))])


def _with_larger_starts(stored: StoredHousehold, scenario: StoredScenario) -> Verdict | None:
    pieces = []
    for piece in stored.pieces.values():
        if piece.kind != "appliance" or piece.removed or piece.document.get("basis") == "measured":
            continue
        document = piece.document
        for place, stage in enumerate(document["stages"]):
            if stage.get("start"):
                larger = stage["start"]["va"] * _WORSE_STARTS
                document = changed(document, ["stages", place, "start", "va"], larger)
        pieces.append(replace(piece, document=document))
    return _verdict(stored, scenario, pieces)


def _verdict(stored: StoredHousehold, scenario: StoredScenario, pieces: list[Any]) -> Verdict | None:
    try:
        worse = stored.with_pieces(*pieces)
        plan = worse.scenario(scenario.key)
        return planned(worse, plan).assessment.verdict if plan is not None else None
    except HouseholdFaults:
        return None
