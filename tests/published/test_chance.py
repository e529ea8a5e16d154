"""How likely so many of some loads are on together.

Reference values Q1 to Q10: binomial and Poisson-binomial probabilities; those of a fridge-freezer, an upright and a
chest freezer rest on the cycles in Richardson, Thomson, Infield and Clifford 2010, Energy and Buildings 42(10)
1878-1887. The part of a day above a limit is the probability that the loads that are on draw more than it.
"""

import itertools
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from scipy.stats import binom, poisson_binom  # type: ignore[import-untyped]

from tests.households import assessed
from tests.published.plain import appliance, household, inverter, printed

DAY_S = 86_400
PERIOD_S = 3600
WATTS = 1000.0
A_YEAR_S = 8760 * 3600
COLD_CYCLES_A_YEAR = 6115.76
COLD = {"fridge-freezer": (190, 22), "upright freezer": (155, 20), "chest freezer": (190, 14)}  # watts, minutes


def cycling(shares: Sequence[float], watts: Sequence[float], period_s: float = PERIOD_S) -> list[dict[str, Any]]:
    """Loads that are on for these shares of the time, all day."""
    return [
        appliance(f"load {number}", one, None, cycle={"on_s": share * period_s, "period_s": period_s})
        for number, (share, one) in enumerate(zip(shares, watts, strict=True))
    ]


def likely_above(loads: list[dict[str, Any]], watts: float) -> float:
    """How likely loads draw more than that, from the seconds of the day in which they do."""
    document = household(*loads, supply={"inverter": inverter(watts)})
    (above,) = [x for x in assessed(document)["odds"]["above"] if x["limit"] == "inverter_continuous"]
    return float(above["seconds_per_day"]) / DAY_S


def likely_on(shares: Sequence[float]) -> list[float]:
    """How likely none, one, two, ... of loads are on."""
    loads = cycling(shares, [WATTS] * len(shares))
    more = [1.0, *(likely_above(loads, WATTS * (count + 0.5)) for count in range(len(shares))), 0.0]
    return [above - next_above for above, next_above in itertools.pairwise(more)]


THIRD = 1 / 3


@pytest.mark.parametrize(
    ("shares", "published"),
    [
        pytest.param([THIRD] * 3, "0.296296 0.444444 0.222222 0.037037", id="Q1"),
        pytest.param([THIRD] * 5, "0.131687 0.329218 0.329218 0.164609 0.041152 0.004115", id="Q2"),
        pytest.param([0.3] * 4, "0.2401 0.4116 0.2646 0.0756 0.0081", id="Q3"),
        pytest.param([0.25, 0.2, 0.15], "0.5100 0.3875 0.0950 0.0075", id="Q4"),
        pytest.param([THIRD, THIRD, 0.2], "0.355556 0.444444 0.177778 0.022222", id="Q5"),
        pytest.param([0.25599, 0.23272, 0.16290], "0.477875 0.402352 0.110069 0.009704", id="Q6"),
    ],
)
def test_so_many_are_on_together(shares: list[float], published: str) -> None:
    """Q1 to Q6."""
    # Q6 prints its shares to five places, which leaves the sixth of the results open.
    off = 1e-5 if 0.25599 in shares else 1e-12
    for found, figure in zip(likely_on(shares), published.split(), strict=True):
        assert abs(found - float(figure)) <= 0.5 * 10 ** -len(figure.partition(".")[2]) + off


def test_three_or_more_of_five() -> None:
    """Q2: 17/81."""
    loads = cycling([THIRD] * 5, [WATTS] * 5)

    assert likely_above(loads, 2.5 * WATTS) == pytest.approx(17 / 81, rel=1e-9)


def test_mean_and_variance_of_how_many_are_on() -> None:
    """Q4: 0.60 and 0.475."""
    likely = np.array(likely_on([0.25, 0.2, 0.15]))
    count = np.arange(4)
    mean = likely @ count

    assert mean == pytest.approx(0.60, abs=1e-9)
    assert likely @ count**2 - mean**2 == pytest.approx(0.475, abs=1e-9)


def cold() -> list[dict[str, Any]]:
    """The three that cool."""
    period_s = A_YEAR_S / COLD_CYCLES_A_YEAR
    shares = [minutes * 60 / period_s for _, minutes in COLD.values()]
    return cycling(shares, [watts for watts, _ in COLD.values()], period_s)


def test_what_three_cold_appliances_draw() -> None:
    """Q7: how likely each sum of watts is, and the watts expected."""
    published = {
        0: "0.477875",
        155: "0.144938",
        190: "0.257414",
        345: "0.078073",
        380: "0.031996",
        535: "0.009704",
    }
    sums = list(published)
    above = [1.0, *(likely_above(cold(), watts + 1) for watts in sums)]
    found = {watts: above[place] - above[place + 1] for place, watts in enumerate(sums)}

    for watts, figure in published.items():
        assert found[watts] == pytest.approx(float(figure), abs=1e-6)
    assert sum(watts * likely for watts, likely in found.items()) == pytest.approx(115.66, abs=0.005)


def test_ten_loads_of_three_tenths() -> None:
    """Q8: at most three on, as binomial tables print it."""
    assert 1 - likely_above(cycling([0.3] * 10, [WATTS] * 10), 3.5 * WATTS) == printed("0.6496")


def test_fifteen_loads_of_four_tenths() -> None:
    """Q9: ten or more, three to eight, five; the second is a difference of two that are rounded."""
    loads = cycling([0.4] * 15, [WATTS] * 15)
    more_than = {count: likely_above(loads, (count + 0.5) * WATTS) for count in (2, 4, 5, 8, 9)}

    assert more_than[9] == printed("0.0338")
    assert more_than[2] - more_than[8] == pytest.approx(0.8779, abs=1e-4)
    assert more_than[4] - more_than[5] == printed("0.1859")


@pytest.mark.parametrize(("within_s", "published"), [(1.0, "0.0064988"), (10.0, "0.064988")])
def test_two_starts_close_together(within_s: float, published: str) -> None:
    """Q10: two loads that start 16.7555 times a day, within so many seconds of each other.

    As loads that are on for just so long when they start: their coming to be on together is such a pair.
    """
    period_s = DAY_S / 16.7555
    loads = cycling([within_s / period_s] * 2, [WATTS] * 2, period_s)
    supply = {"inverter": inverter(1.4 * WATTS, overload=[[1.5 * WATTS, 1000]])}
    (top,) = [x for x in assessed(household(*loads, supply=supply))["limits"] if x["id"] == "inverter_overload"]

    assert top["broken_per_day"] == printed(published)


@pytest.mark.parametrize("count", [2, 7, 12, 16])
def test_loads_alike_are_on_as_a_binomial_says(count: int) -> None:
    """Beside scipy, to rounding."""
    loads = cycling([0.37] * count, [WATTS] * count)
    for on in {0, count // 3, count // 2, count - 1}:
        assert likely_above(loads, (on + 0.5) * WATTS) == pytest.approx(binom.sf(on, count, 0.37), rel=1e-9)


@pytest.mark.parametrize("count", [2, 7, 12, 16])
def test_different_loads_are_on_as_a_poisson_binomial_says(count: int) -> None:
    """Beside scipy, to rounding."""
    shares = np.random.default_rng(count).uniform(0.02, 0.98, count).round(4).tolist()
    loads = cycling(shares, [WATTS] * count)
    for on in {0, count // 3, count // 2, count - 1}:
        assert likely_above(loads, (on + 0.5) * WATTS) == pytest.approx(poisson_binom.sf(on, shares), rel=1e-7)


@pytest.mark.parametrize("count", [17, 40, 60])
def test_more_loads_than_can_be_written_down_are_on_as_a_poisson_binomial_says(count: int) -> None:
    """On a grid, which holds sums of like loads exactly enough."""
    shares = np.random.default_rng(count).uniform(0.1, 0.6, count).round(4).tolist()
    loads = cycling(shares, [WATTS] * count)
    middle = round(sum(shares))
    for on in (middle - 2, middle, middle + 3):
        assert likely_above(loads, (on + 0.5) * WATTS) == pytest.approx(poisson_binom.sf(on, shares), rel=2e-3)
