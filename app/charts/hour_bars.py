"""Figures by the hour as small bars, with the sun to spare marked under them."""

from collections.abc import Sequence
from html import escape
from typing import NamedTuple

from app.charts.shapes import percent

# Pixels of a screen with text of the usual size: drawings are as high in letters, and their shapes shares of that.
HIGH = 84  # for the tallest bar
AXIS_PX = 20
SUN_PX, BASE_PX = 16, 1
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
    y_px = (1 - min(level * 1000 / top, 1.0)) * HIGH
    y, base = _down(y_px), _down(HIGH)
    return (
        f'{_begin(HIGH + AXIS_PX, label)}<line class="scale" x1="0" x2="100%" y1="{y}" y2="{y}"/>'
        f"{''.join(_bar(place, bar, len(bars), top) for place, bar in enumerate(bars))}"
        f'<text class="scale" x="-6" y="{_down(y_px + 4)}">{level:g}\u00a0{unit}</text>'
        f'<line class="base" x1="0" x2="100%" y1="{base}" y2="{base}"/>{_axis([bar.clock for bar in bars])}</svg>'
    )


def hour_sun_svg(clocks: Sequence[int], spare_wh: Sequence[float], label: str) -> str:
    """The sun to spare under the bars, hour by hour, as a low strip."""
    most_wh = max(spare_wh, default=0.0)
    wide = 100 / max(len(clocks), 1)
    all_px = SUN_PX + BASE_PX
    blocks = "".join(
        f'<rect class="sun-fill" x="{place * wide:.2f}%" width="{wide:.2f}%"'
        f' y="{_down(SUN_PX - high, all_px)}" height="{_down(high, all_px)}"/>'
        for place, one in enumerate(spare_wh)
        if (high := SUN_PX * one / most_wh if most_wh >= 1 else 0.0) > 0.2
    )
    base = _down(SUN_PX, all_px)
    return f'{_begin(all_px, label)}{blocks}<line class="base" x1="0" x2="100%" y1="{base}" y2="{base}"/></svg>'


def _begin(high_px: float, label: str) -> str:
    high = f"{high_px / 16:g}rem"
    return f'<svg class="plot hour-bars" width="100%" height="{high}" role="img" aria-label="{escape(label)}">'


def _down(px: float, all_px: float = HIGH + AXIS_PX) -> str:
    return percent(px / all_px)


def _bar(place: int, bar: HourBar, count: int, top: float) -> str:
    wide = 100 / count
    high = HIGH * bar.value / top
    kind = "none" if high < 1 else "best" if bar.best else "bar"
    high = max(high, 2.0)
    return (
        f'<rect class="{kind}" x="{(place + GAP) * wide:.2f}%" width="{(1 - 2 * GAP) * wide:.2f}%"'
        f' y="{_down(HIGH - high)}" height="{_down(high)}"/>'
    )


def _axis(clocks: Sequence[int]) -> str:
    wide = 100 / max(len(clocks), 1)
    return "".join(
        f'<text x="{place * wide:.2f}%" y="{_down(HIGH + 16)}">{clock:02d}<tspan class="spelled">:00</tspan></text>'
        for place, clock in enumerate(clocks)
        if clock in (6, 12, 18)
    )
