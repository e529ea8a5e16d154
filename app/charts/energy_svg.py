"""Sun and bank drawn as SVG, in the manner of the day's chart: stretched shapes, texts that are not."""

from collections.abc import Iterable, Sequence
from html import escape
from itertools import groupby

import numpy as np

from app.charts.energy import Bar, EnergyChart, Extreme
from app.charts.labels import Face, Labels, Spot, around, text_width_px
from app.charts.lines import POINTS, block_line, limit_path, on_line
from app.charts.shapes import WIDE, grid_levels, grid_svg, inner, percent
from app.charts.svg import DAY_FACES, LABEL_FROM, LABEL_WIDE, LEVEL, PEAK, VALUE, WORDS
from app.engine.results import Floats

CHARGE_HIGH, SUN_HIGH = 300, 150
CHARGE_PX, SUN_PX = 84, 44
OVER_PX = 8
FULL = 1.05  # what the upper edge of the charge stands for, so that a full bank's line is whole
LEVELS = (0.5, 1.0)  # of the charge
HEADROOM = 1.14
GAP = 3  # between bars, in units of the drawing
BLOCKS, SUN_BLOCKS = 24, 18  # areas that keep texts off the charge's line and off the bars
LOW = 0.3  # a charge from which the ground is near enough to say it there
RUNS_HIGH = 16  # of the generator's bar


def charge_svg(chart: EnergyChart, label: str, reserve_words: str, lowest_words: str, highest_words: str) -> str:
    """The charge as a line over its reserve, below which the ground is shaded, and when the generator runs.

    label: what a screen reader says of it. reserve_words, lowest_words, highest_words: what stands at line and points.
    """
    y = 1 - chart.charge / FULL
    reserve_y = 1 - chart.reserve / FULL
    reserve_row = round(reserve_y * CHARGE_HIGH)
    tops_px, bottoms_px = _taken(chart)
    taken = (tops_px.tolist(), bottoms_px.tolist())
    points = (chart.lowest, chart.highest) if _is_worth_two(chart) else (chart.lowest,)
    return "".join(
        [
            f'<svg class="plot charge" width="100%" role="img" aria-label="{escape(label)}">',
            grid_svg([*(1 - level / FULL for level in LEVELS), 1]),
            _midnight(chart),
            inner(
                CHARGE_HIGH,
                f'<path class="forbidden" d="M0,{reserve_row}H{WIDE}V{CHARGE_HIGH}H0z"/>',
                _below(chart, y, reserve_y),
                _generator(chart),
                limit_path(np.full(len(POINTS), reserve_y), CHARGE_HIGH),
                f'<path class="charge-line" d="{_line(chart.at, y)}"/>',
            ),
            *(_point(chart, point) for point in points),
            *(_charge_texts(chart, face, taken, (reserve_words, lowest_words, highest_words)) for face in DAY_FACES),
            "</svg>",
        ]
    )


def sun_svg(chart: EnergyChart, label: str, spare_words: str = "") -> str:
    """The sun in bars of half an hour: filled what is used, hollow on top of it what is to spare.

    label: what a screen reader says of it. spare_words: what stands beside the longest stretch with sun to spare.
    """
    top_w = HEADROOM * max(chart.most_w, 1.0)
    levels = grid_levels(top_w)[-1:]
    return "".join(
        [
            f'<svg class="plot sun" width="100%" role="img" aria-label="{escape(label)}">',
            grid_svg([*(1 - level / top_w for level in levels), 1]),
            _midnight(chart),
            inner(SUN_HIGH, *_bars(chart.bars, top_w)),
            *(_sun_texts(chart, face, top_w, levels, spare_words) for face in DAY_FACES),
            "</svg>",
        ]
    )


def _is_worth_two(chart: EnergyChart) -> bool:
    """Whether highest and lowest are told apart."""
    return chart.highest.charge - chart.lowest.charge >= 0.01


def _line(at: Floats, y: Floats) -> str:
    """A line through points, those on a level between two others left out."""
    rows = np.rint(y * CHARGE_HIGH).astype(np.int64).tolist()
    across = np.rint(at * WIDE).astype(np.int64).tolist()
    last = len(rows) - 1
    return "M" + "L".join(
        f"{x},{row}"
        for place, (x, row) in enumerate(zip(across, rows, strict=True))
        if place in (0, last) or not rows[place - 1] == row == rows[place + 1]
    )


def _below(chart: EnergyChart, y: Floats, reserve_y: float) -> str:
    """What is missing to the reserve, filled."""
    if not (chart.charge < chart.reserve).any():
        return ""
    row = round(reserve_y * CHARGE_HIGH)
    first = round(float(chart.at[0]) * WIDE)
    return f'<path class="above s-over" d="{_line(chart.at, np.maximum(y, reserve_y))}V{row}H{first}z"/>'


def _generator(chart: EnergyChart) -> str:
    """A bar on the ground for each time it runs; never too narrow to be seen."""
    top = CHARGE_HIGH - RUNS_HIGH
    spells = []
    for one in chart.generator:
        left = min(round(one.from_share * WIDE), WIDE - 3)
        wide = max(round(one.to_share * WIDE) - left, 3)
        spells.append(f"M{left},{top}h{wide}V{CHARGE_HIGH}h-{wide}z")
    return f'<path class="generator" d="{"".join(spells)}"/>' if spells else ""


def _point(chart: EnergyChart, point: Extreme) -> str:
    x, y = percent(chart.share(point.at_ms)), percent(1 - point.charge / FULL)
    return f'<circle class="head itself" cx="{x}" cy="{y}" r="3.5"/>'


def _midnight(chart: EnergyChart) -> str:
    x = percent(chart.day_ms / chart.horizon_ms)
    return f'<line class="midnight" x1="{x}" x2="{x}" y1="0" y2="100%"/>'


def _charge_texts(
    chart: EnergyChart, face: Face, taken: tuple[list[float], list[float]], said: tuple[str, str, str]
) -> str:
    reserve_words, lowest_words, highest_words = said
    labels = Labels(face, CHARGE_PX, OVER_PX)
    reserve_px = (1 - chart.reserve / FULL) * CHARGE_PX
    reserve_line_px = np.full(len(POINTS), reserve_px)
    block_line(labels, reserve_line_px)
    for number, (top_px, bottom_px) in enumerate(zip(*taken, strict=True)):
        labels.block(number / BLOCKS, (number + 1) / BLOCKS, top_px, bottom_px)
    points = [(chart.lowest, lowest_words)]
    if _is_worth_two(chart):
        points.append((chart.highest, highest_words))
    for point, words in points:
        x, point_px = chart.share(point.at_ms), (1 - point.charge / FULL) * CHARGE_PX
        under = [
            Spot(x, dx_px, point_px + away_px, anchor)
            for away_px in (17, 24, 32)
            for dx_px, anchor in ((0, "middle"), (6, "start"), (-6, "end"))
        ]
        over = [*around(x, point_px, 7), Spot(x, 4, point_px - 7, "start"), Spot(x, -4, point_px - 7, "end")]
        # A charge near nothing has room on the ground beside it.
        beside = [
            Spot(x, side * dx_px, CHARGE_PX - 4, anchor)
            for dx_px in (8, 20, 36, 52)
            for side, anchor in ((1, "start"), (-1, "end"))
        ]
        labels.place(words, PEAK, [*under, *over, *(beside if point.charge < LOW else ())])
    spots: Iterable[Spot]
    if face.right_px:
        spots = [Spot(1, 8, reserve_px + 4, "start")]
    else:
        right, left = chart.charge[chart.at >= 1 - LABEL_WIDE], chart.charge[chart.at <= LABEL_WIDE]
        wide_px = text_width_px(reserve_words, WORDS)
        at_right = bool(right.min() >= left.min(initial=1.0)) if len(left) else False
        spots = on_line(labels, reserve_line_px, wide_px, LABEL_FROM, at_right=at_right)
    labels.place(reserve_words, WORDS, spots)
    for one in chart.generator[:3]:
        if labels.place("generator", VALUE, [Spot(one.to_share, 4, CHARGE_PX - 1, "start")]):
            break
    for level in LEVELS:
        level_px = (1 - level / FULL) * CHARGE_PX
        spot = Spot(0, -8, level_px + 4, "end") if face.left_px else Spot(0, 2, level_px + 11, "start")
        labels.place(f"{level * 100:.0f}\u00a0%", LEVEL, [spot])
    return labels.svg()


def _taken(chart: EnergyChart) -> tuple[Floats, Floats]:
    """Upper and lower end of the charge's line in each of `BLOCKS` areas, in pixels from the top."""
    y_px = (1 - np.interp(np.linspace(0, 1, BLOCKS * 6 + 1), chart.at, chart.charge) / FULL) * CHARGE_PX
    parts = y_px[:-1].reshape(BLOCKS, 6)
    return np.minimum(parts.min(axis=1), y_px[6::6]) - 1.5, np.maximum(parts.max(axis=1), y_px[6::6]) + 1.5


def _bars(bars: Sequence[Bar], top_w: float) -> tuple[str, str]:
    used, spare = [], []
    for bar in bars:
        left, wide = round(bar.from_share * WIDE), round((bar.to_share - bar.from_share) * WIDE) - GAP
        foot = round((1 - bar.used_w / top_w) * SUN_HIGH)
        top = round((1 - (bar.used_w + bar.spare_w) / top_w) * SUN_HIGH)
        if foot < SUN_HIGH:
            used.append(f"M{left},{SUN_HIGH}V{foot}h{wide}V{SUN_HIGH}z")
        if top < foot:
            spare.append(f"M{left},{foot}V{top}h{wide}V{foot}z")
    return f'<path class="sun-spare" d="{"".join(spare)}"/>', f'<path class="sun-used" d="{"".join(used)}"/>'


def _sun_texts(chart: EnergyChart, face: Face, top_w: float, levels: Sequence[int], spare_words: str) -> str:
    labels = Labels(face, SUN_PX, OVER_PX)
    for _, group in groupby(chart.bars, key=lambda bar: int(bar.from_share * SUN_BLOCKS)):
        bars = list(group)
        most_w = max(bar.used_w + bar.spare_w for bar in bars)
        labels.block(bars[0].from_share, bars[-1].to_share, (1 - most_w / top_w) * SUN_PX - 1, SUN_PX)
    if spare_words and chart.spare is not None:
        left, right = chart.spare
        spots = [Spot(right, 6, y_px, "start") for y_px in (SUN_PX - 6, 22, 12)]
        spots += [Spot(left, -6, y_px, "end") for y_px in (12, 4)]
        labels.place(spare_words, VALUE, spots)
    for level in levels:
        level_px = (1 - level / top_w) * SUN_PX
        spot = Spot(0, -8, level_px + 4, "end") if face.left_px else Spot(0, 2, level_px + 11, "start")
        labels.place(f"{level / 1000:g}\u00a0kW", LEVEL, [spot])
    return labels.svg()
