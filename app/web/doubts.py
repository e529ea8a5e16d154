"""What is known of a supply, what is taken for granted, what nobody knows; and what that could do to a plan.

Whatever is taken for granted is tried with a worse value: a plan that stands then does not hang on it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from app.engine.results import Verdict
from app.household.beginning import as_begun
from app.household.errors import HouseholdFaults
from app.household.household import Household
from app.household.merge import merge_patch
from app.household.supply import Circuit, Supply
from app.store.commands.parts import changed
from app.store.stored import StoredHousehold, StoredScenario
from app.web.planned import planned

# Fields with a usual value, and one that is worse: common practice, no source.
_WORSE: dict[str, dict[str, float]] = {
    "inverter": {"room_offset_k": 10, "no_load_w": 60},
    "battery": {"sharing": 1.3, "health": 0.8, "dc_path_ohm": 0.005, "room_offset_k": -10},
}
_WORSE_STARTS = 1.5
# What banks usually have, and shares of it between which inverters cut off and come back: common practice, no source.
_BANK_FROM_V, _BANK_TO_V = 10, 70
_OF_NOMINAL = {"cut_off_v": (0.7, 1.1), "restart_v": (0.7, 1.2)}


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
    """Something without which a limit is not checked. what: a code. names: of what it is about; none for all of it."""

    what: str
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Doubt:
    """A voltage that can be and is hardly meant. part, field: which. value_v: it. bank_v: the bank's nominal one."""

    part: str
    field: str
    value_v: float
    bank_v: float


def unusual_bank(bank_v: float) -> bool:
    """Whether a nominal voltage is none that banks usually have."""
    return not _BANK_FROM_V <= bank_v <= _BANK_TO_V


def doubted(supply: Supply) -> Iterator[Doubt]:
    """Voltages that do not go together, or with what is usual: they are stored, and asked about."""
    inverter, bank_v = supply.inverter, supply.battery.module_v
    if unusual_bank(bank_v):
        yield Doubt("battery", "module_v", bank_v, bank_v)
    for field, value_v in (("cut_off_v", inverter.cut_off_v), ("restart_v", inverter.restart_v)):
        lowest, highest = _OF_NOMINAL[field]
        if value_v is not None and not lowest * bank_v <= value_v <= highest * bank_v:
            yield Doubt("inverter", field, value_v, bank_v)


def known(household: Household) -> int:
    """How many figures of inverter and battery somebody gave."""
    return sum(len(_told(household, part)) - len(filled_in) for part, filled_in in as_begun(household.supply).items())


def assumed(stored: StoredHousehold, scenario: StoredScenario) -> Iterator[Assumed]:
    """What is taken for granted in a plan, each tried with a worse value: an assessment each."""
    household = planned(stored, scenario).resolved.household
    for part, fields in _WORSE.items():
        for field, worse in fields.items():
            alone = field == "sharing" and household.supply.battery.modules == 1
            if _told(household, part).get(field) is None and not alone:
                patch = {part: {field: worse}}
                yield Assumed(part, field, worse, _verdict(stored, scenario, supply=patch))
    if larger := list(_with_larger_starts(household)):
        yield Assumed("appliances", "", _WORSE_STARTS, _verdict(stored, scenario, appliances=larger))


def unknown(household: Household) -> Iterator[Unknown]:
    """What is not there to be checked, or was filled in and never looked at."""
    for part, fields in as_begun(household.supply).items():
        if fields:
            yield Unknown(f"filled_in_{part}", () if len(fields) == len(_told(household, part)) else fields)
    if household.supply.battery.dc_fuse_a is None:
        yield Unknown("dc_fuse")
    circuits = household.supply.circuits
    free = tuple(one.name for one in household.appliances if one.circuit is None)
    if free and household.supply.inverter.legs == 2:
        yield Unknown("half_each", free)
    if not circuits:
        yield Unknown("no_circuits")
        return
    if names := tuple(one.name or one.id for one in circuits if one.breaker_a is None):
        yield Unknown("no_breaker", names)
    if names := tuple(one.name or one.id for one in circuits if not _has_cable(one)):
        yield Unknown("no_cable", names)
    if free:
        yield Unknown("no_circuit", free)


def _has_cable(circuit: Circuit) -> bool:
    return circuit.cable_m is not None and circuit.conductor_mm2 is not None


def _told(household: Household, part: str) -> dict[str, Any]:
    found: dict[str, Any] = getattr(household.supply, part).document()
    return found


def _with_larger_starts(household: Household) -> Iterator[dict[str, Any]]:
    """Every appliance with starts that nobody measured, as the file has it, with larger ones."""
    for appliance in household.appliances:
        if appliance.basis == "measured" or not any(stage.start for stage in appliance.stages):
            continue
        document = appliance.document()
        for place, stage in enumerate(appliance.stages):
            if stage.start:
                document = changed(document, ["stages", place, "start", "va"], stage.start.va * _WORSE_STARTS)
        yield document


def _verdict(
    stored: StoredHousehold,
    scenario: StoredScenario,
    *,
    supply: dict[str, Any] | None = None,
    appliances: Iterable[dict[str, Any]] = (),
) -> Verdict | None:
    """How the plan would stand with other figures, said by the plan itself: whatever it has of its own gives way."""
    piece = stored.pieces[scenario.key]
    changes = dict(piece.document.get("changes") or {})
    changes["supply"] = merge_patch(changes.get("supply") or {}, supply or {})
    own = {entry["id"]: entry for entry in (*(changes.get("appliances") or ()), *appliances)}
    changes["appliances"] = list(own.values())
    try:
        worse = stored.with_plan(scenario, replace(piece, document=piece.document | {"changes": changes}))
        plan = worse.scenario(scenario.key)
        return planned(worse, plan, with_sun=True).assessment.verdict if plan is not None else None
    except HouseholdFaults:
        return None
