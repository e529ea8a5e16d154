"""How long the draw can stay above a level, by hand: loads that follow one another, and one machine set off by two."""

from typing import Any

import pytest

from tests.engine.home import house, limits, load, steady

LEVEL_4_KW: dict[str, Any] = {"overload": [[9000, 1800]]}


def lasts_s(document: dict[str, Any]) -> float:
    return float(limits(document)["inverter_overload"]["lasts_s"])


def called(follower: str, after_s: float = 0) -> list[dict[str, Any]]:
    return [{"appliance": follower, "after_s": after_s}]


@pytest.mark.parametrize("follower_first", [True, False])
def test_a_load_is_off_when_its_own_stage_has_ended_not_what_it_set_off(follower_first: bool) -> None:
    """3700 W always; saw (500 W) for 113 s, its fan (100 W) for 20 s of them, a heater (500 W) for 30 s by itself.

    Saw, then heater: 113 s + 30 s above 4000 W, in whichever order the library has them.
    """
    fan = load("fan", 100, 20)
    saw = load("saw", 500, 113, cycle={"on_s": 150, "period_s": 600}, sets_off=called("fan", 10))
    heater = steady("heater", 500, cycle={"on_s": 30, "period_s": 7200})
    order = [fan, saw] if follower_first else [saw, fan]

    assert lasts_s(house(steady("base", 3700), heater, *order, runs={"saw": "10:00"}, inverter=LEVEL_4_KW)) == 143


@pytest.mark.parametrize("follower_first", [True, False])
def test_a_load_is_off_when_what_it_set_off_has_ended_after_it(follower_first: bool) -> None:
    """The same, but a saw of 20 s sets off a fan of 500 W that runs for 60 s: on until 60 s, then the heater's 30 s."""
    fan = load("fan", 500, 60)
    saw = load("saw", 500, 20, cycle={"on_s": 150, "period_s": 600}, sets_off=called("fan"))
    heater = steady("heater", 500, cycle={"on_s": 30, "period_s": 7200})
    order = [fan, saw] if follower_first else [saw, fan]

    assert lasts_s(house(steady("base", 3700), heater, *order, runs={"saw": "10:00"}, inverter=LEVEL_4_KW)) == 90


def test_what_is_set_off_a_little_later_comes_and_goes_with_what_set_it_off() -> None:
    """Compressor and fan are each above 4000 W: 60 s in every cycle, though the fan's part of it begins 5 s later."""
    fan = load("fan", 500, None)
    compressor = load("compressor", 500, 1200, cycle={"on_s": 60, "period_s": 400}, sets_off=called("fan", 5))

    document = house(steady("base", 3700), fan, compressor, runs={"compressor": "10:00"}, inverter=LEVEL_4_KW)

    assert lasts_s(document) == 60


def test_a_fan_that_two_saws_set_off_is_on_as_long_as_each_of_them_makes_it() -> None:
    """Two saws that cycle alike, from 10:00:00 and 10:01:00, each calling the fan for 80 s.

    The first one's fan is on from 0 to 80 s, the second one's until 140 s: not for the 100 s of one cycle alone.
    """
    cycle = {"on_s": 100, "period_s": 400}
    saws = [load(name, 50, 20, cycle=cycle, sets_off=called("fan")) for name in ("saw", "bench")]
    document = house(
        steady("base", 3700), load("fan", 500, 80), *saws, runs={"saw": "10:00", "bench": "10:01"}, inverter=LEVEL_4_KW
    )

    assert lasts_s(document) == 140


def test_a_fan_of_its_own_cycle_begins_it_anew_when_it_is_set_off_outside_the_saws() -> None:
    """The saw calls the fan for 50 s with its own cycle (on for 40 s), and from 50 s on for another 50 s in the fan's.

    The two come and go alike, but are two: the fan comes on late in the first, at 20 s, and at 50 s again: 70 s.
    Four kilowatts are passed from 20 s on alone, when the polisher runs.
    """
    cycle = {"on_s": 40, "period_s": 400}
    fan = load("fan", 500, 50, cycle=cycle)
    machine = {
        "id": "saw",
        "name": "Saw",
        "stages": [
            {"name": "cut", "duration_s": 20, "watts": 50, "cycle": cycle, "sets_off": called("fan")},
            {"name": "polish", "duration_s": 90, "watts": 400, "sets_off": called("fan", 30)},
        ],
    }

    assert lasts_s(house(steady("base", 3400), fan, machine, runs={"saw": "10:00"}, inverter=LEVEL_4_KW)) == 70


def test_what_an_interlock_keeps_off_may_be_what_kept_the_volt_amperes_low() -> None:
    """The pump may run for 30 s, and for it the drive that leads is off: 1300 W and 5300 var are above 5000 VA.

    With both on it would be 1500 W and 3800 var, which is less: nothing that really is on at once.
    """
    document = house(
        steady("base", 1000, power_factor=0.26764),  # 3600 var that lag
        load("drive", 200, 3600, power_factor=0.13216, power_factor_kind="leading"),  # 1500 var, 1513 VA
        load("pump", 300, 600, power_factor=0.17378, cycle={"on_s": 30, "period_s": 600}),  # 1700 var, 1726 VA
        runs={"drive": "10:00", "pump": "10:10"}, inverter=LEVEL_4_KW,
        interlocks=[{"of": ["drive", "pump"], "at_most": 1}],
    )  # fmt: skip

    assert limits(document)["inverter_apparent"]["use"] == pytest.approx((1300**2 + 5300**2) ** 0.5, rel=1e-4)
    assert lasts_s(document) == 30


def test_where_a_load_stands_in_its_cycle_may_come_from_before_anything_is_too_much() -> None:
    """A heater that comes on with the fan at 10:00:30 is on again at 10:06:30 for 10 s, until the saw's 20 s begin.

    3700 W while the oven is on, from 10:05 to 10:07: with heater or saw above 4000 W, 30 s without a break. The fan
    itself comes and goes while nothing is too much.
    """
    document = house(
        steady("base", 3000), steady("heater", 500, cycle={"on_s": 10, "period_s": 360}),
        load("fan", 20, 20, cycle={"on_s": 10, "period_s": 60}), load("oven", 700, 120),
        load("saw", 500, 20, cycle={"on_s": 30, "period_s": 60}),
        runs={"fan": "10:00:30", "oven": "10:05", "saw": "10:06:40"}, inverter=LEVEL_4_KW,
    )  # fmt: skip

    assert lasts_s(document) == 30
