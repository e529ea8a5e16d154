"""Moments at which a rule comes to be broken, with what each load has been doing."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.kinds import Flags, Floats
from app.engine.odds.evenly import evenly
from app.engine.odds.loads import Loads


class Broken(NamedTuple):
    """Moments at which a rule comes to be broken, shape (m,) each.

    at_ms, stretch: when. on, since_ms: which loads are on then, and for how long each has been as it is, shape
    (m, loads). weight: what each counts for.
    """

    at_ms: Floats
    stretch: NDArray[np.intp]
    on: Flags
    since_ms: Floats
    weight: Floats

    def of(self, some: NDArray[np.intp]) -> "Broken":
        """Some of them."""
        # Rows are taken, not picked one figure after the other: that takes five times as long.
        on, since_ms = self.on.take(some, axis=0), self.since_ms.take(some, axis=0)
        return Broken(self.at_ms[some], self.stretch[some], on, since_ms, self.weight[some])


def since_at_random(loads: Loads, on: Flags, random: np.random.Generator) -> Floats:
    """For how long each load has been as it is, at a random point of its period; shape (m, loads), as `on`."""
    return np.asarray(np.where(on, loads.on_ms, loads.off_ms) * random.random(on.shape))


def together(parts: Sequence[Broken]) -> Broken:
    """All of them, part after part; there is at least one."""
    if len(parts) == 1:
        return parts[0]
    return Broken(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def thinned(moments: Broken, count: int, random: np.random.Generator) -> Broken:
    """So many of some moments, each of which counts alike then; all that weigh anything where there are no more."""
    weigh = np.flatnonzero(moments.weight)
    if len(weigh) <= count:
        return moments.of(weigh)
    return moments.of(evenly(moments.weight, count, random))._replace(weight=np.ones(count))


class Lasting(NamedTuple):
    """Moments at which a level has been passed for too long; those that weigh nothing never came to it.

    own: 1 where each quantity still passes it, else 0; shape (quantities, m).
    """

    own: Floats
    broken: Broken

    def sums(self) -> tuple[Floats, Floats]:
        """Their weights summed up, and their squares; of all, then of those with each quantity still passed."""
        weight = self.broken.weight
        square = weight * weight
        return np.array((weight.sum(), *(self.own @ weight))), np.array((square.sum(), *(self.own @ square)))
