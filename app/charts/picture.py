"""What the small pictures beside an editor share: faces by their width, strips laid under one another, round levels."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from html import escape

from app.charts.labels import Face, Labels, Lettering, Spot
from app.charts.shapes import percent

# By the width of the picture, at the usual size of text: a phone with large text, a phone, and what is wider.
FACES = (Face("of-tight", (136, 276)), Face("of-phone", (276, 480)), Face("of-desk", (480, 1240)))

NAME, FIGURE, LEVEL = Lettering("of-name", 11.5, bold=True), Lettering("of-figure", 11.5), Lettering("of-level", 11.5)
LEFT_PX = 36  # beside a drawing with a scale, for its levels: the stylesheet keeps it free
ROOT_PX = 16  # of a letter-sized unit, in which pictures have their height: it grows with the text


def picture_svg(kind: str, label: str, high_px: float, *parts: str) -> str:
    """A picture of so many pixels at the usual size of text. kind: its class. label: what a screen reader says."""
    return (
        f'<svg class="plot picture-{kind}" width="100%" height="{high_px / ROOT_PX:g}rem" role="img"'
        f' aria-label="{escape(label)}">{"".join(parts)}</svg>'
    )


def strip_svg(top_px: float, high_px: float, of_px: float, *parts: str) -> str:
    """A part of a picture over its whole width, from `top_px` on. of_px: the height of the picture."""
    return f'<svg y="{percent(top_px / of_px)}" width="100%" height="{percent(high_px / of_px)}">{"".join(parts)}</svg>'


def levels_beside(face: Face, high_px: float, unit: str, levels: Iterable[tuple[float, float]]) -> str:
    """Levels in thousands of a unit, at the left of a drawing; each with its share of the height, from the top."""
    labels = Labels(replace(face, left_px=LEFT_PX), high_px)
    labels.place(unit, LEVEL, [Spot(0, -6, 10, "end")])
    for level, y in levels:
        labels.place(f"{level / 1000:g}", LEVEL, [Spot(0, -6, y * high_px + 4, "end")])
    return labels.svg()


def tick_svg(x: float) -> str:
    """A tick of the axis. x: share of the width."""
    return f'<line class="hour" x1="{percent(x)}" x2="{percent(x)}" y1="0" y2="4"/>'


def round_levels(top: float, most: int) -> list[float]:
    """At most so many round levels above nothing and up to the top, evenly apart: 1, 2 or 5 of a power of ten.

    >>> round_levels(110, 4), round_levels(4500, 4)
    ([50, 100], [2000, 4000])
    """
    power = 10 ** math.floor(math.log10(top / most))
    step = next(size * power for size in (1, 2, 5, 10) if top / (size * power) <= most)
    return [step * number for number in range(1, math.floor(top / step) + 1)]


_STEPS_S = (
    0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400,
)  # fmt: skip


def round_times_s(length_s: float, most: int) -> Sequence[float]:
    """At most so many round instants after the beginning and up to the end, evenly apart, in seconds.

    >>> round_times_s(10, 5), round_times_s(5400, 5)
    ([2, 4, 6, 8, 10], [1200, 2400, 3600, 4800])
    """
    step_s = next((step for step in _STEPS_S if length_s / step <= most), 86_400 * math.ceil(length_s / 86_400 / most))
    return [round(step_s * number, 3) for number in range(1, math.floor(length_s / step_s + 1e-9) + 1)]
