"""Sums of loads of different power factor, from published exercises.

P1: an examination question with its solution. P2: a circuits exercise (two posted solutions disagree; 0.955
is right). P3, P4: a university lecture slide; its angle and power factor disagree with its own figures, so
those two are recomputed. P5: own inputs, recomputed.
"""

import math

import pytest

from app.engine.draw import apparent_va, draw_of
from tests.published.plain import printed

Load = tuple[float, float, str]


def total(*loads: Load) -> tuple[float, float, float]:
    """P, Q and D of loads given as (watts, power factor, kind)."""
    p_w, q_var, d_va = (sum(part) for part in zip(*(draw_of(*load) for load in loads), strict=True))
    return p_w, q_var, d_va


P1 = [(10_000, 0.8, "leading"), (8_000, 0.8, "lagging")]
# The third load of P2 is given as 1.5 kW and 0.5 kvar lagging.
P2 = [(2_000, 0.8, "lagging"), (3_000, 0.6, "leading"), (1_500, 1.5 / math.hypot(1.5, 0.5), "lagging")]
# 12 kW and 16 kvar, and 2.78 kW lost in the line.
P3 = [(12_000, 0.6, "lagging"), (2_780, 1, "lagging")]
P5 = [(2_000, 1, "lagging"), (750, 0.6, "lagging"), (150, 0.55, "lagging"), (120, 0.9, "leading")]


@pytest.mark.parametrize(
    ("loads", "kw", "kvar"),
    [(P1, "18", "-1.5"), (P2, "6.5", "-2.0"), (P3, "14.78", "16")],
    ids=["P1", "P2", "P3"],
)
def test_watts_and_reactive_parts_add_separately(loads: list[Load], kw: str, kvar: str) -> None:
    """P and Q of the exercises."""
    p_w, q_var, d_va = total(*loads)

    assert p_w / 1000 == printed(kw)
    assert q_var / 1000 == printed(kvar)
    assert d_va == 0


@pytest.mark.parametrize(
    ("loads", "kva"),
    [(P1, "18.062"), (P2, "6.8007"), (P3, "21.78"), (P5, "3.23859")],
    ids=["P1", "P2", "P3", "P5"],
)
def test_volt_amperes_are_the_length_of_the_sum(loads: list[Load], kva: str) -> None:
    """|S| of the exercises."""
    assert apparent_va(*total(*loads)) / 1000 == printed(kva)


@pytest.mark.parametrize(
    ("loads", "power_factor"),
    [(P1, "0.99655"), (P2, "0.9558"), (P3, "0.6785"), (P5, "0.9325")],
    ids=["P1", "P2", "P4", "P5"],
)
def test_the_power_factor_of_the_sum(loads: list[Load], power_factor: str) -> None:
    """P over |S|; P4 is the slide's load with the power factor its own figures give."""
    p_w, q_var, d_va = total(*loads)

    assert p_w / apparent_va(p_w, q_var, d_va) == printed(power_factor)


def test_a_household_of_mixed_loads_in_watts_and_vars() -> None:
    """P5: 3020 W and 1169.65 var."""
    p_w, q_var, _ = total(*P5)

    assert p_w == printed("3020")
    assert q_var == printed("1169.65")


def test_adding_volt_amperes_as_numbers_is_an_eighth_too_high() -> None:
    """P5: 3656.06 VA as plain numbers, 12.9 % above the real sum."""
    plain_va = sum(float(apparent_va(*draw_of(*load))) for load in P5)

    assert plain_va == printed("3656.06")
    assert 100 * (plain_va / apparent_va(*total(*P5)) - 1) == printed("12.9")
