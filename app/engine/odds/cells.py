"""The part of a day in which a rule may be passed at all, cut so finely that its lines hardly move within a cell."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.engine.heat import Check, Rule, exceeds
from app.engine.kinds import Floats
from app.engine.scope import Scope
from app.engine.starts import lowest

ROUNDING_MS = 1e-3
FINE = 0.0025  # a line moves by no more than this part of itself within a cell


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Parts of stretches, in order, shape (n,) each; all of one stretch stand together.

    stretch: which it is part of. from_ms, to_ms: within the day. follows: the cell before touches it.
    """

    stretch: NDArray[np.intp]
    from_ms: Floats
    to_ms: Floats
    follows: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.stretch)

    @property
    def lasts_ms(self) -> Floats:
        """How long each is."""
        return self.to_ms - self.from_ms

    @property
    def middle_ms(self) -> Floats:
        """The middle of each."""
        return (self.from_ms + self.to_ms) / 2

    def of(self, chosen: NDArray[np.intp]) -> "Cells":
        """Some of them."""
        return Cells(self.stretch[chosen], self.from_ms[chosen], self.to_ms[chosen], self.follows[chosen])


def cells_of(scope: Scope, rule: Rule, use: Sequence[Floats], day_ms: float) -> Cells:
    """Where some line of a rule is passed by the most that can be used, up to the end of the day."""
    hot = np.zeros(len(scope.begin_ms), dtype=bool)
    if not rule.never_met(use):
        for check in rule.checks:
            hot |= exceeds(use[check.quantity], lowest(check.line.at(scope.t_ms)))
    hot &= scope.begin_ms < day_ms
    return cut(scope, np.flatnonzero(hot), rule.checks, day_ms)


def cut(scope: Scope, stretches: NDArray[np.intp], checks: tuple[Check, ...], day_ms: float) -> Cells:
    """Some stretches of a scope as cells."""
    from_ms, to_ms = scope.t_ms[stretches], np.minimum(scope.t_ms[stretches + 1], day_ms)
    parts = np.ones(len(stretches))
    for check in checks:
        if not check.line.is_flat:
            begin, end = check.line.at(from_ms), check.line.at(to_ms)
            parts = np.maximum(parts, np.ceil(np.abs(end - begin) / (FINE * np.maximum(np.minimum(begin, end), 1e-9))))
    count = np.minimum(parts, 1000).astype(np.intp)
    parent = np.repeat(np.arange(len(stretches)), count)
    number = np.arange(len(parent)) - np.repeat(np.cumsum(count) - count, count)
    step_ms = ((to_ms - from_ms) / count)[parent]
    begin_ms = from_ms[parent] + number * step_ms
    end_ms = np.where(number + 1 == count[parent], to_ms[parent], begin_ms + step_ms)
    touches = begin_ms[1:] <= end_ms[:-1] + ROUNDING_MS
    follows = np.concatenate(([False], touches)) if len(begin_ms) else np.zeros(0, dtype=bool)
    return Cells(stretches[parent], begin_ms, end_ms, follows)
