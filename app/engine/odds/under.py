"""A scope under a rule, cell by cell and state by state: what is drawn, and whether it is too much."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR, Draws
from app.engine.heat import Check, Rule, part_above
from app.engine.kinds import Flags, Floats, Instants
from app.engine.odds.cells import Cells, cells_of
from app.engine.odds.loads import Loads
from app.engine.odds.tables import Table, table_of
from app.engine.patterns import Quantities
from app.engine.scope import with_cyclers

AT_ONCE = 1 << 16  # states times stretches worked out together
STRIDE = 64  # states looked at together when it is asked how many matter
KEPT = 1 << 21  # no more of them than this are kept for those who ask again


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Some cells whose stretches are of one kind.

    number: which cells of all. cells: these. row: per cell, which stretch of `used`.
    """

    number: NDArray[np.intp]
    cells: Cells
    used: "Used"
    row: NDArray[np.intp]

    @property
    def table(self) -> Table:
        """The states of these cells."""
        return self.used.table

    def passed(self, checks: Sequence[Check]) -> Flags:
        """Whether any of some lines is passed in the middle of each cell; shape (cells, states).

        Of the states only the first: those after them pass none.
        """
        middle_ms = (self.cells.from_ms + self.cells.to_ms) / 2
        count = self.used.reaching(checks)
        found = np.zeros((len(self.cells), count), dtype=bool)
        for check in checks:
            found |= self._use(check, count) > (check.line.at(middle_ms) * (1 + HAIR))[:, None]
        return found

    def likely(self, checks: Sequence[Check]) -> Floats:
        """How likely it is in each cell that any of some lines is passed, on the mean over the cell."""
        part: Floats = np.zeros((1, 1))
        count = self.used.reaching(checks)
        for check in checks:
            begin, end = check.line.at(self.cells.from_ms), check.line.at(self.cells.to_ms)
            part = np.maximum(part, part_above(self._use(check, count), begin[:, None], end[:, None]))
        return np.asarray(np.broadcast_to(part, (len(self.cells), count)) @ self.table.weight[:count])

    def _use(self, check: Check, count: int) -> Floats:
        use = self.used.use[check.quantity][:, :count]
        return use if len(use) == len(self.row) else use[self.row]


@dataclass(frozen=True, eq=False)
class Used:
    """What certain draws and the states of a table come to."""

    table: Table
    certain: Draws
    rule: Rule
    quantities: Quantities

    @cached_property
    def most(self) -> list[Floats]:
        """Per quantity, what the use of every STRIDE-th state, and of those after it, is no more than; falling.

        Volt-amperes of a sum are no more than the sum of volt-amperes, and watts are no more than those.
        """
        certain, draws = self.certain, self.table.draws
        spread_w = math.sqrt(max(float(certain.spread_w2.max() + draws.spread_w2.max()), 0.0))
        least_w = max(float(certain.p_w.min() + draws.p_w.min()), 1e-6)
        va = (float(certain.va.max()) + self.table.va[::STRIDE]) * (1 + spread_w / least_w)
        nothing = np.zeros_like(va)
        return list(self.quantities(Draws(va, nothing, nothing, nothing)))

    def reaching(self, checks: Sequence[Check]) -> int:
        """How many of the first states may pass some of these lines."""
        counts = [int((self.most[check.quantity] > check.line.lowest).sum()) for check in checks]
        return min(STRIDE * max(counts, default=0), len(self.table.weight))

    @cached_property
    def use(self) -> list[Floats]:
        """Per quantity, shape (draws, states): of the first states, those that may pass some line of the rule."""
        first = slice(self.reaching(self.rule.checks))
        return list(self.quantities(self.certain.with_each(self.table.draws.take(first))))


@dataclass(frozen=True, eq=False)
class UnderRule:
    """The loads of a scope under a rule over a day.

    starts_ms: when starts begin that are planned. starts_known: how often a day the start of a cycler passes some
    lines, as far as it was asked.
    """

    loads: Loads
    rule: Rule
    quantities: Quantities
    starts_ms: Instants
    day_ms: float
    starts_known: dict[tuple[int, tuple[Check, ...]], float] = field(default_factory=dict)

    @cached_property
    def cells(self) -> Cells:
        """Where some line may be passed at all."""
        return cells_of(self.loads.scope, self.rule, self.quantities(self.most), self.day_ms)

    @cached_property
    def most(self) -> Draws:
        """What is drawn, stretch by stretch, with everything on that can be on.

        An interlock lets on what is largest in volt-amperes; another of its members may take more watts.
        """
        scope = self.loads.scope
        return with_cyclers(scope.certain, scope.cyclers.draws, self.loads.stands) if scope.interlocked else scope.worst

    @cached_property
    def before_midnight(self) -> Cells:
        """What stands before the day's first instant: what stands at the end, for it is always there."""
        last, midnight_ms = len(self.loads.scope.begin_ms) - 1, np.zeros(1)
        return Cells(np.array([last]), midnight_ms, midnight_ms, np.zeros(1, dtype=bool))

    @cached_property
    def _kinds(self) -> list[tuple[Table, NDArray[np.intp]]]:
        """The kinds of stretches, and which cells are of each."""
        stretches = np.unique(self.cells.stretch)
        return [
            (table_of(self.loads, int(group[0])), np.flatnonzero(np.isin(self.cells.stretch, group)))
            for group in self.loads.kinds_of_stretch(stretches)
        ]

    @cached_property
    def table_of_cell(self) -> list[Table]:
        """Each cell's table."""
        found: dict[int, Table] = {}
        for table, numbers in self._kinds:
            found.update(dict.fromkeys(numbers.tolist(), table))
        return [found[number] for number in range(len(self.cells))]

    @cached_property
    def _kept(self) -> list[Block]:
        return []

    def blocks(self) -> Iterator[Block]:
        """All cells, some at a time."""
        if self._kept:
            yield from self._kept
            return
        size = sum(len(table.weight) * len(numbers) for table, numbers in self._kinds)
        for block in self._worked_out():
            if size <= KEPT:
                self._kept.append(block)
            yield block

    def _worked_out(self) -> Iterator[Block]:
        for table, numbers in self._kinds:
            size = max(AT_ONCE // len(table.weight), 1)
            for first in range(0, len(numbers), size):
                yield self.block(numbers[first : first + size], table)

    def block(self, numbers: NDArray[np.intp], table: Table) -> Block:
        """Some cells of one kind."""
        return self.block_of(self.cells.of(numbers), numbers, table)

    def block_of(self, cells: Cells, numbers: NDArray[np.intp], table: Table) -> Block:
        """Cells of one kind, whether or not they are among those of the day."""
        stretches, row = np.unique(cells.stretch, return_inverse=True)
        certain = self.loads.scope.certain.take(stretches)
        return Block(numbers, cells, Used(table, certain, self.rule, self.quantities), row)

    def seconds(self, *groups: Sequence[Check]) -> list[float]:
        """How long a day some line of each group is passed, as expected."""
        found = np.zeros(len(groups))
        for block in self.blocks():
            found += [float(block.likely(checks) @ block.cells.lasts_ms) for checks in groups]
        return list((found / 1000).tolist())
