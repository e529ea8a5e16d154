"""Of an interlock's members only some are on, and nobody knows which: each limit gets those that ask most of it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.engine.switching import switching
from tests.engine.home import Document, house, limits, load
from tests.engine.test_moment import HOUR_MS, inspected
from tests.oracle.profiles import examples

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


def test_beside_much_reactive_power_the_smaller_one_may_make_more() -> None:
    """A heater of 2450 VA or a saw of 2417, beside a pump at 0.6: 3450 + 1333j are 3699 VA, 2450 + 3267j are 4083."""
    saw = load("saw", 1450, None, always_on=True, power_factor=0.6, cycle=CYCLE)
    pump = load("pump", 1000, None, always_on=True, power_factor=0.6, cycle=CYCLE)

    found = limits(kept_apart(HEATER, saw, pump))["inverter_apparent"]

    assert found["use"] == pytest.approx(4083, abs=1)
    assert sum(one["va"] for one in found["contributors"]) == pytest.approx(found["use"])


draws = st.builds(
    lambda watts, factor, doubt: {"watts": watts, "power_factor": factor, "uncertainty": doubt},
    st.integers(200, 2500), st.sampled_from([1.0, 0.9, 0.7, 0.5]), st.sampled_from([0.0, 0.1, 0.3]),
)  # fmt: skip


@examples(60)
@given(st.lists(draws, min_size=4, max_size=4), st.booleans(), st.sampled_from([None, 2.0, 5.0]))
def test_each_limit_gets_what_the_worst_of_them_alone_would(
    each: list[Document], planned: bool, kick: float | None
) -> None:
    """A house with an interlock is never better or worse off than the worst house with one of its members."""
    *pair, pump, oven = (
        load(name, one["watts"], None, always_on=True, cycle=CYCLE, **{k: one[k] for k in one if k != "watts"})
        for name, one in zip(("heater", "saw", "pump", "oven"), each, strict=True)
    )
    if kick:
        va = kick * each[2]["watts"] / each[2]["power_factor"]
        pump["stages"][0]["start"] = {"va": va, "power_factor": 0.4, "duration_s": 1}
    runs = {}
    if planned:
        start = {"va": 6000, "power_factor": 0.5, "duration_s": 1}
        oven = load("oven", each[3]["watts"], power_factor=each[3]["power_factor"], start=start)
        runs = {"oven": "10:00"}

    both = limits(kept_apart(*pair, pump, oven, runs=runs))
    alone = [limits(house(one, pump, oven, runs=runs, inverter={"continuous_w": [[25, 3300]]})) for one in pair]

    for name in both.keys() - {"cold_restart", "reserve"}:  # what comes back after a cut, and energy: of both
        at_most = [one[name]["use"] for one in alone]
        assert both[name]["use"] == pytest.approx((min if name == "battery_voltage" else max)(at_most)), name
