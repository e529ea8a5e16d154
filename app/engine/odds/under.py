"""A scope under a rule, cell by cell and state by state: what is drawn, and whether it is too much."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import Draws
from app.engine.everything import most_on
from app.engine.heat import Check, Rule
from app.engine.inverter import WATTS
from app.engine.kinds import Floats
from app.engine.odds.block import Block, watts_of
from app.engine.odds.cells import Cells, cells_of
from app.engine.odds.loads import Loads
from app.engine.odds.quantities import OF_INVERTER, OneQuantity
from app.engine.odds.stairs import Stairs
from app.engine.odds.tables import Table, table_of

AT_ONCE = 1 << 20  # states times stairs in a block
KEPT = 1 << 21  # no more of them than this are kept for those who ask again


class TooMuch(NamedTuple):
    """Where a start would pass some lines, in stretches of one kind.

    held_ms: for how long a day, as expected. stairs: of what is certain in them; `held_ms` is per state of the other
    loads then, else (None) per stretch.
    """

    stretches: NDArray[np.intp]
    stairs: Stairs | None
    held_ms: Floats


@dataclass(frozen=True, eq=False)
class UnderRule:
    """The loads of a scope under a rule over a day.

    quantities: what each quantity of the rule makes of draws.
    starts_known: for how long the start of a cycler would pass some lines, as far as it was asked.
    """

    loads: Loads
    rule: Rule
    quantities: Sequence[OneQuantity]
    day_ms: float
    starts_known: dict[tuple[int, tuple[Check, ...]], list[TooMuch]] = field(default_factory=dict)

    @cached_property
    def cells(self) -> Cells:
        """Where some line may be passed at all."""
        return cells_of(self.loads.scope, self.rule, self.most_used, self.day_ms)

    def used(self, draws: Draws) -> list[Floats]:
        """What each quantity of the rule makes of draws."""
        return [quantity(draws) for quantity in self.quantities]

    @cached_property
    def most(self) -> Draws:
        """No less than is drawn, stretch by stretch, with everything on that can be on.

        An interlock lets on what is largest in volt-amperes; another of its members may take more watts.
        """
        scope = self.loads.scope
        if not scope.interlocked:
            return scope.worst
        most = most_on(scope)
        return most.draws(most.leads)

    @cached_property
    def most_used(self) -> list[Floats]:
        """What each quantity makes of that."""
        return self.used(self.most)

    @cached_property
    def whole(self) -> Block | None:
        """All cells up to the horizon, in one block; None where they are of several kinds, or nothing is passed."""
        scope = self.loads.scope
        cells = cells_of(scope, self.rule, self.most_used, float(scope.t_ms[-1]))
        # With interlocks other members stand at other times, though the same loads come and go all day.
        if not len(cells) or not self.loads.alike or len(self.loads.groups(cells.stretch)) > 1:
            return None
        return self.block_of(cells, np.arange(len(cells)), table_of(self.loads, int(cells.stretch[0])))

    @cached_property
    def before_midnight(self) -> Cells:
        """What stands before the day's first instant: what stands at the end, for it is always there."""
        last, midnight_ms = len(self.loads.scope.begin_ms) - 1, np.zeros(1)
        return Cells(np.array([last]), midnight_ms, midnight_ms, np.zeros(1, dtype=bool))

    @cached_property
    def _kinds(self) -> list[tuple[Table, NDArray[np.intp]]]:
        """The kinds of stretches, and which cells are of each."""
        stretch = self.cells.stretch
        groups = self.loads.groups(stretch)
        return [(table_of(self.loads, int(stretch[numbers[0]])), numbers) for numbers in groups]

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
        blocks, size = list[Block](), 0
        for block in self._worked_out():
            size += len(block.table.weight) * len(block.stairs.height)
            if size <= KEPT:
                blocks.append(block)
            yield block
        if size <= KEPT and not self._kept:
            self._kept.extend(blocks)

    def _worked_out(self) -> Iterator[Block]:
        for table, numbers in self._kinds:
            yield from self._parts(self._on_the_whole(self.block(numbers, table), numbers))

    def _on_the_whole(self, block: Block, which: NDArray[np.intp]) -> Block:
        """A block on the stairs of the whole, whose cells those are, so that nothing is looked for twice."""
        # Of cells of a line that moves the last of the day may be cut otherwise.
        if not self.flat or self.whole is None or block.table.gain_per_ms is not None:
            return block
        return replace(block, part_of=self.whole, which=which)

    def _parts(self, block: Block) -> Iterator[Block]:
        """A block, in parts where its states and stairs are too many to be held together."""
        parts = min(-(-len(block.table.weight) * len(block.stairs.height) // AT_ONCE), len(block))
        if parts <= 1:
            yield block
            return
        for some in np.array_split(block.number, parts):
            yield self.block(some, block.table)

    def block(self, numbers: NDArray[np.intp], table: Table) -> Block:
        """Some cells of one kind."""
        return self.block_of(self.cells.of(numbers), numbers, table)

    def block_of(self, cells: Cells, numbers: NDArray[np.intp], table: Table) -> Block:
        """Cells of one kind, whether or not they are among those of the day."""
        certain = self.loads.scope.certain.take(cells.stretch)
        if self._watts_alone:
            certain, table = watts_of(certain), replace(table, draws=watts_of(table.draws))
        return Block(numbers, cells, table, certain, self.rule, self.quantities, self.rises)

    def before(self, number: int) -> Block | None:
        """What stands just before a cell begins: the cell that it follows, or what stood before midnight.

        None where nothing is passed then.
        """
        if number not in self._befores:
            block = None
            if self.cells.follows[number]:
                block = self.block(np.array([number - 1]), self.table_of_cell[number - 1])
            elif number == 0 and self.cells.from_ms[0] == 0:
                block = self._before_midnight
            self._befores[number] = block
        return self._befores[number]

    @cached_property
    def _before_midnight(self) -> Block | None:
        stretch, first = self.before_midnight.stretch, np.array([0])
        block = self.block_of(self.before_midnight, first, table_of(self.loads, int(stretch[0])))
        if not self.flat or self.whole is None:
            return block
        which = np.flatnonzero(self.whole.cells.stretch == stretch)
        return self._on_the_whole(block, which[-1:]) if len(which) else None  # nowhere else is anything passed

    @cached_property
    def _befores(self) -> dict[int, Block | None]:
        return {}

    @cached_property
    def rises(self) -> bool:
        """One more load on never lowers the use, nor does more that is certain."""
        return not self.loads.may_lower_the_use

    @cached_property
    def flat(self) -> bool:
        """No line moves."""
        return all(check.line.is_flat for check in self.rule.checks)

    @cached_property
    def _watts_alone(self) -> bool:
        return self.quantities is OF_INVERTER and all(check.quantity == WATTS for check in self.rule.checks)

    def seconds(self, *groups: Sequence[Check]) -> list[float]:
        """How long a day some line of each group is passed, as expected."""
        found = np.zeros(len(groups))
        for block in self.blocks():
            found += [float(block.likely(checks) @ block.cells.lasts_ms) for checks in groups]
        return list((found / 1000).tolist())
