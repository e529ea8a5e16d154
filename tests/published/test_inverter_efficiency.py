"""Weighted inverter efficiency: EN 50530 (European weights) and the CEC inverter test protocol.

The curve is made up (5:80, 10:88, 20:93, 30:94.5, 50:95, 75:94.6, 100:93.8 %), its weighted efficiencies
were computed outside: 93.58 % European, 94.288 % CEC. Our losses are a parabola through three of its points;
the no-load draw is chosen to meet the fourth.
"""

import pytest

from app.engine.dc import input_w
from app.household.file import household_from
from app.household.losses import inverter_losses
from tests.published.plain import household, inverter

FULL_W = 5000
CURVE_PERCENT = {0.05: 80, 0.10: 88, 0.20: 93, 0.30: 94.5, 0.50: 95, 0.75: 94.6, 1.00: 93.8}
EU_WEIGHTS = {0.05: 0.03, 0.10: 0.06, 0.20: 0.13, 0.30: 0.10, 0.50: 0.48, 1.00: 0.20}
CEC_WEIGHTS = {0.10: 0.04, 0.20: 0.05, 0.30: 0.12, 0.50: 0.21, 0.75: 0.53, 1.00: 0.05}
NO_LOAD_W = 65.63  # so that the losses at a tenth are those of 88 %


def efficiency_percent(load: float) -> float:
    """What the engine's inverter gives of what it takes, at a fraction of its full load."""
    document = household(
        supply={
            "inverter": inverter(
                FULL_W,
                no_load_w=NO_LOAD_W,
                peak_efficiency=0.95,
                peak_efficiency_at=0.5,
                full_load_efficiency=0.938,
            )
        }
    )
    losses = inverter_losses(household_from(document).supply.inverter)
    return 100 * load * FULL_W / float(input_w(losses, load * FULL_W))


@pytest.mark.parametrize(
    ("load", "within"),
    [(0.10, 0.05), (0.50, 0.05), (1.00, 0.05), (0.20, 0.15), (0.30, 0.15), (0.75, 0.05), (0.05, 1.0)],
)
def test_the_losses_go_through_the_curve(load: float, within: float) -> None:
    """At the points given, exactly; between them within 0.15 points, at a twentieth of the load within 1."""
    assert efficiency_percent(load) == pytest.approx(CURVE_PERCENT[load], abs=within)


@pytest.mark.parametrize("weights", [EU_WEIGHTS, CEC_WEIGHTS], ids=["EU", "CEC"])
def test_the_weights_sum_to_one(weights: dict[float, float]) -> None:
    """Both sets of weights are complete."""
    assert sum(weights.values()) == pytest.approx(1)


@pytest.mark.parametrize(("weights", "percent"), [(EU_WEIGHTS, 93.58), (CEC_WEIGHTS, 94.288)], ids=["EU", "CEC"])
def test_weighted_efficiency(weights: dict[float, float], percent: float) -> None:
    """Within a tenth of a point of the curve's own, for a parabola is not the curve."""
    weighted = sum(weight * efficiency_percent(load) for load, weight in weights.items())

    assert weighted == pytest.approx(percent, abs=0.1)
