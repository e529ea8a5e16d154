"""Two legs, trees of circuits, cables."""

import pytest

from tests.engine.home import house, limits, load, steady
from tests.households import assessed

SPLIT = {"ac_voltage": 240, "legs": 2}
CIRCUITS = [
    {"id": "main", "breaker_a": 60, "leg": "AB"},
    {"id": "left", "breaker_a": 20, "leg": "A", "fed_from": "main"},
    {"id": "right", "breaker_a": 20, "leg": "B", "fed_from": "main"},
]


def test_each_leg_carries_its_own_and_half_of_what_lies_between() -> None:
    """1200 W on A, 600 W on B, 1000 W between: 1700 and 1100 of 2500 VA."""
    found = limits(
        house(
            steady("a", 1200, circuit="left"), steady("b", 600, circuit="right"), steady("ab", 1000),
            inverter=SPLIT, supply={"circuits": CIRCUITS},
        )
    )  # fmt: skip

    assert (found["leg:A"]["use"], found["leg:B"]["use"]) == pytest.approx((1700, 1100))
    assert found["leg:A"]["limit"] == 2500
    assert found["leg:A"]["verdict"] == "fits"
    assert found["inverter_continuous"]["use"] == 2800


def test_a_leg_can_be_over_while_the_house_is_not() -> None:
    """2200 W on one leg is above half the watts for the whole day."""
    found = limits(house(steady("a", 2200, circuit="left"), inverter=SPLIT, supply={"circuits": CIRCUITS}))

    assert found["inverter_continuous"]["verdict"] == "fits"
    assert found["leg:A"]["verdict"] == "over"
    assert found["leg:B"]["use"] == 0


def test_a_circuit_between_the_legs_is_judged_by_its_larger_conductor() -> None:
    """1200 W on the leg behind it and 1200 W between: 1800 W at 120 V."""
    found = limits(
        house(steady("a", 1200, circuit="left"), steady("ab", 1200, circuit="main"),
              inverter=SPLIT, supply={"circuits": CIRCUITS})
    )  # fmt: skip

    assert found["circuit:main"]["use"] == pytest.approx(15)
    assert found["circuit:left"]["use"] == pytest.approx(10)


def test_voltage_drops_add_along_the_feed_path() -> None:
    """10 A through both cables, each by IEC 60364-5-52 Annex G at pf 1."""
    circuits = [
        {"id": "yard", "cable_m": 20, "conductor_mm2": 4},
        {"id": "shed", "cable_m": 30, "conductor_mm2": 2.5, "fed_from": "yard"},
    ]
    found = limits(house(steady("heater", 2300, circuit="shed"), supply={"circuits": circuits}))

    yard = 100 * 2 * 10 * 0.0225 * 20 / 4 / 230
    shed = 100 * 2 * 10 * 0.0225 * 30 / 2.5 / 230
    assert found["voltage_drop:yard"]["running_percent"] == pytest.approx(yard)
    assert found["voltage_drop:shed"]["running_percent"] == pytest.approx(yard + shed)
    assert "circuit:shed" not in found


def test_a_breaker_above_its_cable_is_over() -> None:
    """Whatever is drawn."""
    circuits = [{"id": "shed", "breaker_a": 32, "cable_a": 27}]
    found = limits(house(steady("lamp", 50, circuit="shed"), supply={"circuits": circuits}))

    assert found["circuit:shed"]["verdict"] == "over"


@pytest.mark.parametrize(("hours", "verdict"), [(2.9, "fits"), (3, "tight")])
def test_three_hours_above_four_fifths_of_a_breaker_are_tight(hours: float, verdict: str) -> None:
    """17 A of 20 for so long (NEC Art. 100: continuous is three hours or more); wanted margin 10 %."""
    document = house(
        load("heater", 17 * 230, hours * 3600, circuit="shed"), runs={"heater": "10:00"},
        supply={"circuits": [{"id": "shed", "breaker_a": 20}]}, day={"wanted_margin": 0.1},
    )  # fmt: skip

    assert limits(document)["circuit:shed"]["verdict"] == verdict


def test_a_start_behind_a_breaker_may_trip_it() -> None:
    """60 A on a B10, which may trip from 30 A on."""
    motor = load("motor", 500, circuit="shed", start={"va": 60 * 230, "power_factor": 0.5, "duration_s": 0.5})
    document = house(motor, runs={"motor": "10:00"}, inverter={"overload": [[20000, 10]]},
                     supply={"circuits": [{"id": "shed", "breaker_a": 10, "curve": "B"}]})  # fmt: skip
    reading = limits(document)["circuit:shed"]

    assert (reading["start_a"], reading["trip_a"]) == (pytest.approx(60), 30)
    assert reading["verdict"] == "over"


def test_leading_and_lagging_cycling_loads_do_not_help_each_other() -> None:
    """The worst case takes whichever side is larger."""
    lagging = steady("motor", 800, power_factor=0.8, cycle={"on_s": 60, "period_s": 600})
    leading = steady("drive", 400, power_factor=0.8, power_factor_kind="leading", cycle={"on_s": 60, "period_s": 600})
    report = assessed(house(lagging, leading))

    assert report["demand"]["peak_worst_va"] == pytest.approx((1200**2 + 600**2) ** 0.5)
