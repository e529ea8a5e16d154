"""Plans: their fields, and how they come and go."""

import copy
import json
from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.store.commands import (
    AddPlan,
    ChangePart,
    ClearPlanField,
    LeaveOut,
    PlanField,
    RemovePlan,
    SetHouseholdName,
    SetPlanField,
    copied,
)
from app.store.errors import Gone, Stale
from app.store.history import Change
from app.store.households import create_household, duplicate_household, list_households
from app.store.removed import remove_household
from tests.store.doing import (
    done,
    envelope,
    history,
    page_of,
    plan_key,
    read_afresh,
    redone,
    refused,
    steps_of,
    undone,
)
from tests.store.sample import MILL, Mill

FIELDS: list[tuple[PlanField, Any]] = [
    ("name", "Another day"),
    ("date", "2026-06-01"),
    ("cloud_oktas", 4),
    ("ambient_c", [[5, 12], [15, 21.5]]),
    ("start_state_of_charge", 0.65),
    ("wanted_margin", 0.2),
    ("cloud_oktas", None),
]


def changed(mill: Mill, plan: str, field: PlanField, value: Any, **given: Any) -> SetPlanField:
    """A command that gives a plan's field a value."""
    return SetPlanField(
        **(envelope(mill) | {"scenario_key": plan_key(mill, plan), "field": field, "value": value} | given)
    )


def new_plan(mill: Mill, document: dict[str, Any], **given: Any) -> AddPlan:
    """A command that adds a plan."""
    return AddPlan(**(envelope(mill) | {"document": document} | given))


def removal(mill: Mill, plan: str, **given: Any) -> RemovePlan:
    """A command that removes a plan."""
    return RemovePlan(**(envelope(mill) | {"scenario_key": plan_key(mill, plan)} | given))


def is_removal(step: Change) -> bool:
    """Whether a step removed a plan."""
    return step.command["do"] == "remove_plan"


def plans_of(mill: Mill) -> list[str]:
    """Ids of the plans, in order."""
    return [one.id for one in mill.stored().scenarios]


@pytest.mark.parametrize(("field", "value"), FIELDS)
@pytest.mark.parametrize("plan", ["wash", "wet", "plain", "bare"])
def test_a_field_is_set_and_undone(mill: Mill, plan: str, field: PlanField, value: Any) -> None:
    """The day reads as given, also with a parent; undoing restores the file to its order, redo sets it again."""
    done(mill, changed(mill, plan, field, value))
    day = mill.stored().days[plan]
    given = json.loads(json.dumps(getattr(day, field)))
    assert given == (0 if value is None else value)
    read_afresh(mill)
    after = json.dumps(mill.exported())
    undone(mill, plan)
    assert json.dumps(mill.exported()) == json.dumps(MILL)
    redone(mill, plan)

    assert json.dumps(mill.exported()) == after


def test_a_day_field_of_a_child_is_among_its_changes(mill: Mill) -> None:
    """Weather and battery are patched, name and date are the plan's own, and the parent stays as it is."""
    done(mill, changed(mill, "wet", "wanted_margin", 0.3))
    done(mill, changed(mill, "wet", "name", "Wet", sequence=2))

    wet = mill.exported()["scenarios"][1]
    assert wet["changes"]["day"] == {"cloud_oktas": 8, "wanted_margin": 0.3}
    assert (wet["name"], mill.stored().scenario(plan_key(mill, "wet")).name) == ("Wet", "Wet")  # type: ignore[union-attr]
    assert mill.stored().days["plain"].wanted_margin == 0.3
    assert mill.stored().days["wash"].wanted_margin == 0.15


def test_a_cleared_field_is_the_parents_again(mill: Mill) -> None:
    """The child's cloud goes, and its child sees the eldest's too; undone, the file is as it was."""
    done(mill, ClearPlanField(**envelope(mill), scenario_key=plan_key(mill, "wet"), field="cloud_oktas"))
    assert [mill.stored().days[plan].cloud_oktas for plan in ("wet", "plain")] == [0, 0]
    undone(mill, "wet")

    assert json.dumps(mill.exported()) == json.dumps(MILL)


@pytest.mark.parametrize(
    ("plan", "field", "value", "path"),
    [
        ("wash", "cloud_oktas", 9, "scenarios[0].cloud_oktas"),
        ("wash", "date", "soon", "scenarios[0].date"),
        ("wash", "name", " ", "scenarios[0].name"),
        ("wash", "name", None, "scenarios[0].name"),
        ("wet", "cloud_oktas", 9, "scenarios[1].changes.day.cloud_oktas"),
        ("wet", "ambient_c", [[5, 1], [4, 2]], "scenarios[1].changes.day.ambient_c"),
    ],
)
def test_an_impossible_value_is_refused(mill: Mill, plan: str, field: PlanField, value: Any, path: str) -> None:
    """The fault names the field."""
    faults = refused(mill, changed(mill, plan, field, value), HouseholdFaults).faults

    assert [fault.path for fault in faults] == [path]


def test_fields_of_a_plan_do_not_overtake_each_other(mill: Mill) -> None:
    """A page that sent the date before the name may be heard the other way round; the same field may not."""
    done(mill, changed(mill, "wash", "name", "One", sequence=5))
    done(mill, changed(mill, "wash", "date", "2026-06-02", sequence=4))

    refused(mill, changed(mill, "wash", "name", "Two", sequence=4), Stale)


def test_the_log_has_what_the_field_was_and_became(mill: Mill) -> None:
    """Both lines carry the plan's name, the field and what the day then says, inherited or not."""
    done(mill, changed(mill, "wet", "start_state_of_charge", 0.5))
    change = history(mill)[0]

    assert [line["becomes"] for line in (change.command, change.inverse)] == [
        {"charge": 0.5, "at": "00:00"},
        {"charge": 0.8, "at": "00:00"},
    ]
    assert {line["field"] for line in (change.command, change.inverse)} == {"start_state_of_charge"}
    assert change.command["name"] == "Wash day, wet <b>&amp;</b> wild"
    assert change.scenario_key == plan_key(mill, "wet")


def test_a_plan_is_added(mill: Mill) -> None:
    """It stands last, its id made of its name, and the answer names its key."""
    applied = done(mill, new_plan(mill, {"name": "Tuesday, early", "date": "2026-06-02"}))

    assert mill.exported()["scenarios"][-1] == {"id": "tuesday-early", "name": "Tuesday, early", "date": "2026-06-02"}
    assert applied.part_key == plan_key(mill, "tuesday-early")
    read_afresh(mill)


@pytest.mark.parametrize("plan", ["wash", "wet", "plain", "bare"])
def test_a_plan_is_duplicated(mill: Mill, plan: str) -> None:
    """The copy stands after its original, has its runs and its parent, and the two are changed apart."""
    stored = mill.stored()
    original = next(one for one in stored.scenarios if one.id == plan)
    place = stored.scenarios.index(original)
    document = copied(stored, original, "Copy")
    applied = done(mill, new_plan(mill, document, position=place + 1, copy_of=original.key))

    file = mill.exported()
    fresh = f"{plan}-2"
    assert plans_of(mill)[place : place + 2] == [plan, fresh]
    assert file["scenarios"][place + 1] == MILL["scenarios"][place] | {"id": fresh, "name": "Copy"}
    assert len({one.key for one in mill.stored().run_keys.values()}) == len(mill.stored().run_keys)
    assert history(mill)[0].command["copy_of"] == original.key
    read_afresh(mill)
    undone(mill, fresh)
    assert json.dumps(mill.exported()) == json.dumps(MILL)
    redone(mill, plan)
    assert json.dumps(mill.exported()) == json.dumps(file)
    assert plan_key(mill, fresh) == applied.part_key


@pytest.mark.parametrize("name", ["Wash day", "wash  DAY "])
def test_no_two_plans_have_one_name(mill: Mill, name: str) -> None:
    """A new plan, a copy and a rename are refused with the next free name; a plan may be given its own once more."""
    stored = mill.stored()
    why = ["there is a plan of that name already; give another, such as Wash day 2"]
    copy = copied(stored, stored.scenarios[3], name)
    for command in (new_plan(mill, copy), changed(mill, "bare", "name", name)):
        faults = refused(mill, command, HouseholdFaults).faults
        assert [fault.why.replace("wash  DAY", "Wash day").replace("  ", " ") for fault in faults] == why
        assert faults[0].path.endswith(".name")
    done(mill, changed(mill, "wash", "name", "Wash Day"))


def test_a_rename_is_undone_though_its_old_name_is_taken(mill: Mill) -> None:
    """Nothing becomes impossible to undo because another plan was given the name since."""
    done(mill, changed(mill, "wash", "name", "Monday"))
    done(mill, changed(mill, "bare", "name", "Wash day", sequence=2))
    undone(mill, "wash")

    assert [one.name for one in mill.stored().scenarios].count("Wash day") == 2


def test_households_have_names_of_their_own(mill: Mill) -> None:
    """A new one and a copy are refused another's name; a removed one's is free."""
    with mill.database.session() as session:
        for refuse in (
            lambda: create_household(session, "alder mill", None, date="2026-05-12"),
            lambda: duplicate_household(session, mill.key, "Alder Mill ", None),
        ):
            with pytest.raises(HouseholdFaults, match=r"a household of that name already; give another, such as"):
                refuse()
        remove_household(session, mill.key, None)
        create_household(session, "Alder Mill", None, date="2026-05-12")


def test_a_plan_comes_and_goes_on_one_page_alone(mill: Mill) -> None:
    """Begun, it is taken away on its own page; removed, brought back where one is taken then; nowhere else."""
    key = done(mill, new_plan(mill, {"name": "Late", "date": "2026-06-02"}, position=1)).part_key
    assert [page for page in plans_of(mill) if steps_of(mill, page).undo] == ["late"]
    done(mill, changed(mill, "late", "cloud_oktas", 4, sequence=2))
    done(mill, removal(mill, "late", sequence=3))
    assert [page for page in plans_of(mill) if steps_of(mill, page).undo] == [page_of(mill, key)] == ["wash"]
    undone(mill, "wash")
    assert [page for page in plans_of(mill) if steps_of(mill, page).undo] == ["late"]
    assert [page for page in plans_of(mill) if steps_of(mill, page).redo] == ["late"]
    undone(mill, "late", sequence=2)
    undone(mill, "late", sequence=3)

    assert json.dumps(mill.exported()) == json.dumps(MILL)
    assert [page for page in plans_of(mill) if steps_of(mill, page).redo] == ["wash"]


def test_plans_removed_one_after_the_other_all_come_back(mill: Mill) -> None:
    """Also when the page one was taken to is removed in turn."""
    for number, plan in enumerate(["plain", "wet", "wash"], start=1):
        done(mill, removal(mill, plan, sequence=number))
    assert plans_of(mill) == ["bare"]
    for number in range(1, 4):
        page = next(one for one in plans_of(mill) if (step := steps_of(mill, one).undo) and is_removal(step))
        undone(mill, page, sequence=number)

    assert json.dumps(mill.exported()) == json.dumps(MILL)


@pytest.mark.parametrize("plan", ["plain", "bare"])
def test_a_removed_plan_comes_back_as_it_was(mill: Mill, plan: str) -> None:
    """Undone from another plan's page: the same key, the same runs, the same place."""
    if plan == "plain":
        done(mill, mill.switch("plain", "late"))
    before, keys, key = json.dumps(mill.exported()), mill.stored().run_keys, plan_key(mill, plan)
    done(mill, removal(mill, plan))
    assert plan not in plans_of(mill)
    assert plan not in [one["id"] for one in mill.exported()["scenarios"]]
    read_afresh(mill)
    undone(mill, page_of(mill, key))

    assert json.dumps(mill.exported()) == before
    assert {names: run.key for names, run in mill.stored().run_keys.items()} == {
        names: run.key for names, run in keys.items()
    }
    assert history(mill)[0].undoes == history(mill)[1].id
    if plan == "plain":
        # Its own page goes on where it was, to what had been said before it went.
        undone(mill, "plain", change_id=history(mill)[2].id)
        assert json.dumps(mill.exported()) == json.dumps(MILL)


def test_a_plan_others_stand_on_stays(mill: Mill) -> None:
    """The refusal names them."""
    faults = refused(mill, removal(mill, "wet"), HouseholdFaults).faults

    assert [fault.why for fault in faults] == ["'As the wet one' builds on this one; delete it first"]


def test_the_last_plan_stays(mill: Mill) -> None:
    """A household without a plan could not be shown."""
    for number, plan in enumerate(["bare", "plain", "wet"], start=1):
        done(mill, removal(mill, plan, sequence=number))
    faults = refused(mill, removal(mill, "wash"), HouseholdFaults).faults

    assert [fault.why for fault in faults] == ["a household keeps at least one plan; add another one first"]


def test_a_plan_that_goes_takes_its_own_machines_out_of_the_rules(mill: Mill) -> None:
    """Those that no other plan has; undone they are there again, unless somebody changed those rules meanwhile."""
    heaters = [
        {"id": f"heater-{n}", "name": f"Heater {n}", "stages": [{"duration_s": 600, "watts": 900}]} for n in (1, 2)
    ]
    cold = {
        "id": "cold",
        "name": "Cold day",
        "date": "2026-01-12",
        "parent": "wash",
        "changes": {"appliances": heaters},
    }
    done(mill, new_plan(mill, cold))
    done(
        mill,
        new_plan(mill, cold | {"id": "colder", "name": "Colder", "changes": {"appliances": heaters[1:]}}, sequence=2),
    )
    section: dict[str, Any] = {"kind": "section", "name": "interlocks"}
    apart = [{"of": ["washer", "heater-1"]}, {"of": ["pump", "heater-1", "heater-2"]}]
    done(mill, ChangePart(**envelope(mill, sequence=3), **section, changes=[[[], apart]]))
    before, key = json.dumps(mill.exported()), plan_key(mill, "cold")
    done(mill, removal(mill, "cold", sequence=4))

    assert mill.exported()["interlocks"] == [{"of": ["pump", "heater-2"]}]
    assert history(mill)[0].command["rules"] == ["interlocks"]
    read_afresh(mill)
    undone(mill, page_of(mill, key))
    assert json.dumps(mill.exported()) == before
    redone(mill, "cold")
    done(mill, LeaveOut(**envelope(mill, sequence=5), scenario_key=plan_key(mill, "colder"), name="heater-2"))
    undone(mill, page_of(mill, key), sequence=2)
    assert "cold" in plans_of(mill)
    assert mill.exported()["interlocks"] == []


@pytest.mark.parametrize(
    "document",
    [
        {"name": "No date"},
        {"name": "", "date": "2026-06-02"},
        {"name": "Orphan", "date": "2026-06-02", "parent": "nobody"},
        {
            "name": "Two of one id",
            "date": "2026-06-02",
            "runs": [{"id": "a", "appliance": "pump", "start": "01:00"}] * 2,
        },
        {"name": "\ud800", "date": "2026-06-02"},
    ],
)
def test_a_plan_that_cannot_be_is_not_added(mill: Mill, document: dict[str, Any]) -> None:
    """What is added is checked with the whole household."""
    refused(mill, new_plan(mill, document), HouseholdFaults)


def test_no_plan_gets_the_id_of_a_removed_one(mill: Mill) -> None:
    """For that one may come back."""
    done(mill, removal(mill, "bare"))
    done(mill, new_plan(mill, {"id": "bare", "name": "Bare", "date": "2026-06-02"}))

    assert plans_of(mill) == ["wash", "wet", "plain", "bare-2"]


def test_a_change_of_a_plan_removed_meanwhile_says_so(mill: Mill) -> None:
    """The refusal carries the present state and the change that removed the plan."""
    late = changed(mill, "bare", "name", "Too late", tab="phone")
    change_id = done(mill, removal(mill, "bare")).change_id
    gone = refused(mill, late, Gone)

    assert gone.current is mill.stored()
    assert gone.change.id == change_id
    assert gone.change.command["name"] == "Nothing yet"


def test_a_household_gets_another_name_and_its_old_one_back(mill: Mill) -> None:
    """In the file and in the list, and it can be undone on any plan's page."""
    done(mill, SetHouseholdName(**envelope(mill), value="Elder Mill"))
    expected = copy.deepcopy(MILL) | {"name": "Elder Mill"}
    assert json.dumps(mill.exported()) == json.dumps(expected)
    with mill.database.session() as session:
        assert [row.name for row in list_households(session)] == ["Elder Mill"]
    read_afresh(mill)
    undone(mill, "plain")

    assert json.dumps(mill.exported()) == json.dumps(MILL)


def test_a_household_keeps_a_name(mill: Mill) -> None:
    """An empty one is refused."""
    faults = refused(mill, SetHouseholdName(**envelope(mill), value=""), HouseholdFaults).faults

    assert [fault.path for fault in faults] == ["name"]
