"""Story 1. Wash, tap and kettle.

The washer filled at 10:00 and heats with 2050 W from 10:06 to 10:26. The kettle takes 2200 W for three
minutes, at any time. The well pump starts whenever somebody has drawn enough, not when the washer fills.
"""

from typing import NamedTuple

import pytest

from app.engine.assess import assess
from app.household.file import household_from
from app.household.resolve import resolve
from app.web.words import any_time_sentence
from tests.households import assessed
from tests.stories.reading import clock, left_percent, limit, printed
from tests.stories.thornbeck import BASE, FREEZER, FRIDGE, PUMP, WATER, Document, fold, machine, run, stage

WASHER = machine("washer", stage("fill", 6, 10, water_l=15), stage("heat", 20, 2050))
KETTLE = machine("kettle", stage("boil", 3, 2200))


def wash(*, pump: bool, kettle: bool) -> Document:
    """The wash at 10:00, with or without water from the well, with or without the kettle at 10:10."""
    appliances = [BASE, FRIDGE, FREEZER, WASHER, KETTLE]
    runs = [run("washer", "10:00")] + ([run("kettle", "10:10")] if kettle else [])
    if not pump:
        return fold(appliances, runs, any_time=["kettle"])
    return fold([*appliances, PUMP], runs, any_time=["kettle"], supply={"water": WATER})


class Row(NamedTuple):
    """What is on together, and what the engine must say of it."""

    pump: bool
    kettle: bool
    at: str
    watts: str
    volt_amperes: str
    verdict: str


HEAT = Row(pump=False, kettle=False, at="10:06:00", watts="2460", volt_amperes="2482", verdict="fits")
TAP = Row(pump=True, kettle=False, at="10:06:00", watts="3360", volt_amperes="3520", verdict="fits")
KETTLE_TOO = Row(pump=False, kettle=True, at="10:10:00", watts="4660", volt_amperes="4672", verdict="short_time")
ALL = Row(pump=True, kettle=True, at="10:10:00", watts="5560", volt_amperes="5658", verdict="short_time")


@pytest.mark.parametrize("row", [HEAT, TAP, KETTLE_TOO, ALL], ids=["heat", "tap", "kettle", "all"])
def test_what_is_on_together_adds_up_in_watts_and_volt_amperes(row: Row) -> None:
    """The washer's heat, the base, fridge and freezer stand together; tap and kettle come on top."""
    report = assessed(wash(pump=row.pump, kettle=row.kettle))
    watts, volt_amperes = limit(report, "inverter_continuous"), limit(report, "inverter_apparent")

    assert watts["use"] == printed(row.watts)
    assert volt_amperes["use"] == printed(row.volt_amperes)
    assert clock(watts["at"]) == row.at
    assert watts["verdict"] == row.verdict
    assert report["verdict"] == row.verdict


@pytest.mark.parametrize(("row", "left"), [(HEAT, "38.5"), (TAP, "16.0")], ids=["heat", "tap"])
def test_the_wash_alone_leaves_room_even_with_a_tap_running(row: Row, left: str) -> None:
    """Of 4000 W a good third is left while the washer heats, and 16 % when the pump joins in."""
    watts = limit(assessed(wash(pump=row.pump, kettle=row.kettle)), "inverter_continuous")

    assert watts["limit"] == 4000
    assert left_percent(watts) == printed(left)


def test_what_surely_runs_while_the_washer_heats_is_heat_and_base() -> None:
    """Fridge, freezer and pump come and go; for sure there are 2050 W of heat and 180 W of base."""
    watts = limit(assessed(wash(pump=True, kettle=False)), "inverter_continuous")

    assert watts["use_certain"] == printed("2230")
    assert watts["verdict_certain"] == "fits"


def test_the_contributors_of_a_limit_add_up_to_its_use() -> None:
    """Everything named beside a limit, summed, is the figure itself."""
    report = assessed(wash(pump=True, kettle=False))
    watts, volt_amperes = limit(report, "inverter_continuous"), limit(report, "inverter_apparent")

    assert {one["appliance"] for one in watts["contributors"]} == {
        "base", "fridge", "freezer", "washer", "well pump",
    }  # fmt: skip
    assert sum(one["w"] for one in watts["contributors"]) == pytest.approx(watts["use"])
    assert sum(one["va"] for one in volt_amperes["contributors"]) == pytest.approx(volt_amperes["use"])


@pytest.mark.parametrize(
    ("row", "before", "total", "verdict"),
    [(TAP, "2482", "5666", "fits"), (ALL, "4672", "7492", "short_time")],
    ids=["tap", "all"],
)
def test_the_pump_may_start_on_top_of_everything(row: Row, before: str, total: str, verdict: str) -> None:
    """The pump's 3800 VA come on top of what runs and stay below the 9000 VA the inverter can give."""
    report = assessed(wash(pump=row.pump, kettle=row.kettle))
    overload = limit(report, "inverter_overload")
    pump_starts = [one for one in report["surges"] if one["appliance"] == "well pump"]
    surge = max(pump_starts, key=lambda one: float(one["total_va"]))

    assert overload["limit"] == 9000
    assert overload["use"] == printed(total)
    assert overload["verdict"] == verdict
    assert surge["start_va"] == 3800
    assert surge["before_va"] == printed(before)
    assert surge["total_va"] == printed(total)


@pytest.mark.parametrize(
    ("row", "lasts_s", "allowed_s"), [(KETTLE_TOO, 180, 1800), (ALL, 48, 60)], ids=["kettle", "all"]
)
def test_the_kettle_on_top_of_the_heat_is_fine_for_its_three_minutes(
    row: Row, lasts_s: float, allowed_s: float
) -> None:
    """Kettle and heat: 180 s of the 1800 s allowed; with the pump, above 5500 VA for 48 of 60 s."""
    overload = limit(assessed(wash(pump=row.pump, kettle=row.kettle)), "inverter_overload")

    assert overload["lasts_s"] == pytest.approx(lasts_s)
    assert overload["allowed_s"] == allowed_s
    assert overload["verdict"] == "short_time"


def test_above_five_and_a_half_kilovolt_amperes_48_of_60_seconds_are_used() -> None:
    """The allowance that is used up furthest is the one above 5500 VA, and the sentence says nearly."""
    report = assessed(wash(pump=True, kettle=True))

    assert limit(report, "inverter_overload")["level_va"] == 5500
    assert "nearly" in report["sentence"].lower()


def test_nothing_is_above_any_level_while_only_the_washer_heats() -> None:
    """Without the kettle there is no time above a level to speak of."""
    overload = limit(assessed(wash(pump=True, kettle=False)), "inverter_overload")

    assert overload.get("level_va") is None
    assert overload.get("lasts_s") is None
    assert overload.get("allowed_s") is None


def test_the_kettle_any_time_except_while_the_washer_heats() -> None:
    """From 10:06 to 10:26 the kettle would use more than half of what is allowed."""
    report = assessed(wash(pump=True, kettle=False))

    (kettle,) = report["any_time"]
    assert kettle["appliance"] == "kettle"
    assert [(clock(not_then["from"]), clock(not_then["to"])) for not_then in kettle["not"]] == [
        ("10:06:00", "10:26:00")
    ]
    assert kettle["not"][0]["limit"] == "inverter_overload"


def test_the_most_useful_sentence_of_all() -> None:
    """Kettle any time except 10:06 to 10:26."""
    household = household_from(wash(pump=True, kettle=False))
    (kettle,) = assess(household, None).any_time

    assert any_time_sentence(kettle, resolve(household)) == "Kettle any time except 10:06 to 10:26."
