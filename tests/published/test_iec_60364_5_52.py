"""Voltage drop of a single-phase copper cable: IEC 60364-5-52, Annex G.

u = 2 (rho L / S cos phi + lambda L sin phi) I with rho = 0.0225 ohm mm2/m; lambda = 0.08 mohm/m is from
memory. The results are recomputed from that formula (tolerance 0.001 V), and held against contractors'
tables in test_bs_7671.py.
"""

import pytest

from app.engine.cables import drop_v
from tests.published.plain import appliance, household, limit, printed

CASES = [
    (25, 2.5, 16, 1.0, 7.200, "3.13"),
    (25, 2.5, 16, 0.8, 5.798, "2.52"),
    (40, 6, 32, 0.8, 7.803, "3.39"),
    (60, 10, 40, 0.85, 9.382, "4.08"),
]


@pytest.mark.parametrize(("metres", "mm2", "amperes", "cos_phi", "volts", "percent"), CASES)
def test_volts_dropped(metres: float, mm2: float, amperes: float, cos_phi: float, volts: float, percent: str) -> None:
    """The formula's volts for a length, a conductor, a current and a power factor."""
    assert drop_v(amperes, metres, mm2, cos_phi) == pytest.approx(volts, abs=0.001)


@pytest.mark.parametrize(("metres", "mm2", "amperes", "cos_phi", "volts", "percent"), CASES)
def test_per_cent_of_the_voltage_on_a_circuit(
    metres: float, mm2: float, amperes: float, cos_phi: float, volts: float, percent: str
) -> None:
    """The same through a household: a load of that current at the end of that cable."""
    load = appliance("load", amperes * 230 * cos_phi, circuit="far", power_factor=cos_phi)
    supply = {"circuits": [{"id": "far", "cable_m": metres, "conductor_mm2": mm2}]}
    reading = limit(household(load, supply=supply), "voltage_drop:far")

    assert reading["running_percent"] == printed(percent)


def test_a_start_at_five_times_the_current_turns_8_per_cent_into_40() -> None:
    """An electrical installation handbook's chapter on voltage drop: 5 x 8 % = 40 %."""
    full_load_a = 0.08 * 230 / float(drop_v(1, 40, 2.5, 1.0))
    motor = appliance(
        "motor",
        full_load_a * 230,
        circuit="far",
        start={"va": 5 * full_load_a * 230, "power_factor": 1, "duration_s": 1},
    )
    supply = {"circuits": [{"id": "far", "cable_m": 40, "conductor_mm2": 2.5}]}
    reading = limit(household(motor, supply=supply), "voltage_drop:far")

    assert reading["running_percent"] == printed("8")
    assert reading["starting_percent"] == printed("40")
