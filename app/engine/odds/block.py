"""Cells of one kind, state by state: what is drawn, and whether it is too much."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR, Draws
from app.engine.heat import Check, Rule, part_above
from app.engine.kinds import Flags, Floats
from app.engine.odds.cells import Cells
from app.engine.odds.compiled import compiled
from app.engine.odds.stairs import Stairs, stairs_of, steps_passed
from app.engine.odds.tables import Table

LEAST_W = 1e-9  # as the uncertainty of volt-amperes is told: `Draws.use_va`
AT_A_TIME = 1 << 15  # figures that are worked out together: as many as a processor holds at hand
OneQuantity = Callable[[Draws], Floats]


def _use_w(draws: Draws) -> Floats:
    return draws.use_w if draws.spread_w2.any() else draws.p_w


def _use_va(draws: Draws) -> Floats:
    if draws.spread_w2.any():
        return draws.use_va
    square = draws.p_w * draws.p_w
    square += draws.q_var * draws.q_var
    if draws.d_va.any():
        square += draws.d_va * draws.d_va
    return np.asarray(np.sqrt(square, out=square))


OF_INVERTER: tuple[OneQuantity, ...] = (_use_w, _use_va)  # as `app.engine.inverter.quantities`


def each_of(draws: Draws) -> tuple[Floats, Floats, Floats, Floats]:
    """All four figures of draws, one by one."""
    return draws.p_w, draws.q_var, draws.d_va, draws.spread_w2


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


def first_passed(
    states: Draws, certain: Draws, stairs: Stairs, quantity: OneQuantity, level: Sequence[Floats]
) -> NDArray[np.intp]:
    """Per line and state, the first step of each stair on which a quantity passes it; shape (lines, states, stairs).

    certain: of the items that stand on the stairs. level: what each line may not pass, per item. As many as there are
    steps where none is.
    """
    steps, none = certain.take(stairs.item.ravel()), np.zeros((1, 1, 1))
    lines = np.stack([one[stairs.item.ravel()] for one in level])
    flat, which = bool((lines == lines[:, :1]).all()), np.arange(len(lines))[:, None, None]
    if flat and quantity in OF_INVERTER:
        in_watts = quantity is _use_w
        return first_steps(states.figures, steps.figures, stairs.height, lines[:, 0].copy(), in_watts)
    beside = [a.any() or b.any() for a, b in zip(each_of(states), each_of(steps), strict=True)]

    def passed(mine: Draws, place: NDArray[np.intp]) -> Flags:
        total = Draws(
            mine.p_w + steps.p_w[place],
            mine.q_var + steps.q_var[place] if beside[1] else none,
            mine.d_va + steps.d_va[place] if beside[2] else none,
            mine.spread_w2 + steps.spread_w2[place] if beside[3] else none,
        )
        return np.asarray(quantity(total) > (lines[:, :1, None] if flat else lines[which, place]))

    # Most states pass no line at all.
    last = stairs.of_step(stairs.height)[None, None]
    some = np.flatnonzero(passed(states.take((slice(None), None)), last).any(axis=(0, 2)))
    mine = states.take((some, None))
    found = np.empty((len(lines), len(states.p_w), len(stairs.height)), dtype=np.intp)
    found[:] = stairs.height
    found[:, some] = steps_passed(stairs, lambda place: passed(mine, place), (len(lines), len(some)))
    return found


@compiled
def first_steps(
    states: Floats, steps: Floats, height: NDArray[np.intp], limits: Floats, in_watts: bool
) -> NDArray[np.intp]:
    """As `first_passed`, of watts or volt-amperes against lines that do not move.

    states: watts, var, distortion and spread of each, shape (4, states). steps: of each step of each stair, one stair
    after the other, shape (4, stairs times most steps). limits: shape (lines,).
    """
    count, stairs, most = states.shape[1], len(height), steps.shape[1] // len(height)
    found = np.empty((len(limits), count, stairs), dtype=np.intp)
    for line in range(len(limits)):
        for state in range(count):
            for stair in range(stairs):
                # The last step is tried first: most states pass no line at all.
                low, high = 0, height[stair]
                tried = high - 1
                while low < high:
                    step = stair * most + tried
                    p_w, limit = states[0, state] + steps[0, step], limits[line]
                    spread_w2 = states[3, state] + steps[3, step]
                    if in_watts:
                        passed = p_w + (np.sqrt(spread_w2) if spread_w2 > 0 else 0.0) > limit
                    else:
                        # Most are sure, and squares are compared without their roots.
                        if spread_w2 > 0:
                            limit /= 1 + np.sqrt(spread_w2) / max(p_w, LEAST_W)
                        q_var, d_va = states[1, state] + steps[1, step], states[2, state] + steps[2, step]
                        passed = p_w * p_w + q_var * q_var + d_va * d_va > limit * limit
                    if passed:
                        high = tried
                    else:
                        low = tried + 1
                    tried = (low + high) // 2
                found[line, state, stair] = low
    return found


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
        for of_stair in np.moveaxis(place, -1, 0):
            found += np.bincount(of_stair.ravel(), weight.ravel(), minlength=size)
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
    def less_ms(self) -> Floats:
        """When something certain is first less than in each cell; infinite where not for as long as a level may last.

        Where a line moves, at once.
        """
        cells, count = self.cells, len(self.cells)
        if not all(check.line.is_flat for check in self.rule.checks):
            return cells.from_ms
        longest_ms, figures = max(self.rule.allowed_s, default=0.0) * 1000 * (1 + HAIR), self.certain.figures
        found = np.full(count, np.inf)
        near = np.concatenate(([False], np.diff(self.number) == 1)) & cells.follows
        waiting = np.arange(count)
        for ahead in range(1, count + 1):
            other = np.minimum(waiting + ahead, count - 1)
            ends = (waiting + ahead >= count) | ~near[other]
            less = ends | (figures[:, other] < figures[:, waiting]).any(axis=0)
            from_ms = np.where(ends, cells.to_ms[np.minimum(waiting + ahead - 1, count - 1)], cells.from_ms[other])
            found[waiting[less]] = from_ms[less]
            waiting = waiting[~less & (from_ms < cells.to_ms[waiting] + longest_ms)]
            if not len(waiting):
                break
        return found

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
