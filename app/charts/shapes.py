"""What every drawing is made of: a stretched inner drawing, the stack, the mark, pins, the grid.

Shapes lie in an inner drawing of whole units that stretches with the screen; texts and round marks stand at
percentages outside of it, so that they keep their size and shape. Colours are the stylesheet's: a class says
what a shape is. There are no inline styles.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

from app.charts.columns import Columns, heights, steps_path
from app.charts.day import Start
from app.charts.layers import STACK, Layer
from app.engine.results import Verdict

WIDE = 1440


def percent(share: float) -> str:
    """A share as an attribute."""
    return f"{share * 100:.2f}%"


def inner(high: int, *shapes: str) -> str:
    """The stretched drawing."""
    return (
        f'<svg width="100%" height="100%" viewBox="0 0 {WIDE} {high}" preserveAspectRatio="none">'
        f"{''.join(shapes)}</svg>"
    )


def stack_svg(layers: Sequence[Layer], blocks: Columns, top_w: float, high: int, cut: str) -> tuple[str, str]:
    """The hatched bands, and the solid ones for a stretched drawing that lies over them.

    Each is drawn from the ground up to its upper edge, the highest first: the next covers what is not its own.
    top_w: the draw at the upper edge of the drawing. cut: begins the names of the clips, one of its own a page.
    """
    solid, hatched = [], []
    for number in range(len(layers) - 1, -1, -1):
        layer = layers[number]
        tops = heights(layer.high_w[blocks.stretch], top_w, high)
        path = f"M0,{high}V{tops[0]}{steps_path(tops, blocks.begin, blocks.end)}V{high}z"
        if layer.certain:
            solid.append(f'<path class="layer {layer.key}" d="{path}"/>')
            continue
        # The hatch keeps its angle only outside the stretched drawing, so the band is cut out of it there.
        hatched.append(
            f'<clipPath id="{cut}{number}" clipPathUnits="objectBoundingBox">'
            f'<path transform="scale({1 / WIDE:.8f} {1 / high:.8f})" d="{path}"/></clipPath>'
            f'<rect class="hatch {layer.key}" width="100%" height="100%" fill="url(#hatch-{layer.key})"'
            f' clip-path="url(#{cut}{number})"/>'
        )
    return "".join(hatched), "".join(solid)


def pins_svg(places: Iterable[tuple[float, float, float, Start]], high: int, largest: Start | None) -> tuple[str, str]:
    """The pins of starts for a stretched drawing, and one of their heads to lie over it; the largest has a large one.

    places: share of the width, and shares of the height from the top of foot and head, of each start.
    Heads of a kind are one path of dots, for every shape of its own is laid out and painted by itself after each tap.
    """
    pins: list[str] = []
    heads: dict[str, list[str]] = {}
    for x, foot, head, start in places:
        column, row = int(x * WIDE + 0.5), int(head * high + 0.5)
        pins.append(f"M{column},{int(foot * high + 0.5)}V{row}")
        kind = f"{'planned' if start.scheduled else 'itself'} s-{start.verdict}{' most' * (start is largest)}"
        heads.setdefault(kind, []).append(f"M{column},{row}h0")
    return f'<path class="pin" d="{"".join(pins)}"/>', inner(high, *_heads(heads)) if heads else ""


def _heads(kinds: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """A path for each kind, what is too much last; what is in the middle of those with a rim lies on it."""
    for kind in sorted(kinds, key=lambda one: ("s-over" in one, "s-chance" in one, "most" in one, one)):
        dots = "".join(kinds[kind])
        yield f'<path class="dots {kind}" d="{dots}"/>'
        if "itself" in kind or "s-chance" in kind:
            yield f'<path class="dots middle {kind}" d="{dots}"/>'


def mark_path(from_share: float, to_share: float, verdict: Verdict, high: int, top: int = 0) -> str:
    """The stretch the verdict is about, for a stretched drawing; never too narrow to be seen."""
    left = math.floor(from_share * WIDE)
    right = max(math.ceil(to_share * WIDE), left + 2)
    return f'<path class="mark s-{verdict}" d="M{left},{top}h{right - left}v{high - top}h{left - right}z"/>'


def grid_levels(top: float) -> list[int]:
    """Three to six round levels for the lines of the grid, below the top."""
    step = next((step for step in (200, 500, 1000, 2000, 5000, 10_000, 20_000) if top / step <= 6), 50_000)
    return list(range(step, math.floor(top) + 1, step))


def grid_svg(y: Sequence[float]) -> str:
    """Lines over the whole width. y: shares of the height from the top."""
    return "".join(f'<line class="grid" x1="0" x2="100%" y1="{percent(one)}" y2="{percent(one)}"/>' for one in y)


def hatch_svg() -> str:
    """The patterns of what comes and goes, one for each behaviour, and of times refused; once a page."""
    hatches = "".join(
        f'<pattern id="hatch-{key}" width="5" height="5" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate(45)"><rect class="ground {key}" width="5" height="5"/>'
        f'<path class="stroke {key}" d="M1,0V5"/></pattern>'
        for key in STACK
    )
    bars = (
        '<pattern id="bars-refused" width="4" height="8" patternUnits="userSpaceOnUse">'
        '<rect class="refused-ground" width="4" height="8"/><path class="refused-bar" d="M3.5,0V8"/></pattern>'
    )
    return f'<svg class="defs" width="0" height="0" aria-hidden="true"><defs>{hatches}{bars}</defs></svg>'
