"""Certain draws arranged in stairs: on each, every use rises from step to step, whatever else is on.

So a state passes a line from some step of a stair on, and one number says where, in place of a flag for each step.
Households whose certain draws rise together have one stair; where one more load may lower the use, each draw is one.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.engine.kinds import Flags, Floats


@dataclass(frozen=True, slots=True, eq=False)
class Stairs:
    """Stairs for some items, which stand on them.

    height: steps of each stair, shape (stairs,). item: one that stands on each step, shape (stairs, most steps), any
    where there is no step. of_item: per item, its place: stair times `width` and step.
    """

    height: NDArray[np.intp]
    item: NDArray[np.intp]
    of_item: NDArray[np.intp]

    @property
    def width(self) -> int:
        """Places a stair has: its steps, and one beyond the last that stands for none of them."""
        return int(self.item.shape[1]) + 1

    @property
    def first(self) -> NDArray[np.intp]:
        """The place of each stair's first step."""
        return np.arange(len(self.height)) * self.width

    def of_step(self, step: NDArray[np.intp]) -> NDArray[np.intp]:
        """Where in `item`, laid out flat, such a step of each stair stands, counted from 1; shape (*any, stairs)."""
        return np.asarray(np.arange(len(self.height)) * self.item.shape[1] - 1 + step)


def stairs_of(figures: Floats, *, alone: bool) -> Stairs:
    """Stairs of as few as come about by taking items in order; items that are alike share a step.

    figures: shape (figures, items); a use rises where none of them falls. alone: each step is a stair of its own.
    """
    order = np.lexsort(figures[::-1])
    rising = figures[:, order]
    differs = np.ones(len(order), dtype=bool)
    differs[1:] = (rising[:, 1:] != rising[:, :-1]).any(axis=0)
    rows, row = rising[:, differs], np.zeros(len(order), dtype=np.intp)
    row[order] = differs.cumsum() - 1
    count = rows.shape[1]
    if alone:
        stair = np.arange(count)
    elif (rows[:, 1:] >= rows[:, :-1]).all():
        stair = np.zeros(count, dtype=np.intp)
    else:
        stair = _climbing(rows)
    height = np.bincount(stair)
    by_stair = np.argsort(stair, kind="stable")
    step = np.zeros(count, dtype=np.intp)
    step[by_stair] = np.arange(count) - np.repeat(height.cumsum() - height, height)
    item = np.zeros((len(height), int(height.max(initial=0))), dtype=np.intp)
    item[stair, step] = order[differs]
    return Stairs(height, item, (stair * (item.shape[1] + 1) + step)[row])


def _climbing(figures: Floats) -> NDArray[np.intp]:
    """Per row, the first stair whose last step lies below it, in the order of their first figure."""
    tops = np.full(figures.shape, np.inf)
    found, many = np.zeros(figures.shape[1], dtype=np.intp), 0
    for number, row in enumerate(figures.T):
        below: Flags = (tops[:, : many + 1] <= row[:, None]).all(axis=0)
        found[number] = below.argmax() if below.any() else many
        tops[:, found[number]] = row
        many = max(many, int(found[number]) + 1)
    return found


def steps_passed(
    stairs: Stairs, passed: Callable[[NDArray[np.intp]], Flags], shape: tuple[int, ...]
) -> NDArray[np.intp]:
    """The first step of each stair that is passed, counted from 0; as many as there are where none is.

    passed: says of steps, given as a flat place in (stairs, most steps), of shape (*shape, stairs), whether they are.
    Found by halving.
    """
    below = np.zeros((*shape, len(stairs.height)), dtype=np.intp)
    half = 1 << stairs.item.shape[1].bit_length() >> 1
    while half:
        tried = np.minimum(below + half, stairs.height)
        below = np.where(passed(stairs.of_step(tried)), below, tried)
        half >>= 1
    return below
