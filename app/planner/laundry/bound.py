"""What no placing is below, by trying all of them at once: branch and bound over starts.

What goes through the bank is convex in the draw, so whatever stands, each load that is still out adds at least what it
would add by itself beside that. The sum over all that are out is below every way to finish, and most beginnings need
not be finished. Limits are left out, machines and order are kept to: never above the truth.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.engine.results import Floats
from app.planner.laundry.found import ENERGY_STEP_WH
from app.planner.laundry.sweep import Stopped
from app.planner.laundry.task import SLOT_H, Task, least_within

TOLERANCE_WH = ENERGY_STEP_WH / 2
BATCH, ROOT_BATCH = 128, 4  # beginnings looked at in one go; few at the root, so that the bound is told as it rises


@dataclass(frozen=True, slots=True, eq=False)
class _Opened:
    """Beginnings with the same loads placed, one a row.

    short_w: draw less sun, shape (rows, slots). cost_wh, least_wh: what goes through the bank with them, and with every
    way to finish at least, shape (rows,). starts: shape (rows, placed). adds_wh: per load that is out, what it adds at
    each start, shape (rows, day's slots).
    """

    short_w: Floats
    cost_wh: Floats
    least_wh: Floats
    starts: NDArray[np.int64]
    adds_wh: dict[int, Floats]

    def take(self, rows: NDArray[np.intp]) -> "_Opened":
        """Some of them, in this order."""
        adds_wh = {place: table[rows] for place, table in self.adds_wh.items()}
        return _Opened(self.short_w[rows], self.cost_wh[rows], self.least_wh[rows], self.starts[rows], adds_wh)


class Bound:
    """Raises a lower bound step by step, from what each load adds alone up to what is known to be possible."""

    def __init__(self, task: Task, known_wh: float, tell: Callable[[float], bool]) -> None:
        """known_wh: of a plan there is. tell: what no placing is below so far; False stops."""
        self._task = task
        self.known_wh = known_wh
        self._tell = tell
        self._told_wh = -np.inf
        self.found: tuple[int, ...] | None = None  # starts of a plan with less than was known, a slot per load
        self._order = [place for unit in sorted(task.units, key=self._weight) for place in unit]
        self._same = _alike(task)

    def _weight(self, unit: tuple[int, ...]) -> float:
        return -sum(float(self._task.loads[place].slots_w.sum()) for place in unit)

    def prove(self) -> float:
        """What no placing is below, to within the tolerance where it comes to its end."""
        adds_wh = {place: self._task.alone_wh[place][None, :] for place in self._order}
        short_w = -self._task.room_w[None, :]
        cost_wh = np.array([self._task.standing_wh])
        root = _Opened(short_w, cost_wh, self._least(cost_wh, adds_wh), np.zeros((1, 0), dtype=np.int64), adds_wh)
        self._explore(root, ROOT_BATCH)
        return max(float(root.least_wh[0]), self._enough_wh)

    @property
    def _enough_wh(self) -> float:
        return self.known_wh - TOLERANCE_WH

    def _explore(self, opened: _Opened, batch: int = BATCH) -> None:
        """Try every way to go on with some beginnings, the most promising first, a batch at a time."""
        if not opened.adds_wh:
            best = int(opened.cost_wh.argmin())
            if opened.cost_wh[best] < self._enough_wh:
                # A plan with less, if the limits let it.
                self.known_wh = float(opened.cost_wh[best])
                begun = dict(zip(self._order, opened.starts[best].tolist(), strict=True))
                self.found = tuple(begun[place] for place in range(len(begun)))
            return
        place = self._order[opened.starts.shape[1]]
        # What a beginning costs at least with this load at each start.
        others_wh = opened.least_wh - self._family_least(opened.adds_wh, place)
        least_wh = self._with_waiting(opened.adds_wh, place) + others_wh[:, None]
        rows, at = np.nonzero(least_wh < self._enough_wh)
        order = np.argsort(least_wh[rows, at], kind="stable")
        rows, at = rows[order], at[order]
        for first in range(0, len(rows), batch):
            part = slice(first, first + batch)
            promising_wh = float(least_wh[rows[first], at[first]])
            if promising_wh >= self._enough_wh:
                return
            if batch == ROOT_BATCH:
                self._told_wh = promising_wh
            if not self._tell(self._told_wh):
                raise Stopped
            placed = self._placed(opened.take(rows[part]), place, at[part])
            worth = np.flatnonzero(placed.least_wh < self._enough_wh)
            if len(worth):
                self._explore(placed.take(worth))

    def _placed(self, opened: _Opened, place: int, at: NDArray[np.intp]) -> _Opened:
        """Beginnings with one more load, begun in a slot each."""
        load = self._task.loads[place]
        rows = np.arange(len(at))[:, None]
        short_w = opened.short_w
        short_w[rows, at[:, None] + np.arange(load.slots)] += load.slots_w
        starts = np.concatenate((opened.starts, at[:, None]), axis=1)
        cost_wh = np.maximum(short_w, 0.0).sum(axis=1) * SLOT_H
        adds_wh = {
            other: self._narrowed(other, place, at, self._moved(table, other, place, at, short_w))
            for other, table in opened.adds_wh.items()
            if other != place
        }
        least_wh = np.maximum(self._least(cost_wh, adds_wh), opened.least_wh)
        return _Opened(short_w, cost_wh, least_wh, starts, adds_wh)

    def _moved(self, table: Floats, other: int, place: int, at: NDArray[np.intp], short_w: Floats) -> Floats:
        """What another load adds now: new where it would run beside the one just placed, else as in the table."""
        load, placed = self._task.loads[other], self._task.loads[place]
        adds_wh = table
        begins = at[:, None] + np.arange(-load.slots + 1, placed.slots)
        rows = np.arange(len(at))[:, None]
        begins = np.clip(begins, 0, table.shape[1] - 1)
        windows = short_w[rows[:, :, None], begins[:, :, None] + np.arange(load.slots)]
        more_w = np.maximum(windows + load.slots_w, 0.0) - np.maximum(windows, 0.0)
        barred = np.isinf(adds_wh[rows, begins])
        adds_wh[rows, begins] = np.where(barred, np.inf, more_w.sum(axis=2) * SLOT_H)
        return adds_wh

    def _narrowed(self, other: int, place: int, at: NDArray[np.intp], adds_wh: Floats) -> Floats:
        """Without the starts that the load just placed rules out: order, the machine, turns of runs that are alike."""
        load, placed = self._task.loads[other], self._task.loads[place]
        slots = np.arange(adds_wh.shape[1])
        since = slots - at[:, None]
        if load.before == place:
            adds_wh[(since < load.gap[0]) | (since > load.gap[1])] = np.inf
        if placed.appliance == load.appliance:
            adds_wh[(since > -load.slots) & (since < placed.slots)] = np.inf
        if self._same.get(other) == place:
            adds_wh[since < 0] = np.inf
        if self._same.get(place) == other:
            adds_wh[since > 0] = np.inf
        return adds_wh

    def _least(self, cost_wh: Floats, adds_wh: dict[int, Floats]) -> Floats:
        """Cost, and the least that each family that is out adds."""
        roots = [place for place in adds_wh if self._task.loads[place].before not in adds_wh]
        return cost_wh + sum((self._with_waiting(adds_wh, root).min(axis=1) for root in roots), np.zeros(len(cost_wh)))

    def _family_least(self, adds_wh: dict[int, Floats], place: int) -> Floats:
        before = self._task.loads[place].before
        if before is not None and before in adds_wh:
            return self._family_least(adds_wh, before)
        return np.asarray(self._with_waiting(adds_wh, place).min(axis=1))

    def _with_waiting(self, adds_wh: dict[int, Floats], place: int) -> Floats:
        """What a load adds at each start, with the least of whatever waits for it; shape (rows, day's slots)."""
        total = adds_wh[place]
        for child, load in enumerate(self._task.loads):
            if load.before == place and child in adds_wh:
                total = total + least_within(self._with_waiting(adds_wh, child), load.gap)
        return total


def _alike(task: Task) -> dict[int, int]:
    """For each run that is the same as an earlier one that one; only of runs that neither wait nor are waited for."""
    found: dict[int, int] = {}
    last: dict[tuple[str, bytes, int], int] = {}
    busy = {load.before for load in task.loads}
    for place, load in enumerate(task.loads):
        if load.before is None and place not in busy:
            nature = (load.appliance, load.begins.tobytes(), load.slots)
            if nature in last:
                found[place] = last[nature]
            last[nature] = place
    return found
