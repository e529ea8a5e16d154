"""How often a draw comes to pass a level: exactly, from the cycles of the loads and from the plan itself."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.engine.heat import Check, exceeds
from app.engine.kinds import Flags, Floats
from app.engine.odds.loads import Loads
from app.engine.odds.many import Sample, sampled
from app.engine.odds.tables import Table, table_of
from app.engine.odds.under import Block, UnderRule
from app.engine.starts import lowest

SEED = 20_261_128  # of no meaning: the same plan gives the same odds


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """The plan itself takes the draw past a level as a cell begins: in states of which names, how likely each."""

    cell: int
    states: NDArray[np.intp]
    weight: Floats


@dataclass(frozen=True, eq=False)
class Passing:
    """How often the running draw comes to pass any of some lines of a rule.

    but_starting: passings that come with a start are left out, for the start is judged by itself.
    only: one load whose coming on alone counts.
    """

    under: UnderRule
    checks: Sequence[Check]
    but_starting: bool = False
    only: int | None = None
    _known: dict[Table, Floats] = field(default_factory=dict)

    @cached_property
    def longest_s(self) -> float:
        """No longer than this could a line stay passed, whatever is on."""
        scope, under = self.under.loads.scope, self.under
        use = under.quantities(under.most)
        passed = np.zeros(len(scope.begin_ms), dtype=bool)
        for check in self.checks:
            passed |= exceeds(use[check.quantity], lowest(check.line.at(scope.t_ms)))
        edge = np.flatnonzero(np.diff(np.concatenate(([0], passed.astype(np.int8), [0]))))
        return float((scope.t_ms[edge[1::2]] - scope.t_ms[edge[::2]]).max(initial=0.0)) / 1000

    @property
    def flow(self) -> Floats:
        """Per cell, how often a load that comes on, or goes off, takes the draw past a line; shape (cells,)."""
        return self._both[0]

    @property
    def steps(self) -> list[Step]:
        """Where the plan itself takes the draw past a line: a draw that is there for sure, or a line that sinks."""
        return self._both[1]

    @cached_property
    def _both(self) -> tuple[Floats, list[Step]]:
        flow, steps = np.zeros(len(self.under.cells)), list[Step]()
        for block in self.under.blocks():
            if block.table.name is not None:
                passed = block.passed(self.checks)
                if passed.any():
                    flow[block.number] = self._flow_in(block, passed) * block.cells.lasts_ms
                    steps += self._steps_in(block, passed) if self.only is None else ()
        return flow, steps

    @cached_property
    def samples(self) -> list[Sample]:
        """Passings in cells with more loads than can be written down."""
        random = np.random.default_rng(SEED)
        return [
            sampled(self.under, block, self.checks, self.counted(block), random)
            for block in self.under.blocks()
            if block.table.name is None
        ]

    def _flow_in(self, block: Block, passed: Flags) -> Floats:
        """Passings per millisecond in the cells of a block."""
        loads, table = self.under.loads, block.table
        if loads.may_lower_the_use:
            leaves = np.full(len(table.loads), float(self.only is None))
            rates = into(loads, table, table.by_name(passed), self.counted(block), leaves)
            return np.asarray(rates[:, table.names] @ table.weight)
        return np.asarray(passed @ self._coming(block)[: passed.shape[1]])

    def _coming(self, block: Block) -> Floats:
        """Per state, what its being passed adds to the passings per millisecond; shape (states,).

        One more load on never lowers the use, so a load takes the draw past a line as often as it comes on, times
        how likely a line is passed with it on, less how likely with it off.
        """
        table, loads = block.table, self.under.loads
        if table not in self._known:
            share = loads.share[table.loads]
            per_ms = self.counted(block) / (loads.on_ms + loads.off_ms)[table.loads]
            on = table.on(table.names)
            self._known[table] = table.weight * np.where(
                on, (per_ms / share)[:, None], -(per_ms / (1 - share))[:, None]
            ).sum(axis=0)
        return self._known[table]

    def counted(self, block: Block) -> Floats:
        """Per load of a table, 1 where its coming on counts."""
        table = block.table
        counted = np.ones(len(table.loads))
        if self.only is not None:
            counted = (table.loads == self.only).astype(float)
        elif self.but_starting:
            scope, stands = self.under.loads.scope, self.under.loads.stands[:, block.cells.stretch[0]]
            starting = self.under.loads.of_piece[stands & (scope.cyclers.start_ms > 0)]
            counted[np.isin(table.loads, starting)] = 0.0
        return counted

    def _steps_in(self, block: Block, passed: Flags) -> Iterator[Step]:
        number, table = block.number, block.table
        # Most cells follow one of the same block: what is passed in them and was not before, is quickly told.
        near = np.concatenate(([False], np.diff(number) == 1)) & block.cells.follows
        fresh = passed & ~(np.concatenate((passed[:1], passed[:-1])) & near[:, None])
        starting = np.isin(block.cells.from_ms, self.under.starts_ms) & self.but_starting
        for place in np.flatnonzero(fresh.any(axis=1) & ~starting).tolist():
            first = np.flatnonzero(fresh[place])
            weight = table.weight[first]
            if not near[place]:
                weight = weight * self._not_before(int(number[place]), table)[table.names[first]]
            kept = weight > 0
            if kept.any():
                yield Step(int(number[place]), table.names[first[kept]], weight[kept])

    def _not_before(self, number: int, table: Table) -> Floats:
        """Per state's name, how likely no line was passed just before a cell began."""
        cells, loads = self.under.cells, self.under.loads
        if cells.follows[number]:
            other = self.under.table_of_cell[number - 1]
            before = self.under.block(np.array([number - 1]), other)
        elif number == 0 and cells.from_ms[0] == 0:
            other = table_of(loads, int(self.under.before_midnight.stretch[0]))
            before = self.under.block_of(self.under.before_midnight, np.array([0]), other)
        else:
            return np.ones(len(table.weight))
        if other.name is None:
            return np.ones(len(table.weight))  # the safe side
        return not_passed(loads, other, other.by_name(before.passed(self.checks))[0], table)

    @cached_property
    def per_day(self) -> float:
        """How often a day."""
        return self.by_load + self.by_plan + self.by_sample

    @property
    def by_load(self) -> float:
        """How often a day a load does it."""
        return float(self.flow.sum())

    @property
    def by_plan(self) -> float:
        """How often a day the plan itself does it."""
        return float(sum(step.weight.sum() for step in self.steps))

    @property
    def by_sample(self) -> float:
        """How often a day either does it where there are too many loads to be written down."""
        return float(sum(one.by_load.sum() + one.by_plan.sum() for one in self.samples))


def into(loads: Loads, table: Table, passed: Flags, counted: Floats, leaves: Floats) -> Floats:
    """How often a state that is passed comes out of one that is not, per millisecond in it; shape as passed.

    passed: shape (cells, names of states). counted, leaves: per load, whether its coming on counts, and its going off.
    """
    found = np.zeros(passed.shape)
    cells = len(passed)
    for place, load in enumerate(table.loads.tolist()):
        cube = passed.reshape(cells, -1, 2, 1 << place)
        rate = found.reshape(cube.shape)
        off, on = cube[:, :, 0, :], cube[:, :, 1, :]
        rate[:, :, 1, :] += (on & ~off) * (counted[place] / loads.on_ms[load])
        rate[:, :, 0, :] += (off & ~on) * (leaves[place] / loads.off_ms[load])
    return found


def not_passed(loads: Loads, before: Table, passed: Flags, now: Table) -> Floats:
    """Per state's name of a table, how likely it was no passed one before; loads in both stayed as they are.

    passed: shape (names of states before,). Loads that are gone may have been on or off.
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
