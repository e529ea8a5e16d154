"""Trips: what one excursion breaks in several ways counts once, beside days simulated by the oracle; odd cases."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from app.engine.day import lay_day
from app.engine.odds import past, started
from app.engine.odds.broken import Broken
from app.engine.odds.odds import OddsOfDay
from app.household.file import household_from
from app.household.resolve import resolve
from tests.households import assessed
from tests.oracle.chance_compare import Comparison
from tests.oracle.reading import Json
from tests.oracle.test_chance import crowd
from tests.published.plain import appliance, household, inverter

KICK = {"va": 3200, "power_factor": 0.5, "duration_s": 0.6}


def comes_and_goes(name: str, watts: float, on_s: float, period_s: float, **more: Any) -> Json:
    return appliance(name, watts, None, cycle={"on_s": on_s, "period_s": period_s}, **more)


def agrees(document: Json, days: int = 3000, part: float = 0.0) -> None:
    """Every figure is within four standard errors of what is simulated, and the limits are broken at all."""
    compared = list(Comparison(document, assessed(document), days, 3).all())
    assert any(one.name[0] == "broken" and one.known for one in compared)
    for one in compared:
        assert abs(one.product - one.figure.mean) <= 4 * one.error + part * one.figure.mean, str(one)


def motors(count: int, **more: Any) -> list[Json]:
    """Motors that start hard beside one another, each with a rhythm of its own."""
    return [
        comes_and_goes(f"motor {n}", 500 + 130 * n, 300 + 80 * n, 1500 + 410 * n, start=KICK, **more)
        for n in range(count)
    ]


def test_levels_that_may_be_passed_for_as_long() -> None:
    """Which of two came first is settled where both come at one instant."""
    supply = {"inverter": inverter(1500, overload=[[2000, 120], [2400, 120], [3000, 4]])}
    agrees(
        household(*(comes_and_goes(f"load {n}", 700, 400 + 90 * n, 2000 + 370 * n) for n in range(5)), supply=supply)
    )


def test_starts_and_levels_beside_what_never_goes_off() -> None:
    """A load whose cycle is all on is there all day, and starts no more."""
    supply = {"inverter": inverter(2200, overload=[[2600, 200], [3900, 5]])}
    agrees(household(comes_and_goes("always", 300, 900, 900, start=KICK), *motors(4), supply=supply))


def test_planned_starts_apart_and_together() -> None:
    """Two machines that start at one time, and one an hour later, beside motors that come and go."""
    machines = [appliance(f"machine {n}", 600, 1800, start=KICK) for n in range(3)]
    supply = {"inverter": inverter(2500, overload=[[3200, 120], [5200, 5]])}
    document = household(*machines, *motors(3), supply=supply)
    for run, start in zip(document["scenarios"][0]["runs"], ("10:00:00", "10:00:00", "11:00:00"), strict=True):
        run["start"] = start
    agrees(document)


def test_a_planned_start_beside_a_crowd() -> None:
    """Of more loads than can be written down planned starts count for themselves, on the safe side."""
    document = crowd(17)
    report = assessed(document)
    ((limit, simulated),) = [
        (one.product, one.figure.mean)
        for one in Comparison(document, report, 2000, 5).all()
        if one.name == ("broken", "inverter_overload")
    ]
    assert 0.9 * simulated < limit < 1.3 * simulated


def test_starts_in_a_crowd() -> None:
    """Of more motors than can be written down those that start beside many others break the rule once."""
    loads = [
        comes_and_goes(f"motor {n}", 190 + 30 * n, 200 + 37 * n, 1100 + 190 * n, start=KICK if n % 2 else None)
        for n in range(17)
    ]
    agrees(household(*loads, supply={"inverter": inverter(3900, overload=[[4300, 300], [6300, 5]])}), 1500, part=0.1)


def test_starts_under_a_line_that_moves_looked_at_stretch_by_stretch(monkeypatch: pytest.MonkeyPatch) -> None:
    """With few states tried at once, what is left of the moments of each start counts for all of them."""
    monkeypatch.setattr(started, "MOST_TRIED", 2000)
    supply = {"inverter": inverter(2600, continuous_w=[[20, 2600], [40, 1500]], overload=[[3200, 90], [3600, 5]])}
    document = household(*motors(5), appliance("machine", 400, 1800), supply=supply)
    document["scenarios"][0]["ambient_c"] = [[0, 22], [6, 34], [12, 25], [15, 39], [20, 28]]
    agrees(document, part=0.02)


@pytest.mark.parametrize(("on_s", "period_s", "motors"), [(12, 40, 2), (10, 30, 1), (60, 120, 1)])
def test_hundreds_of_starts_in_one_excursion(on_s: int, period_s: int, motors: int) -> None:
    """Motors that start every few seconds beside a heater: of hundreds a day one in each of its hours came first."""
    kick = {"va": 1500, "power_factor": 0.5, "duration_s": 0.5}
    document = household(
        comes_and_goes("heater", 2600, 3000, 43_200),
        *(comes_and_goes(f"motor {n}", 150, on_s, period_s, start=kick) for n in range(motors)),
        supply={"inverter": inverter(2500, overload=[[2950, 3500], [3200, 5]])},
    )
    agrees(document, 1000, part=0.06)


def test_starts_that_are_too_much_in_the_heat_of_the_day() -> None:
    """A motor starts beside a heater: too much in a few hours of a stretch that lasts for longer, and only there.

    In these hours the heater alone is too much as well, and most often came first.
    """
    heater, fan = comes_and_goes("heater", 3000, 1500, 43_200), comes_and_goes("fan", 50, 600, 3000)
    motor = comes_and_goes("motor", 100, 60, 600, start={"va": 300, "power_factor": 0.5, "duration_s": 0.5})
    sinks = inverter(3400, continuous_w=[[25, 3400], [40, 1700]], overload=[[3450, 3500], [3500, 5]])
    document = household(heater, motor, fan, supply={"inverter": sinks})
    document["scenarios"][0]["ambient_c"] = [[0, 20], [13, 41], [15, 41], [23, 20]]
    agrees(document, 12_000)


def test_more_spans_than_were_reckoned_with(monkeypatch: pytest.MonkeyPatch) -> None:
    """What went before is walked back part by part where it does not fit; nothing else comes of it."""
    supply = {"inverter": inverter(1500, overload=[[1900, 600], [2400, 60], [3000, 4]])}
    document = household(*(comes_and_goes(f"load {n}", 700, 40 + 9 * n, 120 + 17 * n) for n in range(5)), supply=supply)
    before = assessed(document)
    monkeypatch.setattr(past, "ROOM", 1)

    assert assessed(document) == before


def test_one_moment_with_many_spans(monkeypatch: pytest.MonkeyPatch) -> None:
    """There is made room for as many as it has, and they follow on one another to the beginning."""
    supply = {"inverter": inverter(2500, overload=[[2600, 600], [9000, 5]])}  # passed at all times
    loads = [comes_and_goes(f"load {n}", 900, 4 + n, 12 + n) for n in range(3)]
    document = household(*loads, appliance("base", 3000, None), supply=supply)
    under = OddsOfDay(lay_day(resolve(household_from(document))), frozenset())._house.under
    monkeypatch.setattr(past, "ROOM", 1)
    nothing, at_ms, longest_ms = np.zeros((1, 3)), 43_200_000.0, 600_000.0
    stretch = under.loads.scope.stretch_at(np.array([at_ms]))
    moment = Broken(np.array([at_ms]), stretch, nothing > 0, nothing, np.ones(1))
    (count,), spans = past.past_of(under, moment, longest_ms, np.random.default_rng(1))

    assert count == len(spans.came) > 100
    assert spans.to_ms[0] == at_ms
    assert spans.from_ms[-1] == at_ms - longest_ms
    assert (spans.from_ms[:-1] == spans.to_ms[1:]).all()
    assert set(np.unique(spans.draws.p_w)) == {3000.0, 3900.0, 4800.0, 5700.0}
