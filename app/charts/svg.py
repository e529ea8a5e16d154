"""The day's chart drawn as SVG, to be scaled to any width without a script and without inline styles."""

from collections.abc import Sequence
from html import escape

import numpy as np

from app.charts.columns import area_path, columns, heights, line_path
from app.charts.day import DayChart, Start, Tick
from app.charts.labels import Face, Labels, Lettering, Spot, around, box_px, text_width_px
from app.charts.lines import block_line, limit_path, on_line, points_of
from app.charts.shapes import WIDE, grid_levels, grid_svg, hatch_svg, inner, mark_path, percent, pins_svg, stack_svg
from app.engine.results import Floats

__all__ = ["WIDE", "axis_svg", "demand_svg", "hatch_svg", "starts_svg"]

HIGH = 400
STRIP_HIGH = 120
PINS = 160  # starts nearer to each other than this part of the width share one pin, the largest
PIN_PX = 3  # how far to the side its head reaches
HEADROOM = 1.14

# A phone has no room outside the drawing, a desk has: names of strips at the left, of limits at the right. Where
# text is as large as twice the usual, a phone is as wide as half of one.
TIGHT = Face("tight", (136, 276))
INSIDE = Face("inside", (276, 720))
BESIDE = Face("beside", (276, 1100), left_px=44, right_px=132)
DAY_FACES = (TIGHT, INSIDE, BESIDE)
DEMAND_PX = {"tight": 176, "inside": 176, "beside": 216}
STARTS_PX = {"tight": 62, "inside": 62, "beside": 76}
AXIS_PX = 22
OVER_PX = 8  # texts of the strip of starts may stand so far over its upper edge

WORDS, VALUE = Lettering("words", 12, bold=True), Lettering("value", 11.5)
LEVEL, PEAK = Lettering("grid-level", 11.5), Lettering("peak", 11.5, bold=True)
LABEL_FROM, LABEL_WIDE = 0.12, 0.42  # where words begin at the left, and what they take of a phone


def demand_svg(chart: DayChart, label: str, limit_words: str, limit_value: str, peak_words: str = "") -> str:
    """The stack: certain solid, what comes and goes hatched, the worst as a line, the limit dashed.

    label: what a screen reader says of it. limit_words, limit_value: what stands on the limit line, and
    beside it where there is room. peak_words: what stands at the highest draw.
    """
    top_w = HEADROOM * max(float(chart.worst_w.max()), float(chart.limit_w.max()), 1.0)
    blocks = columns(chart, WIDE)
    hatched, solid = stack_svg(chart.layers, blocks, top_w, HIGH, "cut")
    worst = heights(chart.worst_w[blocks.stretch], top_w, HIGH)
    low, high = (heights(one[blocks.stretch], top_w, HIGH) for one in (chart.low_w, chart.high_w))
    nearly_always = area_path(low, high, blocks.begin, blocks.end)
    middles_ms = (blocks.begin + blocks.end) * (chart.horizon_ms / WIDE / 2)
    limit = heights(np.interp(middles_ms, chart.edges_ms, chart.limit_w), top_w, HIGH)
    above = area_path(limit, np.minimum(limit, worst), blocks.begin, blocks.end)
    y = 1 - points_of(chart.edges_ms, chart.limit_w) / top_w
    levels = grid_levels(top_w)
    return "".join(
        [
            f'<svg class="plot demand" width="100%" role="img" aria-label="{escape(label)}">',
            grid_svg([*(1 - level / top_w for level in levels), 1]),
            _midnight(chart),
            inner(HIGH, _mark(chart, HIGH)),
            hatched,
            inner(
                HIGH,
                solid,
                f'<path class="nearly" d="{nearly_always}"/>' if nearly_always else "",
                f'<path class="above s-{chart.above}" d="{above}"/>' if above else "",
                f'<path class="worst" d="{line_path(worst, blocks.begin, blocks.end)}"/>',
                limit_path(y, HIGH),
            ),
            *(_demand_texts(chart, face, top_w, y, limit_words, limit_value, peak_words) for face in DAY_FACES),
            "</svg>",
        ]
    )


def starts_svg(chart: DayChart, label: str, limit_words: str, limit_value: str, largest_words: str = "") -> str:
    """The strip of starts: pins from what runs before to the total, in volt-amperes, and their own limit.

    label, limit_words, limit_value: as for the demand. largest_words: what stands at the largest start.
    """
    starts = _thinned(chart)
    largest = max(starts, key=lambda start: start.total_va, default=None)
    top_va = HEADROOM * max(float(chart.start_limit_va.max()), largest.total_va if largest else 0, 1.0)
    pins, heads = pins_svg(
        [
            (start.at_ms / chart.horizon_ms, 1 - start.before_va / top_va, 1 - start.total_va / top_va, start)
            for start in starts
        ],
        STRIP_HIGH,
        largest,
    )
    y = 1 - points_of(chart.edges_ms, chart.start_limit_va) / top_va
    return "".join(
        [
            f'<svg class="plot starts" width="100%" role="img" aria-label="{escape(label)}">',
            grid_svg([1]),
            _midnight(chart),
            inner(
                STRIP_HIGH,
                _mark(chart, STRIP_HIGH),
                pins,
                limit_path(y, STRIP_HIGH),
            ),
            heads,
            *(
                _starts_texts(chart, face, top_va, y, starts, largest, limit_words, limit_value, largest_words)
                for face in DAY_FACES
            ),
            "</svg>",
        ]
    )


def axis_svg(chart: DayChart, next_day: str, changes: Sequence[int] = ()) -> str:
    """The hours under everything that shares the axis; midnight carries the next day's name.

    changes: instants at which clocks are put forward or back, to be marked.
    """
    return "".join(
        [
            '<svg class="plot axis" width="100%" aria-hidden="true">',
            *(_tick(chart, tick, next_day) for tick in chart.ticks),
            *(_change(chart, at_ms) for at_ms in changes),
            "</svg>",
        ]
    )


def _demand_texts(
    chart: DayChart, face: Face, top_w: float, y: Floats, limit_words: str, limit_value: str, peak_words: str
) -> str:
    high_px = DEMAND_PX[face.name]
    labels = Labels(face, high_px)
    block_line(labels, y * high_px)
    # The words stand at that end of the day where less is drawn.
    share = chart.edges_ms[:-1] / chart.horizon_ms
    right_w = chart.worst_w[share >= 1 - LABEL_WIDE].max(initial=0)
    left_w = chart.worst_w[(share >= LABEL_FROM) & (share <= LABEL_FROM + LABEL_WIDE)].max(initial=0)
    _limit_texts(labels, y * high_px, limit_words, limit_value, at_right=bool(right_w <= left_w))
    if peak_words:
        peak = int(np.argmax(chart.worst_w))
        middle = float(chart.edges_ms[peak] + chart.edges_ms[peak + 1]) / 2 / chart.horizon_ms
        peak_px = (1 - float(chart.worst_w[peak]) / top_w) * high_px
        labels.place(peak_words, PEAK, around(middle, peak_px, 6))
    for level in grid_levels(top_w):
        level_px = (1 - level / top_w) * high_px
        spot = Spot(0, -8, level_px + 4, "end") if face.left_px else Spot(0, 2, level_px - 4, "start")
        labels.place(f"{level / 1000:g} kW", LEVEL, [spot])
    return labels.svg()


def _starts_texts(
    chart: DayChart,
    face: Face,
    top_va: float,
    y: Floats,
    starts: list[Start],
    largest: Start | None,
    limit_words: str,
    limit_value: str,
    largest_words: str,
) -> str:
    high_px = STARTS_PX[face.name]
    labels = Labels(face, high_px, OVER_PX)
    block_line(labels, y * high_px)
    early = largest is None or largest.at_ms < chart.horizon_ms / 2
    pins = [(start.at_ms / chart.horizon_ms, (1 - start.total_va / top_va) * high_px - 3) for start in starts]
    _limit_texts(labels, y * high_px, limit_words, limit_value, at_right=early, pins=pins)
    if largest_words and largest is not None:
        x, head_px = largest.at_ms / chart.horizon_ms, (1 - largest.total_va / top_va) * high_px
        for share, pin_px in pins:
            labels.block(share, share, pin_px, high_px, spare_px=PIN_PX)
        labels.place(largest_words, PEAK, around(x, head_px, 8))
    return labels.svg()


def _limit_texts(
    labels: Labels, y_px: Floats, words: str, value: str, *, at_right: bool, pins: Sequence[tuple[float, float]] = ()
) -> None:
    """A limit's words on its line; in the room at the right of the drawing if there is some, its value with them.

    pins: where they stand and how high they reach: words cover none, or as few as can be.
    """
    end_px = float(y_px[-1])
    if labels.face.right_px:
        for above_px in (-4, -11, 7):
            if labels.place(words, WORDS, [Spot(1, 8, end_px - above_px, "start")]):
                labels.place(value, VALUE, [Spot(1, 8, end_px - above_px + side_px, "start") for side_px in (15, -15)])
                return
    wide_px = text_width_px(words, WORDS)

    def covered(spot: Spot) -> int:
        found = 0
        for width_px in labels.face.widths_px if pins else ():
            left, _, right, bottom = box_px(wide_px, WORDS, spot, width_px)
            found += sum(left - PIN_PX < x * width_px < right + PIN_PX and top < bottom for x, top in pins)
        return found

    spots = list(on_line(labels, y_px, wide_px, LABEL_FROM, at_right=at_right))
    labels.place(words, WORDS, sorted(spots, key=covered))


def _mark(chart: DayChart, high: int) -> str:
    mark = chart.mark
    return mark_path(chart.at_share(mark.from_ms), chart.at_share(mark.to_ms), mark.verdict, high) if mark else ""


def _midnight(chart: DayChart) -> str:
    x = percent(chart.day_ms / chart.horizon_ms)
    return f'<line class="midnight" x1="{x}" x2="{x}" y1="0" y2="100%"/>'


def _tick(chart: DayChart, tick: Tick, next_day: str) -> str:
    x = tick.at_ms / chart.horizon_ms
    anchor = "start" if x < 0.01 else "end" if x > 0.99 else "middle"
    kind = "hour midnight-hour" if tick.midnight else "hour" if tick.hour % 6 == 0 else "hour minor"
    words = next_day if tick.midnight else f"{tick.hour:02d}"
    at = percent(x)
    return (
        f'<line class="{kind}" x1="{at}" x2="{at}" y1="0" y2="4"/>'
        f'<text class="{kind}" x="{at}" y="{percent(16 / AXIS_PX)}" text-anchor="{anchor}">{escape(words)}</text>'
    )


def _change(chart: DayChart, at_ms: int) -> str:
    at = percent(chart.at_share(at_ms))
    return f'<line class="change" x1="{at}" x2="{at}" y1="0" y2="{percent(16 / AXIS_PX)}"/>'


def _thinned(chart: DayChart) -> list[Start]:
    """One start for each place on the strip, the largest, in order of time."""
    best: dict[tuple[int, bool], Start] = {}
    for start in chart.starts:
        place = (int(start.at_ms / chart.horizon_ms * PINS), start.scheduled)
        if place not in best or start.total_va > best[place].total_va:
            best[place] = start
    return sorted(best.values(), key=lambda start: start.at_ms)
