"""A household becomes what a file says, in one step that can be taken back."""

import copy
import json
from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.store.commands import AddRun, ReplaceHousehold, SetPlanField
from app.store.errors import Gone
from tests.store.doing import done, envelope, history, plan_key, read_afresh, redone, refused, steps_of, undone
from tests.store.sample import MILL, Mill
from tests.store.test_parts import KETTLE, figures


def mill_with(**fields: Any) -> dict[str, Any]:
    """The sample's file with some of its own fields changed."""
    return copy.deepcopy(MILL) | fields


def other_mill() -> dict[str, Any]:
    """A file of the same mill in which something of every kind is new, gone, changed, or in another place."""
    document = mill_with(name="Alder Mill, upper floor", any_time=["kettle"], interlocks=[])
    document["supply"] |= {"generator": {"rated_w": 3000, "start_below": 0.3, "stop_above": 0.6}}
    document["supply"].pop("circuits")
    document["appliances"] = [copy.deepcopy(KETTLE), *reversed(document["appliances"])]
    wash, wet, _, bare = document["scenarios"]
    wash["runs"] = [wash["runs"][1] | {"start": "09:15"}, {"id": "tea", "appliance": "kettle", "start": "16:00"}]
    wet["changes"]["runs"] = {"first": None, "tea": {}, "late": {"start": "21:00", "appliance": "washer"}}
    new = {"id": "calm", "name": "Calm day", "date": "2026-05-16", "runs": []}
    document["scenarios"] = [bare, wash, new, wet]
    return document


def replaced(mill: Mill, document: dict[str, Any], **given: Any) -> ReplaceHousehold:
    """A command that makes the household what a file says."""
    return ReplaceHousehold(**envelope(mill, **given), document=document)


def text(document: dict[str, Any]) -> str:
    """A file to the letter: its fields in their order, and 1 apart from 1.0."""
    return json.dumps(document)


def test_a_household_becomes_the_file_to_the_letter(mill: Mill) -> None:
    """Its order, its nulls and what is left out as well; it stays the household it was."""
    done(mill, replaced(mill, other_mill()))

    assert text(mill.exported()) == text(other_mill())
    assert mill.stored().household.name == "Alder Mill, upper floor"
    read_afresh(mill)


def test_what_it_already_is_changes_no_part(mill: Mill) -> None:
    """A file that was just taken along and comes back leaves every part at its revision."""
    before = {key: piece.revision for key, piece in mill.stored().pieces.items()}
    done(mill, replaced(mill, mill.exported()))

    assert {key: piece.revision for key, piece in mill.stored().pieces.items()} == before
    assert text(mill.exported()) == text(MILL)


def test_what_stays_keeps_its_key(mill: Mill) -> None:
    """Plans and runs of the same id are found at their addresses as before."""
    before = mill.stored()
    done(mill, replaced(mill, other_mill()))
    after = mill.stored()

    assert {one.id: one.key for one in after.scenarios if one.id != "calm"} == {
        one.id: one.key for one in before.scenarios if one.id != "plain"
    }
    assert after.run_keys["wash", "first"].key == before.run_keys["wash", "first"].key


def test_what_the_file_lacks_is_gone_and_not_forgotten(mill: Mill) -> None:
    """A change of a run that went says so, and so does one of a plan that went."""
    gone = mill.switch("wash", "pump", sequence=2)
    late = SetPlanField(
        **envelope(mill, sequence=3), scenario_key=plan_key(mill, "plain"), field="cloud_oktas", value=3
    )
    done(mill, replaced(mill, other_mill()))

    refused(mill, gone, Gone)
    refused(mill, late, Gone)


def test_one_step_brings_everything_back(mill: Mill) -> None:
    """To the letter, its order too; and forward again, and back again."""
    keys = mill.stored().run_keys
    done(mill, replaced(mill, other_mill()))
    for sequence in (1, 3):
        undone(mill, "wash", sequence=sequence)
        assert text(mill.exported()) == text(MILL)
        assert {names: run.key for names, run in mill.stored().run_keys.items()} == {
            names: run.key for names, run in keys.items()
        }
        read_afresh(mill)
        redone(mill, "wash", sequence=sequence + 1)
        assert text(mill.exported()) == text(other_mill())
        read_afresh(mill)


def test_the_log_calls_the_way_back_and_forth_by_their_own_names(mill: Mill) -> None:
    """So that they can be said in words."""
    done(mill, replaced(mill, other_mill()))
    undone(mill, "wash")
    redone(mill, "wash", sequence=2)

    assert [one.command["do"] for one in history(mill)[:3]] == [
        "replace_household", "household_as_before", "replace_household",
    ]  # fmt: skip
    step = steps_of(mill, "wash").undo
    assert step is not None
    assert step.inverse["do"] == "household_as_before"


def test_a_plan_that_was_deleted_comes_back_as_the_file_has_it(mill: Mill) -> None:
    """Under its old key; taking the file back leaves it deleted, with what it held then."""
    done(mill, replaced(mill, other_mill()))
    again = other_mill()
    again["scenarios"].append({"id": "plain", "name": "Plain again", "date": "2026-06-01", "runs": []})
    before = mill.stored().pieces
    done(mill, replaced(mill, again, sequence=2))
    assert text(mill.exported()) == text(again)
    undone(mill, "wash")

    assert text(mill.exported()) == text(other_mill())
    now = mill.stored().pieces
    assert {key: (now[key].document, now[key].removed, now[key].position) for key in before} == {
        key: (one.document, one.removed, one.position) for key, one in before.items()
    }


@pytest.mark.parametrize("said", [None, {}], ids=["taken out", "nothing"])
def test_a_plan_that_says_null_or_nothing_of_a_run_says_it_again(mill: Mill, said: Any) -> None:
    """Also of a run of which something was said here before."""
    done(mill, mill.switch("wet", "second"))
    document = mill_with()
    document["scenarios"][1]["changes"]["runs"] = {"second": said}
    done(mill, replaced(mill, document, sequence=2))

    assert text(mill.exported()) == text(document)
    read_afresh(mill)


def test_a_plan_may_become_one_with_a_parent_and_one_without(mill: Mill) -> None:
    """Its runs are patches then, or whole again."""
    document = mill_with()
    document["scenarios"][0] |= {"parent": "bare", "runs": None}
    document["scenarios"][0]["changes"] = {
        "runs": {"second": {"appliance": "washer", "start": "13:00"}, "first": None, "pump": {}}
    }
    document["scenarios"][1] = {"id": "wet", "name": "Wet", "date": "2026-05-13", "runs": [
        {"id": "late", "appliance": "washer", "start": "20:30"}
    ]}  # fmt: skip
    document["scenarios"][0]["changes"]["runs"].pop("pump")
    done(mill, replaced(mill, document))
    assert text(mill.exported()) == text(document)
    undone(mill, "bare")

    assert text(mill.exported()) == text(MILL)
    read_afresh(mill)


def test_a_file_that_cannot_be_changes_nothing(mill: Mill) -> None:
    """Every fault is told at once, each with its place in the file."""
    document = other_mill()
    document["appliances"][0]["stages"][0]["watts"] = -5
    document["supply"]["battery"]["modules"] = 0
    fault = refused(mill, replaced(mill, document), HouseholdFaults)

    assert {one.path for one in fault.faults} == {"appliances[0].stages[0].watts", "supply.battery.modules"}


def test_of_two_phones_that_bring_in_two_files_the_later_stands(mill: Mill) -> None:
    """And can be taken back to the first one's."""
    done(mill, replaced(mill, other_mill(), tab="kitchen"))
    done(mill, replaced(mill, mill_with(name="From the shed"), tab="shed"))
    assert mill.stored().household.name == "From the shed"
    undone(mill, "wash")

    assert text(mill.exported()) == text(other_mill())


def test_another_phones_change_of_what_stayed_still_stands(mill: Mill) -> None:
    """Its page was open while the file came, and its run kept its key."""
    late = mill.switch("wash", "first", tab="shed")
    done(mill, replaced(mill, other_mill()))
    done(mill, late)

    run = next(one for one in mill.exported()["scenarios"][1]["runs"] if one["id"] == "first")
    assert (run["start"], run["on"]) == ("09:15", False)


def test_taking_a_file_back_leaves_what_was_done_elsewhere_since(mill: Mill) -> None:
    """A run that another plan's page added afterwards is no part of the step."""
    done(mill, replaced(mill, mill_with(name="Mill")))
    place = {"id": "noon", "appliance": "pump", "start": "12:00"}
    done(mill, AddRun(**envelope(mill, sequence=2), scenario_key=plan_key(mill, "bare"), run_id="noon", document=place))
    undone(mill, "wash")

    assert mill.stored().household.name == "Alder Mill"
    assert [run.id for run in mill.stored().days["bare"].runs] == ["noon"]


def test_a_file_cannot_be_taken_back_from_under_what_needs_it(mill: Mill) -> None:
    """A run placed since on an appliance that came with the file keeps that from going."""
    done(mill, replaced(mill, other_mill()))
    tea = {"id": "more-tea", "appliance": "kettle", "start": "12:00"}
    place = AddRun(**envelope(mill, sequence=2), scenario_key=plan_key(mill, "bare"), run_id="more-tea", document=tea)
    done(mill, place)
    before = text(mill.exported())
    with pytest.raises(HouseholdFaults, match="kettle"):
        undone(mill, "wash")

    assert text(mill.exported()) == before


def test_a_figure_changed_after_the_file_is_a_step_of_its_own(mill: Mill) -> None:
    """Back step by step, each to the letter."""
    done(mill, replaced(mill, other_mill()))
    done(mill, figures(mill, "appliance", "kettle", (["stages", 0, "watts"], 1800), sequence=2))
    undone(mill, "wash")
    assert text(mill.exported()) == text(other_mill())
    undone(mill, "wash", sequence=2)

    assert text(mill.exported()) == text(MILL)
