"""A workshop looked at before it is made: the plan that it would be, assessed, with what decides in it."""

from collections.abc import Iterable
from dataclasses import dataclass

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.results import Assessment
from app.engine.sun import suns_of
from app.household.checks import with_plan
from app.household.resolve import Resolved, resolve
from app.household.scenario import Scenario
from app.household.workshop import Made, Taken, plan_with, taken_in
from app.planner.workshop import SIZES_MM2, Decider, Sized, deciders, drops_by_size
from app.store.stored import StoredHousehold, StoredScenario
from app.web.fields.customs import Customs, gauge_mm2

# The American sizes nearest to those of IEC 60228.
GAUGES = (14, 12, 10, 8, 6)


@dataclass(frozen=True)
class Look:
    """The plan with the workshop in it. sizes: what other wires would lose; none where the cable is not known."""

    made: Made
    resolved: Resolved
    assessment: Assessment
    decides: tuple[Decider, ...]
    sizes: tuple[Sized, ...]


def taken(stored: StoredHousehold) -> Taken:
    """Ids and names that anything has, or had before it was removed and may be brought back."""
    pieces = stored.pieces.values()
    return taken_in(
        stored.household,
        (one.name for one in pieces if one.kind == "appliance"),
        (one.name for one in pieces if one.kind == "run"),
    )


def plan_path(stored: StoredHousehold) -> str:
    """Where the plan that is looked at would stand in the file."""
    return f"scenarios[{len(stored.household.scenarios)}]"


def look_at(stored: StoredHousehold, scenario: StoredScenario, made: Made, customs: Customs) -> Look:
    """Build the what-if and assess it; nothing is stored.

    Raises HouseholdFaults, those of the plan at `plan_path`.
    """
    household = stored.household
    used = {one.id for one in household.scenarios}
    plan_id = next(one for number in range(len(used) + 1) if (one := f"workshop-{number}") not in used)
    date = next(one.date for one in household.scenarios if one.id == scenario.id)
    empty = Scenario(id=plan_id, name=scenario.name, date=date, parent=scenario.id)
    with_room = household.model_copy(update={"scenarios": (*household.scenarios, empty)})
    document = plan_with(made.changes, scenario.name, date, scenario.id) | {"id": plan_id}
    resolved = resolve(with_plan(with_room, len(household.scenarios), document), plan_id)
    assessment = assess_day(lay_day(resolved), suns_of(resolved))
    supply = resolved.household.supply
    circuit = next(one for one in supply.circuits if one.id == made.circuit)
    sizes: tuple[Sized, ...] = ()
    if circuit.cable_m is not None and circuit.conductor_mm2 is not None:
        sizes = drops_by_size(resolved, made.circuit, _sizes(circuit.conductor_mm2, customs))
    return Look(made, resolved, assessment, deciders(assessment, supply, made.circuit), sizes)


def _sizes(present_mm2: float, customs: Customs) -> Iterable[float]:
    """The next sizes as the household writes them, its own among them."""
    usual = [round(gauge_mm2(one), 4) for one in GAUGES] if customs.conductor == "awg" else list(SIZES_MM2)
    return sorted({*usual, present_mm2})
