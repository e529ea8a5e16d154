"""Two days of demand over one sun, small: how a day stands now and how it could."""

from html import escape

import numpy as np

from app.charts.energy import means_w
from app.engine.results import BankDay, Floats
from app.engine.typical import Profile

STEP_MS = 15 * 60_000
HIGH, WIDE = 140, 960  # drawing units; stretched to the page's width
AXIS_PX = 20
HEADROOM = 1.08
_ROUND_KW = (0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0)


def two_days_svg(bank: BankDay, before: Profile, after: Profile, day_ms: int, label: str) -> str:
    """The sun as an area, today's demand dashed and the other's as a line, in means of a quarter of an hour.

    bank: for its sun, which is the same on both. before, after: what is drawn on the whole. day_ms: midnight, the right
    end of the axis. label: what a screen reader says of it.
    """
    edges_ms = np.append(np.arange(0.0, day_ms, STEP_MS), float(day_ms))
    sun_w = means_w(bank, bank.sun_w, edges_ms)
    before_w, after_w = before.mean_on(edges_ms), after.mean_on(edges_ms)
    top_w = HEADROOM * max(float(np.max(one, initial=0.0)) for one in (sun_w, before_w, after_w, np.array([500.0])))
    level_kw = max((one for one in _ROUND_KW if one * 1000 <= top_w), default=_ROUND_KW[0])
    level_y = (1 - level_kw * 1000 / top_w) * HIGH
    hours = "".join(
        f'<text x="{hour * 3_600_000 / day_ms * 100:.2f}%" y="{HIGH + 16}">{hour:02d}:00</text>'
        for hour in range(6, 24, 6)
    )
    return (
        f'<svg class="plot two-days" width="100%" height="{HIGH + AXIS_PX}" role="img" aria-label="{escape(label)}">'
        f'<svg width="100%" height="{HIGH}" viewBox="0 0 {WIDE} {HIGH}" preserveAspectRatio="none">'
        f'<path class="sun-fill" d="{_steps(sun_w, top_w)}V{HIGH}H0z"/>'
        f'<path class="was" d="{_steps(before_w, top_w)}"/><path class="then" d="{_steps(after_w, top_w)}"/></svg>'
        f'<line class="scale" x1="0" x2="100%" y1="{level_y:.1f}" y2="{level_y:.1f}"/>'
        f'<text class="scale" x="0" y="{max(level_y - 3, 11):.1f}">{level_kw:g}\u00a0kW</text>'
        f'<line class="base" x1="0" x2="100%" y1="{HIGH}" y2="{HIGH}"/>{hours}</svg>'
    )


def _steps(watts: Floats, top_w: float) -> str:
    """A stepped line from the left edge to the right one."""
    wide = WIDE / len(watts)
    rows = ((1 - watts / top_w) * HIGH).tolist()
    return f"M0,{rows[0]:.1f}" + "".join(f"V{row:.1f}H{(place + 1) * wide:.1f}" for place, row in enumerate(rows))
