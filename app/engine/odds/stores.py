"""What adds up over passings that follow soon on one another, on some days: stores filled on days drawn at random.

How often one passing lasts too long is known without them (`app.engine.odds.lasting`); here is only told how much more
often, or less, a store comes to hold too much. Where every load rests for longer than a store takes to fill and to
empty, that is some per cent and is left out; a hob that cycles by the half minute may make it everything.
"""

import math
from collections.abc import Callable, Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np

from app.engine.draw import HAIR
from app.engine.heat import store_s
from app.engine.kinds import Flags, Floats
from app.engine.odds.days import Days, Time, once, phases_at_random
from app.engine.odds.lasting import Lasted
from app.engine.odds.passing import SEED, Passing
from app.engine.odds.under import UnderRule

FEWEST, AT_ONCE, MOST_AT_ONCE = 8, 512, 8  # days that are drawn together, and so often at most
FIGURES, MOST_FIGURES = 1 << 17, 1 << 20  # instants times days: so many together, and in all, of all stores of a rule
SURE, NO_MATTER = 0.1, 0.002  # how far off it may be: in parts of the whole figure, and times a day
TAKES_PART = 0.02  # of the passings
ABOUT = 1.15  # times as long as a store takes to fill and to empty


def by_stores(passing: Passing, store: int, lasted: Lasted) -> Lasted | None:
    """How much more often a day a store holds too much than one passing lasts too long.

    None where passings do not follow soon on one another, or are too many to be drawn.
    """
    own = _Store(passing, store)

    def more(days: Days) -> Floats:
        one = own.lived(days)
        return _times(one.full, one.empty, one.own) - _times(one.long, one.ends, one.own)

    mean = _mean_of_days(own.under, own.times(own.often), more, lasted.per_day)
    return None if mean is None else Lasted(float(mean[0]), dict(zip(own.quantities, mean[1:].tolist(), strict=True)))


def by_any_store(passings: Sequence[Passing], filled: Sequence[int], per_day: float) -> float | None:
    """How much more often a day some store of a rule holds too much than an excursion lasts too long above some level.

    passings: of the level of each store, from the lowest. filled: which of the stores are ever filled so. per_day: how
    often the rule is broken without. What several stores come to hold too much counts once, until all of them are
    empty. None where days cannot be drawn for one of those that are filled: as in `by_stores`.
    """
    stores = [_Store(passing, store) for store, passing in enumerate(passings)]
    often = [one.often for one in stores]
    if not all(often[store].any() for store in filled):
        return None
    last_to_empty = max(stores, key=lambda one: one.allowed_s + one.cooling_s)
    times = last_to_empty.times(np.logical_or.reduce(often))  # of all of them

    def more(days: Days) -> Floats:
        found = [one.lived(days) for one in stores]
        full, long = (
            np.logical_or.reduce(flags) for flags in zip(*((one.full, one.long) for one in found), strict=True)
        )
        return _times(full, np.logical_and.reduce([one.empty for one in found]), []) - _times(long, found[0].ends, [])

    mean = _mean_of_days(last_to_empty.under, times, more, per_day)
    return None if mean is None else float(mean[0])


def _mean_of_days(
    under: UnderRule, times: Sequence[Time], more: Callable[[Days], Floats], per_day: float
) -> Floats | None:
    """What is found on the mean in times of days that are drawn, shape (figures,); None where they cannot be.

    more: what is found on some days, shape (days, figures). per_day: how often without.
    """
    loads, size = under.loads, sum(time.size(under.loads) for time in times)
    most = MOST_FIGURES // len(under.rule.allowed_s)
    if not times or size * FEWEST > most:
        return None
    random, drawn = np.random.default_rng(SEED), list[Floats]()
    count = min(max(FIGURES // size, FEWEST), AT_ONCE)
    while len(drawn) < MOST_AT_ONCE and len(drawn) * count * size < most:
        some = []
        for time in times:
            some.append(more(Days(loads, time, phases_at_random(loads, time, count, random))))
        drawn.append(np.sum(some, axis=0))
        found = np.concatenate(drawn)
        error = float((found.std(axis=0) / math.sqrt(len(found))).max())
        if error <= max(SURE * (per_day + float(found[:, 0].mean())), NO_MATTER):
            break
    return np.asarray(found.mean(axis=0))


class _Lived(NamedTuple):
    """What a store did on some days, shape (days, instants) each.

    full: it holds too much. empty: it holds nothing. long: its level is passed for too long at once. ends: it is not
    passed. own: per quantity, whether it passes the level.
    """

    full: Flags
    empty: Flags
    long: Flags
    ends: Flags
    own: list[Flags]


class _Store:
    """A store of a rule, on days as they may go."""

    def __init__(self, passing: Passing, store: int) -> None:
        self.passing, self.under = passing, passing.under
        self.quantities = sorted({check.quantity for check in passing.checks})
        self.allowed_s = self.under.rule.allowed_s[store]
        self.cooling_s = self.under.rule.cooling_s[store]

    def times(self, often: Flags) -> list[Time]:
        """Those in which one of some loads stands; parted where the store is empty in between."""
        under, cells = self.under, self.under.cells
        loads, soon_ms = under.loads, (self.allowed_s + self.cooling_s) * 1000
        if not often.any() or not len(cells):
            return []
        begins = np.flatnonzero(np.concatenate(([True], cells.from_ms[1:] > cells.to_ms[:-1] + soon_ms)))
        found = []
        for first, end in zip(begins.tolist(), [*begins[1:].tolist(), len(cells)], strict=True):
            stretches = np.arange(cells.stretch[first], cells.stretch[end - 1] + 1)
            there = loads.stand[:, stretches].any(axis=1)
            if (there & often).any():
                moving = np.flatnonzero(there & (loads.off_ms > 0))
                found.append(Time(float(cells.from_ms[first]), float(cells.to_ms[end - 1]), stretches, moving))
        return found

    @cached_property
    def often(self) -> Flags:
        """Which loads come again before a store is empty, and take part in passings."""
        loads = self.under.loads
        soon_ms = ABOUT * (self.allowed_s + self.cooling_s) * 1000
        often: Flags = (loads.off_ms > 0) & (loads.on_ms + loads.off_ms <= soon_ms)
        if not often.any():
            return often
        if any(block.table.gain_per_ms is not None for block in self.under.blocks()):
            return often  # of so many it is not known which take part
        least = TAKES_PART * self.passing.per_day
        return np.asarray(often & (self.passing.by_each_load >= least))

    def lived(self, days: Days) -> _Lived:
        """What the store did on days that went so."""
        seconds, (passed, own) = days.seconds, self._passed(days)
        holds_s = store_s(seconds, passed, self.allowed_s, self.cooling_s)
        ends = ~passed & (seconds > 0)
        above_s = np.cumsum(np.where(passed, seconds, 0.0), axis=1)
        lasts_s = above_s - np.maximum.accumulate(np.where(ends, above_s, 0.0), axis=1)
        too_much_s = self.allowed_s * (1 + HAIR)
        return _Lived(holds_s > too_much_s, holds_s <= 0, lasts_s > too_much_s, ends, own)

    def _passed(self, days: Days) -> tuple[Flags, list[Flags]]:
        """Whether any line is passed in each span, shape (days, n), and whether those of each quantity are."""
        under, at_ms, draws = self.under, days.middle_ms, days.draws
        own = [np.zeros(at_ms.shape, dtype=bool) for _ in self.quantities]
        for check in self.passing.checks:
            use = under.quantities[check.quantity](draws)
            own[self.quantities.index(check.quantity)] |= use > check.line.at(at_ms) * (1 + HAIR)
        return np.logical_or.reduce(own), own


def _times(too_much: Flags, over: Flags, own: list[Flags]) -> Floats:
    """How often too much comes about, once until it is over; then so often while each of some others holds with it.

    Shape (days, n) each, instants in order; returns shape (days, 1 + others).
    """
    counted, lasting = once(too_much, over)
    figures = [counted, *(once(lasting & one, over)[0] for one in own)]
    return np.stack([one.sum(axis=1) for one in figures], axis=1).astype(float)
