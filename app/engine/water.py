"""The pump behind a pressure vessel: it starts when the vessel reaches cut-in, whoever draws."""

from app.engine.rows import CycleMs
from app.household.supply import Water

FOREVER_MS = 10**12  # some thirty years: a pump that rests so long does not come on again


def _ms(litres: float, litres_per_s: float) -> int:
    """How long litres take at a rate, in whole ms."""
    return round(min(litres / litres_per_s * 1000, FOREVER_MS))


def flow_l_per_s(water: Water) -> float:
    """What the pump lifts, litres a second."""
    return water.pump_l_per_min / 60


def fill_ms(water: Water) -> int:
    """How long the pump needs for the vessel with no tap open."""
    return _ms(water.vessel_l, flow_l_per_s(water))


def pump_cycle_for_taps(water: Water, taps_ms: int) -> CycleMs | None:
    """The pump's cycle while taps are used now and then over `taps_ms`; None if nobody draws."""
    if water.taps_l_per_day <= 0:
        return None
    on_ms = fill_ms(water)
    period_ms = _ms(water.vessel_l, water.taps_l_per_day / (taps_ms / 1000))
    return CycleMs(on_ms, max(period_ms, on_ms), on_ms)


def pump_cycle_for_draw(water: Water, litres: float, seconds: float) -> CycleMs | None:
    """The pump's cycle while something draws steadily; None where the pump cannot fill the vessel meanwhile.

    On for vessel / (flow - draw), off for vessel / draw.
    """
    draw_l_per_s = litres / seconds
    spare_l_per_s = flow_l_per_s(water) - draw_l_per_s
    if spare_l_per_s <= 0:
        return None
    on_ms = _ms(water.vessel_l, spare_l_per_s)
    return CycleMs(on_ms, on_ms + _ms(water.vessel_l, draw_l_per_s), on_ms)
