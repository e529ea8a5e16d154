"""What adds up over passings that follow soon on one another, on some days: stores filled on days drawn at random.

How often one passing lasts too long is known without them (`app.engine.odds.lasting`); here is only told how much more
often, or less, a store comes to hold too much. Where every load rests for longer than a store takes to fill and to
empty, that is some per cent and is left out; a hob that cycles by the half minute may make it everything.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR, Draws
from app.engine.kinds import Flags, Floats
from app.engine.odds.lasting import Lasted
from app.engine.odds.passing import SEED, Passing

FEWEST, AT_ONCE, MOST_AT_ONCE = 8, 512, 8  # days that are drawn together, and so often at most
FIGURES, MOST_FIGURES = 1 << 17, 1 << 20  # instants times days: so many together, and in all, of all stores of a rule
SURE, NO_MATTER = 0.1, 0.002  # how far off it may be: in parts of the whole figure, and times a day
TAKES_PART = 0.02  # of the passings
ABOUT = 1.15  # times as long as a store takes to fill and to empty


def by_stores(passing: Passing, store: int, lasted: Lasted) -> Lasted | None:
    """How much more often a day a store holds too much than one passing lasts too long.

    None where passings do not follow soon on one another, or are too many to be drawn.
    """
    days = _Days(passing, store)

    def more(lived: "Callable[[_Days], _Lived]") -> Floats:
        one = lived(days)
        return _times(one.full, one.empty, one.own) - _times(one.long, one.ends, one.own)

    mean = _mean_of_days(days, days.times(days.often), more, lasted.per_day)
    return None if mean is None else Lasted(float(mean[0]), dict(zip(days.quantities, mean[1:].tolist(), strict=True)))


def by_any_store(passings: Sequence[Passing], filled: Sequence[int], per_day: float) -> float | None:
    """How much more often a day some store of a rule holds too much than an excursion lasts too long above some level.

    passings: of the level of each store, from the lowest. filled: which of the stores are ever filled so. per_day: how
    often the rule is broken without. What several stores come to hold too much counts once, until all of them are
    empty. None where days cannot be drawn for one of those that are filled: as in `by_stores`.
    """
    stores = [_Days(passing, store) for store, passing in enumerate(passings)]
    often = [one.often for one in stores]
    if not all(often[store].any() for store in filled):
        return None
    last_to_empty = max(stores, key=lambda one: one.allowed_s + one.cooling_s)
    times = last_to_empty.times(np.logical_or.reduce(often))  # of all of them

    def more(lived: "Callable[[_Days], _Lived]") -> Floats:
        found = [lived(one) for one in stores]
        full, long = (
            np.logical_or.reduce(flags) for flags in zip(*((one.full, one.long) for one in found), strict=True)
        )
        return _times(full, np.logical_and.reduce([one.empty for one in found]), []) - _times(long, found[0].ends, [])

    mean = _mean_of_days(last_to_empty, times, more, per_day)
    return None if mean is None else float(mean[0])


def _mean_of_days(
    days: "_Days", times: "list[_Time]", more: "Callable[[Callable[[_Days], _Lived]], Floats]", per_day: float
) -> Floats | None:
    """What is found on the mean in times of days that are drawn, shape (figures,); None where they cannot be.

    more: what is found, shape (days, figures), in what some stores did. per_day: how often without.
    """
    size = sum(map(days.size, times))
    most = MOST_FIGURES // len(days.under.rule.allowed_s)
    if not times or size * FEWEST > most:
        return None
    random, drawn = np.random.default_rng(SEED), list[Floats]()
    count = min(max(FIGURES // size, FEWEST), AT_ONCE)
    while len(drawn) < MOST_AT_ONCE and len(drawn) * count * size < most:
        some = []
        for time in times:
            edges_ms, phase_ms = days.edges(time, count, random)
            some.append(more(partial(_Days.lived, time=time, edges_ms=edges_ms, phase_ms=phase_ms)))
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


@dataclass(frozen=True, slots=True)
class _Time:
    """A part of the day in which passings may follow soon on one another. loads: that come and go in it."""

    from_ms: float
    to_ms: float
    stretches: NDArray[np.intp]
    loads: NDArray[np.intp]


class _Days:
    """Times of days under a rule, as they may go."""

    def __init__(self, passing: Passing, store: int) -> None:
        self.passing, self.under = passing, passing.under
        self.quantities = sorted({check.quantity for check in passing.checks})
        self.allowed_s = self.under.rule.allowed_s[store]
        self.cooling_s = self.under.rule.cooling_s[store]

    def times(self, often: Flags) -> list[_Time]:
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
                found.append(_Time(float(cells.from_ms[first]), float(cells.to_ms[end - 1]), stretches, moving))
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

    def size(self, time: _Time) -> int:
        """How many instants a time has, on a day."""
        period_ms = (self.under.loads.on_ms + self.under.loads.off_ms)[time.loads]
        return len(time.stretches) + int((2 * ((time.to_ms - time.from_ms) / period_ms + 2)).sum())

    def lived(self, time: _Time, edges_ms: Floats, phase_ms: Floats) -> _Lived:
        """What the store did on days that went so; as `edges`."""
        passed, own = self._passed(time, (edges_ms[:, 1:] + edges_ms[:, :-1]) / 2, phase_ms)
        seconds = np.diff(edges_ms, axis=1) / 1000
        # A store that is never below nothing: what flowed, less the least that ever had flowed. (Skorokhod's problem.)
        flowed_s = np.cumsum(np.where(passed, seconds, -seconds * (self.allowed_s / self.cooling_s)), axis=1)
        held_s = flowed_s - np.minimum.accumulate(np.minimum(flowed_s, 0.0), axis=1)
        ends = ~passed & (seconds > 0)
        above_s = np.cumsum(np.where(passed, seconds, 0.0), axis=1)
        lasts_s = above_s - np.maximum.accumulate(np.where(ends, above_s, 0.0), axis=1)
        too_much_s = self.allowed_s * (1 + HAIR)
        return _Lived(held_s > too_much_s, held_s <= 0, lasts_s > too_much_s, ends, own)

    def edges(self, time: _Time, count: int, random: np.random.Generator) -> tuple[Floats, Floats]:
        """Instants at which anything changes, in order, day by day; and where in its cycle each load begins."""
        loads = self.under.loads
        edges = [np.broadcast_to(loads.scope.t_ms[time.stretches[1:]], (count, len(time.stretches) - 1))]
        edges += [np.broadcast_to(np.array([time.from_ms, time.to_ms]), (count, 2))]
        phase_ms = random.random((len(time.loads), count))
        for place, load in enumerate(time.loads.tolist()):
            on_ms, period_ms = loads.on_ms[load], loads.on_ms[load] + loads.off_ms[load]
            phase_ms[place] *= period_ms
            number = np.arange(math.ceil((time.to_ms - time.from_ms) / period_ms) + 1)
            comes_ms = time.from_ms - phase_ms[place][:, None] + period_ms * number
            edges += [comes_ms, comes_ms + on_ms]
        found = np.clip(np.concatenate(edges, axis=1), time.from_ms, time.to_ms)
        found.sort(axis=1)
        return found, phase_ms

    def _passed(self, time: _Time, at_ms: Floats, phase_ms: Floats) -> tuple[Flags, list[Flags]]:
        """Whether any line is passed at instants, shape (days, n), and whether those of each quantity are."""
        under, draws = self.under, self._drawn(time, at_ms, phase_ms)
        own = [np.zeros(at_ms.shape, dtype=bool) for _ in self.quantities]
        for check in self.passing.checks:
            use = under.quantities[check.quantity](draws)
            own[self.quantities.index(check.quantity)] |= use > check.line.at(at_ms) * (1 + HAIR)
        return np.logical_or.reduce(own), own

    def _drawn(self, time: _Time, at_ms: Floats, phase_ms: Floats) -> Draws:
        """What is drawn at instants."""
        loads, scope = self.under.loads, self.under.loads.scope
        stretch = scope.stretch_at(at_ms)
        certain = scope.certain.take(stretch)
        on = np.zeros((len(loads.on_ms), *at_ms.shape), dtype=bool)
        on[loads.off_ms <= 0] = True
        for place, load in enumerate(time.loads.tolist()):
            periods = (at_ms - time.from_ms + phase_ms[place][:, None]) / (loads.on_ms[load] + loads.off_ms[load])
            on[load] = periods - np.floor(periods) < loads.share[load]
        if scope.interlocked:
            return loads.drawn(certain, on[loads.of_piece] & loads.stands[:, stretch], at_ms)
        figures = [certain.p_w, certain.q_var, certain.d_va, certain.spread_w2]
        for number, each in enumerate(loads.each):
            for load in np.flatnonzero(each[:, time.stretches].any(axis=1)).tolist():
                figures[number] = figures[number] + each[load][stretch] * on[load]
        return Draws(*figures)


def _times(too_much: Flags, over: Flags, own: list[Flags]) -> Floats:
    """How often too much comes about, once until it is over; then so often while each of some others holds with it.

    Shape (days, n) each, instants in order; returns shape (days, 1 + others).
    """
    number = np.cumsum(over, axis=1)

    def once(flags: Flags) -> tuple[Floats, Flags]:
        newest = np.maximum.accumulate(np.where(flags, number, -1), axis=1)
        before = np.concatenate([np.full((len(flags), 1), -1), newest[:, :-1]], axis=1)
        return np.asarray((flags & (before < number)).sum(axis=1), dtype=float), newest == number

    times, lasting = once(too_much)
    return np.stack([times, *(once(lasting & one)[0] for one in own)], axis=1)
