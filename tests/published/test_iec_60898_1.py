"""When a circuit breaker trips at once: IEC 60898-1 Table 2.

B above 3 to 5 times its rating, C above 5 to 10, D above 10 to 20. With the currents of a 1 hp motor at
230 V, 8 A running and 48 A with its rotor locked (NEC 430.248 and 430.251(A)).
"""

from typing import Any

import pytest

from tests.households import assessed
from tests.published.plain import appliance, household, inverter, limit

# curve: may trip from, must trip by, at 16 A
BANDS_A = {"B": (48, 80), "C": (80, 160), "D": (160, 320)}


def motor_on(curve: str, start_va: float = 48 * 230, **supply: Any) -> dict[str, Any]:
    """The 1 hp motor alone behind a 16 A breaker."""
    motor = appliance(
        "motor",
        8 * 230 * 0.75,
        circuit="tool",
        power_factor=0.75,
        start={"va": start_va, "power_factor": 0.6, "duration_s": 0.3},
    )
    circuit = {"id": "tool", "breaker_a": 16, "curve": curve}
    return household(motor, supply={"circuits": [circuit]} | supply)


@pytest.mark.parametrize(("curve", "from_a"), [(curve, band[0]) for curve, band in BANDS_A.items()])
def test_from_where_a_breaker_may_trip_at_once(curve: str, from_a: float) -> None:
    """The lower end of the band, 48, 80 and 160 A."""
    assert limit(motor_on(curve), "circuit:tool")["trip_a"] == from_a


@pytest.mark.parametrize(("curve", "by_a"), [(curve, band[1]) for curve, band in BANDS_A.items()])
@pytest.mark.parametrize("more", [-1, 1])
def test_a_source_below_the_upper_end_may_never_trip_it(curve: str, by_a: float, more: float) -> None:
    """By 80, 160 and 320 A it must have tripped; an inverter that gives less is worth a caution."""
    top_va = (by_a + more) * 230
    small = inverter(rated_va=3000, overload=[[4000, 60], [top_va, 5]])
    cautions = assessed(motor_on(curve, inverter=small))["cautions"]
    about_tool = [one for one in cautions if one["params"].get("circuit") == "tool"]

    assert bool(about_tool) == (more < 0)


def test_a_one_horsepower_motor_reaches_the_band_of_a_b16_and_not_that_of_a_c16() -> None:
    """48 A are where the B band begins and well below the C band."""
    on_b, on_c = limit(motor_on("B"), "circuit:tool"), limit(motor_on("C"), "circuit:tool")

    assert on_b["start_a"] == pytest.approx(48)
    assert on_b["start_a"] == pytest.approx(on_b["trip_a"])
    assert on_c["verdict"] == "fits"
    assert on_c["start_a"] < on_c["trip_a"]


@pytest.mark.parametrize(("curve", "verdict"), [("B", "over"), ("C", "fits"), ("D", "fits")])
def test_a_start_of_49_amperes(curve: str, verdict: str) -> None:
    """One ampere more is inside the B16 band, above 3 times its rating."""
    assert limit(motor_on(curve, start_va=49 * 230), "circuit:tool")["verdict"] == verdict
