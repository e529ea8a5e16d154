"""The day's chart drawn as SVG, to be scaled to any width without a script and without inline styles.

Shapes lie in a stretched inner drawing of whole units; texts and round marks stand at percentages, so that
they keep their size and shape. Colours are the stylesheet's: a class says what a shape is.
"""

import math
from html import escape

import numpy as np

from app.charts.columns import Columns, area_path, columns, heights, line_path
from app.charts.day import DayChart, Start, Tick
from app.engine.results import Floats

WIDE = 1440
HIGH = 400
STRIP_HIGH = 120
NEAR = 0.08  # share of the drawing's height between two texts that would touch
PINS = 160  # starts nearer to each other than this part of the width share one pin, the largest
HEADROOM = 1.14
LABEL_FROM, LABEL_WIDE = (
    0.12,
    0.42,
)  # where the limit's words begin at the left, and what they take of a phone


def demand_svg(chart: DayChart, label: str, limit_words: str, limit_value: str) -> str:
    """The stack: certain solid, what comes and goes hatched, the worst as a line, the limit dashed.

    label: what a screen reader says of it. limit_words, limit_value: what stands on the limit line, and
    under it where there is room.
    """
    top_w = HEADROOM * max(float(chart.worst_w.max()), float(chart.limit_w.max()), 1.0)
    blocks = columns(chart, WIDE)
    solid, hatched = _stack(chart, blocks, top_w)
    worst = heights(chart.worst_w[blocks.stretch], top_w, HIGH)
    limit = heights(_at(chart, chart.limit_w, (blocks.begin + blocks.end) / 2), top_w, HIGH)
    above = area_path(limit, np.minimum(limit, worst), blocks.begin, blocks.end)
    # The words stand at that end of the day where less is drawn.
    share = chart.edges_ms[:-1] / chart.horizon_ms
    right_w = chart.worst_w[share >= 1 - LABEL_WIDE].max(initial=0)
    left_w = chart.worst_w[(share >= LABEL_FROM) & (share <= LABEL_FROM + LABEL_WIDE)].max(initial=0)
    return "".join(
        [
            f'<svg class="plot demand" width="100%" role="img" aria-label="{escape(label)}">',
            _gridlines(top_w),
            _midnight(chart),
            _inner(HIGH, _mark(chart, HIGH), solid),
            hatched,
            _inner(
                HIGH,
                f'<path class="above s-{chart.above}" d="{above}"/>' if above else "",
                f'<path class="worst" d="{line_path(worst, blocks.begin, blocks.end)}"/>',
                f'<path class="limit" d="{_curve(chart, chart.limit_w, top_w, HIGH)}"/>',
            ),
            _gridlabels(chart, top_w),
            _limit_words(
                chart.limit_w / top_w,
                chart.edges_ms / chart.horizon_ms,
                limit_words,
                limit_value,
                right_w <= left_w,
            ),
            "</svg>",
        ]
    )


def starts_svg(chart: DayChart, label: str, limit_words: str, limit_value: str) -> str:
    """The strip of starts: pins from what runs before to the total, in volt-amperes, and their own limit."""
    starts = _thinned(chart)
    largest = max(starts, key=lambda start: start.total_va, default=None)
    top_va = HEADROOM * max(float(chart.start_limit_va.max()), largest.total_va if largest else 0, 1.0)
    pins, heads = [], []
    for start in starts:
        x = start.at_ms / chart.horizon_ms
        low, high = (round((1 - va / top_va) * STRIP_HIGH) for va in (start.before_va, start.total_va))
        pins.append(f"M{round(x * WIDE)},{low}V{high}")
        how = "planned" if start.scheduled else "itself"
        size = 4.5 if start is largest else 3
        heads.append(
            f'<circle class="head {how} s-{start.verdict}" cx="{_percent(x)}"'
            f' cy="{_percent(high / STRIP_HIGH)}" r="{size}"/>'
        )
    early = largest is None or largest.at_ms < chart.horizon_ms / 2
    return "".join(
        [
            f'<svg class="plot starts" width="100%" role="img" aria-label="{escape(label)}">',
            '<line class="grid" x1="0" x2="100%" y1="100%" y2="100%"/>',
            _midnight(chart),
            _inner(
                STRIP_HIGH,
                _mark(chart, STRIP_HIGH),
                f'<path class="pin" d="{"".join(pins)}"/>',
                f'<path class="limit" d="{_curve(chart, chart.start_limit_va, top_va, STRIP_HIGH)}"/>',
            ),
            *heads,
            _limit_words(
                chart.start_limit_va / top_va,
                chart.edges_ms / chart.horizon_ms,
                limit_words,
                limit_value,
                early,
            ),
            "</svg>",
        ]
    )


def axis_svg(chart: DayChart, next_day: str) -> str:
    """The hours under everything that shares the axis; midnight carries the next day's name."""
    return (
        '<svg class="plot axis" width="100%" aria-hidden="true">'
        + "".join(_tick(chart, tick, next_day) for tick in chart.ticks)
        + "</svg>"
    )


def _stack(chart: DayChart, blocks: Columns, top_w: float) -> tuple[str, str]:
    """The solid layers for the stretched drawing, and the hatched ones to lie over it."""
    solid, hatched = [], []
    for number, layer in enumerate(chart.layers):
        low = heights(layer.low_w[blocks.stretch], top_w, HIGH)
        high = heights(layer.high_w[blocks.stretch], top_w, HIGH)
        path = area_path(low, high, blocks.begin, blocks.end)
        if layer.certain:
            solid.append(f'<path class="layer {layer.key}" d="{path}"/>')
            continue
        # The hatch keeps its angle only outside the stretched drawing, so the layer is cut out of it there.
        clip = f"cut{number}"
        hatched.append(
            f'<clipPath id="{clip}" clipPathUnits="objectBoundingBox">'
            f'<path transform="scale({1 / WIDE:.8f} {1 / HIGH:.8f})" d="{path}"/></clipPath>'
            f'<rect class="hatch {layer.key}" width="100%" height="100%" fill="url(#hatch-{layer.key})"'
            f' clip-path="url(#{clip})"/>'
        )
    return "".join(solid), "".join(hatched)


def hatch_svg() -> str:
    """The hatch patterns of all behaviours, once a page."""
    keys = ("base", "prog1", "prog2", "prog3", "hand1", "hand2", "hand3", "follow")
    return (
        '<svg class="defs" width="0" height="0" aria-hidden="true"><defs>'
        + "".join(
            f'<pattern id="hatch-{key}" width="5" height="5" patternUnits="userSpaceOnUse"'
            f' patternTransform="rotate(45)"><rect class="ground {key}" width="5" height="5"/>'
            f'<path class="stroke {key}" d="M1,0V5"/></pattern>'
            for key in keys
        )
        + "</defs></svg>"
    )


def _inner(high: int, *shapes: str) -> str:
    return (
        f'<svg width="100%" height="100%" viewBox="0 0 {WIDE} {high}" preserveAspectRatio="none">'
        f"{''.join(shapes)}</svg>"
    )


def _mark(chart: DayChart, high: int) -> str:
    if chart.mark is None:
        return ""
    left = math.floor(chart.mark.from_ms / chart.horizon_ms * WIDE)
    right = max(math.ceil(chart.mark.to_ms / chart.horizon_ms * WIDE), left + 2)
    return f'<path class="mark s-{chart.mark.verdict}" d="M{left},0h{right - left}v{high}h{left - right}z"/>'


def _at(chart: DayChart, line: Floats, column: Floats) -> Floats:
    """The height of a line given at the chart's edges, at some columns."""
    return np.interp(column * (chart.horizon_ms / WIDE), chart.edges_ms, line)


def _curve(chart: DayChart, line: Floats, top: float, high: int) -> str:
    """A limit line: it bends only with the temperature, so a point every half hour shows it."""
    points = np.linspace(0, WIDE, 73)
    y = heights(_at(chart, line, points), top, high).tolist()
    kept = [
        f"{round(x)},{level}"
        for number, (x, level) in enumerate(zip(points.tolist(), y, strict=True))
        if number in (0, len(y) - 1) or y[number - 1] != level or y[number + 1] != level
    ]
    return "M" + "L".join(kept)


def _step_w(top_w: float) -> int:
    """The distance of the grid's lines: three to six of them."""
    return next((step for step in (200, 500, 1000, 2000, 5000, 10_000, 20_000) if top_w / step <= 6), 50_000)


def _levels(top_w: float) -> list[int]:
    step_w = _step_w(top_w)
    return list(range(step_w, math.floor(top_w) + 1, step_w))


def _gridlines(top_w: float) -> str:
    return "".join(
        f'<line class="grid" x1="0" x2="100%" y1="{_percent(y)}" y2="{_percent(y)}"/>'
        for y in [1 - level / top_w for level in _levels(top_w)] + [1]
    )


def _gridlabels(chart: DayChart, top_w: float) -> str:
    """The watts at the grid's lines; one beside the limit line stands only where there is room outside."""
    limit = float(chart.limit_w[0]) / top_w
    return "".join(
        f'<text class="level{" near" if abs(level / top_w - limit) < NEAR else ""}"'
        f' y="{_percent(1 - level / top_w)}">{level / 1000:g} kW</text>'
        for level in _levels(top_w)
        if level / top_w < 1 - NEAR  # higher up it would stand in the line over the drawing
    )


def _midnight(chart: DayChart) -> str:
    x = _percent(chart.day_ms / chart.horizon_ms)
    return f'<line class="midnight" x1="{x}" x2="{x}" y1="0" y2="100%"/>'


def _limit_words(shares: Floats, edges: Floats, words: str, value: str, at_right: bool) -> str:
    """A limit's words over its line, at one end of it; its value at the right end, shown where there is room.

    shares: the limit at the chart's edges, as a share of the drawing's height; edges: those, of its width.
    """
    anchor, x = ("end", 1.0) if at_right else ("start", LABEL_FROM)
    under = (edges >= 1 - LABEL_WIDE) if at_right else (edges >= LABEL_FROM) & (edges <= LABEL_FROM + LABEL_WIDE)
    highest = float(np.max(shares[under], initial=shares[-1 if at_right else 0]))
    return _words(f"limit-words {'at-right' if at_right else 'at-left'}", x, 1 - highest, anchor, words) + _words(
        "limit-value", 1.0, 1 - float(shares[-1]), "start", value
    )


def _words(kind: str, x: float, y: float, anchor: str, words: str) -> str:
    place = f'x="{_percent(x)}" y="{_percent(y)}" text-anchor="{anchor}"'
    return f'<text class="{kind}" {place}>{escape(words)}</text>'


def _tick(chart: DayChart, tick: Tick, next_day: str) -> str:
    x = tick.at_ms / chart.horizon_ms
    anchor = "start" if x < 0.01 else "end" if x > 0.99 else "middle"
    kind = "hour midnight-hour" if tick.midnight else "hour" if tick.hour % 6 == 0 else "hour minor"
    words = next_day if tick.midnight else f"{tick.hour:02d}"
    at = _percent(x)
    return (
        f'<line class="{kind}" x1="{at}" x2="{at}" y1="0" y2="4"/>'
        f'<text class="{kind}" x="{at}" y="16" text-anchor="{anchor}">{escape(words)}</text>'
    )


def _thinned(chart: DayChart) -> list[Start]:
    """One start for each place on the strip, the largest, in order of time."""
    best: dict[tuple[int, bool], Start] = {}
    for start in chart.starts:
        place = (int(start.at_ms / chart.horizon_ms * PINS), start.scheduled)
        if place not in best or start.total_va > best[place].total_va:
            best[place] = start
    return sorted(best.values(), key=lambda start: start.at_ms)


def _percent(share: float) -> str:
    return f"{share * 100:.2f}%"
