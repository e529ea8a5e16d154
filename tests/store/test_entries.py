"""What stands in the way of a change in the library, and what a page that was gone back to may still say."""

from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.store.commands import AddAppliance, ChangePart, RemoveAppliance
from app.store.errors import Stale
from tests.store.doing import done, envelope, refused, undone
from tests.store.sample import Mill
from tests.store.test_removing import own_figures, with_file


def figures(mill: Mill, name: str, *changes: tuple[list[Any], Any], **given: Any) -> ChangePart:
    """A command that gives figures of an appliance."""
    return ChangePart(**envelope(mill, **given), kind="appliance", name=name, changes=[list(one) for one in changes])


def names(mill: Mill) -> list[str]:
    """What the household's appliances are called."""
    return [one["name"] for one in mill.exported()["appliances"]]


@pytest.mark.parametrize("name", ["Pump", " pump "])
def test_no_two_appliances_are_given_one_name(mill: Mill, name: str) -> None:
    """Letters' case and spaces aside; its own may be written otherwise, and undoing asks for no free one."""
    fault = refused(mill, figures(mill, "washer", (["name"], name)), HouseholdFaults)
    assert fault.faults[0].path == "appliances[0].name"
    assert "there is an appliance of that name already; give another, such as" in fault.faults[0].why

    done(mill, figures(mill, "pump", (["name"], "PUMP")))
    assert names(mill)[1] == "PUMP"


def test_undoing_a_name_asks_for_no_free_one(mill: Mill) -> None:
    """Somebody else may have taken it meanwhile; going back is always possible."""
    before = names(mill)
    done(mill, figures(mill, "washer", (["name"], "Tub")))
    document = {"id": "other", "name": before[0], "stages": [{"duration_s": 5, "watts": 5}]}
    done(mill, AddAppliance(**envelope(mill, sequence=2), documents=[document]))
    undone(mill, "wash", sequence=3)
    undone(mill, "wash", sequence=4)

    assert names(mill) == before


def test_what_only_a_plan_has_keeps_its_name_and_its_id(mill: Mill) -> None:
    """A copy out of the library would else be taken for it in that plan."""

    def put(document: dict[str, Any]) -> None:
        own_figures(document)
        document["scenarios"][1]["changes"]["appliances"][0] |= {"id": "saw", "name": "Saw"}

    mill = with_file(mill, put)
    saws = [{"id": "saw", "name": "Saw", "stages": [{"duration_s": 60, "watts": 900}]}] * 2
    done(mill, AddAppliance(**envelope(mill), documents=saws[:1]))
    fault = refused(mill, figures(mill, "washer", (["name"], "saw"), sequence=2), HouseholdFaults)

    added = mill.exported()["appliances"][-1]
    assert (added["id"], added["name"]) == ("saw-2", "Saw 2")
    assert "such as saw 3" in fault.faults[0].why


def test_entries_that_come_together_have_two_names(mill: Mill) -> None:
    """Two of one name in one step too."""
    both = [{"id": name, "name": "Fan", "stages": [{"duration_s": 60, "watts": 90}]} for name in ("one", "two")]
    done(mill, AddAppliance(**envelope(mill), documents=both))

    assert names(mill)[2:] == ["Fan", "Fan 2"]


def test_what_plans_have_runs_of_is_not_made_always_on(mill: Mill) -> None:
    """The plans are named with the runs; not those that only inherit them."""
    changes = [(["always_on"], True), (["stages"], [{"watts": 500}])]
    fault = refused(mill, figures(mill, "washer", *changes), HouseholdFaults)

    assert [one.path for one in fault.faults] == ["appliances[0].always_on"]
    assert fault.faults[0].why == (
        "what is always on has no runs; take those in the plans 'Wash day' (at 14:00 and 09:00) and"
        " 'Wash day, wet <b>&amp;</b> wild' (at 20:00) off first"
    )


def test_a_fault_of_a_plan_names_the_plan(mill: Mill) -> None:
    """A plan has less overload than the household's inverter would be rated for."""

    def put(document: dict[str, Any]) -> None:
        document["scenarios"][3]["changes"] = {"supply": {"inverter": {"overload": [[5500, 60]]}}}

    mill = with_file(mill, put)
    command = ChangePart(**envelope(mill), kind="supply", name="inverter", changes=[[["rated_va"], 5900]])
    fault = refused(mill, command, HouseholdFaults)

    assert [one.plan for one in fault.faults] == ["Nothing yet"]
    assert fault.faults[0].why.startswith("in the plan 'Nothing yet', ")


def test_a_page_gone_back_to_says_something_else(mill: Mill) -> None:
    """Under the number it sent before: another figure is stored, the same one once more too, and it may be deleted."""
    watts, name = ["stages", 1, "watts"], ["name"]
    done(mill, figures(mill, "washer", (watts, 90)))
    done(mill, figures(mill, "washer", (name, "Tub")))
    done(mill, figures(mill, "washer", (watts, 80), (name, "Tub")))
    washer = mill.exported()["appliances"][0]
    assert (washer["stages"][1]["watts"], washer["name"]) == (80, "Tub")

    done(mill, RemoveAppliance(**envelope(mill), name="washer"))
    assert names(mill) == ["Pump"]


def test_a_page_overtakes_itself_figure_by_figure(mill: Mill) -> None:
    """What it sent later of the same figure stands; of another, the slow one still counts."""
    watts = ["stages", 1, "watts"]
    done(mill, figures(mill, "washer", (watts, 90), sequence=5))
    refused(mill, figures(mill, "washer", (watts, 80), sequence=4), Stale)
    refused(mill, figures(mill, "washer", (["stages"], []), sequence=4), Stale)
    done(mill, figures(mill, "washer", (["name"], "Tub"), sequence=4))

    assert names(mill)[0] == "Tub"


def test_a_piece_is_not_added_twice_by_one_tap(mill: Mill) -> None:
    """Two taps on one button send one number; a figure of another piece under that number is another matter."""

    def added(place: int) -> ChangePart:
        panel = {"peak_w": 1000, "tilt_deg": 35, "azimuth_deg": 180}
        change = [[], [panel]] if place == 0 else [[place], panel]
        return ChangePart(**envelope(mill), kind="supply", name="arrays", changes=[change], what="arrays_add")

    done(mill, added(0))
    refused(mill, added(1), Stale)
    steeper = ChangePart(**envelope(mill), kind="supply", name="arrays", changes=[[[0, "tilt_deg"], 40]])
    done(mill, steeper)

    assert [one["tilt_deg"] for one in mill.exported()["supply"]["arrays"]] == [40]
