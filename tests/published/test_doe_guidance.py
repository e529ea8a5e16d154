"""Estimating appliance energy: worked examples of the US Department of Energy's guidance for households."""

import pytest

from tests.households import assessed
from tests.published.plain import appliance, household, printed


def day_wh(*watts: float, hours: float) -> float:
    """Typical energy of a day on which each of these runs for so many hours."""
    loads = [appliance(f"load {number}", load_w, hours * 3600) for number, load_w in enumerate(watts)]
    return float(assessed(household(*loads))["demand"]["energy_wh"])


def test_a_computer_and_its_monitor_four_hours_a_day() -> None:
    """120 W and 150 W, 4 hours on 365 days: 394 kWh."""
    assert 365 * day_wh(120, 150, hours=4) / 1000 == printed("394")


def test_a_window_fan_four_hours_on_120_days() -> None:
    """200 W, 4 hours on 120 days: 96 kWh."""
    assert 120 * day_wh(200, hours=4) / 1000 == pytest.approx(96)


def test_a_refrigerator_runs_a_third_of_the_time_at_its_nameplate() -> None:
    """725 W on for a third of the day: 5.80 kWh a day, 2117 kWh a year (recomputed)."""
    fridge = appliance("fridge", 725, None, cycle={"on_s": 1200, "period_s": 3600})
    day_kwh = assessed(household(fridge))["demand"]["energy_wh"] / 1000

    assert day_kwh == printed("5.80")
    assert 365 * day_kwh == printed("2117")
