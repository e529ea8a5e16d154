"""Cells of one kind, state by state: what is drawn, and whether it is too much."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.engine.compiled import compiled
from app.engine.draw import HAIR, Draws
from app.engine.heat import Check, Rule, part_above
from app.engine.kinds import Flags, Floats
from app.engine.odds.cells import Cells
from app.engine.odds.first_step import first_passed
from app.engine.odds.quantities import OneQuantity
from app.engine.odds.stairs import Stairs, stairs_of
from app.engine.odds.tables import Table

AT_A_TIME = 1 << 15  # figures that are worked out together: as many as a processor holds at hand


def every_sum(states: Draws, certain: Draws) -> Draws:
    """Every state with every certain draw, shape (states, certain); what is nothing in all of them takes no time."""
    nothing = np.zeros((1, 1))

    def sums(one: Floats, level: Floats) -> Floats:
        return one[:, None] + level if one.any() or level.any() else nothing

    return Draws(
        states.p_w[:, None] + certain.p_w,
        sums(states.q_var, certain.q_var),
        sums(states.d_va, certain.d_va),
        sums(states.spread_w2, certain.spread_w2),
    )


def watts_of(draws: Draws) -> Draws:
    """Draws without what stands beside their watts."""
    nothing = np.zeros_like(draws.p_w)
    return Draws(draws.p_w, nothing, nothing, draws.spread_w2)


@dataclass(frozen=True, eq=False)
class Passed:
    """In which states of a table any of some lines is passed.

    place: shape (states, stairs), the place on each stair from which on it is.
    """

    table: Table
    cells: Cells
    stairs: Stairs
    place: NDArray[np.intp]
    rises: bool

    def flags(self, cell: int) -> Flags:
        """Per state, whether it is in a cell."""
        here = int(self.stairs.of_item[cell])
        return np.asarray(self.place[:, here // self.stairs.width] <= here)

    @cached_property
    def short(self) -> NDArray[np.int32]:
        """The places in half the room: many are looked up."""
        return self.place.astype(np.int32)

    @cached_property
    def anywhere(self) -> bool:
        """In some state of some cell."""
        return bool(self.likely.any())

    @cached_property
    def likely(self) -> Floats:
        """How likely it is, per cell."""
        return self.summed(self.place, self.table.weight)

    def summed(self, place: NDArray[np.intp], weight: Floats) -> Floats:
        """Per cell, the weights of those that are passed there; place: from which on each is, on each stair.

        weight: shape of `place` without its stairs.
        """
        stairs, size = self.stairs, len(self.stairs.height) * self.stairs.width
        found = np.zeros(size)
        for stair in range(place.shape[-1]):
            found += np.bincount(place[..., stair].ravel(), weight.ravel(), minlength=size)
        return np.asarray(found.reshape(-1, stairs.width).cumsum(axis=1).ravel()[stairs.of_item])

    @cached_property
    def from_here_ms(self) -> Floats:
        """Per place, how long its step of the stair and those above stand."""
        stairs = self.stairs
        size = len(stairs.height) * stairs.width
        lasts_ms = np.bincount(stairs.of_item, self.cells.lasts_ms, minlength=size).reshape(-1, stairs.width)
        return lasts_ms[:, ::-1].cumsum(axis=1)[:, ::-1].ravel()

    @cached_property
    def of_state_ms(self) -> Floats:
        """How long a day it would be if a state always held, shape (states,)."""
        return np.asarray(self.from_here_ms[self.place].sum(axis=1))


@dataclass(frozen=True, eq=False)
class Block:
    """Some cells whose stretches are of one kind.

    number: which cells of all. certain: the certain draw in each. rule: the rule, and quantities: what each of its
    quantities makes of draws. rises: one more load on never lowers the use, nor does more that is certain.
    part_of: a block that has these cells as well, and on whose stairs they stand; which: where among its cells.
    """

    number: NDArray[np.intp]
    cells: Cells
    table: Table
    certain: Draws
    rule: Rule
    quantities: Sequence[OneQuantity]
    rises: bool
    part_of: "Block | None" = None
    which: NDArray[np.intp] | None = None
    _asked: dict[tuple[Check, ...], Passed] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.number)

    @cached_property
    def _limits(self) -> dict[Check, Floats]:
        """Per line of the rule, what may not be passed in the middle of each cell."""
        middle_ms = self.cells.middle_ms
        return {check: check.line.at(middle_ms) * (1 + HAIR) for check in self.rule.checks}

    @cached_property
    def stairs(self) -> Stairs:
        """What is certain in the cells, as stairs; where a line moves, it sinks from step to step."""
        if self.part_of is not None:
            return replace(self.part_of.stairs, of_item=self.part_of.stairs.of_item[self.which])
        moving = [-self._limits[check] for check in self.rule.checks if not check.line.is_flat]
        return stairs_of(np.concatenate([self.certain.figures, *(one[None] for one in moving)]), alone=not self.rises)

    @cached_property
    def near(self) -> Flags:
        """Which cells touch the one before, where that is in the block as well."""
        found = self.cells.follows.copy()
        found[:1] = False
        found[1:] &= self.number[1:] == self.number[:-1] + 1
        return found

    @cached_property
    def climbs(self) -> Flags:
        """Which of these stand on the stair of the one before."""
        stair, found = self.stairs.of_item // self.stairs.width, self.near.copy()
        found[1:] &= stair[1:] == stair[:-1]
        return found

    @cached_property
    def less_ms(self) -> Floats:
        """When something certain is first less than in each cell; infinite where not for as long as a level may last.

        Where a line moves, at once.
        """
        cells = self.cells
        if not all(check.line.is_flat for check in self.rule.checks):
            return cells.from_ms
        longest_ms, figures = max(self.rule.allowed_s, default=0.0) * 1000 * (1 + HAIR), self.certain.figures
        return first_less(figures, self.near, cells.from_ms, cells.to_ms, longest_ms)

    @cached_property
    def _places(self) -> dict[Check, NDArray[np.intp]]:
        """Per line of the rule, the places from which on it is passed; shape (states, stairs)."""
        if self.part_of is not None:
            return self.part_of._places
        found: dict[Check, NDArray[np.intp]] = {}
        for quantity in {check.quantity for check in self.rule.checks}:
            checks = [check for check in self.rule.checks if check.quantity == quantity]
            limits = [self._limits[check] for check in checks]
            steps = first_passed(self.table.draws, self.certain, self.stairs, self.quantities[quantity], limits)
            found |= dict(zip(checks, steps + self.stairs.first, strict=True))
        return found

    def passed(self, checks: Sequence[Check]) -> Passed:
        """Whether any of some lines is passed in the middle of each cell."""
        asked = tuple(checks)
        if asked not in self._asked:
            place = self._places[asked[0]]
            for check in asked[1:]:
                place = np.minimum(place, self._places[check])
            self._asked[asked] = Passed(self.table, self.cells, self.stairs, place, self.rises)
        return self._asked[asked]

    def likely(self, checks: Sequence[Check]) -> Floats:
        """How likely it is in each cell that any of some lines is passed, on the mean over the cell."""
        if all(check.line.is_flat for check in checks):
            return self.passed(checks).likely
        lines = {check: (check.line.at(self.cells.from_ms), check.line.at(self.cells.to_ms)) for check in checks}
        found = np.zeros(len(self.cells))
        for some, uses in self._uses({check.quantity for check in checks}):
            part: Floats = np.zeros((1, 1))
            for check, (begin, end) in lines.items():
                part = np.maximum(part, part_above(uses[check.quantity], begin, end))
            found += self.table.weight[some] @ part
        return found

    def _uses(self, asked: set[int]) -> Iterator[tuple[slice, dict[int, Floats]]]:
        """What each quantity comes to, some states at a time: which states, and shape (some, cells) each."""
        count = max(AT_A_TIME // max(len(self.cells), 1), 1)
        for first in range(0, len(self.table.weight), count):
            some = slice(first, first + count)
            sums = every_sum(self.table.draws.take(some), self.certain)
            yield some, {quantity: self.quantities[quantity](sums) for quantity in asked}


@compiled
def first_less(figures: Floats, near: Flags, from_ms: Floats, to_ms: Floats, longest_ms: float) -> Floats:
    """When some figure is first less than in each cell; infinite where not for so long after it.

    figures: shape (figures, cells). near: the cell before touches it; where none does, something is less at once.
    """
    cells = len(near)
    found = np.full(cells, np.inf)
    for cell in range(cells):
        for other in range(cell + 1, cells + 1):
            if other == cells or not near[other]:
                found[cell] = to_ms[other - 1]
                break
            less = False
            for figure in range(len(figures)):
                less = less or figures[figure, other] < figures[figure, cell]
            if less:
                found[cell] = from_ms[other]
            if less or from_ms[other] >= to_ms[cell] + longest_ms:
                break
    return found
