"""Every figure of the odds beside as many simulated days, on households drawn at random; and beside closed forms."""

from __future__ import annotations

import math
from collections import Counter
from functools import cache
from typing import Any

import pytest

from tests.households import assessed
from tests.oracle.chance import simulate
from tests.oracle.chance_compare import Compared, Comparison
from tests.oracle.chance_households import KINDS, household_of
from tests.oracle.profiles import LONG
from tests.oracle.reading import Json
from tests.published.plain import appliance, household, inverter

GROUPS = range(100 if LONG else 5)
EACH = 10
DAYS = 40_000 if LONG else 20_000
FAR = 5.0 if LONG else 4.0
DAY_S = 86_400


@pytest.mark.parametrize("group", GROUPS)
def test_all_figures_are_those_of_simulated_days(group: int) -> None:
    """Each within its standard errors, and no more of them beyond two than chance would have it."""
    numbers = range(group * EACH, (group + 1) * EACH)
    found = [one for number in numbers for one in compared(number)]

    far = [one for one in found if abs(one.off) > FAR]
    assert not far, "\n".join(map(str, far))
    known = [one for one in found if one.known]
    expected = 0.0455 * len(known)
    # Figures of one household share their days, so that they are off together: their number spreads twice as wide.
    assert sum(abs(one.off) > 2 for one in known) <= expected + 3 * math.sqrt(2 * expected)


@cache
def report_of(number: int) -> Json:
    """The report of one household."""
    return assessed(household_of(number))


def compared(number: int) -> list[Compared]:
    """The figures of one household, with its number."""
    comparison = Comparison(household_of(number), report_of(number), DAYS, number)
    kind = KINDS[number % len(KINDS)]
    return [Compared((number, kind, *one.name), one.product, one.figure, one.error) for one in comparison.all()]


def test_every_kind_of_household_has_something_to_count() -> None:
    """Otherwise the comparison would be of zeros."""
    something = Counter[str]()
    for number in range(5 * EACH):
        odds = report_of(number)["odds"]
        figures = [one["seconds_per_day"] for one in odds["above"]] + [one["per_day"] for one in odds["lasting"]]
        something[KINDS[number % len(KINDS)]] += sum(figure > 0.01 for figure in figures)

    assert all(something[kind] >= 8 for kind in KINDS), something


# -- two loads, which have a closed form ---------------------------------------------------------------------

PAIRS = [
    ((900.0, 2700.0), (420.0, 1800.0)),
    ((617.3, 1999.9), (1200.0, 3307.0)),
    ((31.0, 5000.0), (2.5, 77.7)),
]


def two_loads(one: tuple[float, float], other: tuple[float, float], longer_than_s: float) -> Json:
    """Two loads that pass the rating together only."""
    loads = [
        appliance(f"load {number}", watts, None, cycle={"on_s": on_s, "period_s": period_s})
        for number, (watts, (on_s, period_s)) in enumerate([(2000, one), (1500, other)])
    ]
    return household(*loads, supply={"inverter": inverter(3000, overload=[[5000, longer_than_s]])})


def together_per_day(one: tuple[float, float], other: tuple[float, float], longer_than_s: float) -> float:
    """How often two loads are on together for longer than that: the instants at which one may come on."""
    (d1, t1), (d2, t2) = one, other
    return DAY_S * (d1 + d2 - 2 * longer_than_s) / (t1 * t2)


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_two_loads_come_to_be_on_together_as_often_as_the_closed_form_says(
    one: tuple[float, float], other: tuple[float, float]
) -> None:
    """To rounding: a top level that both pass, which may not be passed at all."""
    document = two_loads(one, other, 1e5)
    document["supply"]["inverter"]["overload"] = [[3200, 1e5]]
    (top,) = [limit for limit in assessed(document)["limits"] if limit["id"] == "inverter_overload"]

    assert top["broken_per_day"] == pytest.approx(together_per_day(one, other, 0), rel=1e-9)


@pytest.mark.parametrize("part", [0.1, 0.5, 0.9])
@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_two_loads_stay_on_together_as_often_as_the_closed_form_says(
    one: tuple[float, float], other: tuple[float, float], part: float
) -> None:
    """To what following some thousands of them leaves open."""
    longer_than_s = round(part * min(one[0], other[0]), 3)
    document = two_loads(one, other, longer_than_s)
    expected, rate = together_per_day(one, other, longer_than_s), together_per_day(one, other, 0)
    (lasting,) = [x for x in assessed(document)["odds"]["lasting"] if x["limit"] == "inverter_overload"]

    assert lasting["per_day"] == pytest.approx(expected, abs=4 * Comparison.drawn(rate, expected))


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_the_simulation_agrees_with_the_closed_form(one: tuple[float, float], other: tuple[float, float]) -> None:
    """Seconds, beginnings and lasting ones, each within what its own days leave open."""
    longer_than_s = min(one[0], other[0]) / 3
    found = simulate(two_loads(one, other, longer_than_s), 4000, seed=3)
    expected = {
        ("above", "inverter_continuous"): DAY_S * one[0] / one[1] * other[0] / other[1],
        ("begin", "inverter", 0): together_per_day(one, other, 0),
        ("lasting", "inverter", 0): together_per_day(one, other, longer_than_s),
    }
    for name, value in expected.items():
        assert found[name].mean == pytest.approx(value, abs=4 * found[name].error + 1e-6), name


def test_the_simulation_agrees_with_a_run_of_an_hour() -> None:
    """What is on together as a run begins counts too: N = length (d1 + d2) / (t1 t2) + p1 p2."""
    (d1, t1), (d2, t2) = PAIRS[0]
    document = two_loads(*PAIRS[0], 1.0)
    for number, load in enumerate(document["appliances"]):
        load["always_on"], load["stages"][0]["duration_s"] = False, 3600
        document["scenarios"][0]["runs"].append({"id": str(number), "appliance": load["id"], "start": "08:00"})
    found = simulate(document, 20_000, seed=4)["begin", "inverter", 0]

    assert found.mean == pytest.approx(3600 * (d1 + d2) / (t1 * t2) + d1 * d2 / (t1 * t2), abs=4 * found.error)


def test_what_goes_on_over_midnight_began_the_day_before() -> None:
    """A load too much while it is hot, around midnight: on at the day's first instant, it came on before that.

    It comes to be too much whenever it comes on in the heat, and once if it is on as the heat begins in the evening.
    """
    on_s, period_s = 1700.0, 1900.0
    load = appliance("load", 2600, None, cycle={"on_s": on_s, "period_s": period_s})
    hot_below_3000 = inverter(3000, continuous_w=[[20, 3000], [40, 2000]], overload=[[4500, 0.001]])
    warm = [[0, 38], [12, 20]]  # 20 degC more is 1000 W less: 2600 W at 28 degC, 18/12 degrees an hour
    document = household(load, supply={"inverter": hot_below_3000}, ambient_c=warm)
    hot_s = 2 * 3600 * (38 - 28) / 1.5
    expected = hot_s / period_s + on_s / period_s
    (lasting,) = [x for x in assessed(document)["odds"]["lasting"] if x["limit"] == "inverter_overload"]
    begins = simulate(document, 20_000, seed=5)["begin", "inverter", 0]

    assert begins.mean == pytest.approx(expected, abs=4 * begins.error)
    assert lasting["per_day"] == pytest.approx(expected, rel=0.01)  # a line that moves is followed in small steps


# -- a day on which nothing begins or ends -------------------------------------------------------------------

ALL_DAY = [(900, 600, 2400), (1100, 300, 3600), (1300, 900, 5400), *[(400, 500, 1500)] * 3]


def all_day(runs: tuple[str, ...] = (), allowed_s: float = 300) -> Json:
    """Six loads that come and go all day; runs: when something that draws next to nothing begins."""
    loads = [
        appliance(f"load {n}", watts, None, cycle={"on_s": on_s, "period_s": period_s})
        for n, (watts, on_s, period_s) in enumerate(ALL_DAY)
    ]
    own = inverter(3000, continuous_w=[[25, 2705]], overload=[[4000, allowed_s], [6000, 1]])
    nothing = appliance("nothing", 0.01, 60)
    begun = [{"id": f"n{n}", "appliance": "nothing", "start": clock} for n, clock in enumerate(runs)]
    return household(appliance("base", 100, None), *loads, nothing, supply={"inverter": own}, runs=begun)


@pytest.mark.parametrize("allowed_s", [60, 300])
def test_a_day_without_runs_is_as_simulated(allowed_s: float) -> None:
    document = all_day(allowed_s=allowed_s)
    for one in Comparison(document, assessed(document), 4000, 1).all():
        assert abs(one.off) < 4, str(one)


def test_what_is_too_much_all_day_is_too_much_once_a_day() -> None:
    """A load that never goes off comes to be too much at no instant of the day."""
    load = appliance("load", 3100, None, cycle={"on_s": 60, "period_s": 60})
    document = household(load, supply={"inverter": inverter(3000, overload=[[4000, 60]])})
    report = assessed(document)
    (limit,) = [one for one in report["limits"] if one["id"] == "inverter_apparent"]
    assert (limit["verdict"], limit["broken_per_day"]) == ("over", 1.0)


def test_starts_beside_a_load_that_leads_are_as_simulated() -> None:
    """With it off its reactive power offsets none of a start's: less on may be worse."""
    document = household(
        appliance("lags", 2464, None, cycle={"on_s": 44, "period_s": 64}, power_factor=0.9),
        appliance("leads", 2579, None, cycle={"on_s": 261, "period_s": 346},
                  power_factor=0.9, power_factor_kind="leading"),
        appliance("starts", 1160, None, cycle={"on_s": 275, "period_s": 1657},
                  start={"va": 2901, "power_factor": 0.4, "duration_s": 0.4}),
        supply={"inverter": inverter(5000, overload=[[5656, 300], [6600, 20]])},
    )  # fmt: skip
    report = assessed(document)
    assert report["odds"]["overloading_starts_per_day"] > 10
    for one in Comparison(document, report, 400, 1).all():
        assert abs(one.off) < 4, str(one)


@pytest.mark.parametrize("clock", ["00:00", "00:00:01", "12:00"])
def test_an_interlock_with_what_is_always_on_is_as_simulated(clock: str) -> None:
    """A pump that comes and goes all day is kept off by an oven for an hour, whether or not the day begins with it."""
    pump, fridge, freezer = (
        appliance(name, watts, None, cycle={"on_s": on_s, "period_s": period_s})
        for name, watts, on_s, period_s in (
            ("pump", 1000, 600, 2400), ("fridge", 800, 900, 3000), ("freezer", 700, 500, 2000),
        )
    )  # fmt: skip
    supply = {"inverter": inverter(2400, overload=[[2450, 300], [4000, 5]])}
    document = household(pump, fridge, freezer, appliance("oven", 1100, 3600), supply=supply)
    document["interlocks"] = [{"of": ["pump", "oven"], "at_most": 1}]
    document["scenarios"][0]["runs"][0]["start"] = clock
    for one in Comparison(document, assessed(document), 2000, 1).all():
        assert abs(one.off) < 4, str(one)


@pytest.mark.parametrize("clock", ["06:00", "18:00", "23:00"])
def test_a_run_of_next_to_nothing_changes_no_odds(clock: str) -> None:
    without, beside = (
        [entry["per_day"] for entry in assessed(all_day(runs))["odds"]["lasting"]] for runs in ((), (clock,))
    )
    assert beside == pytest.approx(without, rel=0.1)


# -- more loads than can be written down ---------------------------------------------------------------------


def test_seventeen_loads_are_as_simulated() -> None:
    """Seconds and starts on the grid to a twentieth, what is drawn at random to a tenth, errors aside."""
    document = crowd(17)
    for one in Comparison(document, assessed(document), 4000, 9).all():
        part = 0.05 if one.name[0] in ("above", "starts") else 0.1
        assert abs(one.product - one.figure.mean) <= 4 * one.error + part * one.figure.mean, str(one)


def crowd(count: int) -> Json:
    """So many small loads for an hour, beside something larger for half of it, which starts."""
    loads: list[dict[str, Any]] = []
    for n in range(count):
        cycle = {"on_s": 60 + 37 * n % 240, "period_s": 500 + 91 * n % 400}
        start = {"va": 1500, "power_factor": 0.5, "duration_s": 0.5} if n % 3 == 0 else None
        watts, pf = 200 + 130 * n % 410, (1.0, 0.9, 0.8)[n % 3]
        loads.append(appliance(f"load {n}", watts, 3600, cycle=cycle, power_factor=pf, start=start))
    base = appliance("base", 1500, 1800, start={"va": 2500, "power_factor": 0.6, "duration_s": 0.5})
    base["stages"].insert(0, {"name": "wait", "duration_s": 900, "watts": 0})
    return household(*loads, base, supply={"inverter": inverter(4000, overload=[[5000, 30], [6000, 4]])})
