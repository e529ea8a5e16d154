"""Energy between two states of charge: 200 Ah at 51.2 V between 90 and 20 % are 7168 Wh (arithmetic).

Ours is the integral of the open-circuit curve, which lies a little above 51.2 V.
"""

import numpy as np
import pytest

from app.engine.cells import TABLE, Cells, cells_of
from app.household.supply import Battery
from tests.published.plain import BATTERY

BANK = cells_of(Battery.model_validate(BATTERY | {"modules": 2, "module_ah": 100}))


def between_wh(cells: Cells, most: float, least: float) -> float:
    """Stored between two states."""
    return cells.stored_wh(most) - cells.stored_wh(least)


def test_at_a_voltage_that_never_changes() -> None:
    """Exactly."""
    flat = BANK._replace(rest_v=np.full(TABLE + 2, 51.2))
    assert between_wh(flat, 0.9, 0.2) == pytest.approx(7168)


def test_along_the_open_circuit_curve() -> None:
    """Within 3 %, and more rather than less."""
    assert 7168 < between_wh(BANK, 0.9, 0.2) < 7168 * 1.03
