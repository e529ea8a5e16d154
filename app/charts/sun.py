"""Small drawings of a record of sun: a bar for each month, and one day in its steps."""

from collections.abc import Sequence
from html import escape

import numpy as np

from app.engine.results import Floats

HIGH = 120  # drawing units; the width is that of the page
WIDE = 1000
_LETTERS = "JFMAMJJASOND"
_ROUND = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0)


def months_svg(monthly_wh_m2: Sequence[float | None], label: str) -> str:
    """A bar for each month's mean day; months the record lacks are left empty.

    monthly_wh_m2: twelve, January first. label: what a screen reader says of it.
    """
    most = _top(max((one for one in monthly_wh_m2 if one is not None), default=0.0) / 1000)
    bars, texts = [], []
    for place, value in enumerate(monthly_wh_m2):
        texts.append(f'<text x="{(place + 0.5) / 12 * 100:.2f}%" y="{HIGH + 16}">{_LETTERS[place]}</text>')
        if value is not None:
            high = value / 1000 / most * HIGH
            bars.append(
                f'<rect class="bar" x="{(place + 0.14) / 12 * 100:.2f}%" y="{HIGH - high:.1f}" width="{72 / 12:.2f}%"'
                f' height="{high:.1f}"/>'
            )
    return (
        f'<svg class="plot sun-months" width="100%" height="{HIGH + 20}" role="img" aria-label="{escape(label)}">'
        f"{_line(most, 'kWh/m² a day')}{''.join(bars)}{_base()}{''.join(texts)}</svg>"
    )


def day_svg(sun_w_m2: Floats, label: str) -> str:
    """One day of irradiance, stepped, from midnight to midnight.

    sun_w_m2: means over equal steps, shape (steps,). label: what a screen reader says of it.
    """
    most = _top(float(np.max(sun_w_m2, initial=0.0)) / 100) * 100
    steps = len(sun_w_m2)
    moves = [f"M0,{HIGH}"]
    for place, value in enumerate(sun_w_m2.tolist()):
        y = HIGH - value / most * HIGH
        moves.append(f"L{place * WIDE / steps:.1f},{y:.1f}H{(place + 1) * WIDE / steps:.1f}")
    hours = "".join(
        f'<text x="{hour / 24 * 100:.2f}%" y="{HIGH + 16}">{hour:02d}:00</text>' for hour in range(6, 24, 6)
    )  # fmt: skip
    return (
        f'<svg class="plot sun-day" width="100%" height="{HIGH + 20}" role="img" aria-label="{escape(label)}">'
        f"{_line(most, 'W/m²')}"
        f'<svg width="100%" height="{HIGH}" viewBox="0 0 {WIDE} {HIGH}" preserveAspectRatio="none">'
        f'<path class="sun-fill" d="{"".join(moves)}V{HIGH}z"/></svg>{_base()}{hours}</svg>'
    )


def _top(value: float) -> float:
    """A round figure not below a value, for the top of a scale."""
    return next((one for one in _ROUND if one >= value and one > 0), max(20.0, value))


def _line(most: float, unit: str) -> str:
    line = '<line class="scale" x1="0" x2="100%" y1="0.5" y2="0.5"/>'
    return f'{line}<text class="scale" x="0" y="14">{most:g} {unit}</text>'


def _base() -> str:
    return f'<line class="base" x1="0" x2="100%" y1="{HIGH}" y2="{HIGH}"/>'
