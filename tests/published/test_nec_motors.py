"""Single-phase motors: running and locked-rotor current, and code letters.

NFPA 70 (NEC): Table 430.248 full-load current (1999 edition's 430-148, the same in later reprints), Table
430.251(A) locked-rotor current (2008 edition), Table 430.7(B) locked-rotor code letters in kVA per hp.
The volt-amperes go in from one column, the amperes of the other columns must come out of the circuit.
"""

from fractions import Fraction
from typing import Any

import pytest

from app.household.motors import HORSEPOWER_W, start_ceiling
from tests.published.plain import appliance, household, inverter, limit, printed

# hp: amperes at 115, 200 and 230 V (430.248); its 208 V column is 1.1 times that of 230 V, rounded
RUNNING_A = {
    "1/4": ("5.8", "3.3", "2.9"),
    "1/2": ("9.8", "5.6", "4.9"),
    "3/4": ("13.8", "7.9", "6.9"),
    "1": ("16", "9.2", "8.0"),
    "2": ("24", "13.8", "12"),
    "5": ("56", "32.2", "28"),
}
# hp: amperes at 115, 208 and 230 V (430.251(A))
LOCKED_A = {
    "1/2": ("58.8", "32.5", "29.4"),
    "3/4": ("82.8", "45.8", "41.4"),
    "1": ("96", "53", "48"),
    "2": ("144", "80", "72"),
    "3": ("204", "113", "102"),
    "5": ("336", "186", "168"),
}


def motor_circuit(running_va: float, start_va: float | None, volts: float) -> dict[str, Any]:
    """The circuit of a motor alone; at 115 V it hangs on one leg of a 230 V inverter."""
    start = None if start_va is None else {"va": start_va, "power_factor": 0.6, "duration_s": 1}
    motor = appliance("motor", running_va * 0.75, circuit="motor", power_factor=0.75, start=start)
    leg = volts == 115
    supply = {
        "inverter": inverter(ac_voltage=230 if leg else volts, legs=2 if leg else 1),
        "circuits": [{"id": "motor", "breaker_a": 1000, "leg": "A" if leg else "AB"}],
    }
    return limit(household(motor, supply=supply), "circuit:motor")


@pytest.mark.parametrize("hp", RUNNING_A)
def test_full_load_amperes_follow_from_the_volt_amperes_at_230_v(hp: str) -> None:
    """430.248: what draws the table's 230 V current draws its 115 and 200 V currents there."""
    at_115, at_200, at_230 = RUNNING_A[hp]
    running_va = float(at_230) * 230

    assert motor_circuit(running_va, None, 230)["use"] == printed(at_230)
    assert motor_circuit(running_va, None, 200)["use"] == printed(at_200)
    assert motor_circuit(running_va, None, 115)["use"] == printed(at_115)


@pytest.mark.parametrize("hp", LOCKED_A)
def test_locked_rotor_amperes_are_the_start_on_the_circuit(hp: str) -> None:
    """430.251(A): the start's volt-amperes at 230 V give the table's currents at 115 and 208 V."""
    at_115, at_208, at_230 = LOCKED_A[hp]
    start_va = float(at_230) * 230

    assert motor_circuit(500, start_va, 230)["start_a"] == printed(at_230)
    assert motor_circuit(500, start_va, 208)["start_a"] == printed(at_208)
    assert motor_circuit(500, start_va, 115)["start_a"] == printed(at_115)


@pytest.mark.parametrize("hp", ["1/2", "3/4", "1", "2", "5"])
def test_the_locked_rotor_table_is_six_times_the_running_table(hp: str) -> None:
    """430.251(A) over 430.248 is 6.000 for every size; so is start over use."""
    circuit = motor_circuit(float(RUNNING_A[hp][2]) * 230, float(LOCKED_A[hp][2]) * 230, 230)

    assert circuit["start_a"] / circuit["use"] == printed("6.000")


@pytest.mark.parametrize("hp", LOCKED_A)
def test_the_ceiling_of_a_start_is_the_tables(hp: str) -> None:
    """430.251(A), 2008 edition: each row as printed at 230 V, 3/4 hp too.

    Checked against 430.248: 82.8 A and 41.4 A are six times its 13.8 A at 115 V and 6.9 A at 230 V, as in every row.
    """
    ceiling = start_ceiling(float(Fraction(hp)) * HORSEPOWER_W)

    assert ceiling is not None
    assert ceiling.value / 230 == printed(LOCKED_A[hp][2])
    assert ceiling.kind == "published"


def test_one_horsepower_at_230_v() -> None:
    """1840 VA run at 8.0 A, and 11.04 kVA start at 48.0 A."""
    circuit = motor_circuit(1840, 11_040, 230)

    assert circuit["use"] == printed("8.0")
    assert circuit["start_a"] == printed("48.0")


@pytest.mark.parametrize(
    ("hp", "kva_per_hp", "volts", "amperes"),
    [
        (1, 8.0, 230, "34.78"),  # code K, 8.0 to below 9.0
        (1, 9.0, 230, "39.13"),
        (0.5, 9.0, 230, "19.57"),  # code L, 9.0 to below 10.0
        (0.5, 10.0, 230, "21.74"),
        (0.5, 9.0, 115, "39.13"),
        (0.5, 10.0, 115, "43.48"),
        (2, 7.1, 230, "61.74"),  # code J, 7.1 to below 8.0
        (2, 8.0, 230, "69.57"),
    ],
)
def test_code_letters_bound_the_starting_current(hp: float, kva_per_hp: float, volts: float, amperes: str) -> None:
    """430.7(B): kVA per hp times hp, over the voltage."""
    assert motor_circuit(500, kva_per_hp * hp * 1000, volts)["start_a"] == printed(amperes)
