"""Cells get warm, and give less for it: Faiman 2008, Progress in Photovoltaics 16(4), 307-315.

Coefficients 25.0 and 6.84: 900 W/m2, 20 degC, 5 m/s: 35.203 degC; 500, 10, 5: 18.446 degC (both an open library's
tests, recomputed); 800, 20, 1: 45.126 degC (recomputed). Power is linear in temperature: 1 kW at -0.35 % a kelvin
gives 881.9 W with cells at 58.75 degC and 1000 W/m2 (recomputed).
"""

import numpy as np
import pytest

from app.engine import sun
from app.engine.sky import Sky
from app.household.supply import SolarArray


def given_w(plane_w_m2: float, air_c: float, peak_w: float = 1000, per_k: float = -0.01) -> float:
    """What an array gives with so much in its plane."""
    one = np.ones(1)
    given = Sky(one, one, one, one, None, None, None, plane_w_m2 * one)
    array = SolarArray(peak_w=peak_w, tilt_deg=0, azimuth_deg=0, temperature_coefficient=per_k)
    return float(sun._array_w(array, given, air_c * one)[0])


def cell_c(plane_w_m2: float, air_c: float) -> float:
    """The cells' temperature, out of what they give at -1 % a kelvin."""
    return 25 + (given_w(plane_w_m2, air_c) / plane_w_m2 - 1) / -0.01


@pytest.mark.parametrize(
    ("plane_w_m2", "air_c", "wind_m_s", "expected_c"),
    [(900, 20, 5, 35.203), (500, 10, 5, 18.446), (800, 20, 1, 45.126)],
)
def test_the_cells(
    plane_w_m2: float, air_c: float, wind_m_s: float, expected_c: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At the wind of each example."""
    monkeypatch.setattr(sun, "WIND_M_S", wind_m_s)
    assert cell_c(plane_w_m2, air_c) == pytest.approx(expected_c, abs=0.001)


def test_our_own_wind_is_the_last_example_s() -> None:
    """1 m/s, at which nominal cell temperature is defined."""
    assert cell_c(800, 20) == pytest.approx(45.126, abs=0.001)


def test_the_coefficient() -> None:
    """Air so warm that the cells are at 58.75 degC."""
    assert given_w(1000, 58.75 - 1000 / (25.0 + 6.84), per_k=-0.0035) == pytest.approx(881.9, abs=0.1)


def test_cold_cells_give_more() -> None:
    """At 25 degC exactly the peak; colder, more."""
    at_25_c = 25 - 1000 / (25.0 + 6.84)
    assert given_w(1000, at_25_c) == pytest.approx(1000)
    assert given_w(1000, at_25_c - 10) == pytest.approx(1100)
