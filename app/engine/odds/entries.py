"""Moments at which a level comes to be passed, drawn at random in proportion to how often each happens."""

from collections.abc import Iterator
from functools import cached_property
from itertools import accumulate
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.compiled import compiled
from app.engine.kinds import Flags, Floats
from app.engine.odds.block import Block
from app.engine.odds.evenly import evenly, evenly_from
from app.engine.odds.many import sampled
from app.engine.odds.passing import Passing, Steps
from app.engine.odds.stairs import Stairs
from app.engine.odds.tables import on_in, states_with

BY_PLAN = -1
GOLDEN = (5**0.5 - 1) / 2  # its multiples spread evenly, over all of them and over any that follow one another


class Entries(NamedTuple):
    """Moments, shape (m,) each.

    cell, at_ms: where and when. on: shape (loads, m). trigger: the load that came on, or went off, just then; BY_PLAN
    where none did. weight: what each counts for, 1 where how often it happens is known.
    """

    cell: NDArray[np.intp]
    at_ms: Floats
    on: Flags
    trigger: NDArray[np.intp]
    weight: Floats

    def parts(self, most: int) -> "Iterator[Entries]":
        """All of them, in parts of so many at most and about as many each."""
        size = -(-len(self.cell) // -(-len(self.cell) // most))
        for first in range(0, len(self.cell), size):
            some = slice(first, first + size)
            yield Entries(self.cell[some], self.at_ms[some], self.on[:, some], self.trigger[some], self.weight[some])


class _ByLoad(NamedTuple):
    """Loads of a block that come on, or go off. per_day: summed up from the first, load by load and state by state."""

    block: Block
    comes: bool
    per_day: Floats


class Stood(NamedTuple):
    """Cells one after the other, place by place of their stairs: their calm parts, and what follows these.

    order: which cells, shape (cells,). until_ms: how long stand those up to each, shape (2, cells). before_ms: per
    place, those at places before it, shape (2, places + 1). rest_ms: what is not calm of each cell, shape (cells,).
    """

    order: NDArray[np.intp]
    until_ms: Floats
    before_ms: Floats
    rest_ms: Floats

    @staticmethod
    def of(stairs: Stairs, calm_ms: Floats, lasts_ms: Floats) -> "Stood":
        """Cells that stand on stairs, calm for so long from their beginning."""
        order, first = by_place(stairs.of_item, len(stairs.height) * stairs.width)
        until_ms = np.array((calm_ms, lasts_ms - calm_ms))[:, order].cumsum(axis=1)
        before_ms = np.concatenate([np.zeros((2, 1)), until_ms], axis=1)[:, first]
        return Stood(order, until_ms, before_ms, lasts_ms - calm_ms)


class Moments:
    """All moments at which a level comes to be passed, of which some may be drawn."""

    def __init__(self, passing: Passing, allowed_ms: float) -> None:
        self.allowed_ms = allowed_ms
        self.passing, self.loads, self.cells = passing, passing.under.loads, passing.under.cells
        self.blocks = [block for block in passing.under.blocks() if block.passed(passing.checks).anywhere]
        grids = [block for block in self.blocks if block.table.gain_per_ms is not None]
        self.crowded = grids
        self._known: dict[Block, Stood] = {}

    @cached_property
    def _by_load(self) -> list[_ByLoad]:
        found = []
        for block in self.blocks:
            if block.table.gain_per_ms is None:
                for comes in (True, False)[: 1 if block.rises else 2]:
                    per_day = self.passing.reached_per_day(block, comes=comes).ravel()
                    if len(per_day) and per_day[-1] > 0:
                        found.append(_ByLoad(block, comes, per_day))
        return found

    @cached_property
    def _by_plan(self) -> list[Steps]:
        return [steps for steps in self.passing.steps if steps.block.table.gain_per_ms is None]

    def drawn(self, count: int, random: np.random.Generator) -> Entries | None:
        """So many of them; None where they are so rare that none could be drawn."""
        by_load = np.array([source.per_day[-1] for source in self._by_load])
        by_plan = [steps.per_day for steps in self._by_plan]
        often = np.concatenate([by_load, *by_plan])
        of_crowd = max(self.passing.per_day - float(often.sum()), 0.0)
        if self.crowded:
            often = np.append(often, of_crowd)
        if not often.sum() > 0:
            return None
        many = np.bincount(evenly(often, count, random), minlength=len(often))
        ends = list(accumulate((len(by_load), *map(len, by_plan))))
        parts = [
            self._of_load(source, each, random)
            for source, each in zip(self._by_load, many[: ends[0]].tolist(), strict=True)
            if each
        ]
        if many[ends[-1] :].any():
            parts += self._of_crowd(int(many[-1]), of_crowd, random)
        for steps, first, end in zip(self._by_plan, ends[:-1], ends[1:], strict=True):
            parts += self._of_plan(steps, many[first:end], random)
        if not parts:
            return None
        return Entries(*(np.concatenate(column, axis=-1) for column in zip(*parts, strict=True)))

    def _of_load(self, source: _ByLoad, count: int, random: np.random.Generator) -> Entries:
        block, table = source.block, source.block.table
        place, others = np.divmod(evenly_from(source.per_day, count, random), len(table.weight) // 2)
        with_it = states_with(others, place)
        without = with_it ^ (1 << place)
        state, before = (with_it, without) if source.comes else (without, with_it)
        cell, at_ms = self._within(block, state, before, random)
        return Entries(cell, at_ms, on_in(self.loads, table, state), table.loads[place], np.ones(count))

    def _within(
        self, block: Block, state: NDArray[np.intp], before: NDArray[np.intp], random: np.random.Generator
    ) -> tuple[NDArray[np.intp], Floats]:
        """A cell in which a line is passed with each state and not with the one before, and an instant in it.

        The calm instants come first, so that as many of them are drawn as there are.
        """
        place, stood = block.passed(self.passing.checks).place, self._stood(block)
        first, end = place.take(state, axis=0), place.take(before, axis=0)
        cell, left_ms = instants(first, end, random.random(), *stood)
        return block.number[cell], block.cells.to_ms[cell] - left_ms

    def _stood(self, block: Block) -> Stood:
        if block not in self._known:
            self._known[block] = Stood.of(block.stairs, calm(block, self.allowed_ms), block.cells.lasts_ms)
        return self._known[block]

    def _of_plan(self, steps: Steps, many: NDArray[np.intp], random: np.random.Generator) -> Iterator[Entries]:
        """Moments of the plan's steps in a block, so many of each; those on one stair are drawn together."""
        block, stair = steps.block, steps.block.stairs.of_item[steps.place] // steps.block.stairs.width
        for one in np.flatnonzero(~steps.alike & (many > 0)).tolist():
            states = self.passing.states_of(block, int(steps.place[one]))
            yield self._begun(steps, np.repeat(one, many[one]), evenly(states, int(many[one]), random))
        for each in np.unique(stair[steps.alike & (many > 0)]).tolist():
            some = np.flatnonzero(steps.alike & (stair == each))
            which = np.repeat(some, many[some])
            yield self._begun(steps, which, self._climbed(block, each, steps.place[which], random))

    def _begun(self, steps: Steps, which: NDArray[np.intp], state: NDArray[np.intp]) -> Entries:
        """Moments at which cells begin: at which of the steps, and the states that they lead to."""
        cell = steps.cell[which]
        by_plan, weight = np.full(len(cell), BY_PLAN), np.ones(len(cell))
        return Entries(cell, self.cells.from_ms[cell], on_in(self.loads, steps.block.table, state), by_plan, weight)

    def _climbed(
        self, block: Block, stair: int, cells: NDArray[np.intp], random: np.random.Generator
    ) -> NDArray[np.intp]:
        """States that pass a line in cells and not in those before, which stand lower on the same stair."""
        begin, width = stair * block.stairs.width, block.stairs.width
        ordered = by_place(block.passed(self.passing.checks).place[:, stair] - begin, width)
        here = block.stairs.of_item - begin
        return climbed(*ordered, block.table.weight, here[cells - 1], here[cells], random.random())

    def _of_crowd(self, count: int, per_day: float, random: np.random.Generator) -> Iterator[Entries]:
        """Moments where there are more loads than can be written down.

        per_day: how often they happen on the grid, which has the mean of what stands beside the watts at each sum; what
        was drawn tells it better.
        """
        samples = [sampled(self.passing, block, count, random) for block in self.crowded]
        often = np.concatenate([one.by_load + one.by_plan for one in samples])
        if not often.sum() > 0:
            return
        chosen = evenly(often, count, random)
        cell, by_load, trigger = (
            np.concatenate(column)[chosen]
            for column in zip(*((one.cell, one.by_load, one.trigger) for one in samples), strict=True)
        )
        on = np.concatenate([one.on for one in samples], axis=1)[:, chosen]
        part = random.random((2, count))
        of_load = part[0] * often[chosen] < by_load
        at_ms = self.cells.from_ms[cell] + np.where(of_load, part[1] * self.cells.lasts_ms[cell], 0.0)
        weight = np.full(count, often.sum() / per_day if per_day > 0 else 1.0)
        yield Entries(cell, at_ms, on, np.where(of_load, trigger, BY_PLAN), weight)


@compiled
def instants(
    first: NDArray[np.intp],
    end: NDArray[np.intp],
    begin: float,
    order: NDArray[np.intp],
    until_ms: Floats,
    before_ms: Floats,
    rest_ms: Floats,
) -> tuple[NDArray[np.intp], Floats]:
    """Of m moments, the cell and how much of it is left: from what stands on some places, one after the other.

    first, end: from which place on and up to which, on each stair, shape (m, stairs). begin: how far into all of
    it the first is, as a part; those that follow lie as evenly as can be. The others: of `Stood`.
    """
    cell, left_ms = np.zeros(len(first), dtype=np.intp), np.zeros(len(first))
    stairs = first.shape[1]
    for moment in range(len(first)):
        stood_ms = 0.0
        for part in range(2):
            for stair in range(stairs):
                lasts_ms = before_ms[part, end[moment, stair]] - before_ms[part, first[moment, stair]]
                stood_ms += max(lasts_ms, 0.0)
        spread = begin + GOLDEN * moment
        left, into_ms, drawn_part = (spread - np.floor(spread)) * stood_ms, 0.0, 0
        for part in range(2):
            for stair in range(stairs):
                begin_ms = before_ms[part, first[moment, stair]]
                lasts_ms = before_ms[part, end[moment, stair]] - begin_ms
                if lasts_ms > 0 and left >= 0:
                    into_ms, drawn_part = begin_ms + min(left, lasts_ms), part
                    left -= lasts_ms
        until = until_ms[drawn_part]
        which = np.searchsorted(until, into_ms, side="right")
        which -= which == len(order)
        cell[moment] = order[which]
        left_ms[moment] = max(until[which] - into_ms, 0.0)
        if drawn_part == 0:
            left_ms[moment] += rest_ms[cell[moment]]  # a cell's calm part is its beginning
    return cell, left_ms


@compiled
def by_place(place: NDArray[np.intp], places: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Items in order of their places, shape (items,); and where those of each place begin, shape (places + 1,)."""
    first = np.zeros(places + 2, dtype=np.intp)  # one further on, so that as they are put in order it comes to be right
    for one in place:
        first[one + 2] += 1
    for one in range(places):
        first[one + 2] += first[one + 1]
    order = np.empty(len(place), dtype=np.intp)
    for item in range(len(place)):
        order[first[place[item] + 1]] = item
        first[place[item] + 1] += 1
    return order, first[: places + 1].copy()


@compiled
def climbed(
    order: NDArray[np.intp],
    first: NDArray[np.intp],
    weight: Floats,
    after: NDArray[np.intp],
    up_to: NDArray[np.intp],
    begin: float,
) -> NDArray[np.intp]:
    """Of m moments a state each, in proportion to its weight, among those whose place is after one and up to another.

    order, first: of the states, as `by_place`. weight: of each. after, up_to: shape (m,). begin: as in `instants`.
    """
    reached = np.zeros(len(order) + 1)
    for number in range(len(order)):
        reached[number + 1] = reached[number] + weight[order[number]]
    found = np.empty(len(after), dtype=np.intp)
    for moment in range(len(after)):
        low, high = first[after[moment] + 1], first[up_to[moment] + 1]
        spread = begin + GOLDEN * moment
        drawn = reached[low] + (spread - np.floor(spread)) * (reached[high] - reached[low])
        number = low + np.searchsorted(reached[low + 1 : high], drawn, side="right")
        found[moment] = order[number]
    return found


def calm(block: Block, allowed_ms: float) -> Floats:
    """How long of each cell, from its beginning, nothing certain is less for as long as is allowed from then on."""
    return np.minimum(np.maximum(block.less_ms - allowed_ms - block.cells.from_ms, 0.0), block.cells.lasts_ms)
