"""Plans over one time axis, drawn: the first as an area, the others as lines, each told by its letter and dashes."""

from collections.abc import Callable, Sequence
from html import escape

import numpy as np

from app.charts.columns import columns, heights, line_path
from app.charts.day import Start
from app.charts.labels import Face, Labels, Lettering, Spot, around, text_width_px
from app.charts.lines import block_line, limit_path, on_line, points_of
from app.charts.shapes import WIDE, grid_levels, grid_svg, inner, percent
from app.charts.side_by_side import HOURS, PlanLine
from app.engine.results import Floats

HIGH, STARTS_HIGH = 400, 160
HEADROOM, STARTS_HEADROOM = 1.16, 1.42
DOT_PX, NEAR_H = 5, 0.75  # of a pin's head; nearer pins of a plan are told once
SPARE_PX = 16  # two texts in a wide font take so much more than estimated
RAISED_PX = 10  # how far one goes out of another's way
FACES = (Face("tight", (136, 276)), Face("inside", (276, 720)), Face("beside", (276, 1100), left_px=44, right_px=20))
DEMAND_PX = {"tight": 190, "inside": 190, "beside": 280}
STARTS_PX = {"tight": 96, "inside": 96, "beside": 120}
AXIS_PX = 22
WORDS, LEVEL, PEAK = (
    Lettering("words", 12, bold=True),
    Lettering("grid-level", 11.5),
    Lettering("peak", 11.5, bold=True),
)

Limit = tuple[str, Floats, Floats]  # letters of the plans that have it, edges in hours, its value at them
LimitWords = Callable[[float, str, str], str]  # a limit's value, its unit, the letters of the plans that have it


def side_demand_svg(lines: Sequence[PlanLine], label: str, words: LimitWords) -> str:
    """The highest draw of each plan. label: what a screen reader says. words: what stands on a limit line."""
    top_w = HEADROOM * max(
        *(float(one.worst_w.max()) for one in lines), *(float(one.limit_w.max()) for one in lines), 1.0
    )
    shapes = []
    for place, one in enumerate(lines):
        blocks = columns(one, WIDE)
        path = line_path(heights(one.worst_w[blocks.stretch], top_w, HIGH), blocks.begin, blocks.end)
        if place == 0:
            shapes.append(f'<path class="plan-a-area" d="{path}V{HIGH}H0z"/>')
        shapes.append(f'<path class="plan-line plan-{one.letter.lower()}" d="{path}"/>')
    limits = _distinct([(one.letter, one.edges_h, one.limit_w) for one in lines])
    peaks = _peaks(lines, top_w)
    texts = []
    for face in FACES:
        labels = Labels(face, DEMAND_PX[face.name])
        _block_limits(labels, limits, top_w, DEMAND_PX[face.name])
        for letters, x, y in peaks:
            labels.place(letters, PEAK, around(x, y * DEMAND_PX[face.name], 5))
        _limit_texts(labels, limits, top_w, DEMAND_PX[face.name], "W", words)
        _levels(labels, face, grid_levels(top_w), top_w, DEMAND_PX[face.name], "kW")
        texts.append(labels.svg())
    drawn = [limit_path(1 - points_of(edges, line) / top_w, HIGH) for _, edges, line in limits]
    return _svg("demand", label, [1 - level / top_w for level in grid_levels(top_w)], HIGH, [*shapes, *drawn], texts)


def side_starts_svg(lines: Sequence[PlanLine], label: str, words: LimitWords, kva: Callable[[float], str]) -> str:
    """The hardest starts of each plan, told by its letter. kva: a start's total in words."""
    largest = max((start.total_va for one in lines for _, start, _ in one.starts), default=0.0)
    top_va = STARTS_HEADROOM * max(largest, *(float(one.start_limit_va.max()) for one in lines), 1.0)
    pins, heads = [], []
    for one in lines:
        for hour, start, only_here in one.starts:
            x, y = hour / HOURS, 1 - start.total_va / top_va
            column, row = int(x * WIDE + 0.5), int(y * STARTS_HIGH + 0.5)
            pins.append(f'<path class="pin plan-{one.letter.lower()}" d="M{column},{STARTS_HIGH}V{row}"/>')
            kind = f"dots plan-{one.letter.lower()} s-{start.verdict}"
            heads.append(f'<path class="{kind}" d="M{column},{row}h0"/>')
            if not only_here:
                heads.append(f'<path class="{kind} middle" d="M{column},{row}h0"/>')
    limits = _distinct([(one.letter, one.edges_h, one.start_limit_va) for one in lines])
    texts = [_starts_texts(face, lines, limits, top_va, words, kva) for face in FACES]
    drawn = [*pins, *(limit_path(1 - points_of(edges, line) / top_va, STARTS_HIGH) for _, edges, line in limits)]
    return _svg("starts", label, [1], STARTS_HIGH, drawn, texts, inner(STARTS_HIGH, *heads))


def side_axis_svg(next_day: str) -> str:
    """The hours of the clock's face under both. next_day: of its words a narrow drawing shows the first alone."""
    first, _, others = next_day.partition(" ")
    midnight = escape(first) + (f'<tspan class="spelled"> {escape(others)}</tspan>' if others else "")
    ticks = []
    for hour in range(0, HOURS + 1, 3):
        at = percent(hour / HOURS)
        kind = "hour midnight-hour" if hour == 24 else "hour" if hour % 6 == 0 else "hour minor"
        if hour % 12 == 6:
            kind = "hour between"
        anchor = "start" if hour == 0 else "end" if hour == HOURS else "middle"
        words = midnight if hour == 24 else f"{hour % 24:02d}"
        ticks.append(
            f'<line class="{kind}" x1="{at}" x2="{at}" y1="0" y2="4"/>'
            f'<text class="{kind}" x="{at}" y="{percent(16 / AXIS_PX)}" text-anchor="{anchor}">{words}</text>'
        )
    return f'<svg class="plot axis" width="100%" aria-hidden="true">{"".join(ticks)}</svg>'


def _svg(
    kind: str, label: str, grid: Sequence[float], high: int, shapes: Sequence[str], texts: Sequence[str], over: str = ""
) -> str:
    midnight = percent(24 / HOURS)
    return (
        f'<svg class="plot {kind}" width="100%" role="img" aria-label="{escape(label)}">{grid_svg([*grid, 1])}'
        f'<line class="midnight" x1="{midnight}" x2="{midnight}" y1="0" y2="100%"/>'
        f"{inner(high, *shapes)}{over}{''.join(texts)}</svg>"
    )


def _starts_texts(
    face: Face,
    lines: Sequence[PlanLine],
    limits: Sequence[Limit],
    top_va: float,
    words: LimitWords,
    kva: Callable[[float], str],
) -> str:
    """Words of starts and limits; where they would meet on a phone, those of the starts stand higher."""
    high_px = STARTS_PX[face.name]
    tried = []
    for raised_px in (0, RAISED_PX):
        labels = Labels(face, high_px, 8, 0 if face.left_px else SPARE_PX)
        _block_limits(labels, limits, top_va, high_px)
        _pin_texts(labels, lines, top_va, high_px, kva, raised_px)
        all_said = _limit_texts(labels, limits, top_va, high_px, "VA", words)
        tried.append(labels.svg())
        if all_said:
            return tried[-1]
    return tried[0]


def _block_limits(labels: Labels, limits: Sequence[Limit], top: float, high_px: float) -> None:
    """Keep every text off the limit lines."""
    for _, edges, line in limits:
        block_line(labels, (1 - points_of(edges, line) / top) * high_px)


def _pin_texts(
    labels: Labels,
    lines: Sequence[PlanLine],
    top_va: float,
    high_px: float,
    kva: Callable[[float], str],
    raised_px: float,
) -> None:
    """The hardest start of each plan with its figure, its others by their letter, as far as there is room.

    raised_px: how much higher than usual those with figures stand, where they can.
    """

    def y_px(start: Start) -> float:
        return (1 - start.total_va / top_va) * high_px

    for one in lines:
        for hour, start, _ in one.starts:
            labels.block(hour / HOURS, hour / HOURS, y_px(start) - DOT_PX, y_px(start) + DOT_PX, DOT_PX)
    for letters, hour, start in _met([(one.letter, *one.starts[0][:2]) for one in lines if one.starts]):
        spots = _by_pin(hour / HOURS, y_px(start))
        if raised_px:
            spots.insert(0, Spot(hour / HOURS, 0, spots[0].y_px - raised_px, "middle"))
        if not labels.place(f"{letters} {kva(start.total_va)}", PEAK, spots):
            labels.place(letters, PEAK, spots)
    for one in lines:
        told_at = [hour for hour, _, _ in one.starts[:1]]
        for hour, start, _ in one.starts[1:]:
            if all(abs(hour - other) > NEAR_H for other in told_at):
                told_at.append(hour)
                labels.place(one.letter, PEAK, _by_pin(hour / HOURS, y_px(start)))


def _peaks(lines: Sequence[PlanLine], top_w: float) -> list[tuple[str, float, float]]:
    """Where each plan draws most, as shares of the width and from the top; plans that meet there once."""
    found: dict[tuple[float, float], str] = {}
    for one in lines:
        peak = int(np.argmax(one.worst_w))
        x = float(one.edges_h[peak] + one.edges_h[peak + 1]) / 2 / HOURS
        key = round(x, 3), round(1 - float(one.worst_w[peak]) / top_w, 3)
        found[key] = f"{found[key]}, {one.letter}" if key in found else one.letter
    return [(letters, x, y) for (x, y), letters in found.items()]


def _by_pin(x: float, y_px: float) -> list[Spot]:
    """Places for a pin's words: round its head, then a line lower."""
    away_px = DOT_PX + 3
    return [
        *around(x, y_px, away_px),
        Spot(x, away_px, y_px + 22, "start"),
        Spot(x, -away_px, y_px + 22, "end"),
    ]


def _met(starts: Sequence[tuple[str, float, Start]]) -> list[tuple[str, float, Start]]:
    """Starts that are alike in several plans, once, with the letters of all of them."""
    found: dict[tuple[int, int], tuple[str, float, Start]] = {}
    for letter, hour, start in starts:
        key = round(hour / NEAR_H), round(start.total_va / 50)
        letters = f"{found[key][0]}, {letter}" if key in found else letter
        found[key] = (letters, hour, start)
    return list(found.values())


def _limit_texts(
    labels: Labels, limits: Sequence[Limit], top: float, high_px: float, unit: str, words: LimitWords
) -> bool:
    """What stands on the limit lines: once for each value, with the letters of the plans where they differ.

    Whether all found a place.
    """
    shares = [1 - points_of(edges, line) / top for _, edges, line in limits]
    plain = [words(float(line.max()), unit, "") for _, _, line in limits]
    all_said = True
    for said in dict.fromkeys(plain):
        mine = [place for place, one in enumerate(plain) if one == said]
        letters = "".join(limits[place][0] for place in mine)
        whose = letters if len(mine) < len(plain) else ""
        text = words(float(limits[mine[0]][2].max()), unit, whose)
        spots = on_line(labels, shares[mine[0]] * high_px, text_width_px(text, WORDS), 0.0, at_right=False)
        all_said = labels.place(text, WORDS, spots) and all_said
    return all_said


def _levels(labels: Labels, face: Face, levels: Sequence[int], top: float, high_px: float, unit: str) -> None:
    for level in levels:
        y_px = (1 - level / top) * high_px
        spot = Spot(0, -8, y_px + 4, "end") if face.left_px else Spot(0, 2, y_px - 4, "start")
        labels.place(f"{level / 1000:g} {unit}", LEVEL, [spot])


def _distinct(lines: Sequence[Limit]) -> list[Limit]:
    """Lines that differ anywhere, each with the letters of the plans that have it."""
    points = np.linspace(0, HOURS, 73)
    found: list[Limit] = []
    for letter, edges, line in lines:
        mine = np.interp(points, edges, line)
        for place, (letters, other_edges, other) in enumerate(found):
            if np.abs(np.interp(points, other_edges, other) - mine).max() < 0.005 * max(float(mine.max()), 1.0):
                found[place] = (f"{letters}{letter}", other_edges, other)
                break
        else:
            found.append((letter, edges, line))
    return found
