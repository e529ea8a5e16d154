"""How often a draw comes to pass a level: exactly, from the cycles of the loads and from the plan itself."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.compiled import compiled
from app.engine.heat import Check, exceeds
from app.engine.kinds import Flags, Floats
from app.engine.odds.block import Block
from app.engine.odds.loads import Loads
from app.engine.odds.tables import Table
from app.engine.odds.under import UnderRule
from app.engine.starts import lowest

KEPT = 1 << 17  # figures of a block; no more are kept for those who ask again
ROUNDING = 1e-9
SEED = 20_261_128  # of no meaning: the same plan gives the same odds


class Steps(NamedTuple):
    """Where the plan itself takes the draw past a level as cells of a block begin; shape (n,) each.

    place: which of the block's cells. per_day: how often a day. alike: the cell before stands on the same stair.
    """

    block: Block
    place: NDArray[np.intp]
    per_day: Floats
    alike: Flags

    @property
    def cell(self) -> NDArray[np.intp]:
        """Which of all cells."""
        return self.block.number[self.place]


class Rates(NamedTuple):
    """How often a day each load of a table takes the draw past a level by coming on, and by going off; shape (n,)."""

    comes_per_day: Floats
    goes_per_day: Floats


@dataclass(frozen=True, eq=False)
class Passing:
    """How often the running draw comes to pass any of some lines of a rule."""

    under: UnderRule
    checks: Sequence[Check]
    _reached: dict[tuple[Block, bool], Floats] = field(default_factory=dict)

    @cached_property
    def longest_s(self) -> float:
        """No longer than this could a line stay passed, whatever is on."""
        scope = self.under.loads.scope
        passed = np.zeros(len(scope.begin_ms) + 2, dtype=bool)  # in none of the first and the last
        for check in self.checks:
            passed[1:-1] |= exceeds(self.under.most_used[check.quantity], lowest(check.line.at(scope.t_ms)))
        edge = np.flatnonzero(passed[1:] != passed[:-1])
        return float((scope.t_ms[edge[1::2]] - scope.t_ms[edge[::2]]).max(initial=0.0)) / 1000

    # -- loads ----------------------------------------------------------------------------------------------

    @cached_property
    def by_load(self) -> float:
        """How often a day a load that comes on, or goes off, takes the draw past a line."""
        return (
            sum(float(rates.comes_per_day.sum() + rates.goes_per_day.sum()) for _, rates in self._rates) + self._crowded
        )

    @cached_property
    def by_each_load(self) -> Floats:
        """The same of each load that comes on, shape (loads,); nothing where they are more than can be written down."""
        found = np.zeros(len(self.under.loads.on_ms))
        for block, rates in self._rates:
            found[block.table.loads] += rates.comes_per_day
        return found

    @cached_property
    def _rates(self) -> list[tuple[Block, Rates]]:
        return [
            (block, Rates(*(self._by_each(block, comes=comes) for comes in (True, False))))
            for block in self.under.blocks()
            if block.table.gain_per_ms is None and block.passed(self.checks).anywhere
        ]

    def _by_each(self, block: Block, *, comes: bool) -> Floats:
        if not comes and block.rises:
            return np.zeros(len(block.table.loads))
        reached = self.reached_per_day(block, comes=comes)[:, -1]
        return reached - np.concatenate(([0.0], reached[:-1]))

    def reached_per_day(self, block: Block, *, comes: bool) -> Floats:
        """How often a day loads of a table do it by coming on, or by going off, per state of the others.

        Shape (n, half the states), summed up from the first, load by load and state by state. A load changes in a state
        as often as in any: once in its time on, or off.
        """
        if (block, comes) in self._reached:
            return self._reached[block, comes]
        found = self._worked_out(block, comes=comes)
        if found.size <= KEPT:
            self._reached[block, comes] = found
        return found

    def _worked_out(self, block: Block, *, comes: bool) -> Floats:
        passed, table, loads = block.passed(self.checks), block.table, self.under.loads
        if not len(table.loads) or (not comes and block.rises):
            return np.zeros((len(table.loads), max(len(table.weight) // 2, 1)))
        lasts_ms = (loads.on_ms if comes else loads.off_ms)[table.loads]
        return moved_per_day(passed.from_here_ms[passed.place], table.weight, lasts_ms, comes)

    @cached_property
    def _crowded(self) -> float:
        """How often a day some load does it where there are more than can be written down."""
        return sum(
            float(block.table.gain_per_ms @ block.passed(self.checks).of_state_ms)
            for block in self.under.blocks()
            if block.table.gain_per_ms is not None
        )

    # -- the plan -------------------------------------------------------------------------------------------

    @cached_property
    def by_plan(self) -> float:
        """How often a day the plan itself does it."""
        return sum(float(steps.per_day.sum()) for steps in self.steps)

    @cached_property
    def steps(self) -> list[Steps]:
        """Where the plan itself takes the draw past a line: a draw that is there for sure, or a line that sinks."""
        return [self._steps_in(block) for block in self.under.blocks() if block.passed(self.checks).anywhere]

    def _steps_in(self, block: Block) -> Steps:
        # Most cells follow one on the same stair: what is passed in them and was not before, is quickly told.
        likely, alike = block.passed(self.checks).likely, block.climbs
        more = np.where(alike, likely - np.concatenate((likely[:1], likely[:-1])), likely)
        for place in np.flatnonzero((likely > 0) & ~alike).tolist():
            more[place] = self.states_of(block, place).sum()
        places = np.flatnonzero(more > 0)
        return Steps(block, places, more[places], alike[places])

    def states_of(self, block: Block, place: int) -> Floats:
        """How often a day it happens as one of a block's cells begins, per state that it leads to."""
        passed, number = block.passed(self.checks), int(block.number[place])
        likely = block.table.weight * passed.flags(place)
        if block.near[place]:
            return np.asarray(likely * ~passed.flags(place - 1))
        return likely * self._not_before(number, block.table, float(passed.likely[place]))

    def _not_before(self, number: int, table: Table, share: float) -> Floats:
        """For the states of a cell, how likely no line was passed just before it began; share: that one is in it."""
        before = self.under.before(number)
        if before is None:
            return np.ones(len(table.weight))
        other = before.table
        was = before.passed(self.checks)
        flags = was.flags(0)
        if len(flags) == len(table.weight) and np.array_equal(other.loads, table.loads):
            return (~flags).astype(float)
        if other.gain_per_ms is None and table.gain_per_ms is None:
            return not_passed(self.under.loads, other, flags, table)
        # On grids it is not known which loads were on: as likely as it became likelier.
        return np.full(len(table.weight), max(1 - float(was.likely[0]) / share, 0.0))

    @cached_property
    def per_day(self) -> float:
        """How often a day; what is passed all day, and so never comes to be, counts once."""
        return self.by_load + self.by_plan + self.all_day

    @cached_property
    def per_day_in_cells(self) -> Floats:
        """How often a day it happens in each cell; shape (cells,), sums to `by_load` and `by_plan`."""
        found = np.zeros(len(self.under.cells))
        for steps in self.steps:
            found[steps.cell] += steps.per_day
        for block in self.under.blocks():
            if block.passed(self.checks).anywhere:
                found[block.number] += self._by_load_per_ms(block) * block.cells.lasts_ms
        return found

    def _by_load_per_ms(self, block: Block) -> Floats:
        """How often a load does it in each cell of a block."""
        passed, table, loads = block.passed(self.checks), block.table, self.under.loads
        if table.gain_per_ms is not None:
            return passed.summed(passed.place, table.gain_per_ms)
        found = np.zeros(len(block))
        for bit, load in enumerate(table.loads.tolist()):
            off, on = (passed.place.reshape(-1, 2, 1 << bit, passed.place.shape[1])[:, one] for one in (0, 1))
            weight_off, weight_on = (table.weight.reshape(-1, 2, 1 << bit)[:, one] for one in (0, 1))
            # On a stair, from where it is passed with the load on up to where it is with it off; and the other way.
            comes, goes = weight_on / loads.on_ms[load], weight_off / loads.off_ms[load]
            found += passed.summed(np.minimum(on, off), comes) - passed.summed(off, comes)
            if not block.rises:
                found += passed.summed(np.minimum(on, off), goes) - passed.summed(on, goes)
        return found

    @cached_property
    def all_day(self) -> float:
        """1 where a line is passed all day long for sure, else 0."""
        if self.by_load + self.by_plan > 0 or not self.checks:
            return 0.0
        (seconds,) = self.under.seconds(self.checks)
        return float(seconds * 1000 >= self.under.day_ms * (1 - ROUNDING))


def not_passed(loads: Loads, before: Table, passed: Flags, now: Table) -> Floats:
    """Per state of a table, how likely it was no passed one before; loads in both stayed as they are.

    passed: shape (states before,). Loads that are gone may have been on or off.
    """
    cube = (~passed).astype(float).reshape((2,) * len(before.loads), order="F")
    kept: list[np.intp] = []
    for place in reversed(range(len(before.loads))):
        load = before.loads[place]
        if load in now.loads:
            kept.insert(0, load)
        else:
            share = loads.share[load]
            cube = cube.take(0, axis=place) * (1 - share) + cube.take(1, axis=place) * share
    # Both tables have their loads in one order, so what is left only needs room for those that are new.
    shape = [2 if load in kept else 1 for load in now.loads]
    return np.broadcast_to(cube.reshape(shape, order="F"), (2,) * len(now.loads)).ravel(order="F")


@compiled
def moved_per_day(passed_ms: Floats, weight: Floats, lasts_ms: Floats, comes: bool) -> Floats:
    """How often a day loads take the draw past a line by coming on, or by going off, per state of the others.

    passed_ms: for how long a day it would be past it with a state, stair by stair, shape (states, stairs). weight: of
    each state. lasts_ms: for how long each load is on, or off, shape (n,). Returns shape (n, half the states), summed
    up from the first.
    """
    states, stairs = passed_ms.shape
    loads, reached = len(lasts_ms), 0.0
    found = np.empty((loads, states // 2))
    for load in range(loads):
        bit, of_load = 1 << load, 0.0
        for others in range(states // 2):
            # Without a sign: what may count from an array's end is looked up more slowly.
            off = np.uint64(((others >> load) << (load + 1)) | (others & (bit - 1)))
            on = off | np.uint64(bit)
            after, before = (on, off) if comes else (off, on)
            moved_ms = 0.0
            for stair in range(stairs):
                moved_ms += max(passed_ms[after, stair] - passed_ms[before, stair], 0.0)
            of_load += weight[after] * moved_ms / lasts_ms[load]
            found[load, others] = reached + of_load
        reached += of_load
    return found
