"""Figures by the hour as small bars, with the sun to spare marked under them."""

from collections.abc import Sequence
from html import escape
from typing import NamedTuple

HIGH = 84  # pixels for the tallest bar
AXIS_PX = 20
SUN_PX = 16
HEADROOM = 1.12
GAP = 0.12  # of an hour's width, on either side of a bar
_ROUND_KILO = (0.1, 0.2, 0.5, 1.0, 2.0, 3.0, 5.0, 8.0, 10.0, 15.0, 20.0, 30.0, 50.0, 80.0, 100.0)


class HourBar(NamedTuple):
    """One hour.

    clock: 0 to 23. value: watts or volt-amperes. best: it is one of those that are told in words.
    """

    clock: int
    value: float
    best: bool


def hour_bars_svg(bars: Sequence[HourBar], unit: str, label: str) -> str:
    """Bars from the left edge to the right one, an hour each; a stub for nothing. The scale stands left of it.

    unit: as shown, of a thousand. label: what a screen reader says of it.
    """
    top = HEADROOM * max((bar.value for bar in bars), default=0.0) or 1.0
    level = max((one for one in _ROUND_KILO if one * 1000 <= top), default=_ROUND_KILO[0])
    y = (1 - min(level * 1000 / top, 1.0)) * HIGH
    return (
        f'<svg class="plot hour-bars" width="100%" height="{HIGH + AXIS_PX}" role="img" aria-label="{escape(label)}">'
        f'<line class="scale" x1="0" x2="100%" y1="{y:.1f}" y2="{y:.1f}"/>'
        f"{''.join(_bar(place, bar, len(bars), top) for place, bar in enumerate(bars))}"
        f'<text class="scale" x="-6" y="{y + 4:.1f}">{level:g}\u00a0{unit}</text>'
        f'<line class="base" x1="0" x2="100%" y1="{HIGH}" y2="{HIGH}"/>{_axis([bar.clock for bar in bars])}</svg>'
    )


def hour_sun_svg(clocks: Sequence[int], spare_wh: Sequence[float], label: str) -> str:
    """The sun to spare under the bars, hour by hour, as a low strip."""
    most_wh = max(spare_wh, default=0.0)
    wide = 100 / max(len(clocks), 1)
    blocks = "".join(
        f'<rect class="sun-fill" x="{place * wide:.2f}%" width="{wide:.2f}%"'
        f' y="{SUN_PX - high:.1f}" height="{high:.1f}"/>'
        for place, one in enumerate(spare_wh)
        if (high := SUN_PX * one / most_wh if most_wh >= 1 else 0.0) > 0.2
    )
    return (
        f'<svg class="plot hour-bars" width="100%" height="{SUN_PX + 1}" role="img" aria-label="{escape(label)}">'
        f'{blocks}<line class="base" x1="0" x2="100%" y1="{SUN_PX}" y2="{SUN_PX}"/></svg>'
    )


def _bar(place: int, bar: HourBar, count: int, top: float) -> str:
    wide = 100 / count
    high = HIGH * bar.value / top
    kind = "none" if high < 1 else "best" if bar.best else "bar"
    high = max(high, 2.0)
    return (
        f'<rect class="{kind}" x="{(place + GAP) * wide:.2f}%" width="{(1 - 2 * GAP) * wide:.2f}%"'
        f' y="{HIGH - high:.1f}" height="{high:.1f}"/>'
    )


def _axis(clocks: Sequence[int]) -> str:
    wide = 100 / max(len(clocks), 1)
    return "".join(
        f'<text x="{place * wide:.2f}%" y="{HIGH + 16}">{clock:02d}:00</text>'
        for place, clock in enumerate(clocks)
        if clock in (6, 12, 18)
    )
