"""Time above levels: one mechanism for the inverter's overload times, the bank's peak current and legs.

Every level has a heat store. It fills by one second per second while the draw exceeds what the level stands
on, and empties by its allowed time over its cooling time per second otherwise, never below nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.engine.curve import Line
from app.engine.draw import HAIR
from app.engine.results import Flags, Floats


@dataclass(frozen=True, slots=True, eq=False)
class Check:
    """One comparison: a quantity against a line; `store` fills while it exceeds, None breaks at once."""

    quantity: int
    line: Line
    store: int | None


@dataclass(frozen=True, eq=False)
class Rule:
    """Levels with their times.

    checks: comparisons, each filling one store; those with store None are the top, broken at once.
    allowed_s, cooling_s: per store. level: what each store stands on at 25 degC, in the limit's unit.
    """

    checks: tuple[Check, ...]
    allowed_s: tuple[float, ...]
    cooling_s: tuple[float, ...]
    level: tuple[float, ...]

    def of_store(self, store: int | None) -> list[Check]:
        """The comparisons that fill a store, or break at once."""
        return [check for check in self.checks if check.store == store]

    @cached_property
    def _lowest(self) -> dict[int, float]:
        """Per quantity, the lowest that any of its lines ever is."""
        lowest: dict[int, float] = {}
        for check in self.checks:
            lowest[check.quantity] = min(lowest.get(check.quantity, np.inf), check.line.lowest)
        return lowest

    def never_met(self, use: Sequence[Floats]) -> bool:
        """No draw comes up to any of the lines, whenever it is; use: one array of any shape per quantity."""
        return all(use[quantity].max(initial=0.0) <= lowest for quantity, lowest in self._lowest.items())

    @property
    def corners_ms(self) -> Floats:
        """Every instant at which one of the lines has a corner."""
        return np.concatenate([check.line.t_ms for check in self.checks if not check.line.is_flat] or [np.empty(0)])


@dataclass(frozen=True, slots=True)
class Stores:
    """What the stores did, over all rows that were tried.

    fullest_s: largest value of each store. since_ms: when it began to fill to that.
    trip_ms: per store, the first instant at which it holds more than allowed; infinite if it never does.
    top_ms: the first instant at which the top is exceeded; infinite if it never is.
    own_ms: per quantity, the first instant at which store 0 holds too much while that quantity exceeds.
    """

    fullest_s: tuple[float, ...]
    since_ms: tuple[float, ...]
    trip_ms: tuple[float, ...]
    top_ms: float
    own_ms: tuple[float, ...]

    @property
    def broken_ms(self) -> float:
        """First instant at which the rule is broken, infinite if it is not."""
        return min(self.top_ms, *self.trip_ms)

    @property
    def empty(self) -> bool:
        """Nothing ever exceeded a level."""
        return not any(self.fullest_s) and np.isinf(self.top_ms)

    def fullest(self, rule: Rule) -> int:
        """The store that is fullest against what it may hold."""
        return max(range(len(self.fullest_s)), key=lambda k: self.fullest_s[k] / rule.allowed_s[k])

    def together_with(self, other: "Stores") -> "Stores":
        """The worse of two, figure by figure."""
        fuller = [theirs > ours for ours, theirs in zip(self.fullest_s, other.fullest_s, strict=True)]
        return Stores(
            tuple(map(max, self.fullest_s, other.fullest_s)),
            tuple(b if more else a for a, b, more in zip(self.since_ms, other.since_ms, fuller, strict=True)),
            tuple(map(min, self.trip_ms, other.trip_ms)),
            min(self.top_ms, other.top_ms),
            tuple(map(min, self.own_ms, other.own_ms)),
        )


def empty_stores(rule: Rule) -> Stores:
    """Stores into which nothing ever went."""
    quantities = 1 + max(check.quantity for check in rule.checks)
    nothing, never = (0.0,) * len(rule.allowed_s), (np.inf,) * len(rule.allowed_s)
    return Stores(nothing, never, never, np.inf, (np.inf,) * quantities)


def exceeds(use: Floats, limit: Floats | float) -> Flags:
    """Strictly more, by more than rounding."""
    return np.asarray(use > np.asarray(limit) * (1 + HAIR))


def run_stores(t_ms: Floats, use: Sequence[Floats], rule: Rule) -> Stores:
    """Run the stores of a rule over rows of piecewise constant draw.

    t_ms: shape (rows, n + 1), edges of the stretches; stretches of no length do no harm.
    use: one array per quantity of the rule, shape (rows, n).
    """
    t_ms, parent = _split_where_crossed(t_ms, use, rule)
    if parent is not None:
        use = [np.take_along_axis(one, parent, axis=1) for one in use]
    seconds = np.diff(t_ms, axis=1) / 1000
    middle_ms = (t_ms[:, :-1] + t_ms[:, 1:]) / 2
    above = [exceeds(use[check.quantity], check.line.at(middle_ms)) & (seconds > 0) for check in rule.checks]
    fullest_s, since_ms, trip_ms = [], [], []
    own_ms = [np.inf] * len(use)
    for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
        filling = np.zeros(seconds.shape, dtype=bool)
        for check, flags in zip(rule.checks, above, strict=True):
            if check.store == store:
                filling |= flags
        if not filling.any():
            fullest_s.append(0.0)
            since_ms.append(np.inf)
            trip_ms.append(np.inf)
            continue
        held_s = store_s(seconds, filling, allowed_s, cooling_s)
        row, place = np.unravel_index(int(np.argmax(held_s)), held_s.shape)
        fullest_s.append(float(held_s[row, place]))
        empty = np.flatnonzero(held_s[row, :place] <= 0)
        since_ms.append(float(t_ms[row, empty[-1] + 1 if len(empty) else 0]))
        too_much = filling & exceeds(held_s, allowed_s)
        at_ms = np.maximum(t_ms[:, 1:] - (held_s - allowed_s) * 1000, t_ms[:, :-1])
        trip_ms.append(_first(at_ms, too_much))
        if store == 0:
            for check, flags in zip(rule.checks, above, strict=True):
                if check.store == 0:
                    own_ms[check.quantity] = min(own_ms[check.quantity], _first(at_ms, too_much & flags))
    top = [_first(t_ms[:, :-1], flags) for check, flags in zip(rule.checks, above, strict=True) if check.store is None]
    return Stores(tuple(fullest_s), tuple(since_ms), tuple(trip_ms), min(top, default=np.inf), tuple(own_ms))


def store_s(seconds: Floats, filling: Flags, allowed_s: float, cooling_s: float) -> Floats:
    """What a store holds at the end of each stretch, in seconds; shape (rows, n) in and out."""
    # A store with a floor at nothing is its running sum less the lowest that sum has been.
    summed = np.cumsum(np.where(filling, seconds, -seconds * (allowed_s / cooling_s)), axis=1)
    return summed - np.minimum(np.minimum.accumulate(summed, axis=1), 0.0)


def _first(at_ms: Floats, flags: Flags) -> float:
    return float(at_ms[flags].min()) if flags.any() else float(np.inf)


def _split_where_crossed(t_ms: Floats, use: Sequence[Floats], rule: Rule) -> tuple[Floats, NDArray[np.intp] | None]:
    """Cut stretches where a line passes through the draw, so that each is wholly above or wholly not.

    Returns the edges, and for each stretch which of the given ones it is part of; None where nothing is cut.
    """
    cuts: list[Floats] = []
    owners: list[NDArray[np.intp]] = []
    rows, stretches = use[0].shape
    for check in rule.checks:
        if check.line.is_flat:
            continue
        limit = check.line.at(t_ms)
        begin, end = limit[:, :-1], limit[:, 1:]
        one = use[check.quantity]
        crossed = (one - begin) * (one - end) < 0
        columns = np.flatnonzero(crossed.any(axis=0))
        if not len(columns):
            continue
        one, begin, end = one[:, columns], begin[:, columns], end[:, columns]
        left, right = t_ms[:, columns], t_ms[:, columns + 1]
        with np.errstate(divide="ignore", invalid="ignore"):
            at_ms = left + (one - begin) / (end - begin) * (right - left)
        # Where a row has no cut the spare edge goes to the very end: there it makes a stretch of no length.
        cuts.append(np.where(crossed[:, columns], at_ms, t_ms[:, -1:]))
        owners.append(np.where(crossed[:, columns], columns, stretches - 1))
    if not cuts:
        return t_ms, None
    edges = np.concatenate([t_ms, *cuts], axis=1)
    own = np.minimum(np.arange(stretches + 1), stretches - 1)
    owner = np.concatenate([np.broadcast_to(own, (rows, stretches + 1)), *owners], axis=1)
    order = np.argsort(edges, axis=1, kind="stable")
    return np.take_along_axis(edges, order, axis=1), np.take_along_axis(owner, order, axis=1)[:, :-1]
