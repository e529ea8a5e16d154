"""Of an interlock's members only some are on, and nobody knows which: each limit gets those that ask most of it."""

import pytest

from app.engine.switching import switching
from tests.engine.home import Document, house, limits, load
from tests.engine.test_moment import HOUR_MS, inspected

CYCLE = {"on_s": 600, "period_s": 1200}
MOTOR = load("motor", 1500, None, always_on=True, power_factor=0.6, cycle=CYCLE)
HEATER = load("heater", 2450, None, always_on=True, cycle=CYCLE)
OVEN = load("oven", 1000)


def kept_apart(*appliances: Document, **more: object) -> Document:
    """A house in which only one of the first two may be on."""
    return house(
        *appliances, interlocks=[{"of": [one["id"] for one in appliances[:2]], "at_most": 1}],
        inverter={"continuous_w": [[25, 3300]]}, **more,
    )  # fmt: skip


def test_the_watts_are_those_of_the_one_that_takes_most_of_them() -> None:
    """The motor has more volt-amperes, 2500 to 2450; the heater 950 W more. With the motor nothing gets less."""
    both, alone = limits(kept_apart(MOTOR, HEATER, OVEN, runs={"oven": "10:00"})), limits(house(
        HEATER, OVEN, inverter={"continuous_w": [[25, 3300]]}, runs={"oven": "10:00"}
    ))  # fmt: skip

    for one in ("inverter_continuous", "battery_continuous", "battery_voltage"):
        assert both[one]["use"] == pytest.approx(alone[one]["use"]), one
    assert both["inverter_continuous"]["use"] == pytest.approx(3450)
    assert sum(one["w"] for one in both["inverter_continuous"]["contributors"]) == pytest.approx(3450)


def test_what_is_less_certain_counts_so() -> None:
    """2000 W, give or take 30 %, may be more than 2100 W for sure."""
    heater = load("heater", 2000, None, always_on=True, cycle=CYCLE, uncertainty=0.3)
    boiler = load("boiler", 2100, None, always_on=True, cycle=CYCLE, uncertainty=0)

    assert limits(kept_apart(heater, boiler))["inverter_continuous"]["use"] >= 2600


def test_where_one_is_the_larger_in_everything_it_alone_counts() -> None:
    """Nothing is added up of two."""
    dryer = load("dryer", 900, None, always_on=True, power_factor=0.9, cycle=CYCLE, uncertainty=0)
    heater = load("heater", 2450, None, always_on=True, cycle=CYCLE, uncertainty=0)

    assert limits(kept_apart(dryer, heater))["inverter_apparent"]["use"] == pytest.approx(2450)
    assert limits(kept_apart(dryer, heater))["inverter_continuous"]["use"] == pytest.approx(2450)


def test_switch_on_leaves_room_for_the_larger() -> None:
    """As if the motor were not there."""
    (room,) = {round(switching(inspected(one), 9 * HOUR_MS).room.room_w) for one in (
        kept_apart(MOTOR, HEATER, OVEN), house(HEATER, OVEN, inverter={"continuous_w": [[25, 3300]]}),
    )}  # fmt: skip

    assert room == 850


def test_the_watts_of_one_and_the_reactive_power_of_another_are_not_added_up() -> None:
    """Of motor and heater neither has more than 2500 VA."""
    found = limits(kept_apart(MOTOR, HEATER))

    assert found["inverter_apparent"]["use"] == pytest.approx(2500)
    assert found["inverter_continuous"]["use"] == pytest.approx(2450)
    assert sum(one["va"] for one in found["inverter_apparent"]["contributors"]) == pytest.approx(2500)
