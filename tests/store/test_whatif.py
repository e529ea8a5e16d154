"""What a plan changes of what it is built on, stored: each a step that can be taken back."""

import json
from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.household.resolve import resolve
from app.store.commands import AddPlan, ChangePart, ChangeWhatIf, LeaveOut, MakeReal, RemovePlan
from app.store.errors import Gone
from tests.store.doing import done, envelope, plan_key, read_afresh, redone, refused, undone
from tests.store.sample import MILL, Mill

HEATER = {"id": "heater", "name": "Heater", "stages": [{"duration_s": 600, "watts": 900}]}
VA = ["inverter", "rated_va"]


def what_if(mill: Mill, plan: str = "wet", **given: Any) -> ChangeWhatIf:
    """A command that changes what a plan has otherwise."""
    own = {name: given.pop(name) for name in ("supply", "appliances", "runs", "take_back") if name in given}
    return ChangeWhatIf(**envelope(mill, **given), scenario_key=plan_key(mill, plan), **own)


def rated(mill: Mill, plan: str) -> float:
    """The rating in a plan."""
    return resolve(mill.stored().household, plan).household.supply.inverter.rated_va


def test_a_change_shows_in_the_plan_and_what_is_built_on_it_alone(mill: Mill) -> None:
    """And is taken back, and done again, as one step, to the letter."""
    runs = {"warm": {"appliance": "heater", "start": "10:00"}, "first": {"start": "08:00"}}
    done(mill, what_if(mill, supply=[[VA, 5800]], appliances=[HEATER], runs=runs))
    changed = json.dumps(mill.exported())

    assert [rated(mill, plan) for plan in ("wash", "wet", "plain")] == [5000, 5800, 5800]
    day = mill.stored().days["wet"]
    assert {run.id: run.start for run in day.runs} == {
        "second": "14:00:00", "first": "08:00", "late": "20:00", "warm": "10:00",
    }  # fmt: skip
    read_afresh(mill)
    undone(mill, "wet")
    assert json.dumps(mill.exported()) == json.dumps(MILL)
    redone(mill, "wet")
    assert json.dumps(mill.exported()) == changed


def test_a_later_change_below_shows_unless_it_is_overridden(mill: Mill) -> None:
    """The rating is the plan's own; what it says nothing about follows the household."""
    done(mill, what_if(mill, supply=[[VA, 5800]]))
    about = {"kind": "supply", "name": "inverter", "changes": [[["rated_va"], 5500], [["no_load_w"], 55]]}
    done(mill, ChangePart(**envelope(mill, tab="desk"), **about))

    supply = resolve(mill.stored().household, "plain").household.supply
    assert (supply.inverter.rated_va, supply.inverter.no_load_w) == (5800, 55)
    done(mill, what_if(mill, tab="hall", take_back=[["supply", *VA]]))
    assert rated(mill, "plain") == 5500
    assert (
        "changes" not in mill.exported()["scenarios"][1] or "supply" not in mill.exported()["scenarios"][1]["changes"]
    )


def test_each_kind_of_saying_is_taken_back(mill: Mill) -> None:
    """Of an appliance, a run and the day; and once more there is nothing to take back."""
    done(mill, what_if(mill, appliances=[HEATER], supply=[[["dc_load_w"], None]]))
    for number, path in enumerate(
        (["appliances", "heater"], ["runs", "late"], ["runs", "pump"], ["day", "cloud_oktas"])
    ):
        done(mill, what_if(mill, sequence=number + 2, take_back=[path]))

    stored = mill.stored()
    assert [run.id for run in stored.days["wet"].runs] == [run.id for run in stored.days["wash"].runs]
    assert stored.days["wet"].cloud_oktas == 0
    read_afresh(mill)
    for path in (["appliances", "heater"], ["runs", "late"], ["day", "cloud_oktas"], ["supply", *VA]):
        refused(mill, what_if(mill, tab="hall", take_back=[path]), Gone)


@pytest.mark.parametrize(
    ("given", "where"),
    [
        ({"supply": [[VA, -1]]}, "supply.inverter.rated_va"),
        ({"appliances": [HEATER | {"circuit": "none"}]}, "appliances[2].circuit"),
        ({"runs": {"x": {"appliance": "nobody", "start": "10:00"}}}, "scenarios[1].changes.runs.x.appliance"),
        ({"runs": {"first": {"start": "25:00"}}}, "scenarios[1].changes.runs.first.start"),
    ],
)
def test_what_cannot_be_is_refused_where_it_is_said(mill: Mill, given: dict[str, Any], where: str) -> None:
    """A fault of supply or library is told as of the household's own, for the same fields show it."""
    assert [one.path for one in refused(mill, what_if(mill, **given), HouseholdFaults).faults][:1] == [where]


def test_made_real_and_back(mill: Mill) -> None:
    """The household has what the plan had, the plan says nothing more of it; one step, to the letter."""
    done(mill, what_if(mill, supply=[[VA, 5800]], appliances=[HEATER]))
    before = json.dumps(mill.exported())
    done(mill, MakeReal(**envelope(mill), scenario_key=plan_key(mill, "wet")))

    assert [rated(mill, plan) for plan in ("wash", "wet", "bare")] == [5800, 5800, 5800]
    after = mill.exported()
    assert [one["id"] for one in after["appliances"]] == ["washer", "pump", "heater"]
    assert set(after["scenarios"][1]["changes"]) == {"day", "runs"}
    refused(mill, MakeReal(**envelope(mill, sequence=2), scenario_key=plan_key(mill, "wet")), HouseholdFaults)
    undone(mill, "wet")
    assert json.dumps(mill.exported()) == before
    read_afresh(mill)


CIRCUITS = [{"id": "house", "breaker_a": 16}]


def circuits_of(mill: Mill, plan: str) -> list[str]:
    """Ids of the circuits in a plan."""
    return [one.id for one in resolve(mill.stored().household, plan).household.supply.circuits]


def test_circuits_of_the_household_come_to_a_plan_that_has_its_own(mill: Mill) -> None:
    """So that a machine moved onto one is on it in every plan; undone, every list is as it was."""
    about = {"kind": "supply", "name": "circuits"}
    done(mill, ChangePart(**envelope(mill), **about, changes=[[[], CIRCUITS]]))
    done(mill, what_if(mill, supply=[[["circuits"], [*CIRCUITS, {"id": "shed"}]]], sequence=2))
    before = json.dumps(mill.exported())
    done(mill, ChangePart(**envelope(mill, sequence=3), **about, changes=[[[1], {"id": "yard"}]]))
    assert [circuits_of(mill, plan) for plan in ("wash", "wet", "plain")] == [
        ["house", "yard"], ["house", "shed", "yard"], ["house", "shed", "yard"],
    ]  # fmt: skip
    on_yard = {"kind": "appliance", "name": "washer", "changes": [[["circuit"], "yard"]]}
    done(mill, ChangePart(**envelope(mill, sequence=4), **on_yard))
    read_afresh(mill)
    undone(mill, "wet")
    undone(mill, "wet")
    assert json.dumps(mill.exported()) == before
    redone(mill, "wet")
    assert circuits_of(mill, "plain") == ["house", "shed", "yard"]


def test_an_appliance_changed_for_one_plan_follows_in_all_else(mill: Mill) -> None:
    """A figure the plan has otherwise stays, others follow; not where both together would be nothing possible."""
    stage = {"duration_s": 60, "watts": 550, "power_factor": 0.7}
    done(mill, what_if(mill, appliances=[{"id": "pump", "name": "Pump", "stages": [stage | {"watts": 600}]}]))
    before = json.dumps(mill.exported())
    start = {"va": 2400, "power_factor": 0.5, "duration_s": 0.4}
    about = {"kind": "appliance", "name": "pump"}
    done(mill, ChangePart(**envelope(mill, sequence=2), **about, changes=[[["stages", 0, "start"], start]]))

    def pump(plan: str) -> Any:
        return resolve(mill.stored().household, plan).appliance("pump").stages[0]  # type: ignore[union-attr]

    assert [(pump(plan).watts, pump(plan).start.va) for plan in ("wash", "wet", "plain")] == [
        (550, 2400), (600, 2400), (600, 2400),
    ]  # fmt: skip
    read_afresh(mill)
    undone(mill, "wet")
    assert json.dumps(mill.exported()) == before
    small = start | {"va": 800}  # enough for 550 W at 0.7, too little for 600 W
    done(mill, ChangePart(**envelope(mill, sequence=9), **about, changes=[[["stages", 0, "start"], small]]))
    assert (pump("wash").start.va, pump("wet").start) == (800, None)


def test_what_a_plan_has_of_a_part_that_would_go_is_told_by_its_name(mill: Mill) -> None:
    """Not by each figure that is missing then."""
    generator = {"rated_w": 3000, "charger_w": 1500, "start_below": 0.3, "stop_above": 0.6}
    about = {"kind": "supply", "name": "generator"}
    done(mill, ChangePart(**envelope(mill), **about, changes=[[[], generator]]))
    done(mill, what_if(mill, supply=[[["generator", "rated_w"], 4000]], sequence=2))
    faults = refused(
        mill, ChangePart(**envelope(mill, sequence=3), **about, changes=[[[], None]]), HouseholdFaults
    ).faults
    assert [fault.why for fault in faults] == [
        "the plan 'Wash day, wet <b>&amp;</b> wild' has figures of its own for the generator and needs the others;"
        " take those back on its what-if page first"
    ]


def test_what_needs_a_machine_or_a_circuit_is_told_by_its_name(mill: Mill) -> None:
    """A machine that sets it off, a machine on the circuit, a run that another plan moves."""
    saw = HEATER | {"id": "saw", "name": "Saw", "circuit": "shed"}
    saw["stages"] = [{"duration_s": 600, "watts": 900, "sets_off": [{"appliance": "heater"}]}]
    runs = {"sawing": {"appliance": "saw", "start": "10:00"}}
    circuits = [[["circuits"], [{"id": "shed", "name": "Boat shed"}]]]
    done(mill, what_if(mill, supply=circuits, appliances=[HEATER, saw], runs=runs))
    done(mill, what_if(mill, "plain", runs={"sawing": {"start": "11:00"}}, sequence=2))
    about = {"scenario_key": plan_key(mill, "wet")}

    for command, why in (
        (LeaveOut(**envelope(mill, sequence=3), **about, name="heater"), "'Saw' sets it off; take that out there, or"),
        (what_if(mill, sequence=4, take_back=[["runs", "sawing"]]), "the plan 'As the wet one' changes this run; "),
        (what_if(mill, sequence=5, take_back=[["supply", "circuits"]]), "'Saw' is on the circuit 'Boat shed'; put it"),
    ):
        assert refused(mill, command, HouseholdFaults).faults[0].why.startswith(why)
    before = json.dumps(mill.exported())
    done(mill, LeaveOut(**envelope(mill, sequence=6), **about, name="saw"))
    assert [run.appliance for run in mill.stored().days["plain"].runs] == ["washer"] * 3
    done(mill, LeaveOut(**envelope(mill, sequence=7), **about, name="heater"))
    read_afresh(mill)
    refused(mill, LeaveOut(**envelope(mill, sequence=8), **about, name="saw"), Gone)
    undone(mill, "wet")
    undone(mill, "wet")
    assert json.dumps(mill.exported()) == before


def test_parents_in_a_chain_of_five_and_in_a_circle(mill: Mill) -> None:
    """A chain may be as long as it likes; a circle is refused in words; what others stand on cannot be deleted."""
    below = "wet"
    for number in range(1, 6):
        plan = {"id": f"step-{number}", "name": f"Step {number}", "date": "2026-06-01", "parent": below}
        changes = {"supply": {"inverter": {"no_load_w": 30 + number}}}
        done(mill, AddPlan(**envelope(mill, sequence=number), document=plan | {"changes": changes}))
        below = f"step-{number}"
    done(mill, what_if(mill, "wash", supply=[[VA, 5800]]))

    assert rated(mill, "step-5") == 5800
    assert resolve(mill.stored().household, "step-5").household.supply.inverter.no_load_w == 35
    fault = refused(mill, RemovePlan(**envelope(mill), scenario_key=plan_key(mill, "wet")), HouseholdFaults).faults[0]
    assert fault.why == "'As the wet one' and 'Step 1' build on this one; delete them first"
    circle = AddPlan(**envelope(mill, tab="x"), document={"id": "o", "name": "O", "date": "2026-06-01", "parent": "o"})
    assert "circle" in refused(mill, circle, HouseholdFaults).faults[0].why
    orphan = AddPlan(**envelope(mill, tab="y"), document={"name": "O", "date": "2026-06-01", "parent": "nobody"})
    assert "there is no plan 'nobody'" in refused(mill, orphan, HouseholdFaults).faults[0].why
