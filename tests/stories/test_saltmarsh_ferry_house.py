"""The demo, Saltmarsh Ferry House: its three plans each show something, and each can be put right."""

import copy
import json
from typing import Any

import pytest

from app.household.demo import demo_text
from tests.households import assessed
from tests.stories.reading import clock, limit
from tests.stories.thornbeck import Document


def plan_of(household: Document, plan_id: str) -> Document:
    """One plan of the household document."""
    return next(dict(plan) for plan in household["scenarios"] if plan["id"] == plan_id)


def laundry(**starts: str) -> dict[str, Any]:
    """The laundry day with some runs at another time."""
    household = copy.deepcopy(json.loads(demo_text()))
    for run in plan_of(household, "laundry")["runs"]:
        run["start"] = starts.get(run["id"].replace("-", "_"), run["start"])
    return assessed(household, "laundry")


@pytest.mark.parametrize(("plan", "verdict"), [("ordinary", "tight"), ("laundry", "short_time"), ("shed", "chance")])
def test_each_plan_has_a_verdict_of_its_own(plan: str, verdict: str) -> None:
    """Dinner only just fits, laundry fits for a while, the shed could cut out."""
    assert assessed(json.loads(demo_text()), plan)["verdict"] == verdict


def test_the_warm_cupboard_shows_in_the_evening() -> None:
    """At a quarter past six the inverter carries some 200 W less than its 4500 W."""
    dinner = limit(assessed(json.loads(demo_text()), "ordinary"), "inverter_continuous")

    assert clock(dinner["at"]) == "18:15:00"
    assert 4200 < dinner["limit"] < 4400


def test_the_kettle_has_to_wait_while_the_hob_boils() -> None:
    """On an ordinary day it may be on any time except 18:15 to 18:23."""
    (kettle,) = assessed(json.loads(demo_text()), "ordinary")["any_time"]

    assert [(clock(one["from"]), clock(one["to"])) for one in kettle["not"]] == [("18:15:00", "18:23:00")]


def test_the_laundry_day_nearly_uses_up_what_is_allowed() -> None:
    """Second wash, dryer and dishwasher heat together: 48 of 60 s when the pump comes on."""
    overload = limit(laundry(), "inverter_overload")

    assert (overload["lasts_s"], overload["allowed_s"]) == (48, 60)


def test_the_laundry_day_eases_run_by_run() -> None:
    """The dishwasher later takes the worst away; the dryer later as well makes it fit for hours."""
    dishes_later = laundry(dishes="15:15")
    both_later = laundry(dishes="15:15", dry_1="11:15")

    assert limit(dishes_later, "inverter_overload")["allowed_s"] == 1800
    assert both_later["verdict"] == "tight"


def test_the_shed_could_cut_out_when_the_compressor_starts_while_sawing() -> None:
    """Too much for a start while sawing, and after a power cut; the cable is near its limit too."""
    shed = assessed(json.loads(demo_text()), "shed")

    assert limit(shed, "inverter_overload")["verdict"] == "chance"
    assert limit(shed, "cold_restart")["verdict"] == "chance"
    assert limit(shed, "cold_restart")["switch_off"] == ["compressor"]
    assert limit(shed, "voltage_drop:shed")["verdict"] == "tight"


def test_without_the_compressor_the_shed_may_open() -> None:
    """Sawing alone only just fits."""
    household = json.loads(demo_text())
    plan_of(household, "shed")["changes"]["runs"]["air"]["on"] = False

    assert assessed(household, "shed")["verdict"] == "tight"


def test_every_appliance_says_where_its_figures_come_from() -> None:
    """A published source by name, a plate, a measurement with its date, or common practice, said so."""
    household = json.loads(demo_text())
    brought = plan_of(household, "shed")["changes"]["appliances"]
    for appliance in [*household["appliances"], *brought]:
        source = appliance["source"]
        assert source["text"]
        if source["kind"] == "common practice":
            assert "Common practice, no source" in source["text"]
        if source["kind"] == "measured":
            assert source["date"]
