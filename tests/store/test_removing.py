"""An appliance taken out with everything that names it, and what keeps it there."""

import copy
from collections.abc import Callable
from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.store.commands import RemoveAppliance
from app.store.households import import_household
from tests.store.doing import done, envelope, read_afresh, refused, undone
from tests.store.sample import MILL, Mill

Document = dict[str, Any]


def with_file(mill: Mill, change: Callable[[Document], Any]) -> Mill:
    """Another household, the sample with its file changed."""
    document = copy.deepcopy(MILL)
    change(document)
    with mill.database.session() as session:
        key = import_household(session, document, mill.link_key)
        session.commit()
    return Mill(mill.database, key, mill.link_key)


def plans(document: Document) -> dict[str, Document]:
    """The file's plans by their ids."""
    return {one["id"]: one for one in document["scenarios"]}


def off_in_a_child(document: Document) -> None:
    """A plan that builds on another leaves the washer off, and the pump."""
    plans(document)["wet"]["changes"]["day"]["off"] = ["washer", "pump"]


def own_figures(document: Document) -> None:
    """A plan has the washer with figures of its own."""
    entry = {"id": "washer", "name": "Old washer", "stages": [{"duration_s": 600, "watts": 900}]}
    plans(document)["wet"]["changes"]["appliances"] = [entry]


def waits(document: Document) -> None:
    """The pump waits for a washer run; a plan on top says how long, one on top of that waits for another one."""
    plans(document)["wash"]["runs"][2] |= {"after": "first"}
    plans(document)["wet"]["changes"]["runs"]["pump"] = {"within_s": 600}
    plans(document)["plain"]["changes"] = {"runs": {"pump": {"after": "late"}}}


def made_another(document: Document) -> None:
    """A plan made a run of the pump of what its parent has as one of the washer."""
    plans(document)["wet"]["changes"]["runs"]["first"] = {"appliance": "pump", "duration_s": 60}


@pytest.mark.parametrize("change", [off_in_a_child, own_figures, waits, made_another])
def test_what_names_it_goes_along_and_comes_back(mill: Mill, change: Callable[[Document], Any]) -> None:
    """Nothing is left that speaks of it, the rest stays, and one step back has all of it again."""
    mill = with_file(mill, change)
    before = mill.exported()
    done(mill, RemoveAppliance(**envelope(mill), name="washer"))
    after = mill.exported()

    assert "washer" not in str(after).lower()
    assert all(run.after is None for day in mill.stored().days.values() for run in day.runs)
    read_afresh(mill)
    undone(mill, "wash")
    assert mill.exported() == before
    read_afresh(mill)


def test_what_a_plan_leaves_off_beside_it_stays_off(mill: Mill) -> None:
    """Only the one that is gone is named no more."""
    mill = with_file(mill, off_in_a_child)
    done(mill, RemoveAppliance(**envelope(mill), name="washer"))

    assert mill.stored().days["wet"].off == ("pump",)


def test_a_run_that_was_made_another_machines_keeps_its_time(mill: Mill) -> None:
    """What it had from its parent's run is its own then."""
    mill = with_file(mill, made_another)
    done(mill, RemoveAppliance(**envelope(mill), name="washer"))

    run = next(one for one in mill.stored().days["wet"].runs if one.id == "first")
    assert (run.appliance, run.start, run.duration_s) == ("pump", "09:00", 60)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"supply": {"water": {"pump": "washer", "vessel_l": 20, "pump_l_per_min": 30}}}, "pump of the water supply"),
        (
            {
                "appliances": [
                    {"id": "saw", "name": "Saw", "stages": [{"watts": 9, "sets_off": [{"appliance": "washer"}]}]}
                ]
            },
            "'Saw' sets it off",
        ),
    ],
)
def test_what_a_plan_alone_needs_is_not_removed(mill: Mill, change: Document, why: str) -> None:
    """The plan is named, with what it needs it for."""

    def put(document: Document) -> None:
        document["appliances"][0]["stages"] = [{"duration_s": 60, "watts": 550}]
        plans(document)["bare"]["changes"] = change

    mill = with_file(mill, put)
    fault = refused(mill, RemoveAppliance(**envelope(mill), name="washer"), HouseholdFaults)

    assert [why in one.why and "'Nothing yet'" in one.why for one in fault.faults] == [True]
