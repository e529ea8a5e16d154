"""Time above levels: one mechanism for the inverter's overload times, the bank's peak current and legs.

Every level has a heat store. It fills by one second per second while the draw exceeds what the level stands
on, and empties by its allowed time over its cooling time per second otherwise, never below nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

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
    units: of each quantity.
    """

    checks: tuple[Check, ...]
    allowed_s: tuple[float, ...]
    cooling_s: tuple[float, ...]
    level: tuple[float, ...]
    units: tuple[Literal["W", "VA", "A"], ...]

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


class Filling(NamedTuple):
    """One time over which a store fills, from empty to its fullest.

    since_ms, until_ms: when it begins, and when it is fullest. held_s: what it holds then.
    trip_ms: the first instant at which it holds more than allowed; infinite if it never does.
    """

    since_ms: float
    until_ms: float
    held_s: float
    trip_ms: float

    def worse_than(self, other: "Filling") -> bool:
        """It holds too much sooner or, where neither ever does, it is fuller."""
        return (self.trip_ms, -self.held_s) < (other.trip_ms, -other.held_s)


NOTHING = Filling(np.inf, np.inf, 0.0, np.inf)


@dataclass(frozen=True, slots=True)
class Stores:
    """What the stores did, over all rows that were tried.

    fullest_s: largest value of each store. filling: per store the first time it comes to hold too much; where it
    never does, that in which it is fullest.
    top_ms: the first instant at which the top is exceeded; infinite if it never is.
    own: per quantity, as `filling` of store 0, of the times in which that quantity exceeds.
    """

    fullest_s: tuple[float, ...]
    filling: tuple[Filling, ...]
    top_ms: float
    own: tuple[Filling, ...]

    @property
    def broken_ms(self) -> float:
        """First instant at which the rule is broken, infinite if it is not."""
        return min(self.top_ms, *(one.trip_ms for one in self.filling))

    @property
    def empty(self) -> bool:
        """Nothing ever exceeded a level."""
        return not any(self.fullest_s) and np.isinf(self.top_ms)

    def fullest(self, rule: Rule) -> int:
        """The store that is fullest against what it may hold."""
        return max(range(len(self.fullest_s)), key=lambda k: self.fullest_s[k] / rule.allowed_s[k])

    def together_with(self, other: "Stores") -> "Stores":
        """The worse of two, figure by figure."""
        return Stores(
            tuple(map(max, self.fullest_s, other.fullest_s)),
            tuple(map(_worse, self.filling, other.filling)),
            min(self.top_ms, other.top_ms),
            tuple(map(_worse, self.own, other.own)),
        )

    def as_bad_as(self, other: "Stores") -> bool:
        """No figure of the other is worse, by more than rounding."""
        ours, theirs = (*self.filling, *self.own), (*other.filling, *other.own)
        return (
            all(a >= b * (1 - HAIR) for a, b in zip(self.fullest_s, other.fullest_s, strict=True))
            and all(a.trip_ms <= b.trip_ms + ROUNDING_MS for a, b in zip(ours, theirs, strict=True))
            and self.top_ms <= other.top_ms + ROUNDING_MS
        )


ROUNDING_MS = 1e-3


def _worse(one: Filling, other: Filling) -> Filling:
    return other if other.worse_than(one) else one


def empty_stores(rule: Rule) -> Stores:
    """Stores into which nothing ever went."""
    quantities = 1 + max(check.quantity for check in rule.checks)
    stores = len(rule.allowed_s)
    return Stores((0.0,) * stores, (NOTHING,) * stores, np.inf, (NOTHING,) * quantities)


def exceeds(use: Floats, limit: Floats | float) -> Flags:
    """Strictly more, by more than rounding."""
    return np.asarray(use > np.asarray(limit) * (1 + HAIR))


def part_above(use: Floats, begin: Floats, end: Floats) -> Floats:
    """The part of a cell in which a use exceeds a line that goes from one value to another; any shapes that mix."""
    low, high = np.minimum(begin, end), np.maximum(begin, end)
    moving = high > low
    if not moving.any():
        return np.asarray(exceeds(use, high), dtype=float)
    part = np.clip((use - low) / np.where(moving, high - low, 1.0), 0.0, 1.0)
    return np.where(moving, part, exceeds(use, high))


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
    fullest_s, fillings = [], []
    own = [NOTHING] * len(use)
    for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
        flags_of = {
            check.quantity: flags for check, flags in zip(rule.checks, above, strict=True) if check.store == store
        }
        filling = np.logical_or.reduce(list(flags_of.values()))
        if not filling.any():
            fullest_s.append(0.0)
            fillings.append(NOTHING)
            continue
        held_s = store_s(seconds, filling, allowed_s, cooling_s)
        fullest_s.append(float(held_s.max()))
        fillings.append(_filling(t_ms, held_s, filling, allowed_s))
        if store == 0:
            for quantity, flags in flags_of.items():
                own[quantity] = _filling(t_ms, held_s, flags, allowed_s)
    top = [_first(t_ms[:, :-1], flags) for check, flags in zip(rule.checks, above, strict=True) if check.store is None]
    return Stores(tuple(fullest_s), tuple(fillings), min(top, default=np.inf), tuple(own))


def _filling(t_ms: Floats, held_s: Floats, flags: Flags, allowed_s: float) -> Filling:
    """The first time a store comes to hold too much in flagged stretches, else that in which it is fullest in them."""
    if not flags.any():
        return NOTHING
    too_much = flags & exceeds(held_s, allowed_s)
    if too_much.any():
        # It passes what is allowed within the stretch, or holds too much from its beginning.
        at_ms = np.maximum(t_ms[:, 1:] - (held_s - allowed_s) * 1000, t_ms[:, :-1])
        row, place = np.unravel_index(int(np.where(too_much, at_ms, np.inf).argmin()), held_s.shape)
        trip_ms = float(at_ms[row, place])
    else:
        row, place = np.unravel_index(int(np.where(flags, held_s, -1.0).argmax()), held_s.shape)
        trip_ms = float(np.inf)
    held = held_s[row]
    before, after = np.flatnonzero(held[:place] <= 0), np.flatnonzero(held[place:] <= 0)
    begin = int(before[-1]) + 1 if len(before) else 0
    end = int(place + after[0]) if len(after) else len(held)
    fullest = begin + int(held[begin:end].argmax())
    return Filling(float(t_ms[row, begin]), float(t_ms[row, fullest + 1]), float(held[fullest]), trip_ms)


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
        # A line that passes at an edge, but for rounding, cuts nothing; there the cut would begin the next stretch.
        inside = crossed[:, columns] & (at_ms > left) & (at_ms < right)
        # Where a row has no cut the spare edge goes to the very end: there it makes a stretch of no length.
        cuts.append(np.where(inside, at_ms, t_ms[:, -1:]))
        owners.append(np.where(inside, columns, stretches - 1))
    if not cuts:
        return t_ms, None
    edges = np.concatenate([t_ms, *cuts], axis=1)
    own = np.minimum(np.arange(stretches + 1), stretches - 1)
    owner = np.concatenate([np.broadcast_to(own, (rows, stretches + 1)), *owners], axis=1)
    order = np.argsort(edges, axis=1, kind="stable")
    return np.take_along_axis(edges, order, axis=1), np.take_along_axis(owner, order, axis=1)[:, :-1]
