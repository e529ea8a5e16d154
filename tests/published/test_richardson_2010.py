"""Energy of household appliances over a year.

Richardson, Thomson, Infield and Clifford 2010, Energy and Buildings 42(10) 1878-1887, figures as tabulated
in an open Modelica building library: mean watts of a cycle, its minutes, cycles a year, standby watts,
kilowatt-hours a year. And what three of them draw together (recomputed from the same figures).
"""

import pytest

from tests.households import assessed
from tests.published.plain import appliance, household, limit, printed

HOURS_A_YEAR = 8760
# watts, minutes, cycles a year, kilowatt-hours a year
COLD = {
    "fridge-freezer": (190, 22, 6115.76, "426.06"),
    "refrigerator": (110, 18, 6115.76, "201.82"),
    "upright freezer": (155, 20, 6115.76, "315.98"),
    "chest freezer": (190, 14, 6115.76, "271.13"),
}
# watts, minutes, cycles a year, standby watts, kilowatt-hours a year
BY_HAND = {
    "dishwasher": (1130.61, 60, 241.476, 0, "273.02"),
    "tumble dryer": (2500, 60, 122.073, 1, "313.82"),
    "kettle": (2000, 3, 1519.82, 1, "160.67"),
    "microwave": (1250, 30, 94.619, 2, "76.56"),
    "hob": (2400, 16, 417.902, 1, "276.11"),
    "oven": (2125, 27, 219.793, 3, "236.16"),
    "vacuum cleaner": (2000, 20, 110.368, 0, "73.58"),
    "iron": (1000, 30, 35.459, 0, "17.73"),
}


def cold(name: str) -> dict[str, object]:
    """An appliance that cools, on and off by itself all day."""
    watts, minutes, cycles, _ = COLD[name]
    cycle = {"on_s": minutes * 60, "period_s": HOURS_A_YEAR * 3600 / cycles}
    return appliance(name, watts, None, cycle=cycle)


def day_wh(*appliances: dict[str, object]) -> float:
    """Typical energy of a day on which each runs once or all day."""
    return float(assessed(household(*appliances))["demand"]["energy_wh"])


@pytest.mark.parametrize("name", COLD)
def test_a_year_of_a_cold_appliance(name: str) -> None:
    """365 days of its typical energy."""
    assert 365 * day_wh(cold(name)) / 1000 == printed(COLD[name][3])


@pytest.mark.parametrize("name", BY_HAND)
def test_a_year_of_what_is_switched_on_by_hand(name: str) -> None:
    """So many runs a year, and standby in all the other hours."""
    watts, minutes, cycles, standby_w, published = BY_HAND[name]
    run_wh = day_wh(appliance(name, watts, minutes * 60))
    standby_wh_an_hour = day_wh(appliance("standby", standby_w, None)) / 24 if standby_w else 0.0
    year_wh = cycles * run_wh + standby_wh_an_hour * (HOURS_A_YEAR - cycles * minutes / 60)

    assert year_wh / 1000 == printed(published)


THREE = ("fridge-freezer", "upright freezer", "chest freezer")


def test_what_three_cold_appliances_draw_on_average() -> None:
    """Independent, on 25.6, 23.3 and 16.3 % of the time: 115.66 W expected."""
    assert day_wh(*map(cold, THREE)) / 24 == printed("115.66")


def test_what_three_cold_appliances_can_draw() -> None:
    """None of them for sure (probability 0.4779), all of them with 535 W at most (0.0097)."""
    reading = limit(household(*map(cold, THREE)), "inverter_continuous")

    assert reading["use"] == printed("535")
    assert reading["use_certain"] == 0


def test_the_mean_of_a_binomial_count() -> None:
    """Three equal loads, each on for a third of the time: by the printed probabilities, one on average."""
    thirds = [appliance(f"load {n}", 100, None, cycle={"on_s": 600, "period_s": 1800}) for n in range(3)]
    expected = 100 * (0.444444 + 2 * 0.222222 + 3 * 0.037037)

    assert day_wh(*thirds) / 24 == pytest.approx(expected, abs=0.001)
