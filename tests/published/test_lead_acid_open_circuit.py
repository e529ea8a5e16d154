"""Open-circuit voltage of flooded lead-acid batteries against state of charge.

Table of a 12 V starter battery at rest, with the density of its acid, as an open encyclopaedia's article on
automotive batteries gave it (read in a reprint of 2009; that it goes back to the Battery Council
International is from memory). The cross-check, a cell's volts are its acid's density plus 0.84, was read in
an electrical-engineering course text; it is a rule of thumb.
"""

import pytest

from app.engine.dc import open_circuit_v
from app.household.file import household_from
from app.household.supply import Battery
from tests.published.plain import BATTERY, household

# state of charge: volts of six cells, density of the acid
PUBLISHED = {
    1.00: (12.65, 1.265),
    0.75: (12.45, 1.225),
    0.50: (12.24, 1.190),
    0.25: (12.06, 1.155),
    0.00: (11.89, 1.120),
}


def bank(charge: float, module_v: float = 12) -> Battery:
    """A lead-acid bank with its reserve at that charge."""
    changes = {"chemistry": "lead_acid", "module_v": module_v, "reserve": charge}
    return household_from(household(supply={"battery": BATTERY | changes})).supply.battery


@pytest.mark.parametrize(("charge", "volts"), [(charge, row[0]) for charge, row in PUBLISHED.items()])
def test_six_cells_at_rest(charge: float, volts: float) -> None:
    """The table's voltage of a 12 V battery."""
    assert open_circuit_v(bank(charge)) == pytest.approx(volts, abs=0.005)


@pytest.mark.parametrize(("charge", "density"), [(charge, row[1]) for charge, row in PUBLISHED.items()])
def test_a_cell_is_near_its_acid_density_plus_0_84(charge: float, density: float) -> None:
    """Within 25 mV a cell, as far as the rule of thumb goes."""
    assert open_circuit_v(bank(charge)) / 6 == pytest.approx(density + 0.84, abs=0.025)


def test_a_48_v_bank_has_24_cells() -> None:
    """2.0 V a cell."""
    assert open_circuit_v(bank(0.5, module_v=48)) == pytest.approx(4 * 12.24, abs=0.02)
