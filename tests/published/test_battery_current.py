"""Direct current of a bank.

B7: energy balance, 3000 W at 0.92 efficiency. IEEE 1013-2007 clause 5.2.2: the running current of a
constant-power load is taken at 95 % of the system's voltage (rule read, figure recomputed).
"""

import pytest

from app.engine.dc import bank_current_a, input_w
from app.household.losses import Losses
from tests.published.plain import printed


@pytest.mark.parametrize(("volts", "amperes"), [(48, "67.93"), (44, "74.11")])
def test_three_kilowatts_at_92_per_cent(volts: float, amperes: str) -> None:
    """3000 W out of the inverter are 3261 W out of the bank."""
    losses = Losses(no_load_w=0, per_w=1 / 0.92 - 1, per_w2=0)

    assert bank_current_a(volts, 0, input_w(losses, 3000)) == printed(amperes)


def test_a_constant_load_draws_more_at_the_lower_voltage() -> None:
    """480 W at 95 % of 48 V: 10.53 A."""
    assert bank_current_a(0.95 * 48, 0, 480) == printed("10.53")


@pytest.mark.parametrize(("open_v", "ohm", "dc_w"), [(48, 0.02, 3000), (51.2, 0.009, 8000), (25.6, 0.05, 2000)])
def test_the_current_satisfies_its_own_equation(open_v: float, ohm: float, dc_w: float) -> None:
    """(V - I R) I is the power asked for, at the smaller of the two currents."""
    current = float(bank_current_a(open_v, ohm, dc_w))

    assert (open_v - current * ohm) * current == pytest.approx(dc_w)
    assert current < open_v / (2 * ohm)
