"""The stack: who draws what, laid band on band, never higher than the engine's curves."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from app.engine.results import Floats, Piece

# From the bottom of the stack to its top. Certain draws come first, so that their top is what is there for
# sure; then what comes and goes, the day-long at the bottom.
STACK = ("base", "follow", "prog1", "prog2", "prog3", "hand1", "hand2", "hand3")


class Kind(NamedTuple):
    """What one band is of.

    certain: drawn solid; else it comes and goes and is hatched. key: its behaviour, which is its colour.
    appliance, name: whose draw it is alone; empty where a band is of all that behave alike.
    """

    certain: bool
    key: str
    appliance: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One band of the stack.

    low_w, high_w: shape (n,), its lower and upper edge in each stretch, in watts.
    """

    kind: Kind
    low_w: Floats
    high_w: Floats

    @property
    def key(self) -> str:
        """Its behaviour, which is its colour."""
        return self.kind.key

    @property
    def certain(self) -> bool:
        """Drawn solid; else it comes and goes and is hatched."""
        return self.kind.certain


class Drawn(NamedTuple):
    """The pieces of an assessment by column, shape (n,) each.

    whose: appliance, certain and set off, as in `Piece`.
    """

    whose: list[tuple[str, bool, bool]]
    begin_ms: Floats
    end_ms: Floats
    draw_w: Floats


def drawn(pieces: Sequence[Piece]) -> Drawn:
    """Columns of the pieces; a day has hundreds, and they are read more than once."""
    if not pieces:
        return Drawn([], np.empty(0), np.empty(0), np.empty(0))
    appliance, _, _, begin_ms, end_ms, draw_w, _, certain, set_off = zip(*pieces, strict=True)
    whose = list(zip(appliance, certain, set_off, strict=True))
    return Drawn(whose, *(np.array(column, dtype=float) for column in (begin_ms, end_ms, draw_w)))


def stacked(
    pieces: Drawn, kinds: Sequence[Kind], edges_ms: Floats, certain_w: Floats, worst_w: Floats
) -> tuple[Layer, ...]:
    """Lay pieces on one another, in the order of `STACK` and within a behaviour in that of first appearance.

    kinds: what each piece belongs to. edges_ms: shape (n + 1,), among them every edge of a piece that lies
    between the first and the last. certain_w, worst_w: shape (n,), the engine's curves: an interlock lets only
    the larger of a pair count, so the stack may not rise above them.
    """
    if not kinds:
        return ()
    order = sorted(dict.fromkeys(kinds), key=lambda kind: (not kind.certain, STACK.index(kind.key)))
    place = {kind: number for number, kind in enumerate(order)}
    row = np.array([place[kind] for kind in kinds]) * len(edges_ms)
    begins, ends = (np.searchsorted(edges_ms, np.clip(at_ms, edges_ms[0], edges_ms[-1])) for at_ms in pieces[1:3])
    # A step up where a piece begins and down where it ends.
    cells = np.concatenate([row + begins, row + ends])
    steps_w = np.bincount(cells, np.concatenate([pieces.draw_w, -pieces.draw_w]), len(order) * len(edges_ms))
    each_w = np.maximum(np.cumsum(steps_w.reshape(len(order), -1)[:, :-1], axis=1), 0)
    sure = sum(kind.certain for kind in order)
    tops_w = np.empty_like(each_w)
    tops_w[:sure] = np.minimum(np.cumsum(each_w[:sure], axis=0), certain_w)
    floor_w = tops_w[sure - 1] if sure else np.zeros_like(worst_w)
    above_w = np.minimum(floor_w + np.cumsum(each_w[sure:], axis=0), worst_w)
    tops_w[sure:] = np.maximum(above_w, floor_w)
    bottoms_w = np.vstack([np.zeros_like(worst_w), tops_w[:-1]])
    return tuple(Layer(*one) for one in zip(order, bottoms_w, tops_w, strict=True))
