"""The least size that carries a plan, found by trying: sizes are factors on what the plan has."""

from collections.abc import Callable
from typing import NamedTuple

from app.engine.draw import HAIR
from app.engine.flows import Flows

CLOSE = 1e-3  # what is found is no more than this part above the least
ASIDE = CLOSE / 3  # tried above and below of where it should be, so that both sides are sure


class Tried(NamedTuple):
    """A size, what is left with it, and the day it leads to: negative where it does not carry the plan.

    smooth: what is left follows the size, as it does unless the house goes dark.
    """

    factor: float
    left: float
    smooth: bool
    happened: Flows

    @property
    def carries(self) -> bool:
        """The size carries the plan, rounding aside."""
        return self.left >= -HAIR


Guess = Callable[[Tried, Tried], float]


def in_proportion(low: Tried, high: Tried) -> float:
    """Where nothing is left, if what is left grows with the size."""
    return low.factor + (high.factor - low.factor) * low.left / (low.left - high.left)


def in_inverse(low: Tried, high: Tried) -> float:
    """Where nothing is left, if what is left falls with one over the size, as a swing of the charge does."""
    begin, end = 1 / low.factor, 1 / high.factor
    return 1 / (begin + (end - begin) * low.left / (low.left - high.left))


def narrowed(tried: Callable[[float], Tried], low: Tried, high: Tried, guess: Guess) -> Tried:
    """The least size between one that does not carry the plan and one that does, nearly; it does carry it.

    Where the guess is right two tries are enough; every fourth round, and where the house goes dark, the middle is
    tried instead.
    """
    turn = 0
    while high.factor > low.factor * (1 + CLOSE):
        turn += 1
        if low.smooth and high.smooth and turn % 4:
            at = min(max(guess(low, high), low.factor), high.factor)
        else:
            at = (low.factor * high.factor) ** 0.5 if low.factor > 0 else high.factor / 4
        for factor in (at * (1 + ASIDE), at * (1 - ASIDE)):
            if not low.factor * (1 + HAIR) < factor < high.factor * (1 - HAIR):
                continue
            one = tried(factor)
            if not one.carries:
                low = one
                break
            high = one
    return high
