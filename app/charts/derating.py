"""What an inverter carries for hours over the temperature around it: a small curve."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from app.charts.labels import HOUR, Labels, Spot
from app.charts.picture import FACES, FIGURE, NAME, levels_beside, picture_svg, round_levels, strip_svg, tick_svg
from app.charts.shapes import WIDE, grid_svg, inner, percent
from app.household.supply import Inverter

PLOT_PX, AXIS_PX = 110, 22
COLDEST_C, WARMEST_C, STEP_C = 0.0, 50.0, 10
HEADROOM = 1.25
DOT_PX = 3
PARTS = 4  # of a slanted stretch, kept free one by one

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class DeratingWords:
    """What is written in the drawing.

    quantity: a value with its unit, of W. degrees: a temperature given in degC. plan: over the plan's temperatures.
    """

    quantity: Callable[[float, str], str]
    degrees: Callable[[float], str]
    plan: str = "in this plan"


def derating_svg(inverter: Inverter, words: DeratingWords, plan_c: tuple[float, float] | None = None) -> str:
    """Its continuous watts, linear between its points and flat outside of them.

    plan_c: the least and the most degrees at the inverter in the open plan, to be marked.
    """
    points = inverter.continuous_w
    high_px = PLOT_PX + AXIS_PX
    told = ", ".join(f"{words.quantity(watts, 'W')} at {words.degrees(at_c)}" for at_c, watts in points)
    label = f"The inverter carries for hours {told}."
    if plan_c is not None:
        label += (
            f" {words.plan[0].upper()}{words.plan[1:]} it is {words.degrees(plan_c[0])} to {words.degrees(plan_c[1])}."
        )
    scale = Scale(points, plan_c)
    plot = strip_svg(0, PLOT_PX, high_px, _plot(points, scale, words, plan_c))
    return picture_svg("derating", label, high_px, plot, strip_svg(PLOT_PX, AXIS_PX, high_px, _axis(scale, words)))


class Scale:
    """From degrees and watts to shares of the drawing."""

    def __init__(self, points: Points, plan_c: tuple[float, float] | None) -> None:
        around_c = plan_c or (COLDEST_C, WARMEST_C)
        self.first_c = min(COLDEST_C, points[0][0], around_c[0])
        self.last_c = max(WARMEST_C, points[-1][0], around_c[1])
        self.drawn = max(watts for _, watts in points)

    def x(self, at_c: float) -> float:
        """Share of the width."""
        return (at_c - self.first_c) / (self.last_c - self.first_c)

    def y(self, watts: float) -> float:
        """Share of the height, from the top."""
        return 1 - watts / (self.drawn * HEADROOM)


def _plot(points: Points, scale: Scale, words: DeratingWords, plan_c: tuple[float, float] | None) -> str:
    levels = round_levels(scale.drawn, 3)
    corners = [(0.0, points[0][1]), *((scale.x(at_c), watts) for at_c, watts in points), (1.0, points[-1][1])]
    drawn = [grid_svg([scale.y(one) for one in (0, *levels)])]
    if plan_c is not None:
        left, right = (scale.x(one) for one in plan_c)
        wide = percent(max(right - left, 0.006))
        drawn.append(f'<rect class="plan-warmth" x="{percent(left)}" width="{wide}" y="0" height="100%"/>')
    path = "L".join(f"{x * WIDE:.0f},{scale.y(watts) * PLOT_PX:.1f}" for x, watts in corners)
    drawn.append(inner(PLOT_PX, f'<path class="carried" d="M{path}"/>'))
    for at_c, watts in points:
        x, y = percent(scale.x(at_c)), percent(scale.y(watts))
        drawn.append(f'<circle class="known" cx="{x}" cy="{y}" r="{DOT_PX}"/>')
    for face in FACES:
        drawn.append(levels_beside(face, PLOT_PX, "kW", [(one, scale.y(one)) for one in levels]))
        labels = Labels(face, PLOT_PX, spare_px=3)
        _keep_off(labels, corners, scale)
        for at_c, watts in points:
            labels.place(words.quantity(watts, "W"), NAME, _at(scale.x(at_c), scale.y(watts) * PLOT_PX))
        if plan_c is not None:
            left, right = (scale.x(one) for one in plan_c)
            ends = (((left + right) / 2, 0, "middle"), (left, 2, "start"), (right, -2, "end"))
            labels.place(words.plan, FIGURE, [Spot(x, dx_px, PLOT_PX - 6, anchor) for x, dx_px, anchor in ends])
        drawn.append(labels.svg())
    return "".join(drawn)


def _at(x: float, y_px: float) -> list[Spot]:
    """Places over a point of the curve, then under it."""
    return [Spot(x, 0, y_px + down_px, anchor) for down_px in (-7, 17, 30) for anchor in ("middle", "start", "end")]


def _keep_off(labels: Labels, corners: list[tuple[float, float]], scale: Scale) -> None:
    """Texts stay off the curve, a slanted part piece by piece."""
    for (left, left_w), (right, right_w) in pairwise(corners):
        begin_px, end_px = scale.y(left_w) * PLOT_PX, scale.y(right_w) * PLOT_PX
        for part in range(PARTS):
            shares = part / PARTS, (part + 1) / PARTS
            x1, x2 = (left + (right - left) * share for share in shares)
            top_px, bottom_px = sorted(begin_px + (end_px - begin_px) * share for share in shares)
            labels.block(x1, x2, top_px - 2, bottom_px + 2)


def _axis(scale: Scale, words: DeratingWords) -> str:
    degrees_c = [float(one) for one in range(-80, 121, STEP_C) if scale.first_c <= one <= scale.last_c]
    drawn = [tick_svg(scale.x(one)) for one in degrees_c]
    for face in FACES:
        labels = Labels(face, AXIS_PX, spare_px=3)
        for one in (*degrees_c[::2], *degrees_c[1::2]):
            x = scale.x(one)
            anchor = "start" if x < 0.02 else "end" if x > 0.98 else "middle"
            labels.place(words.degrees(one), HOUR, [Spot(x, 0, 16, anchor)])
        drawn.append(labels.svg())
    return "".join(drawn)
