"""Two legs, trees of circuits, cables."""

from typing import Any

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

    # B has 900 W and 520 var, 1039 VA at 0.87, and on the neutral 300 W and -520 var more; A has 1200 VA at 0.5.
    along = 0.0225 * 20 / 4 * (900 + 300)
    assert found["voltage_drop:main"]["running_percent"] == pytest.approx(100 * along / 120 / 120)


PANEL: list[Document] = [
    {"id": "panel", "leg": "AB", "cable_m": 20, "conductor_mm2": 6},
    {"id": "kitchen", "leg": "A", "fed_from": "panel", "cable_m": 15, "conductor_mm2": 2.5},
    {"id": "hall", "leg": "B", "fed_from": "panel"},
]


def two_legs(*appliances: Document, **more: Any) -> dict[str, Document]:
    """Limits of a house whose panel is fed by both legs."""
    return limits(house(*appliances, inverter=SPLIT, supply={"circuits": PANEL}, **more))


def panel_percent(watts: float) -> float:
    """Of half the volts, when so many watts at power factor 1 are lost on one conductor's length of the panel's."""
    return 100 * watts / 120 * 0.0225 * 20 / 6 / 120


def test_what_only_one_leg_of_a_feeder_carries_comes_back_by_the_neutral() -> None:
    """By hand: 1450 W at 0.9 on A, 13.4 A: 1.83 V of 120 on the feeder, there and back, and 3.28 V on its own cable."""
    found = two_legs(steady("microwave", 1450, circuit="kitchen", power_factor=0.9))

    assert found["voltage_drop:panel"]["running_percent"] == pytest.approx(1.526, abs=1e-3)
    assert found["voltage_drop:kitchen"]["running_percent"] == pytest.approx(1.526 + 2.730, abs=2e-3)


@pytest.mark.parametrize(
    ("other", "more", "lost_w"),
    [
        ({}, {}, 2 * 1800 - 1200),  # on the other leg all day
        ({"watts": 1800}, {}, 1800),  # both legs alike: on the neutral there is nothing
        ({"uncertainty": 0.25}, {}, 2 * 1800 - 900),  # it may be as little as 900 W
        ({"cycle": {"on_s": 60, "period_s": 600}}, {}, 2 * 1800),  # it may be off
        ({}, {"interlocks": [{"of": ["other", "lamp"], "at_most": 1}]}, 2 * 1800),  # the lamp may keep it off
        ({"circuit": "panel"}, {}, 2 * 1800 + 600),  # over both legs: half of its amperes on either
        ({"circuit": "panel", "cycle": {"on_s": 60, "period_s": 600}}, {}, 2 * 1800 + 600),
    ],
)
def test_what_surely_is_on_the_other_leg_takes_from_the_neutral(other: Document, more: Document, lost_w: float) -> None:
    """1800 W on A, something else elsewhere on the panel; the larger leg counts."""
    heater = steady("heater", 1800, circuit="kitchen")
    told = {"watts": 1200, "circuit": "hall", **other}
    found = two_legs(heater, steady("other", told.pop("watts"), **told), load("lamp", 5), **more)

    assert found["voltage_drop:panel"]["running_percent"] == pytest.approx(panel_percent(lost_w))


def test_what_runs_when_one_likes_is_not_sure_to_be_on_the_other_leg() -> None:
    """A kettle on B, planned at ten for five minutes, takes nothing from what A loses; a boiler does."""
    heater = load("heater", 1800, 300, circuit="kitchen")
    beside = load("beside", 1200, 300, circuit="hall")
    runs = {"heater": "10:00", "beside": "10:00"}
    kettle, boiler = (two_legs(heater, beside, runs=runs, any_time=one) for one in (["beside"], []))

    assert kettle["voltage_drop:panel"]["running_percent"] == pytest.approx(panel_percent(2 * 1800))
    assert boiler["voltage_drop:panel"]["running_percent"] == pytest.approx(panel_percent(2 * 1800 - 1200))


def test_a_start_on_one_leg_comes_back_by_the_neutral_too() -> None:
    """3600 VA at power factor 1, beside 1200 W on the other leg."""
    motor = load("motor", 600, circuit="kitchen", start={"va": 3600, "power_factor": 1.0, "duration_s": 1})
    found = two_legs(motor, steady("other", 1200, circuit="hall"), runs={"motor": "10:00"})

    assert found["voltage_drop:panel"]["starting_percent"] == pytest.approx(panel_percent(2 * 3600 - 1200))


def test_a_circuit_on_one_leg_loses_what_that_leg_of_its_feeder_loses() -> None:
    """300 W on B and 1800 on A, which may be off: B loses its own there and back; what A loses is not felt on B."""
    heater = steady("heater", 1800, circuit="kitchen", cycle={"on_s": 60, "period_s": 600})
    circuits = [*PANEL[:2], {**PANEL[2], "cable_m": 15, "conductor_mm2": 2.5}]
    found = limits(house(heater, steady("lamp", 300, circuit="hall"), inverter=SPLIT, supply={"circuits": circuits}))

    own = 100 * 300 / 120 * 2 * 0.0225 * 15 / 2.5 / 120
    assert found["voltage_drop:hall"]["running_percent"] == pytest.approx(panel_percent(2 * 300) + own)
    assert found["voltage_drop:panel"]["running_percent"] == pytest.approx(panel_percent(2 * 1800 - 300))


def test_what_is_on_the_other_leg_alone_is_no_gain() -> None:
    """The neutral lifts B while A draws; a circuit on which nothing is on loses nothing, and no less."""
    circuits = [*PANEL[:2], {**PANEL[2], "cable_m": 15, "conductor_mm2": 2.5}]
    found = limits(house(steady("heater", 1800, circuit="kitchen"), inverter=SPLIT, supply={"circuits": circuits}))

    assert found["voltage_drop:hall"]["running_percent"] == 0


def test_what_starts_together_on_either_leg_dips_the_feeder_of_both() -> None:
    """A fan on B that a press on A sets off in the same moment: the press's start is what the panel loses most of."""
    kick = {"va": 3600, "power_factor": 1.0, "duration_s": 1}
    fan = load("fan", 200, None, circuit="hall", start={"va": 600, "power_factor": 1.0, "duration_s": 1})
    press = load(
        "press", 900, 600, circuit="kitchen", start=kick, cycle={"on_s": 60, "period_s": 300},
        sets_off=[{"appliance": "fan", "after_s": 0}],
    )  # fmt: skip
    found = two_legs(press, fan, runs={"press": "10:00"})["voltage_drop:panel"]

    assert found["starting_percent"] == pytest.approx(panel_percent(2 * 3600))
    assert [one["appliance"] for one in found["contributors"] if one["va"] > 0] == ["press"]


@pytest.mark.parametrize(("watts", "refused"), [(1500, False), (1700, True)])
def test_an_any_time_load_on_one_leg_is_refused_by_what_it_loses_there(watts: float, refused: bool) -> None:
    """On 60 m, with nothing else on: 1600 W there and back are 5 % of half the volts."""
    circuits = [{**PANEL[0], "cable_m": 60}, {"id": "kitchen", "leg": "A", "fed_from": "panel"}]
    kettle = load("kettle", watts, 180, circuit="kitchen")
    report = assessed(house(kettle, inverter=SPLIT, supply={"circuits": circuits}, any_time=["kettle"]))

    assert [one["limit"] for one in report["any_time"][0]["not"]] == ["voltage_drop:panel"] * refused


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
