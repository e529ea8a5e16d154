"""Loads standing on a day, and where one more may stand: what its start would cost, and whether anything refuses it.

This is asked thousands of times a second, so all figures lie in one piece of memory, of which every load keeps views.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from app.engine.results import Flags, Floats
from app.planner.laundry.seen import FINISH_WH, MARGIN_WH, Seen
from app.planner.laundry.task import CELLS, SLOT_H, SLOT_MS, Sight, Task, least_within, used

TRIED = 40  # starts of a load, cheapest first, before it is left out
NO_KICK = np.zeros((2, 1))


class Kept(NamedTuple):
    """How everything stood, to be gone back to."""

    starts: list[int | None]
    figures: Floats


class Standing:
    """Loads standing on a day, some of them not yet."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.starts: list[int | None] = [None] * len(task.loads)
        self.refused: Counter[str] = Counter()
        self.forbidden: dict[int, list[frozenset[tuple[int, int]]]] = {}
        # A machine of its own that nothing else wants is always free.
        counted = [number for number, one in enumerate(task.together) if len(one.loads) > 1 or one.taken.any()]
        slots, cells = len(task.room_w), task.sights[0].draws.shape[1]
        # One piece of memory, so that everything is kept and put back at once.
        self._figures = np.zeros((2 + len(counted)) * slots + 4 * cells * len(task.sights))
        by_slot = self._figures[: (2 + len(counted)) * slots].reshape(-1, slots)
        self._both_w, self._taken = by_slot[:2], by_slot[2:]
        self.short_w, peaks_w = self._both_w  # draw less sun, and the most that is drawn
        self.draws = self._figures[by_slot.size :].reshape(-1, 4, cells)
        self.short_w[:] = -task.room_w
        peaks_w[:] = task.sights[0].draws[0].reshape(-1, CELLS).max(axis=1)
        for row, number in enumerate(counted):
            self._taken[row] = task.together[number].taken
        for draws, sight in zip(self.draws, task.sights, strict=True):
            draws[:] = sight.draws
        self._seen = [Seen(task, place, self._both_w, counted) for place in range(len(task.loads))]
        self._kick_va = [
            max(_largest_va(kick) for kick in (sight.kick, *(one.kicks.get(number, NO_KICK) for one in self._seen)))
            for number, sight in enumerate(task.sights)
        ]

    def put(self, place: int, start: int) -> None:
        """Begin a load in a slot."""
        self._change(place, start, 1)
        self.starts[place] = start

    def take_out(self, place: int) -> None:
        """Take a load out again."""
        start = self.starts[place]
        assert start is not None
        self._change(place, start, -1)
        self.starts[place] = None

    def _change(self, place: int, start: int, sign: int) -> None:
        seen = self._seen[place]
        change = np.add if sign > 0 else np.subtract
        there = self._both_w[:, start : start + seen.slots]
        change(there, seen.own_w, out=there)
        for number, own in seen.shapes:
            part = self.draws[number, :, start * CELLS : start * CELLS + own.shape[1]]
            change(part, own[:, : part.shape[1]], out=part)
        for row, _ in seen.together:
            self._taken[row, start : start + seen.slots] += sign

    def kept(self) -> Kept:
        """How everything stands now."""
        return Kept(list(self.starts), self._figures.copy())

    def back(self, kept: Kept) -> None:
        """Everything as it stood then."""
        self.starts = list(kept.starts)
        self._figures[:] = kept.figures

    def forbid(self, starts: frozenset[tuple[int, int]]) -> None:
        """Never again these loads at these starts together: (place, slot) each."""
        for place, _ in starts:
            self.forbidden.setdefault(place, []).append(starts)

    def free(self, place: int) -> Flags:
        """Where a load's machine is free, and no interlock in the way; shape (day's slots,)."""
        load = self.task.loads[place]
        free = load.begins
        for row, one in self._seen[place].together:
            full = self._taken[row] >= one.at_most
            if full.any():
                until = np.concatenate(([0], np.cumsum(full)))
                ends = np.minimum(np.arange(len(free)) + load.slots, len(full))
                free = free & (until[ends] == until[: len(free)])
        return free

    def admits(self, place: int, start: int) -> bool:
        """Whether no limit refuses a load there, beside what stands."""
        for combination in self.forbidden.get(place, ()):
            if (place, start) in combination and all(one == place or self.starts[one] == at for one, at in combination):
                self.refused[""] += 1
                return False
        for number, own in self._seen[place].shapes:
            if not self._admits(self.task.sights[number], number, place, start, own):
                self.refused[self.task.sights[number].limit] += 1
                return False
        return True

    def _admits(self, sight: Sight, number: int, place: int, start: int, own: Floats) -> bool:
        first = start * CELLS
        there = self.draws[number, :, first : first + own.shape[1]]
        draws = there + own[:, : there.shape[1]]
        use = used(draws)
        most_va = max(use[0].max(), use[1].max())
        if most_va <= sight.always_va and most_va + self._kick_va[number] <= sight.always_started_va:
            return True
        if sight.refuses(use, first):
            return False
        if any(sight.refuses_start(draws, kick, first) for kick in self._kicks(sight, number, place, first, draws)):
            return False
        if not sight.is_soft(use, first):
            return True
        whole = self.draws[number].copy()
        whole[:, first : first + draws.shape[1]] = draws
        return not sight.overheats(whole)

    def _kicks(self, sight: Sight, number: int, place: int, first: int, draws: Floats) -> Iterator[Floats]:
        """What starts in a stretch: of what stands, of the load itself, and of the others there."""
        cells = draws.shape[1]
        yield sight.kick[:, first : first + cells]
        for other, seen in enumerate(self._seen):
            at = first // CELLS if other == place else self.starts[other]
            own = seen.kicks.get(number)
            if at is None or own is None:
                continue
            begin = at * CELLS - first
            if begin >= cells or begin + own.shape[1] <= 0:
                continue
            kick = np.zeros((2, cells))
            low, high = max(begin, 0), min(begin + own.shape[1], cells)
            kick[:, low:high] = own[:, low - begin : high - begin]
            yield kick

    def as_cheap(self, place: int, start: int) -> Iterator[int]:
        """Where a load that is taken out may begin for about the energy that it takes at a start."""
        costs = self._seen[place].costs(self.free(place), None)
        for other in np.flatnonzero(costs <= costs[start] + MARGIN_WH + FINISH_WH).tolist():
            if other != start and self._in_order(place, other) and self.admits(place, other):
                yield other

    def _in_order(self, place: int, start: int) -> bool:
        """Whether a load would begin within its gap after what it waits for, and so what waits for it."""
        loads, starts = self.task.loads, self.starts
        waits = [(one, place) for one in (loads[place].before,) if one is not None]
        waits += [(place, child) for child, load in enumerate(loads) if load.before == place]
        for first, then in waits:
            begin, end = (start if one == place else starts[one] for one in (first, then))
            least, most = loads[then].gap
            if begin is not None and end is not None and not least <= end - begin <= most:
                return False
        return True

    def place_unit(self, unit: Sequence[int], noise: Floats | None = None) -> bool:
        """Put a family of loads where together they cost least; False, with none put, where nothing admits it."""
        costs = {place: self._seen[place].costs(self.free(place), noise) for place in unit}
        return self._place(unit[0], costs, 0, len(self.task.loads[unit[0]].begins) - 1)

    def _place(self, place: int, costs: dict[int, Floats], first: int, last: int) -> bool:
        """Put a load within slots, and after it what waits for it; the cheapest together that is admitted."""
        load = self.task.loads[place]
        children = [child for child in costs if self.task.loads[child].before == place]
        total = costs[place].copy()
        total[:first] = np.inf
        total[last + 1 :] = np.inf
        for child in children:
            total += self._after(child, costs)
        for _ in range(TRIED):
            start = int(total.argmin())
            if total[start] == np.inf:
                return False
            total[start] = np.inf
            if not self.admits(place, start):
                continue
            self.put(place, start)
            done: list[int] = []
            for child in children:
                gap = self.task.loads[child].gap
                costs_now = (
                    costs
                    if self.task.loads[child].appliance != load.appliance
                    else (costs | {child: np.where(self.free(child), costs[child], np.inf)})
                )
                if not self._place(child, costs_now, start + gap[0], start + gap[1]):
                    break
                done.append(child)
            if len(done) == len(children):
                return True
            for child in done:
                self._take_family(child, costs)
            self.take_out(place)
        return False

    def _take_family(self, place: int, costs: dict[int, Floats]) -> None:
        for child in costs:
            if self.task.loads[child].before == place and self.starts[child] is not None:
                self._take_family(child, costs)
        self.take_out(place)

    def _after(self, child: int, costs: dict[int, Floats]) -> Floats:
        """For each start of what it waits for, the least a load costs within its gap, with all that waits for it."""
        own = costs[child].copy()
        for grandchild in costs:
            if self.task.loads[grandchild].before == child:
                own += self._after(grandchild, costs)
        return least_within(own, self.task.loads[child].gap)

    @property
    def energy_wh(self) -> float:
        """What goes through the bank."""
        return float(np.maximum(self.short_w, 0.0).sum()) * SLOT_H

    @property
    def comfort_wh(self) -> float:
        """What is minimised beside energy: margin, then finish, each within the step of the one before."""
        tight = float((used(self.draws[0])[0] / self.task.steady_w).max())
        ends = [
            start * SLOT_MS + seen.load.length_ms
            for start, seen in zip(self.starts, self._seen, strict=True)
            if start is not None
        ]
        # The last end counts, and a little when the others have theirs, so that nothing waits without a reason.
        finish = (0.9 * max(ends) + 0.1 * sum(ends) / len(ends)) / (len(self.task.room_w) * SLOT_MS) if ends else 0.0
        return MARGIN_WH * tight + FINISH_WH * finish

    @property
    def cost(self) -> float:
        """What is minimised, in Wh."""
        return self.energy_wh + self.comfort_wh


def _largest_va(kick: Floats) -> float:
    return float(np.hypot(*kick).max())
