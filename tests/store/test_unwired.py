"""A circuit that is still used is not taken out: one sentence says who is on it, by their names, and the way out."""

from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.store.commands import ChangePart, ChangeWhatIf, apply
from app.store.households import import_household, load
from app.store.session import Database
from tests.households import with_plans

ABOUT: dict[str, Any] = {"tab": "t", "sequence": 1, "link_key": None}


def refused(database: Database, circuit: str, *, alone: bool = False) -> list[str]:
    """Why a circuit cannot be taken out of the household, or out of a plan alone."""
    with database.session() as session:
        key = import_household(session, with_plans("ordinary", "shed"), None)
        stored = load(session, key)
        assert stored is not None
        place = [one.id for one in stored.household.supply.circuits].index(circuit)
        about = ABOUT | {"household_key": key}
        command: ChangePart | ChangeWhatIf = ChangePart(
            **about, kind="supply", name="circuits", changes=[[[place], None]]
        )
        if alone:
            plan = next(one for one in stored.scenarios if one.id == "shed")
            command = ChangeWhatIf(**about, scenario_key=plan.key, supply=[[["circuits", place], None]])
        with pytest.raises(HouseholdFaults) as caught:
            apply(session, command)
        session.rollback()
    return [one.why for one in caught.value.faults]


@pytest.mark.parametrize("alone", [False, True])
def test_machines_on_it_are_one_sentence(database: Database, alone: bool) -> None:
    """Whatever their number; no ids, and the way out."""
    (why,) = refused(database, "kitchen", alone=alone)
    assert why == (
        "'Fridge', 'Dishwasher' and 'Kettle' are on the circuit 'Kitchen sockets'; put each on another one under"
        " Appliances, or take it out, first"
    )


def test_machines_that_a_plan_alone_has_are_told_with_its_name(database: Database) -> None:
    """The household itself has nothing there."""
    (why,) = refused(database, "shed")
    assert "in the plan 'Boat shed opens' 'Bandsaw', 'Dust extractor' and 'Air compressor' are on it" in why
