"""Figures of the library and the supply, and appliances that come and go."""

from typing import Any

import pytest

from app.household.errors import HouseholdFaults
from app.store.commands import AddAppliance, AddRun, ChangePart, RemoveAppliance, SetPlanField
from app.store.errors import Gone, NotThere
from tests.store.doing import done, envelope, history, plan_key, read_afresh, redone, refused, undone
from tests.store.sample import MILL, Mill

KETTLE = {"id": "kettle", "name": "Kettle", "stages": [{"duration_s": 180, "watts": 2000}]}


def figures(mill: Mill, kind: Any, name: str, *changes: tuple[list[Any], Any], **given: Any) -> ChangePart:
    """A command that gives figures of a part."""
    about = {"kind": kind, "name": name, "changes": [list(one) for one in changes]}
    return ChangePart(**(envelope(mill) | about | given))


def appliance(mill: Mill, appliance_id: str) -> dict[str, Any]:
    """An appliance as the file has it now."""
    found: dict[str, Any] = next(one for one in mill.exported()["appliances"] if one["id"] == appliance_id)
    return found


def test_a_figure_is_given_where_its_path_says(mill: Mill) -> None:
    """All else of the file stays as it was, to the order of its fields."""
    done(mill, figures(mill, "appliance", "washer", (["stages", 0, "watts"], 2150)))

    changed = appliance(mill, "washer")
    assert changed["stages"][0] == {"duration_s": 1800.0, "watts": 2150, "start": None}
    assert [one for one in mill.exported()["appliances"] if one["id"] != "washer"] == MILL["appliances"][1:]
    assert {name: value for name, value in mill.exported().items() if name != "appliances"} == {
        name: value for name, value in MILL.items() if name != "appliances"
    }
    read_afresh(mill)


def test_several_figures_of_one_form_are_one_step(mill: Mill) -> None:
    """A cycle needs two figures at once; undoing takes both, and redoing gives both."""
    before = mill.exported()
    cycle = [(["stages", 0, "cycle", "on_s"], 60), (["stages", 0, "cycle", "period_s"], 300)]
    done(mill, figures(mill, "appliance", "pump", *cycle))
    with_both = mill.exported()
    undone(mill, "wash")
    assert mill.exported() == before
    redone(mill, "wash", sequence=2)

    assert mill.exported() == with_both
    assert appliance(mill, "pump")["stages"][0]["cycle"] == {"on_s": 60, "period_s": 300}
    read_afresh(mill)


def test_what_holds_nothing_any_more_goes(mill: Mill) -> None:
    """A cycle without its two figures is no cycle."""
    done(mill, figures(mill, "appliance", "pump", (["stages", 0, "cycle"], {"on_s": 60, "period_s": 300})))
    gone = [(["stages", 0, "cycle", "on_s"], None), (["stages", 0, "cycle", "period_s"], None)]
    done(mill, figures(mill, "appliance", "pump", *gone, sequence=2))

    assert appliance(mill, "pump") == MILL["appliances"][1]


def test_a_part_of_the_supply_comes_goes_and_comes_back(mill: Mill) -> None:
    """A generator that was never there begins with its figures; taken out it leaves the file without one."""
    whole = {"rated_w": 3000, "charger_w": 1500, "start_below": 0.3, "stop_above": 0.6}
    done(mill, figures(mill, "supply", "generator", ([], whole)))
    assert mill.exported()["supply"]["generator"] == whole
    done(mill, figures(mill, "supply", "generator", ([], None), sequence=2))
    assert mill.exported()["supply"].get("generator") is None
    undone(mill, "wash")

    assert mill.exported()["supply"]["generator"] == whole
    undone(mill, "wash", sequence=2)
    assert mill.exported()["supply"].get("generator") is None
    read_afresh(mill)


def test_figures_that_cannot_be_are_refused_at_their_place(mill: Mill) -> None:
    """Nothing is stored, and the fault names the field."""
    fault = refused(mill, figures(mill, "appliance", "washer", (["stages", 1, "watts"], -5)), HouseholdFaults)

    assert [one.path for one in fault.faults] == ["appliances[0].stages[1].watts"]


def test_a_step_back_takes_nothing_along_that_another_page_did_since(mill: Mill) -> None:
    """The removal touched a plan that was renamed on its own page since: that is taken back there first."""
    done(mill, RemoveAppliance(**envelope(mill), name="washer"))
    rename = {"scenario_key": plan_key(mill, "wet"), "field": "name", "value": "Wet and windy"}
    done(mill, SetPlanField(**envelope(mill, sequence=2), **rename))
    before = mill.exported()
    with pytest.raises(HouseholdFaults, match="changed since"):
        undone(mill, "bare", sequence=3)
    assert mill.exported() == before
    undone(mill, "wet", sequence=4)
    undone(mill, "bare", sequence=5)

    assert mill.exported() == MILL


def test_the_log_keeps_the_old_figure_beside_the_new(mill: Mill) -> None:
    """A figure's history can be read out of it."""
    done(mill, figures(mill, "appliance", "washer", (["stages", 0, "watts"], 2150), (["basis"], "measured")))

    command = history(mill)[0].command
    assert command["title"] == "Wäsche 🧺"
    assert command["changes"] == [[["stages", 0, "watts"], 2150], [["basis"], "measured"]]
    assert command["was"] == [2000, None]
    assert command["rested_on"] == {}


def test_the_log_keeps_what_the_old_figure_rested_on(mill: Mill) -> None:
    """A figure that was measured is told from one that was typical, also when it is gone."""
    own = {"kind": "own", "text": "A guess."}
    done(mill, figures(mill, "appliance", "pump", (["basis"], "nameplate"), (["source"], own)))
    done(mill, figures(mill, "appliance", "pump", (["stages", 0, "watts"], 600), (["basis"], "measured"), sequence=2))

    assert history(mill)[0].command["rested_on"] == {"basis": "nameplate", "source": own}


def test_a_part_nobody_has_is_not_there(mill: Mill) -> None:
    """An appliance is added, not made by giving one of its figures."""
    refused(mill, figures(mill, "appliance", "sauna", (["name"], "Sauna")), NotThere)


def test_an_appliance_is_added_under_an_id_and_a_name_of_its_own(mill: Mill) -> None:
    """Twice the same entry makes two machines; what it sets off goes by its new id too."""
    hood = {"id": "hood", "name": "Hood", "stages": [{"watts": 120}]}
    boiling = {"duration_s": 900, "watts": 3000, "sets_off": [{"appliance": "hood"}]}
    hob = {"id": "hob", "name": "Hob", "stages": [boiling]}
    for sequence in (1, 2):
        done(mill, AddAppliance(**envelope(mill, sequence=sequence), documents=[hob, hood]))

    added = mill.exported()["appliances"][2:]
    assert [(one["id"], one["name"]) for one in added] == [
        ("hob", "Hob"), ("hood", "Hood"), ("hob-2", "Hob 2"), ("hood-2", "Hood 2"),
    ]  # fmt: skip
    assert added[2]["stages"][0]["sets_off"] == [{"appliance": "hood-2"}]
    read_afresh(mill)


def test_adding_is_undone_and_done_again(mill: Mill) -> None:
    """The appliance keeps its place and its id."""
    before = mill.exported()
    done(mill, AddAppliance(**envelope(mill), documents=[KETTLE]))
    after = mill.exported()
    undone(mill, "wash")
    assert mill.exported() == before
    redone(mill, "wash", sequence=2)

    assert mill.exported() == after


def test_a_removed_appliance_takes_its_runs_along_and_brings_them_back(mill: Mill) -> None:
    """In every plan, those that inherit them too; undoing has all of it back."""
    before = mill.exported()
    done(mill, RemoveAppliance(**envelope(mill), name="washer"))

    assert [one["id"] for one in mill.exported()["appliances"]] == ["pump"]
    assert all(run.appliance != "washer" for day in mill.stored().days.values() for run in day.runs)
    undone(mill, "wash")
    assert mill.exported() == before
    read_afresh(mill)


def test_runs_of_other_machines_stay_whatever_they_are_called(mill: Mill) -> None:
    """Two plans may each have a run of the same id, of two machines."""
    document = {"id": "first", "appliance": "pump", "start": "10:00"}
    done(mill, AddRun(**envelope(mill), scenario_key=plan_key(mill, "bare"), run_id="first", document=document))
    done(mill, RemoveAppliance(**envelope(mill, sequence=2), name="washer"))

    assert [run.appliance for run in mill.stored().days["bare"].runs] == ["pump"]


def test_what_others_need_is_not_removed(mill: Mill) -> None:
    """A follow-on stays while something sets it off."""
    sawing = {"duration_s": 60, "watts": 900, "sets_off": [{"appliance": "pump"}]}
    saw = {"id": "saw", "name": "Saw", "stages": [sawing]}
    done(mill, AddAppliance(**envelope(mill), documents=[saw]))
    fault = refused(mill, RemoveAppliance(**envelope(mill, sequence=2), name="pump"), HouseholdFaults)

    assert "'Saw' sets it off" in fault.faults[0].why


def test_a_run_of_what_was_removed_is_refused(mill: Mill) -> None:
    """Nothing can be placed that is not there; and to remove it again says that it is gone."""
    done(mill, RemoveAppliance(**envelope(mill), name="pump"))
    document = {"appliance": "pump", "start": "10:00"}
    place = AddRun(**envelope(mill, sequence=2), scenario_key=plan_key(mill, "bare"), document=document)
    refused(mill, place, HouseholdFaults)
    refused(mill, RemoveAppliance(**envelope(mill, sequence=3), name="pump"), Gone)


@pytest.mark.parametrize("kind", ["appliance", "supply"])
def test_two_phones_that_change_two_figures_of_one_part_both_stand(mill: Mill, kind: str) -> None:
    """Each sends what it changed and nothing else."""
    name, one, other = {
        "appliance": ("pump", ["stages", 0, "watts"], ["name"]),
        "supply": ("battery", ["modules"], ["reserve"]),
    }[kind]
    done(mill, figures(mill, kind, name, (one, 5), tab="kitchen"))
    done(mill, figures(mill, kind, name, (other, "Well" if kind == "appliance" else 0.3), tab="shed"))

    part = appliance(mill, "pump") if kind == "appliance" else mill.exported()["supply"]["battery"]
    assert "Well" in str(part) or part.get("reserve") == 0.3
    assert 5 in (part.get("modules"), (part.get("stages") or [{}])[0].get("watts"))
