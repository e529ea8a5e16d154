"""One change, one command, one transaction, one line in the log."""

import json
from dataclasses import replace

import pytest

from app.household.errors import HouseholdFaults
from app.household.resolve import resolve
from app.store.commands import Applied, ClearRunField, RunField, apply
from app.store.errors import NotThere, Stale
from tests.store.doing import done, envelope, history, plan_key, read_afresh, refused
from tests.store.sample import MILL, Mill


def runs_on(mill: Mill, plan: str) -> dict[str, bool]:
    """Which runs of a plan are on."""
    return {run.id: run.on for run in resolve(mill.stored().household, plan).day.runs}


def cleared(mill: Mill, run: str, field: RunField) -> ClearRunField:
    """A command that leaves out a field of a run on the wash day."""
    about = {"scenario_key": plan_key(mill, "wash"), "run_key": mill.stored().run_keys["wash", run].key}
    return ClearRunField(**envelope(mill), **about, field=field)


def test_a_run_is_switched_off(mill: Mill) -> None:
    """The run is off in the answer, in the store and in the export, and nothing else changed."""
    applied = done(mill, mill.switch("wash", "first"))

    assert applied.household is mill.stored()
    assert runs_on(mill, "wash") == {"second": True, "first": False, "pump": True}
    expected = json.loads(json.dumps(MILL))
    expected["scenarios"][0]["runs"][1]["on"] = False
    assert json.dumps(mill.exported()) == json.dumps(expected)


@pytest.mark.parametrize(("plan", "run"), [("wash", "second"), ("wet", "first"), ("wet", "late"), ("plain", "late")])
def test_the_state_after_a_change_is_the_one_another_process_reads(mill: Mill, plan: str, run: str) -> None:
    """What is kept in memory after changes equals what is read afresh from the database."""
    done(mill, mill.switch(plan, run))
    done(mill, mill.switch(plan, run, field="start", value="21:15", sequence=2))

    read_afresh(mill)


def test_a_run_is_moved(mill: Mill) -> None:
    """A start given as text becomes the run's start."""
    done(mill, mill.switch("wash", "first", field="start", value="09:15"))

    assert mill.exported()["scenarios"][0]["runs"][1]["start"] == "09:15"


def test_a_change_has_its_line_in_the_log(mill: Mill) -> None:
    """The line holds household, plan, link, command, inverse and the revision it led to."""
    command = mill.switch("wash", "first")
    done(mill, command)

    change = history(mill)[0]
    about = {"do": "set_run_field", "scenario": command.scenario_key, "run": command.run_key, "field": "on"}
    words = {"run_id": "first", "appliance": "washer", "start": "09:00"}
    assert change.command == about | words | {"value": False, "becomes": False}
    assert change.inverse == about | words | {"value": True, "becomes": True}
    assert (change.scenario_key, change.link_key) == (command.scenario_key, mill.link_key)
    assert change.revision == mill.stored().revision == 2


def test_a_change_has_the_revision_of_its_own_run_only(mill: Mill) -> None:
    """The run that changed, and those that inherit from it, have a new revision; its neighbours don't."""
    done(mill, mill.switch("wash", "first"))

    revisions = {names: run.revision for names, run in mill.stored().run_keys.items()}
    assert [names for names, revision in revisions.items() if revision == 2] == [
        ("wash", "first"),
        ("wet", "first"),
        ("plain", "first"),
    ]
    assert [plan.revision for plan in mill.stored().scenarios] == [1, 1, 1, 1]


@pytest.mark.parametrize(
    ("plan", "run", "field", "value"),
    [
        ("wash", "first", "on", False),  # given before
        ("wash", "second", "on", False),  # left out before
        ("wash", "pump", "on", False),  # null before
        ("wash", "second", "start", "15:00"),
        ("wet", "first", "on", False),  # inherited, nothing said about it before
        ("wet", "second", "start", "15:00"),  # inherited, an empty patch before
        ("wet", "late", "on", False),  # the plan's own, as a patch
        ("plain", "late", "start", "21:00"),  # inherited twice, no changes at all before
    ],
)
def test_the_inverse_restores(mill: Mill, plan: str, run: str, field: str, value: bool | str) -> None:
    """After a command and its inverse the household's file is what it was, to the order of fields."""
    applied = done(mill, mill.switch(plan, run, field=field, value=value))
    assert applied.inverse is not None
    assert json.dumps(mill.exported()) != json.dumps(MILL)

    again = done(mill, applied.inverse)

    assert json.dumps(mill.exported()) == json.dumps(MILL)
    assert mill.stored().revision == 3
    assert again.inverse is not None
    done(mill, again.inverse)
    assert json.dumps(mill.exported()) != json.dumps(MILL)


def test_the_inverse_of_one_field_leaves_the_other(mill: Mill) -> None:
    """Undoing an older switch keeps the move that came after it."""
    switched = done(mill, mill.switch("wash", "first"))
    done(mill, mill.switch("wash", "first", field="start", value="09:15", sequence=2))
    assert switched.inverse is not None
    done(mill, replace(switched.inverse, sequence=3))

    assert mill.exported()["scenarios"][0]["runs"][1] == MILL["scenarios"][0]["runs"][1] | {"start": "09:15"}


def test_an_inherited_run_is_switched_in_the_child_alone(mill: Mill) -> None:
    """The child's patch is written, the parent keeps its run, the child's own child inherits it."""
    done(mill, mill.switch("wet", "first"))

    assert runs_on(mill, "wash")["first"]
    assert not runs_on(mill, "wet")["first"]
    assert not runs_on(mill, "plain")["first"]
    assert mill.exported()["scenarios"][1]["changes"]["runs"] == {
        **MILL["scenarios"][1]["changes"]["runs"],
        "first": {"on": False},
    }


def test_a_plan_without_changes_gets_its_first_one(mill: Mill) -> None:
    """An inherited run is switched in a plan whose changes are null, and back on, and off again."""
    for sequence, value in enumerate([False, True, False], start=1):
        done(mill, mill.switch("plain", "late", value=value, sequence=sequence))

        assert runs_on(mill, "plain")["late"] is value
    assert runs_on(mill, "wet")["late"]
    assert mill.exported()["scenarios"][2]["changes"] == {"runs": {"late": {"on": False}}}


def test_a_run_the_child_deleted_is_not_there(mill: Mill) -> None:
    """A plan's day has no run that the plan took out, whatever the parent has."""
    of_parent = mill.switch("wash", "pump")
    wet = mill.stored().scenarios[1]

    refused(mill, replace(of_parent, scenario_key=wet.key), NotThere)


@pytest.mark.parametrize("where", ["household_key", "scenario_key", "run_key"])
@pytest.mark.parametrize("key", ["0" * 32, "\x00", ""])
def test_what_is_not_there_cannot_be_changed(mill: Mill, where: str, key: str) -> None:
    """An unknown household, plan or run is said to be not there."""
    refused(mill, mill.switch("wash", "first", **{where: key}), NotThere)


def test_of_two_tabs_the_later_change_stands(mill: Mill) -> None:
    """A second tab that had not seen the first one's change of the same field is carried out."""
    late = mill.switch("wash", "first", tab="phone", field="start", value="09:20")
    done(mill, mill.switch("wash", "first", field="start", value="09:10"))
    applied = done(mill, late)

    assert mill.exported()["scenarios"][0]["runs"][1]["start"] == "09:20"
    assert history(mill)[0].inverse["value"] == "09:10"
    assert applied.change_id == history(mill)[0].id


def test_a_newer_change_of_another_field_is_no_obstacle(mill: Mill) -> None:
    """One person moves a run that another has just switched off: both are kept."""
    move = mill.switch("wash", "first", tab="phone", field="start", value="09:15")
    done(mill, mill.switch("wash", "first"))
    done(mill, move)

    run = mill.exported()["scenarios"][0]["runs"][1]
    assert (run["on"], run["start"]) == (False, "09:15")


def test_a_newer_change_of_another_run_is_no_obstacle(mill: Mill) -> None:
    """Two people switch two runs, both from pages drawn before either."""
    second = mill.switch("wash", "second", tab="phone")
    done(mill, mill.switch("wash", "first"))
    done(mill, second)

    assert runs_on(mill, "wash") == {"second": False, "first": False, "pump": True}


def test_a_change_in_a_parent_is_no_obstacle_to_the_child(mill: Mill) -> None:
    """The child's page had not seen the parent's change; what it says of the run holds for the child."""
    late = mill.switch("wet", "first", tab="phone", field="start", value="09:20")
    done(mill, mill.switch("wash", "first", field="start", value="09:10"))
    done(mill, late)

    assert [mill.stored().days[plan].runs[1].start for plan in ("wash", "wet")] == ["09:10", "09:20"]


def test_an_overtaken_change_of_the_same_tab_is_stale(mill: Mill) -> None:
    """A slow first tap that arrives after the second of its own tab does not win."""
    slow = mill.switch("wash", "first", sequence=7, revision=99)
    done(mill, mill.switch("wash", "first", sequence=8))

    refused(mill, replace(slow, value=True), Stale)
    refused(mill, replace(slow, value=True, sequence=8), Stale)


def test_tabs_count_for_themselves_and_for_each_run(mill: Mill) -> None:
    """A low number is no obstacle when the higher one was another tab's or about another run."""
    done(mill, mill.switch("wash", "first", sequence=8))
    done(mill, mill.switch("wash", "first", sequence=1, tab="phone", value=True))
    done(mill, mill.switch("wash", "second", sequence=3))

    assert mill.stored().revision == 4


def test_a_form_sent_twice_is_one_change(mill: Mill) -> None:
    """The very same command again is answered with the present state and not stored again."""
    command = mill.switch("wash", "first")
    first = done(mill, command)
    again = done(mill, command)

    assert again == Applied(first.household, None, first.change_id, command.run_key)
    assert len(history(mill)) == 2


def test_a_form_sent_again_after_the_next_one_changes_nothing(mill: Mill) -> None:
    """A repeat that comes late is known for what it is and does not bring back the older value."""
    command = mill.switch("wash", "first")
    done(mill, command)
    done(mill, mill.switch("wash", "first", value=True, sequence=2))
    again = done(mill, command)

    assert again.inverse is None
    assert runs_on(mill, "wash")["first"]


def test_a_cleared_field_comes_back_in_its_old_place(mill: Mill) -> None:
    """Undoing a clear restores the file to the order of fields."""
    command = cleared(mill, "pump", "on")
    applied = done(mill, command)
    assert "on" not in mill.exported()["scenarios"][0]["runs"][2]
    assert applied.inverse is not None
    done(mill, applied.inverse)

    assert json.dumps(mill.exported()) == json.dumps(MILL)


def test_a_length_is_given_and_taken_away(mill: Mill) -> None:
    """A run of a one-stage programme gets its own seconds; null leaves the programme's."""
    done(mill, mill.switch("wash", "pump", field="duration_s", value=900))
    assert mill.stored().days["wash"].runs[2].duration_s == 900
    done(mill, mill.switch("wash", "pump", field="duration_s", value=None, sequence=2))

    assert mill.stored().days["wash"].runs[2].duration_s is None


@pytest.mark.parametrize(
    ("plan", "run", "field", "value", "path"),
    [
        ("wash", "first", "start", "25:00", "scenarios[0].runs[1].start"),
        ("wash", "first", "start", "13:45", "scenarios[0].runs[1].start"),
        ("wash", "first", "on", "yes", "scenarios[0].runs[1].on"),
        ("wash", "first", "start", None, "scenarios[0].runs[1].start"),
        ("wet", "first", "start", "\ud800", "scenarios[1].changes.runs.first.start"),
        ("wet", "first", "start", "19:45", "scenarios[1].changes.runs.first.start"),
    ],
)
def test_an_impossible_value_is_refused(
    mill: Mill, plan: str, run: str, field: str, value: bool | str | None, path: str
) -> None:
    """The whole household is checked with the change in it; the fault names the field."""
    faults = refused(mill, mill.switch(plan, run, field=field, value=value), HouseholdFaults).faults

    assert path in [fault.path for fault in faults]


def test_a_field_that_must_be_given_cannot_be_left_out(mill: Mill) -> None:
    """Clearing is checked like setting."""
    refused(mill, cleared(mill, "first", "start"), HouseholdFaults)


def test_what_was_not_committed_is_not_kept(mill: Mill) -> None:
    """A change that its caller gave up is neither in the database nor in what is kept in memory."""
    with mill.database.session() as session:
        apply(session, mill.switch("wash", "first"))
    assert runs_on(mill, "wash")["first"]

    done(mill, mill.switch("wash", "second"))

    assert runs_on(mill, "wash") == {"second": False, "first": True, "pump": True}
    assert mill.stored().revision == 2
