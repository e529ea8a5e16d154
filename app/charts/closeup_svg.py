"""The close-up drawn as SVG: bands solid and hatched, the limits that matter, the stretch that decides marked."""

from collections.abc import Callable, Iterator
from html import escape

from app.charts.closeup import CloseUp
from app.charts.closeup_texts import BRACKET_BOTTOM, BRACKET_TOP, HIGH, CloseUpTexts, CloseUpWords, Limit, Scale
from app.charts.columns import columns, heights, line_path
from app.charts.day import Start
from app.charts.labels import HOUR, Face, Labels, Spot
from app.charts.lines import limit_path, points_of
from app.charts.shapes import WIDE, grid_levels, grid_svg, inner, mark_path, percent, pins_svg, stack_svg
from app.engine.results import Verdict

__all__ = ["CloseUpWords", "closeup_axis_svg", "closeup_svg", "leader_svg"]

LEADER_HIGH = 20
AXIS_PX = 20
AXIS_FACES = (Face("tight", (136, 276)), Face("roomy", (276, 1240)))
PLACES = 90  # starts nearer to each other than this part of the width share one pin, the largest


def closeup_svg(part: CloseUp, words: CloseUpWords) -> str:
    """The window: every band with its name where it fits, and no two texts on each other."""
    starts = _thinned(part)
    scale = Scale(part, starts)
    blocks = columns(part, WIDE)
    hatched, solid = stack_svg(part.layers, blocks, scale.most, HIGH, "near")
    worst = heights(part.worst_w[blocks.stretch], scale.most, HIGH)
    limits = list(_limits(part, scale, words))
    pins, heads = pins_svg(
        [(part.at_share(one.at_ms), scale.share(one.before_va), scale.share(one.total_va), one) for one in starts],
        HIGH,
        max(starts, key=lambda start: start.total_va, default=None),
    )
    mark = part.at_share(part.mark.from_ms), part.at_share(part.mark.to_ms), part.mark.verdict
    return "".join(
        [
            f'<svg class="plot closeup" width="100%" role="img" aria-label="{escape(words.label)}">',
            grid_svg([*(scale.share(level) for level in grid_levels(scale.drawn)), 1]),
            inner(HIGH, mark_path(*mark, HIGH, BRACKET_BOTTOM)),
            hatched,
            inner(
                HIGH,
                solid,
                f'<path class="worst" d="{line_path(worst, blocks.begin, blocks.end)}"/>',
                *(limit_path(limit.y_px / HIGH, HIGH, limit.kind) for limit in limits),
                pins if starts else "",
                _bracket(*mark),
            ),
            heads,
            CloseUpTexts(part, scale, words, limits, starts).svg(),
            "</svg>",
        ]
    )


def closeup_axis_svg(part: CloseUp, shown: Callable[[float], str]) -> str:
    """The times under the close-up; every second one first, the others where there is room. shown: of an instant."""
    spots = []
    for at_ms in part.ticks:
        x = part.at_share(at_ms)
        spots.append((shown(at_ms), Spot(x, 0, 16, "start" if x < 0.02 else "end" if x > 0.98 else "middle")))
    lines = (f'<line class="hour" x1="{at}" x2="{at}" y1="0" y2="4"/>' for at in (percent(one.x) for _, one in spots))
    texts = []
    for face in AXIS_FACES:
        labels = Labels(face, AXIS_PX, spare_px=3)
        for text, spot in (*spots[::2], *spots[1::2]):
            labels.place(text, HOUR, [spot])
        texts.append(labels.svg())
    return f'<svg class="plot axis" width="100%" aria-hidden="true">{"".join((*lines, *texts))}</svg>'


def leader_svg(part: CloseUp) -> str:
    """Lines from the close-up, which takes the whole width, down to where it lies in the day's chart."""
    left, right = (round(share * WIDE) for share in (part.from_share, part.to_share))
    return (
        f'<svg class="plot leader" width="100%" height="{LEADER_HIGH}" viewBox="0 0 {WIDE} {LEADER_HIGH}"'
        f' preserveAspectRatio="none" aria-hidden="true"><path class="leads"'
        f' d="M0,0L{left},{LEADER_HIGH}H{right}L{WIDE},0"/></svg>'
    )


def _limits(part: CloseUp, scale: Scale, words: CloseUpWords) -> Iterator[Limit]:
    """The limits that matter, what decides first."""
    if part.start_limit_va is not None:
        yield Limit("limit for-a-start", scale.y_px(points_of(part.edges_ms, part.start_limit_va)), words.start_limit)
    if part.level is not None:
        yield Limit("limit for-a-time", scale.y_px(points_of(part.edges_ms, part.level.va)), words.level)
    yield Limit("limit for-hours", scale.y_px(points_of(part.edges_ms, part.limit_w)), words.limit)


def _bracket(from_share: float, to_share: float, verdict: Verdict) -> str:
    left, right = from_share * WIDE, to_share * WIDE
    spare = max(16 - (right - left), 0) / 2  # a few pixels at least, however short
    path = f"M{left - spare:.0f},{BRACKET_BOTTOM}V{BRACKET_TOP}H{right + spare:.0f}V{BRACKET_BOTTOM}"
    return f'<path class="bracket s-{verdict}" d="{path}"/>'


def _thinned(part: CloseUp) -> list[Start]:
    """One start for each place, the largest, in order of time."""
    best: dict[tuple[int, bool], Start] = {}
    for start in part.starts:
        place = (int(part.at_share(start.at_ms) * PLACES), start.scheduled)
        if place not in best or start.total_va > best[place].total_va:
            best[place] = start
    return sorted(best.values(), key=lambda start: start.at_ms)
