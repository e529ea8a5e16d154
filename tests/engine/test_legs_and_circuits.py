"""Two legs, trees of circuits, cables."""

import pytest

from tests.engine.home import Document, house, limits, load, steady
from tests.households import assessed

SPLIT = {"ac_voltage": 240, "legs": 2}
CIRCUITS = [
    {"id": "main", "breaker_a": 60, "leg": "AB"},
    {"id": "left", "breaker_a": 20, "leg": "A", "fed_from": "main"},
    {"id": "right", "breaker_a": 20, "leg": "B", "fed_from": "main"},
]

FED: list[Document] = [
    {"id": "yard", "cable_m": 20, "conductor_mm2": 4},
    {"id": "shed", "cable_m": 30, "conductor_mm2": 2.5, "fed_from": "yard"},
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
    found = limits(house(steady("heater", 2300, circuit="shed"), supply={"circuits": FED}))

    yard = 100 * 2 * 10 * 0.0225 * 20 / 4 / 230
    shed = 100 * 2 * 10 * 0.0225 * 30 / 2.5 / 230
    assert found["voltage_drop:yard"]["running_percent"] == pytest.approx(yard)
    assert found["voltage_drop:shed"]["running_percent"] == pytest.approx(yard + shed)
    assert "circuit:shed" not in found


def lost(*amperes_and_factors: tuple[float, float]) -> float:
    """Per cent of 230 V in both cables of FED, there and back: (amperes, power factor) in the yard's, in the shed's."""
    total = 0.0
    for cable, (amperes, power_factor) in zip(FED, amperes_and_factors, strict=True):
        along = 0.0225 * cable["cable_m"] / cable["conductor_mm2"] * power_factor
        total += 100 * 2 * amperes * (along + 0.08e-3 * cable["cable_m"] * (1 - power_factor**2) ** 0.5) / 230
    return total


def test_what_starts_on_the_feeder_at_the_same_moment_dips_the_circuit_behind_it_too() -> None:
    """Two motors at ten: 20 A of start on the shed's cable, 20 A and 30 A on the yard's, all at pf 0.5."""
    motors = [
        load(name, 500, circuit=name, start={"va": amperes * 230, "power_factor": 0.5, "duration_s": 1})
        for name, amperes in (("shed", 20), ("yard", 30))
    ]
    found = limits(house(*motors, runs={"shed": "10:00", "yard": "10:00"}, supply={"circuits": FED}))

    assert found["voltage_drop:shed"]["starting_percent"] == pytest.approx(lost((50, 0.5), (20, 0.5)))


def test_what_an_interlock_keeps_off_for_a_start_draws_nothing_on_the_feeder_either() -> None:
    """The fridge starts with 10 A only while the heater in the yard is off: nothing runs beside its start."""
    fridge = steady("fridge", 500, circuit="shed", cycle={"on_s": 60, "period_s": 600},
                    start={"va": 2300, "power_factor": 0.5, "duration_s": 1})  # fmt: skip
    heater = load("heater", 1150, circuit="yard", cycle={"on_s": 60, "period_s": 600})
    found = limits(house(fridge, heater, runs={"heater": "10:00"}, supply={"circuits": FED},
                         interlocks=[{"of": ["fridge", "heater"], "at_most": 1}]))  # fmt: skip

    assert found["voltage_drop:shed"]["starting_percent"] == pytest.approx(lost((10, 0.5), (10, 0.5)))


def test_of_two_conductors_the_one_that_loses_more_counts() -> None:
    """240 V on two legs: 10 A at pf 0.5 on both, and a leading drive makes B fewer amperes, but at a better factor."""
    cable = {"id": "main", "leg": "AB", "cable_m": 20, "conductor_mm2": 4}
    right = {"id": "right", "leg": "B", "fed_from": "main"}
    motor = steady("motor", 1200, circuit="main", power_factor=0.5)  # 600 W and 1039 var on each leg
    drive = steady("drive", 300, circuit="right", power_factor=0.5, power_factor_kind="leading")  # -520 var
    found = limits(house(motor, drive, inverter=SPLIT, supply={"circuits": [cable, right]}))

    watts, var = 900, 1200 / 2 * 3**0.5 - 300 * 3**0.5  # of B: 1039 VA and a factor of 0.87, A has 1200 VA at 0.5
    along = 0.0225 * 20 / 4 * watts + 0.08e-3 * 20 * var
    assert found["voltage_drop:main"]["running_percent"] == pytest.approx(100 * 2 * along / 120 / 240)


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
