"""The best starts of some loads beside what stands, exactly: the day swept backwards over every state they can be in.

At any moment each strand is in one of few states, and what is still to come depends on nothing else. So the least that
the rest of the day costs is worked out for all states together, slot by slot from the end (Bellman 1957), and whatever
was best is followed from the beginning. This tries every placing there is, without trying each.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.results import Flags, Floats
from app.planner.laundry.caps import Cap
from app.planner.laundry.strand import Strand
from app.planner.laundry.task import SLOT_H

HAIR = 0.01  # of a load or a watt, more than single precision is off
Figures = NDArray[np.float32]


class Stopped(Exception):
    """Nobody wants to know any more."""


class Swept(NamedTuple):
    """The least that goes through the bank, Wh, infinite where nothing is possible; and the start of every load."""

    least_wh: float
    starts: dict[int, int]


@dataclass(frozen=True, slots=True, eq=False)
class Beside:
    """What stands beside the loads that are swept.

    short_w: draw less sun, per slot. draws_w: of each load slot by slot of its run. begins: shape (day's slots,), where
    each may begin.
    """

    short_w: Floats
    draws_w: Mapping[int, Floats]
    begins: Mapping[int, Flags]
    caps: Sequence[Cap] = ()


def sweep(strands: Sequence[Strand], beside: Beside, going_on: Callable[[], bool] = lambda: True) -> Swept:
    """Sweep the day; the product of the strands' states is what it takes. Raises Stopped where going_on says so."""
    return _Sweep(sorted(strands, key=len, reverse=True), beside).run(going_on)


class _Sweep:
    def __init__(self, strands: list[Strand], beside: Beside) -> None:
        self._strands, self._beside = strands, beside
        self._shape = tuple(len(one) for one in strands)
        self._states = int(np.prod(self._shape))
        self._draw_w = self._figures(beside.draws_w)
        self._caps = [
            (figures, most, cap.left)
            for cap in beside.caps
            if (most := float((figures := self._figures(cap.of_loads)).max())) > 0
        ]
        self._on = self._state_later()
        may = {place: np.flatnonzero(beside.begins[place]) for one in strands for place in one.loads}
        self._possible = all(len(one) for one in may.values())
        self._first = min((int(one[0]) for one in may.values() if len(one)), default=0)
        self._last = max((int(one[-1]) + len(beside.draws_w[at]) for at, one in may.items() if len(one)), default=0)
        self._may = {place: set(one.tolist()) for place, one in may.items()}
        # (strand, load in it, states from which it begins, states then)
        self._arcs = [
            (axis, at, came := np.flatnonzero(one.begun[at] >= 0), one.begun[at][came])
            for axis, one in enumerate(strands)
            for at in range(len(one.loads))
        ]

    def _figures(self, of_loads: Mapping[int, Floats] | Sequence[Floats]) -> Figures:
        total = np.zeros(self._shape, dtype=np.float32)
        for axis, one in enumerate(self._strands):
            total += self._along(one.drawn(of_loads).astype(np.float32), axis)
        return total.ravel()

    def _along(self, values: NDArray, axis: int) -> NDArray:  # type: ignore[type-arg]
        return values.reshape([-1 if other == axis else 1 for other in range(len(self._shape))])

    def _state_later(self) -> NDArray[np.intp]:
        """The place of each state a slot later; one behind the last where it may not go on."""
        on = np.zeros(self._shape, dtype=np.intp)
        barred = np.zeros(self._shape, dtype=bool)
        for axis, one in enumerate(self._strands):
            on += self._along(one.on * int(np.prod(self._shape[axis + 1 :])), axis)
            barred |= self._along(one.on < 0, axis)
        on[barred] = self._states
        return on.ravel()

    def run(self, going_on: Callable[[], bool]) -> Swept:
        begun: dict[tuple[int, int, int], NDArray[np.uint8]] = {}  # slot, strand, load: whether it does, as bits
        later = np.full(self._states + 1, np.inf, dtype=np.float32)
        now = later.copy()
        later[np.ravel_multi_index([one.done for one in self._strands], self._shape)] = 0.0
        short_w = self._beside.short_w.astype(np.float32)
        costs = np.empty(self._states, dtype=np.float32)
        for slot in range(self._last - 1, self._first - 1, -1):
            if not going_on():
                raise Stopped
            values = now[:-1]
            np.take(later, self._on, out=values)
            np.add(self._draw_w, short_w[slot], out=costs)
            np.maximum(costs, 0.0, out=costs)
            costs -= max(short_w[slot], np.float32(0.0))
            values += costs
            for figures, most, left in self._caps:
                if most > left[slot] + HAIR:
                    values[figures > left[slot] + HAIR] = np.inf
            # Whoever comes later in a turn is asked first, so that several may begin in one slot.
            for axis, at, came, then in reversed(self._arcs):
                strand = self._strands[axis]
                if slot in self._may[strand.loads[at]]:
                    along = np.moveaxis(values.reshape(self._shape), axis, 0)
                    waiting, beginning = along[came], along[then]
                    does = beginning <= waiting
                    begun[slot, axis, at] = np.packbits(does)
                    along[came] = np.where(does, beginning, waiting)
            later, now = now, later
        stands_wh = float(np.maximum(self._beside.short_w, 0.0).sum()) * SLOT_H
        if not self._possible or not np.isfinite(later[0]):
            return Swept(np.inf, {})
        return Swept(float(later[0]) * SLOT_H + stands_wh, self._followed(begun))

    def _followed(self, begun: Mapping[tuple[int, int, int], NDArray[np.uint8]]) -> dict[int, int]:
        """From the state before anything has begun: the slot in which each load begins."""
        state = [0] * len(self._strands)
        starts: dict[int, int] = {}
        for slot in range(self._first, self._last):
            for axis, at, came, then in self._arcs:
                where = int(np.searchsorted(came, state[axis]))
                if (slot, axis, at) not in begun or where == len(came) or came[where] != state[axis]:
                    continue
                others = [one for other, one in enumerate(self._shape) if other != axis]
                at_others = [one for other, one in enumerate(state) if other != axis]
                bit = int(np.ravel_multi_index([where, *at_others], (len(came), *others)))
                if begun[slot, axis, at][bit // 8] >> (7 - bit % 8) & 1:
                    starts[self._strands[axis].loads[at]] = slot
                    state[axis] = int(then[where])
            state = [int(strand.on[one]) for strand, one in zip(self._strands, state, strict=True)]
        return starts
