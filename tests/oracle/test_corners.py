"""Corners worked by hand, where the product and the oracle must both say what the household's file says."""

from __future__ import annotations

from typing import Any

import pytest

from tests.households import assessed
from tests.oracle.compare import differences
from tests.oracle.reading import Json
from tests.oracle.test_oracle_stories import appliance, fold


def limit(report: Json, name: str) -> Json:
    found: Json = next(entry for entry in report["limits"] if entry["id"] == name)
    return found


def seen(household: Json) -> Json:
    """The report, once the oracle has agreed with it."""
    report = assessed(household)
    assert differences(household, report) == []
    return report


KICK = {"va": 3000, "power_factor": 0.6, "duration_s": 0.5}


def test_a_start_takes_the_place_of_its_interlocked_partner() -> None:
    """While the saw starts, the larger oven it excludes is off: 3000 VA, not the two of them mixed."""
    household = fold([appliance("oven", 2500), appliance("saw", 1000, 0.8, 600, start=KICK)], [("saw", "10:00")])
    household["appliances"][0]["stages"][0]["cycle"] = {"on_s": 600, "period_s": 1200}
    household["interlocks"] = [{"of": ["oven", "saw"], "at_most": 1}]
    surge = seen(household)["surges"][0]
    assert surge["total_va"] == pytest.approx(3000)


def test_an_interlocked_partner_that_does_not_count_takes_no_reactive_power_with_it() -> None:
    """The fridge that may not run beside the drive leaves the drive's leading kilovars as they are."""
    drive = appliance("drive", 800, 0.8, power_factor_kind="leading")
    fridge = appliance("fridge", 300, 0.6, cycle={"on_s": 600, "period_s": 1200})
    household = fold([drive, fridge], [])
    household["interlocks"] = [{"of": ["drive", "fridge"], "at_most": 1}]
    assert limit(seen(household), "inverter_apparent")["use"] == pytest.approx(1000)


def test_contributors_leave_out_what_an_interlock_leaves_out() -> None:
    """While the pump starts, the dryer it excludes is not among those who make the total."""
    kick = {"va": 3000, "power_factor": 0.9, "duration_s": 0.5}
    pump = appliance("pump", 500, 0.8, 600, start=kick, cycle={"on_s": 60, "period_s": 120})
    household = fold([appliance("dryer", 1500, 1.0, 600), pump], [("pump", "10:00"), ("dryer", "10:00")])
    household["interlocks"] = [{"of": ["pump", "dryer"], "at_most": 1}]
    reading = limit(seen(household), "battery_peak")
    assert sum(entry["w"] for entry in reading["contributors"]) == pytest.approx(2700)


def test_contributors_to_a_drop_are_those_of_the_loaded_conductor() -> None:
    """On a cable of both legs that feeds one leg only, the drop has a cause."""
    mains = {"id": "mains", "name": "Mains", "leg": "AB", "cable_m": 40, "conductor_mm2": 2.5}
    shed = {"id": "shed", "name": "Shed", "leg": "B", "fed_from": "mains"}
    household = fold([appliance("saw", 1000, 1.0, 600, circuit="shed")], [("saw", "10:00")], circuits=[mains, shed])
    household["supply"]["inverter"]["legs"] = 2
    reading = limit(seen(household), "voltage_drop:mains")
    assert sum(entry["va"] for entry in reading["contributors"]) == pytest.approx(1000)


def test_an_any_time_load_must_leave_room_for_the_start_of_what_cycles() -> None:
    """The kettle is fine beside the compressor, but not when that starts: 2200 W on top of 7500 VA."""
    start = {"va": 7500, "power_factor": 0.9, "duration_s": 0.5}
    compressor = appliance("compressor", 500, 1.0, 600, cycle={"on_s": 10, "period_s": 60}, start=start)
    kettle = appliance("kettle", 2200, 1.0, 180)
    household = fold([compressor, kettle], [("compressor", "10:00")], any_time=["kettle"])
    assert len(seen(household)["any_time"][0]["not"]) == 1


def test_an_any_time_load_that_cycles_follows_its_cycle() -> None:
    """An iron that heats 25 s in 100 s never fills half of a minute's allowance above 5500 VA."""
    iron = appliance("iron", 2200, 1.0, 180, cycle={"on_s": 25, "period_s": 100})
    household = fold([iron, appliance("oven", 3500, 1.0, 600)], [("oven", "10:00")], any_time=["iron"])
    assert seen(household)["any_time"][0]["not"] == []


def test_a_cold_restart_for_sure_asks_only_the_starts_that_are_sure() -> None:
    """A measured start leaving 20 % is fine, whatever a cycling load's unmeasured start would leave."""
    kick: dict[str, Any] = {"va": 7200, "power_factor": 0.6, "duration_s": 0.5}
    saw = appliance("saw", 1000, 0.8, 600, start=kick, basis="measured")
    fridge = appliance("fridge", 100, 0.6, cycle={"on_s": 600, "period_s": 1200})
    fridge["stages"][0]["start"] = {"va": 300, "power_factor": 0.6, "duration_s": 0.4}
    reading = limit(seen(fold([saw, fridge], [("saw", "10:00")])), "cold_restart")
    assert (reading["verdict"], reading["verdict_certain"]) == ("tight", "fits")
