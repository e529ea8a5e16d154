"""A day hour by hour, and what one limit leaves in each stretch of it."""

from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from app.engine.draw import Draws
from app.engine.results import Floats, Instants
from app.engine.scope import Scope
from app.household.day import DayFrame

HALVINGS = 48  # of what is at most left: far below a thousandth of a watt


class Hour(NamedTuple):
    """An hour by the clock, 0 to 23. from_ms, to_ms: since midnight; two hours long where it comes twice."""

    clock: int
    from_ms: int
    to_ms: int


def hours_of(frame: DayFrame) -> tuple[Hour, ...]:
    """The hours of a day; one that the clock leaves out is not there."""
    hours = (Hour(clock, *bounds_ms) for clock, bounds_ms in enumerate(pairwise(frame.hours_ms(24))))
    return tuple(hour for hour in hours if hour.from_ms < hour.to_ms)


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """A scope's stretches cut at the hours, shape (n,): none is in two hours, and what is after the day is left out.

    t_ms: shape (n + 1,), edges. stretch: of the scope. hour: which of the hours.
    """

    t_ms: Floats
    stretch: Instants
    hour: Instants


def cut_at(hours: tuple[Hour, ...], scope: Scope) -> Cut:
    """The stretches of a scope."""
    bounds_ms = np.array([*(hour.from_ms for hour in hours), hours[-1].to_ms], dtype=float)
    t_ms = np.union1d(scope.t_ms[scope.t_ms < bounds_ms[-1]], bounds_ms)
    hour = bounds_ms.searchsorted(t_ms[:-1], side="right") - 1
    return Cut(t_ms, scope.stretch_at(t_ms[:-1]), hour)


class Added(NamedTuple):
    """What one watt, or one volt-ampere, more is made of: watts and lagging volt-amperes reactive."""

    p: float
    q: float

    def times(self, share: float) -> "Added":
        """As a part of the house sees it."""
        return Added(self.p * share, self.q * share)


def more_w(draws: Draws, most_w: Floats, added: Added) -> Floats:
    """How much more until the watts with their uncertainty come up to a limit, shape (n,); 0 where they are past it."""
    return np.asarray(np.maximum(most_w - draws.use_w, 0.0) / added.p)


def more_va(draws: Draws, most_va: Floats, added: Added) -> Floats:
    """The same for volt-amperes, which do not grow evenly: halved down to it."""
    low = np.zeros(len(draws.p_w))
    high = np.maximum(most_va, 0.0) / np.hypot(*added) + draws.va / np.hypot(*added)
    spread_w = np.sqrt(np.maximum(draws.spread_w2, 0.0))
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        p_w, q_var = draws.p_w + middle * added.p, draws.q_var + middle * added.q
        use_va = np.sqrt(p_w * p_w + q_var * q_var + draws.d_va * draws.d_va) * (1 + spread_w / np.maximum(p_w, 1e-9))
        fits = use_va <= most_va
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
    return np.asarray(np.where(draws.use_va > most_va, 0.0, low))
