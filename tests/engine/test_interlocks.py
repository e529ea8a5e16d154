"""Of an interlock's members only some are on, and nobody knows which: each limit gets those that ask most of it."""

from itertools import chain, combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.engine.interlocks import joined
from app.engine.switching import switching
from tests.engine.home import Document, house, limits, load, steady
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


@st.composite
def sharing(draw: st.DrawFn) -> tuple[list[int], list[tuple[int, list[int]]]]:
    """Watts of some machines, and interlocks over them, which may share some."""
    watts = draw(st.lists(st.integers(1, 30), min_size=2, max_size=6))
    machines = st.lists(st.sampled_from(range(len(watts))), min_size=2, unique=True)
    return watts, draw(st.lists(st.tuples(st.integers(1, 2), machines), min_size=1, max_size=4))


@examples(200)
@given(sharing())
def test_interlocks_that_share_a_machine_keep_off_no_more_than_they_all_do(
    found: tuple[list[int], list[tuple[int, list[int]]]],
) -> None:
    """Every set that all of them allow draws no more than the largest that count; in whatever order they are given."""
    watts, interlocks = found
    given_ = [(at_most, np.array(of)) for at_most, of in interlocks]
    together = list(joined(given_, np.ones(len(watts))))
    everyone = [place for _, places in together for place in places.tolist()]
    subsets = list(chain.from_iterable(combinations(range(len(watts)), size) for size in range(len(watts) + 1)))
    allowed = [some for some in subsets if all(len({*some} & {*of}) <= at_most for at_most, of in interlocks)]

    assert len(everyone) == len(set(everyone))
    for some in allowed:
        left = sum(watts[place] for place in some if place not in everyone)
        counted = sum(sum(sorted((watts[one] for one in places), reverse=True)[:most]) for most, places in together)
        assert sum(watts[place] for place in some) <= left + counted
        assert all(len({*some} & {*places.tolist()}) <= most for most, places in together)
    backwards = joined(given_[::-1], np.ones(len(watts)))
    assert {(most, *places.tolist()) for most, places in backwards} == {
        (most, *places.tolist()) for most, places in together
    }


def test_what_two_interlocks_keep_off_is_off_once() -> None:
    """A fan is kept apart from each of two heaters; with it planned, both may be on all the same, and it off."""
    warm = {"on_s": 2700, "period_s": 3600}
    heaters = [steady(name, 1500, cycle=warm) for name in ("left", "right")]
    apart = [{"of": ["fan", name], "at_most": 1} for name in ("left", "right")]
    document = house(
        steady("base", 1200), *heaters, load("fan", 1000, 7200), interlocks=apart, runs={"fan": "12:00"}
    )  # fmt: skip

    assert limits(document)["inverter_continuous"]["use"] == pytest.approx(4200)


def test_what_leads_and_may_be_off_takes_nothing_off() -> None:
    """A filter that leads is kept apart from a heater that is nearly always on: when the rings pass 5166 VA it is off.

    So it cuts out as often as without the filter, on about one day in twelve.
    """
    ring = {"on_s": 50, "period_s": 300}
    rings = [load(name, 100, 1500, cycle=ring) for name in ("north", "east", "south", "west")]
    heater = steady("heater", 2200, cycle={"on_s": 3590, "period_s": 3600})
    leads = load("filter", 200, 1500, power_factor=0.1, power_factor_kind="leading")
    runs = dict.fromkeys(("north", "east", "south", "west"), "12:00")
    often = []
    for planned in (runs, {**runs, "filter": "12:00"}):
        found = limits(house(
            steady("base", 2300, power_factor=0.715), heater, *rings, leads, runs=planned,
            interlocks=[{"of": ["filter", "heater"], "at_most": 1}],
            inverter={"rated_va": 5166, "continuous_w": [[25, 5166]], "overload": [[10000, 60]]},
        ))["inverter_apparent"]  # fmt: skip
        assert found["verdict"] == "chance"
        often.append(found["broken_per_day"])

    assert often[1] == pytest.approx(often[0], rel=0.1)
