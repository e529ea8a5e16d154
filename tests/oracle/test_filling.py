"""What adds up over many times above a level: days drawn at random, with the stores of the rules filled step by step.

Independent of the product: a store fills by a second per second above its level, and empties by its allowed time over
its cooling time otherwise; every load at a random point of its period (design 3.4, 3.11).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.engine.home import INVERTER, house, limits, load

DAYS = 200
STEP_S = 5
LEVEL_W, ALLOWED_S = 4000.0, 1800.0


def plan(watts: float, on_s: int, period_s: int, hours: int, others: int = 1) -> dict[str, Any]:
    """What lasts for some hours from ten o'clock, and loads that come and go all day."""
    cycle = {"on_s": on_s, "period_s": period_s}
    comes = [load(f"load-{number}", watts, None, always_on=True, cycle=cycle) for number in range(others)]
    return house(
        load("oven", 3000, hours * 3600), *comes, runs={"oven": "10:00"}, inverter={"overload": [[9000, ALLOWED_S]]}
    )


def days_on_which_it_cuts_out(watts: float, on_s: int, period_s: int, hours: int, others: int = 1) -> float:
    """The part of days drawn at random on which the store comes to hold too much."""
    random = np.random.default_rng(5)
    cooling = float(INVERTER.get("cooling_s", [ALLOWED_S])[0])
    at_s = np.arange(10 * 3600, (10 + hours) * 3600, STEP_S)
    held, fullest = np.zeros(DAYS), np.zeros(DAYS)
    points = random.random((others, DAYS)) * period_s
    for now in at_s:
        on = ((now + points) % period_s < on_s).sum(axis=0)
        above = 3000 + watts * on > LEVEL_W
        held = np.maximum(held + np.where(above, STEP_S, -STEP_S * ALLOWED_S / cooling), 0)
        fullest = np.maximum(fullest, held)
    return float((fullest > ALLOWED_S).mean())


@pytest.mark.parametrize(
    ("watts", "on_s", "period_s", "hours", "others"),
    [(1500, 1500, 1600, 4, 1), (2300, 40, 60, 2, 1), (1200, 900, 1200, 4, 1), (1200, 600, 900, 4, 2)],
)
def test_what_fills_on_the_mean_cuts_out_on_every_day(
    watts: float, on_s: int, period_s: int, hours: int, others: int
) -> None:
    assert days_on_which_it_cuts_out(watts, on_s, period_s, hours, others) > 0.97

    overload = limits(plan(watts, on_s, period_s, hours, others))["inverter_overload"]
    assert overload["broken_per_day"] >= 1
    assert overload["verdict"] == "over"


@pytest.mark.parametrize(
    ("watts", "on_s", "period_s", "hours", "others"),
    [(1500, 700, 1600, 4, 1), (2300, 25, 60, 2, 1), (900, 1500, 1600, 4, 1)],
)
def test_what_empties_on_the_mean_does_not(watts: float, on_s: int, period_s: int, hours: int, others: int) -> None:
    assert days_on_which_it_cuts_out(watts, on_s, period_s, hours, others) < 0.03

    overload = limits(plan(watts, on_s, period_s, hours, others))["inverter_overload"]
    assert overload["verdict"] in ("fits", "tight", "short_time", "chance")
    assert overload.get("broken_per_day") in (None, 0)


@pytest.mark.parametrize(
    ("on_s", "period_s", "allowed_s", "cooling_s"), [(3600, 36_000, 5, 120), (7200, 12_000, 60, 60)]
)
def test_what_one_passing_fills_breaks_it_on_no_more_days_than_there_is_one(
    on_s: int, period_s: int, allowed_s: float, cooling_s: float
) -> None:
    """A boiler beside an oven for half an hour. Closed form: the ways in which the two meet for longer than allowed."""
    cycle = {"on_s": on_s, "period_s": period_s}
    found = limits(house(
        load("oven", 3000, 1800), load("boiler", 2000, None, always_on=True, cycle=cycle, uncertainty=0),
        runs={"oven": "12:00"},
        inverter={
            "rated_va": 4500, "continuous_w": [[25, 4500]], "overload": [[7000, allowed_s, cooling_s], [9000, 2]],
        },
    ))  # fmt: skip
    overload = found["inverter_overload"]
    meet = min((on_s + 1800 - 2 * allowed_s) / period_s, 1)

    assert overload["broken_per_day"] == pytest.approx(meet, rel=0.03)
    assert overload["verdict"] == "chance"


HOB, SLOW, SLOWER = (700.0, 19, 36), (700.0, 60, 3600), (700.0, 600, 3600)


@pytest.mark.parametrize(
    ("overload", "allowed_s", "slow"),
    [
        ([[9000, 20]], 20, SLOW),
        ([[9000, 25]], 25, SLOW),
        ([[9000, 60]], 60, SLOW),
        ([[4300, 25], [9000, 20]], 20, SLOWER),  # levels that fill together are one time at which it cuts out
        ([[4200, 30], [4300, 25], [9000, 20]], 20, SLOWER),
    ],
)
def test_what_adds_up_on_some_days_is_told_as_often(
    overload: list[list[float]], allowed_s: int, slow: tuple[float, int, int]
) -> None:
    """A hob by the half minute is too much only beside another load that seldom comes, and not by one passing."""
    days, random = 4000, np.random.default_rng(7)
    at_s = np.arange(10 * 3600, 10 * 3600 + 1800) + 0.5
    on = np.ones((days, len(at_s)), dtype=bool)
    for _, on_s, period_s in (HOB, slow):
        on &= (at_s + random.random((days, 1)) * period_s) % period_s < on_s
    held, full = np.zeros(days), np.zeros(days, dtype=bool)
    for above in on.T:
        held = np.maximum(held + np.where(above, 1.0, -1.0), 0)
        full |= held > allowed_s
    comes = [
        load(name, watts, None, always_on=True, uncertainty=0, cycle={"on_s": on_s, "period_s": period_s})
        for name, (watts, on_s, period_s) in (("hob", HOB), ("slow", slow))
    ]
    found = limits(house(
        load("oven", 3000, 1800, uncertainty=0), *comes, runs={"oven": "10:00"},
        inverter={"rated_va": 4000, "overload": overload},
    ))["inverter_overload"]  # fmt: skip

    assert found["verdict"] == ("chance" if full.any() else "short_time")
    assert (found.get("broken_per_day") or 0) == pytest.approx(full.mean(), abs=0.04)


def test_levels_that_fill_at_different_hours_are_times_of_their_own() -> None:
    """A hob fills the lowest level in the morning, another the second in the evening: as often as each alone."""

    def told(*hours: str) -> float:
        comes, runs = [], {}
        for hour in hours:
            watts, rests, start = (2000.0, 0, "08:00") if hour == "morning" else (2550.0, 1, "18:00")
            cycle = {"on_s": 20, "period_s": 30}
            comes.append(load(f"hob-{hour}", watts, 3600, uncertainty=0, cycle=cycle))
            beside = {"on_s": 1500 - 600 * rests, "period_s": 4000 - 1000 * rests}
            comes.append(load(f"beside-{hour}", 700.0 + 100 * rests, 3600, uncertainty=0, cycle=beside))
            runs |= {f"hob-{hour}": start, f"beside-{hour}": start}
        document = house(
            *comes, runs=runs,
            inverter={
                "rated_va": 2600, "continuous_w": [[25, 2600]], "overload": [[3300, 320, 320], [6000, 22, 900]],
            },
        )  # fmt: skip
        return float(limits(document)["inverter_overload"].get("broken_per_day") or 0)

    morning, evening = told("morning"), told("evening")
    assert min(morning, evening) > 0.2
    assert told("morning", "evening") == pytest.approx(morning + evening, rel=0.1)
