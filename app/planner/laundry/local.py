"""Local search: take a few loads out, put each back where it costs least, keep what is better, and now and then not.

Iterated local search with a cooling threshold (Kirkpatrick et al. 1983 for the threshold; the rest common practice).
All starts of a load are tried at once, by sliding its draw over what the day is short of.
"""

from collections.abc import Sequence
from math import log

import numpy as np

from app.planner.laundry.standing import Kept, Standing
from app.planner.laundry.task import Task

HOT_WH = 200.0  # at the start of a cycle, a step that costs so much more is taken one time in three
# The same in every other cycle, the first included: a share of what lies above what each load adds alone.
MILD, MILD_WH = 0.15, (20.0, 300.0)
COLD = 0.01  # of that, at the end of a cycle
CYCLE = 400  # steps from hot to cold
NOISY, NOISE_WH = 0.5, (1.0, 300.0)  # the share of steps whose costs are blurred, and by how much


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
        for place, start in enumerate(self.standing.starts):
            if start is not None:
                self.standing.take_out(place)
        for place, start in enumerate(starts):
            self.standing.put(place, start)
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
        before, was = standing.kept(), self._cost
        count = min(int(self._random.integers(1, 5)), len(units))
        chosen = [units[one] for one in self._random.permutation(len(units))[:count].tolist()]
        for unit in chosen:
            for place in unit:
                if standing.starts[place] is not None:
                    standing.take_out(place)
        heat = self._hot_wh * COLD ** (self._steps % CYCLE / CYCLE)
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
        enough = was - heat * log(max(self._random.random(), 1e-300))
        if standing.starts == before.starts or standing.energy_wh > enough or (cost := standing.cost) > enough:
            self._back(before, was)
            return False
        self._cost = cost
        if self._is_new_best():
            self._settle()
        return self._is_new_best()

    @property
    def _hot_wh(self) -> float:
        """Where a day's sun is nearly enough, plans differ by little, and much heat would only stir them."""
        if self._steps // CYCLE % 2:
            return HOT_WH
        least, most = MILD_WH
        return most if self.best is None else min(max(MILD * (self.best_cost - self.task.floor_wh), least), most)

    def _settle(self) -> None:
        """Put every family where it costs least beside the others, until none moves."""
        moved = True
        while moved:
            moved = False
            for unit in self.task.units:
                before, was = self.standing.kept(), self._cost
                for place in unit:
                    self.standing.take_out(place)
                self._cost = self.standing.cost if self.standing.place_unit(unit) else np.inf
                if self._cost < was - 1e-6:
                    moved = True
                else:
                    self._back(before, was)

    def polish(self) -> bool:
        """Move loads of the best day one by one to where everything costs least; True where that is cheaper.

        A family goes where its own margin is largest for the energy; where another is tighter anyway, it ends sooner.
        No move takes more energy, so what is proven stays proven.
        """
        assert self.best is not None, "there is a day"
        self.go_to(self.best)
        for place in range(len(self.best)):
            start = self.standing.starts[place]
            assert start is not None
            enough_wh = self.standing.energy_wh + 1e-6
            self.standing.take_out(place)
            costs = {start: self._cost}
            for other in self.standing.as_cheap(place, start):
                self.standing.put(place, other)
                if self.standing.energy_wh <= enough_wh:
                    costs[other] = self.standing.cost
                self.standing.take_out(place)
            least = min(costs, key=costs.__getitem__)
            self.standing.put(place, least)
            self._cost = costs[least]
        return self._is_new_best()

    def _is_new_best(self) -> bool:
        return self.complete and self._cost < self.best_cost - 1e-6

    def _back(self, before: Kept, cost: float) -> None:
        self.standing.back(before)
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
