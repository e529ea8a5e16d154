"""A plan as it was at some time, and going back to it."""

import json
from dataclasses import replace

from app.store.commands import AddPlan, PlanAsThen, RemovePlan, SetPlanField, as_parts
from app.store.errors import Gone
from app.store.past import plan_revisions, plan_then
from tests.store.doing import done, envelope, history, plan_key, redone, refused, undone
from tests.store.sample import MILL, Mill


def then(mill: Mill, plan: str, revision: int) -> PlanAsThen:
    """The command that makes a plan what it was."""
    key = plan_key(mill, plan)
    with mill.database.session() as session:
        pieces = plan_then(session, key, revision)
    assert pieces
    return PlanAsThen(**envelope(mill, tab="history"), scenario_key=key, parts=as_parts(pieces), at="2026-05-12T09:00")


def changed(mill: Mill) -> dict[int, str]:
    """Several changes of two plans; every state of the household on the way, by its revision."""
    states = {1: json.dumps(mill.exported())}
    day = {"scenario_key": plan_key(mill, "wash"), "field": "cloud_oktas", "value": 7.0}
    for number, command in enumerate(
        (
            mill.switch("wash", "first"),
            SetPlanField(**envelope(mill, sequence=2), **day),
            mill.switch("wet", "first", sequence=3),
            mill.switch("wash", "first", sequence=4, value=True),
        ),
        2,
    ):
        done(mill, command)
        states[number] = json.dumps(mill.exported())
    return states


def test_every_state_of_a_plan_can_be_gone_back_to(mill: Mill) -> None:
    """Its own runs and figures, to the byte; what other plans say stays. It is one step, back and forward."""
    states = changed(mill)
    for number, revision in enumerate((1, 2, 3, 5, 1), 1):
        before = mill.exported()
        done(mill, replace(then(mill, "wash", revision), sequence=number))
        wanted = next(one for one in json.loads(states[revision])["scenarios"] if one["id"] == "wash")
        after = mill.exported()
        assert json.dumps(next(one for one in after["scenarios"] if one["id"] == "wash")) == json.dumps(wanted)
        assert [one for one in after["scenarios"] if one["id"] != "wash"] == [
            one for one in before["scenarios"] if one["id"] != "wash"
        ]
        undone(mill, "wash", sequence=10 * number)
        assert json.dumps(mill.exported()) == json.dumps(before)
        redone(mill, "wash", sequence=10 * number + 1)
        assert json.dumps(mill.exported()) == json.dumps(after)


def test_a_plan_with_a_parent_goes_back_to_what_it_said_itself(mill: Mill) -> None:
    """What it inherits stays as the parent has it by now."""
    changed(mill)
    done(mill, then(mill, "wet", 1))
    found = next(one for one in mill.exported()["scenarios"] if one["id"] == "wet")

    assert found == next(one for one in MILL["scenarios"] if one["id"] == "wet")


def test_what_is_known_of_a_plan_begins_with_it(mill: Mill) -> None:
    """Before that there is nothing; each change of it is a state, others are none."""
    changed(mill)
    document = {"name": "Late", "date": "2026-05-12", "runs": []}
    late = done(mill, AddPlan(**envelope(mill, sequence=9), document=document)).part_key
    with mill.database.session() as session:
        assert plan_then(session, late, 5) == []
        assert [one.kind for one in plan_then(session, late, 6)] == ["scenario"]
        assert plan_revisions(session, plan_key(mill, "wash"), 1) == {1, 2, 3, 5}
        assert plan_revisions(session, plan_key(mill, "wet"), 2) == {4}
        assert plan_then(session, "nonsense", 5) == []
    assert history(mill)[0].command["do"] == "add_plan"


def test_a_plan_that_is_gone_is_not_gone_back_to(mill: Mill) -> None:
    """It says that it was removed."""
    last = MILL["scenarios"][-1]["id"]
    command = then(mill, last, 1)
    done(mill, RemovePlan(**envelope(mill, sequence=9), scenario_key=plan_key(mill, last)))
    refused(mill, command, Gone)
