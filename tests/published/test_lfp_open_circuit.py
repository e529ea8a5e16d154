"""Open-circuit voltage of lithium iron phosphate cells against state of charge.

Full cell from the positive electrode of Afshar et al. 2017 (arXiv:1709.03970) and the Prada 2013 set with a
2.0 to 3.6 V window, computed with an open battery library (release 26.10). A check of shape, good to 0.05 V.
"""

import pytest

from app.engine.dc import open_circuit_v
from app.household.file import household_from
from app.household.supply import Battery
from tests.published.plain import BATTERY, household

PUBLISHED_V = {0.10: 2.978, 0.20: 3.169, 0.30: 3.206, 0.50: 3.266, 0.70: 3.274, 0.80: 3.310, 0.90: 3.314}


def bank(**changes: object) -> Battery:
    """A bank of 51.2 V modules, sixteen cells each."""
    return household_from(household(supply={"battery": BATTERY | changes})).supply.battery


@pytest.mark.parametrize(("charge", "cell_v"), PUBLISHED_V.items())
def test_sixteen_cells_at_the_reserve(charge: float, cell_v: float) -> None:
    """The bank's open-circuit voltage at a reserve of that much charge."""
    assert open_circuit_v(bank(reserve=charge)) / 16 == pytest.approx(cell_v, abs=0.0005)


def test_the_plateau_spans_64_millivolts() -> None:
    """Between 40 and 95 % of charge a cell's voltage hardly moves, so it does not tell the charge."""
    # Between the seven points our curve is a line, and above 90 % it is flat: 20 mV of tolerance.
    low_v, high_v = (open_circuit_v(bank(reserve=charge)) / 16 for charge in (0.40, 0.95))

    assert 1000 * (high_v - low_v) == pytest.approx(64, abs=20)


@pytest.mark.parametrize(("module_v", "cells"), [(12.8, 4), (25.6, 8), (48, 15), (51.2, 16)])
def test_cells_follow_from_the_nominal_voltage(module_v: float, cells: int) -> None:
    """3.2 V a cell, rounded."""
    assert open_circuit_v(bank(module_v=module_v, reserve=0.5)) == pytest.approx(cells * 3.266, abs=0.01)
