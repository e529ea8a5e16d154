"""Local search: take a few loads out, put each back where it costs least, keep what is better, and now and then not.

Iterated local search with a cooling threshold (Kirkpatrick et al. 1983 for the threshold; the rest common practice).
All starts of a load are tried at once, by sliding its draw over what the day is short of.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from math import exp

import numpy as np

from app.engine.results import Flags, Floats
from app.planner.laundry.found import ENERGY_STEP_WH
from app.planner.laundry.task import CELLS, SLOT_MS, Sight, Task, added_wh, least_within, through_bank_wh, used

# What a plan is judged by on top of its energy, in Wh, so that together they stay below the step that counts.
MARGIN_WH, FINISH_WH = 0.8 * ENERGY_STEP_WH, 0.05 * ENERGY_STEP_WH
TRIED = 40  # starts of a load, cheapest first, before it is left out
HOT_WH, COLD_WH = 200.0, 2.0  # a step that costs so much more is taken one time in three, at the start and at the end
CYCLE = 400  # steps from hot to cold
NOISY, NOISE_WH = 0.5, (1.0, 300.0)  # the share of steps whose costs are blurred, and by how much


class Standing:
    """Loads standing on a day, some of them not yet."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.starts: list[int | None] = [None] * len(task.loads)
        self.short_w = -task.room_w
        self.draws = [sight.draws.copy() for sight in task.sights]
        self.peaks_w = task.sights[0].draws[0].reshape(-1, CELLS).max(axis=1)
        self._steady_w = float(task.steady_w.min())
        self.taken = [one.taken.copy() for one in task.together]
        self.refused: Counter[str] = Counter()
        self.forbidden: dict[int, list[frozenset[tuple[int, int]]]] = {}

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
        load = self.task.loads[place]
        self.short_w[start : start + load.slots] += sign * load.slots_w
        self.peaks_w[start : start + load.slots] += sign * load.peaks_w
        first = start * CELLS
        for draws, shape in zip(self.draws, load.shapes, strict=True):
            if shape is not None:
                part = draws[:, first : first + shape.draws.shape[1]]
                part += sign * shape.draws[:, : part.shape[1]]
        for taken, one in zip(self.taken, self.task.together, strict=True):
            if place in one.loads:
                taken[start : start + load.slots] += sign

    def forbid(self, starts: frozenset[tuple[int, int]]) -> None:
        """Never again these loads at these starts together: (place, slot) each."""
        for place, _ in starts:
            self.forbidden.setdefault(place, []).append(starts)

    def free(self, place: int) -> Flags:
        """Where a load's machine is free, and no interlock in the way; shape (day's slots,)."""
        load = self.task.loads[place]
        free = load.begins
        for taken, one in zip(self.taken, self.task.together, strict=True):
            if place in one.loads:
                full = np.concatenate(([0], np.cumsum(taken >= one.at_most)))
                ends = np.minimum(np.arange(len(free)) + load.slots, len(taken))
                free = free & (full[ends] == full[: len(free)])
        return free

    def admits(self, place: int, start: int) -> bool:
        """Whether no limit refuses a load there, beside what stands."""
        for combination in self.forbidden.get(place, ()):
            if (place, start) in combination and all(one == place or self.starts[one] == at for one, at in combination):
                self.refused[""] += 1
                return False
        for number, (sight, shape) in enumerate(zip(self.task.sights, self.task.loads[place].shapes, strict=True)):
            if shape is not None and not self._admits(sight, number, place, start):
                self.refused[sight.limit] += 1
                return False
        return True

    def _admits(self, sight: Sight, number: int, place: int, start: int) -> bool:
        shape = self.task.loads[place].shapes[number]
        assert shape is not None
        first = start * CELLS
        there = self.draws[number][:, first : first + shape.draws.shape[1]]
        draws = there + shape.draws[:, : there.shape[1]]
        for kick in self._kicks(sight, number, place, first, draws.shape[1]):
            if sight.refuses(draws, kick, first):
                return False
        if not sight.is_soft(draws, first):
            return True
        whole = self.draws[number].copy()
        whole[:, first : first + draws.shape[1]] = draws
        return not sight.overheats(whole)

    def _kicks(self, sight: Sight, number: int, place: int, first: int, cells: int) -> Iterator[Floats]:
        """What starts in a stretch: of what stands, of the load itself, and of the others there."""
        yield sight.kick[:, first : first + cells]
        for other, load in enumerate(self.task.loads):
            at = first // CELLS if other == place else self.starts[other]
            shape = load.shapes[number]
            if at is None or shape is None:
                continue
            begin = at * CELLS - first
            if begin >= cells or begin + shape.kick.shape[1] <= 0 or not shape.kick.any():
                continue
            kick = np.zeros((2, cells))
            low, high = max(begin, 0), min(begin + shape.kick.shape[1], cells)
            kick[:, low:high] = shape.kick[:, low - begin : high - begin]
            yield kick

    def place_unit(self, unit: Sequence[int], noise: Floats | None = None) -> bool:
        """Put a family of loads where together they cost least; False, with none put, where nothing admits it."""
        costs = {place: self._costs(place, noise) for place in unit}
        return self._place(unit[0], costs, 0, len(self.task.loads[unit[0]].begins) - 1)

    def _costs(self, place: int, noise: Floats | None) -> Floats:
        load = self.task.loads[place]
        cost = added_wh(load, self.short_w) + self._pressing(place)
        if noise is not None:
            cost = cost + noise[: len(cost)]
        cost[~self.free(place)] = np.inf
        return cost

    def _pressing(self, place: int) -> Floats:
        """In Wh: the share of the inverter's watts that is taken with a load at each start, and how late it ends."""
        load = self.task.loads[place]
        taken = (self.peaks_w[load.windows] + load.peaks_w).max(axis=1) / self._steady_w
        found = np.full(len(load.begins), np.inf)
        found[load.may_begin] = taken * MARGIN_WH + load.may_begin * (FINISH_WH / len(self.task.room_w))
        return found

    def _place(self, place: int, costs: dict[int, Floats], first: int, last: int) -> bool:
        """Put a load within slots, and after it what waits for it; the cheapest together that is admitted."""
        load = self.task.loads[place]
        children = [child for child in costs if self.task.loads[child].before == place]
        total = costs[place].copy()
        total[:first] = np.inf
        total[last + 1 :] = np.inf
        for child in children:
            total = total + self._after(child, costs)
        for start in np.argsort(total, kind="stable")[:TRIED].tolist():
            if not np.isfinite(total[start]):
                return False
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
                own = own + self._after(grandchild, costs)
        return least_within(own, self.task.loads[child].gap)

    @property
    def cost(self) -> float:
        """What is minimised, in Wh: energy, then margin, then finish, each within the step of the one before."""
        tight = float((used(self.draws[0])[0] / self.task.steady_w).max())
        ends = [
            start * SLOT_MS + load.length_ms
            for start, load in zip(self.starts, self.task.loads, strict=True)
            if start is not None
        ]
        # The last end counts, and a little when the others have theirs, so that nothing waits without a reason.
        finish = (0.9 * max(ends) + 0.1 * sum(ends) / len(ends)) / (len(self.task.room_w) * SLOT_MS) if ends else 0.0
        return through_bank_wh(self.short_w) + MARGIN_WH * tight + FINISH_WH * finish


class Search:
    """A search that goes on as long as somebody asks for its next step."""

    def __init__(self, task: Task, seed: int, begin: Sequence[int] | None = None) -> None:
        self.task = task
        self.standing = Standing(task)
        self._random = np.random.default_rng(seed)
        self.best: list[int] | None = None
        self.best_cost = np.inf
        self._cost = np.inf
        self._steps = 0
        if begin is not None:
            self.go_to(begin)
        else:
            self._fill()

    def go_to(self, starts: Sequence[int]) -> None:
        """Let every load begin in these slots."""
        self._back(list(starts), np.inf)
        self._cost = self.standing.cost

    @property
    def complete(self) -> bool:
        """Every load stands."""
        return all(start is not None for start in self.standing.starts)

    @property
    def now(self) -> list[int]:
        """The starts as they stand, all of them."""
        return [start for start in self.standing.starts if start is not None]

    def _fill(self) -> None:
        """Put in whatever is out: the hardest to place first, the order shuffled more with every failure."""
        out = [unit for unit in self.task.units if any(self.standing.starts[place] is None for place in unit)]
        hard = {unit: sum(float(self.task.loads[place].slots_w.sum()) for place in unit) for unit in out}
        shuffle = self._random.uniform(0.5, 1.0, len(out)) if self._steps else np.ones(len(out))
        for number in np.argsort([-hard[unit] * part for unit, part in zip(out, shuffle, strict=True)]).tolist():
            self.standing.place_unit(out[number])
        self._cost = self.standing.cost if self.complete else np.inf

    def step(self) -> bool:
        """One change; True where all loads stand and it is cheaper than everything that was accepted before."""
        self._steps += 1
        standing, units = self.standing, self.task.units
        before = list(standing.starts)
        was = self._cost
        count = min(int(self._random.integers(1, 5)), len(units))
        chosen = [units[one] for one in self._random.choice(len(units), count, replace=False)]
        for unit in chosen:
            for place in unit:
                if standing.starts[place] is not None:
                    standing.take_out(place)
        heat = HOT_WH * (COLD_WH / HOT_WH) ** ((self._steps % CYCLE) / CYCLE)
        noise = None
        if self._random.random() < NOISY:
            # Sometimes hardly any, sometimes so much that a load lands anywhere.
            scale_wh = NOISE_WH[0] * (NOISE_WH[1] / NOISE_WH[0]) ** self._random.random()
            noise = self._random.exponential(scale_wh, len(self.task.room_w))
        placed = [standing.place_unit(unit, noise) for unit in chosen]
        if not all(placed) or not self.complete:
            if not np.isfinite(was):
                self._fill()
                return self._is_new_best()
            self._back(before, was)
            return False
        self._cost = standing.cost
        if self._cost > was and self._random.random() >= exp(-(self._cost - was) / heat):
            self._back(before, was)
            return False
        if self._is_new_best():
            self._settle()
        return self._is_new_best()

    def _settle(self) -> None:
        """Put every family where it costs least beside the others, until none moves."""
        moved = True
        while moved:
            moved = False
            for unit in self.task.units:
                before, was = list(self.standing.starts), self._cost
                for place in unit:
                    self.standing.take_out(place)
                placed = self.standing.place_unit(unit)
                self._cost = self.standing.cost if placed else np.inf
                if self._cost < was - 1e-6:
                    moved = True
                elif self.standing.starts != before:
                    self._back(before, was)
                else:
                    self._cost = was

    def _is_new_best(self) -> bool:
        return self.complete and self._cost < self.best_cost - 1e-6

    def _back(self, before: list[int | None], cost: float) -> None:
        standing = self.standing
        for place, start in enumerate(before):
            if standing.starts[place] is not None and standing.starts[place] != start:
                standing.take_out(place)
        for place, start in enumerate(before):
            if standing.starts[place] is None and start is not None:
                standing.put(place, start)
        self._cost = cost

    def accept(self) -> None:
        """What stands is the best so far."""
        self.best, self.best_cost = self.now, self._cost

    def reject(self, places: Sequence[int]) -> None:
        """What stands cannot be, because of these loads where they are."""
        starts = self.standing.starts
        self.standing.forbid(frozenset((place, at) for place in places if (at := starts[place]) is not None))
        for unit in self.task.units:
            if any(place in places for place in unit):
                for place in unit:
                    if starts[place] is not None:
                        self.standing.take_out(place)
        self._fill()
