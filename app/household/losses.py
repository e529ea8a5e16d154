"""The inverter's losses as a parabola in its load, and whether its three efficiencies can be."""

from itertools import pairwise
from typing import NamedTuple

from app.household.supply import Inverter


class Losses(NamedTuple):
    """Input minus output, in watts, at P watts of output: `no_load_w + per_w * P + per_w2 * P**2`."""

    no_load_w: float
    per_w: float
    per_w2: float


def continuous_at_25_w(inverter: Inverter) -> float:
    """The watts the inverter carries for hours at 25 degC: linear between its points, flat outside."""
    points = inverter.continuous_w
    if points[0][0] >= 25:
        return points[0][1]
    for (cool_c, cool_w), (warm_c, warm_w) in pairwise(points):
        if cool_c <= 25 <= warm_c:
            return cool_w + (warm_w - cool_w) * (25 - cool_c) / (warm_c - cool_c)
    return points[-1][1]


def inverter_losses(inverter: Inverter) -> Losses:
    """Losses that give the no-load draw and both efficiencies exactly (design 3.6)."""
    full_w = continuous_at_25_w(inverter)
    at_peak_w = inverter.peak_efficiency_at * full_w
    # loss / P - a / P = b + c P at both points: two lines, two unknowns.
    peak = 1 / inverter.peak_efficiency - 1 - inverter.no_load_w / at_peak_w
    full = 1 / inverter.full_load_efficiency - 1 - inverter.no_load_w / full_w
    per_w2 = (full - peak) / (full_w - at_peak_w)
    return Losses(inverter.no_load_w, full - per_w2 * full_w, per_w2)


def check_losses(inverter: Inverter) -> list[tuple[str, str]]:
    """Faults (field, why) of efficiencies that no inverter can have together."""
    no_load_w, per_w, per_w2 = inverter_losses(inverter)
    if per_w2 < -1e-15:
        return [
            (
                "full_load_efficiency",
                "these efficiencies cannot be true together: losses would shrink towards full load; lower"
                " full_load_efficiency, raise peak_efficiency or lower no_load_w",
            )
        ]
    top_w = inverter.overload[-1][0]
    lowest_at_w = min(max(-per_w / (2 * per_w2), 0.0), top_w) if per_w2 > 0 else top_w
    lowest_w = min(no_load_w + per_w * p + per_w2 * p * p for p in (0.0, lowest_at_w, top_w))
    if lowest_w < -1e-9 * top_w:
        return [
            (
                "peak_efficiency",
                f"these efficiencies cannot be true together: near {lowest_at_w:.0f} W the inverter would give"
                " more than it takes; lower peak_efficiency or no_load_w",
            )
        ]
    return []
