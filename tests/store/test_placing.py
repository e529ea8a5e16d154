"""Runs put on a day and taken off it, in plans of their own and in plans with a parent."""

import json
from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.store.commands import AddAppliance, AddRun, ChangeWhatIf, RemoveRun
from app.store.errors import Gone, NotThere
from tests.store.doing import done, envelope, history, plan_key, read_afresh, refused, undone
from tests.store.sample import MILL, Mill

LATE: dict[str, Any] = {"appliance": "washer", "start": "22:00"}


def added(mill: Mill, plan: str, document: dict[str, Any] = LATE, **given: Any) -> AddRun:
    """A command that puts a run on a plan's day."""
    return AddRun(**({**envelope(mill), "scenario_key": plan_key(mill, plan), "document": document} | given))


def removed(mill: Mill, plan: str, run: str, **given: Any) -> RemoveRun:
    """A command that takes a run off a plan's day."""
    about = {"scenario_key": plan_key(mill, plan), "run_key": mill.stored().run_keys[plan, run].key}
    return RemoveRun(**(envelope(mill) | about | given))


def runs_of(mill: Mill, plan: str) -> list[str]:
    """Ids of the runs on a plan's day, in order."""
    return [run.id for run in mill.stored().days[plan].runs]


def test_a_run_is_added_with_a_fresh_id(mill: Mill) -> None:
    """The run stands last on the day, its id made of the appliance's, and the answer names its key."""
    applied = done(mill, added(mill, "wash"))

    assert mill.exported()["scenarios"][0]["runs"][3] == {"id": "washer-1", **LATE}
    assert applied.part_key == mill.stored().run_keys["wash", "washer-1"].key
    read_afresh(mill)


def test_a_run_is_added_to_a_plan_without_any(mill: Mill) -> None:
    """A plan that has no list of runs gets one, and loses it again when the step is undone."""
    done(mill, added(mill, "bare"))
    assert runs_of(mill, "bare") == ["washer-1"]
    undone(mill, "bare")

    assert json.dumps(mill.exported()) == json.dumps(MILL)


def test_a_plan_with_a_parent_says_it_in_its_changes(mill: Mill) -> None:
    """A run added to a child is a whole patch there, and the parent has no such run."""
    done(mill, added(mill, "plain"))

    assert mill.exported()["scenarios"][2]["changes"] == {"runs": {"washer-1": LATE}}
    assert "washer-1" not in runs_of(mill, "wet")
    read_afresh(mill)


@pytest.mark.parametrize(
    "document", [{}, {"start": "10:00"}, {"appliance": "fridge", "start": "10:00"}, LATE | {"x": 1}]
)
@pytest.mark.parametrize("plan", ["wash", "plain"])
def test_a_run_that_cannot_be_is_not_added(mill: Mill, plan: str, document: dict[str, Any]) -> None:
    """What is added is checked with the whole household."""
    refused(mill, added(mill, plan, document), HouseholdFaults)


def test_an_id_is_on_a_day_once(mill: Mill) -> None:
    """A run cannot be put back while it is there."""
    faults = refused(mill, added(mill, "wash", run_id="first"), HouseholdFaults).faults

    assert [fault.why for fault in faults] == ["there is a run 'first' on this day already"]


def test_no_fresh_id_was_ever_used(mill: Mill) -> None:
    """A parent's new run is not changed by what a child says of another, nor is a removed one's key given again."""
    done(mill, added(mill, "plain"))
    done(mill, removed(mill, "plain", "washer-1"))
    done(mill, added(mill, "wet", sequence=2))
    done(mill, added(mill, "wash", LATE | {"start": "16:00"}, sequence=3))

    assert runs_of(mill, "wash")[-1] == "washer-3"
    assert "washer-2" in runs_of(mill, "plain")


def test_a_run_that_a_plan_built_on_this_one_has_no_room_for_says_what_to_change_there(mill: Mill) -> None:
    """The child's own wash stands there: it is named, and the way out; likewise where it is no overlap."""
    fault = refused(mill, added(mill, "wash", {"appliance": "washer", "start": "20:10"}), HouseholdFaults).faults[0]

    assert fault.plan == "Wash day, wet <b>&amp;</b> wild"
    assert fault.why.startswith(f"in the plan {fault.plan!r}, 'Wäsche 🧺' is one machine: its run at 20:10 would begin")
    assert fault.why.endswith(
        "; begin it at 20:40 or later, or else move the run that is there already, or take it off, on that plan's page"
        " first"
    )
    lamp: dict[str, Any] = {"id": "lamp", "name": "Lamp", "stages": [{"watts": 5, "duration_s": 600}]}
    done(mill, AddAppliance(**envelope(mill), documents=[lamp]))
    always = lamp | {"always_on": True, "stages": [{"watts": 5}]}
    done(mill, ChangeWhatIf(**envelope(mill, sequence=2), scenario_key=plan_key(mill, "wet"), appliances=[always]))
    lit = added(mill, "wash", {"appliance": "lamp", "start": "20:10"}, sequence=3)
    whys = [one.why for one in refused(mill, lit, HouseholdFaults).faults]
    assert whys[0] == (
        f"in the plan {fault.plan!r}, 'Lamp' is always on; it needs no run; change that on that plan's what-if page"
        " first"
    )


def test_an_addition_sent_twice_is_one_run(mill: Mill) -> None:
    """The repeat is answered with the key of the run there is; one that comes late is no repeat and is added."""
    command = added(mill, "wash", sequence=5)
    first = done(mill, command)
    again = done(mill, command)
    done(mill, added(mill, "wash", LATE | {"start": "17:00"}, sequence=4))

    assert (again.inverse, again.part_key, again.change_id) == (None, first.part_key, first.change_id)
    assert runs_of(mill, "wash")[3:] == ["washer-1", "washer-2"]


@pytest.mark.parametrize(
    ("plan", "run"),
    [
        ("wash", "second"),  # the first of a list; a child has an empty patch of it, so it is refused
        ("wash", "pump"),  # the child took it out itself
        ("wet", "first"),  # inherited, nothing said of it
        ("wet", "second"),  # inherited, an empty patch
        ("wet", "late"),  # the child's own, and inherited further down
        ("plain", "late"),  # inherited twice, no changes at all
    ],
)
def test_removing_and_undoing_leaves_the_file_as_it_was(mill: Mill, plan: str, run: str) -> None:
    """The run is gone from the day, and back with its id, its key, its place and all that was said."""
    key = mill.stored().run_keys[plan, run].key
    if (plan, run) == ("wash", "second"):
        [fault] = refused(mill, removed(mill, plan, run), HouseholdFaults).faults
        way = "take that back, or the run off, there first"
        assert fault.why == f"the plan 'Wash day, wet <b>&amp;</b> wild' changes this run; {way}"
        return
    done(mill, removed(mill, plan, run))
    assert run not in runs_of(mill, plan)
    read_afresh(mill)
    undone(mill, plan)

    assert json.dumps(mill.exported()) == json.dumps(MILL)
    assert mill.stored().run_keys[plan, run].key == key
    read_afresh(mill)


def test_an_inherited_run_is_taken_out_with_null(mill: Mill) -> None:
    """The child says null of it, the parent keeps it, and the child's child has it no more."""
    done(mill, removed(mill, "wet", "first"))

    assert mill.exported()["scenarios"][1]["changes"]["runs"]["first"] is None
    assert "first" in runs_of(mill, "wash")
    assert "first" not in runs_of(mill, "plain")


def test_a_run_a_child_added_is_gone_without_a_word(mill: Mill) -> None:
    """The patch of it goes, and nothing else in the child's changes."""
    done(mill, removed(mill, "wet", "late"))

    assert mill.exported()["scenarios"][1]["changes"]["runs"] == {"pump": None, "second": {}}


def test_the_last_run_may_go(mill: Mill) -> None:
    """A day may be left without a run."""
    done(mill, added(mill, "bare"))
    done(mill, removed(mill, "bare", "washer-1"))

    assert runs_of(mill, "bare") == []


def test_a_run_that_others_wait_for_stays(mill: Mill) -> None:
    """The refusal names who waits, by appliance and time."""
    waiting = {"appliance": "pump", "start": "15:30", "after": "second"}
    done(mill, added(mill, "wash", waiting))
    faults = refused(mill, removed(mill, "wash", "second"), HouseholdFaults).faults

    assert faults[0].path == "scenarios[0].runs[3].after"
    assert faults[0].why == "'Pump' at 15:30 waits for this run; remove that first"


def test_the_log_says_which_run_came_and_went(mill: Mill) -> None:
    """Appliance and start stand in both lines, so that they can be said when the run is there no more."""
    key = done(mill, added(mill, "wet")).part_key
    done(mill, removed(mill, "wet", "washer-1"))
    gone, came = history(mill)[:2]

    words = {
        "scenario": plan_key(mill, "wet"),
        "run": key,
        "run_id": "washer-1",
        "appliance": "washer",
        "start": "22:00",
    }
    assert came.command == {"do": "add_run", "document": LATE} | words
    assert came.inverse == gone.command == {"do": "remove_run"} | words
    assert gone.inverse == came.command


def test_a_run_removed_meanwhile_is_said_to_be_gone(mill: Mill) -> None:
    """A tap on it from another phone is refused with the present state and the change that removed it."""
    late = mill.switch("wash", "pump", tab="phone")
    change_id = done(mill, removed(mill, "wash", "pump")).change_id
    gone = refused(mill, late, Gone)

    assert gone.current is mill.stored()
    assert gone.change.id == change_id
    assert isinstance(gone, NotThere)


def test_a_run_removed_from_the_parent_is_gone_from_the_child(mill: Mill) -> None:
    """The change that is named is the parent's."""
    late = mill.switch("plain", "late", tab="phone")
    change_id = done(mill, removed(mill, "wet", "late")).change_id

    assert refused(mill, late, Gone).change.id == change_id


def test_a_removal_sent_twice_is_one_change(mill: Mill) -> None:
    """The repeat is answered with the state as it is."""
    command = removed(mill, "wash", "pump")
    done(mill, command)

    assert done(mill, command).inverse is None
    assert len(history(mill)) == 2
