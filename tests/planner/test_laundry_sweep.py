"""Sweeps of a day against every placing there is, on small tasks made up at random."""

import random

import numpy as np
import pytest
from numpy.typing import NDArray

from app.planner.laundry.bound import Bound
from app.planner.laundry.parts import ROUNDING_WH, parts_of, prove
from app.planner.laundry.standing import Standing
from app.planner.laundry.strand import alike, strand_of
from app.planner.laundry.sweep import Stopped
from app.planner.laundry.task import CELLS, Load, Shape, Sight, Task, Together, added_wh, least_within

SLOTS = 40
SLOT_H = 1 / 12
CASES = range(120)


def made_up(seed: int) -> Task:
    """Four or five runs of three machines, some alike, some waiting for others, an interlock, and a limit in watts."""
    draw = random.Random(seed)
    kinds = {
        name: [float(draw.randrange(100, 2000, 100)) for _ in range(draw.randint(2, 5))]
        for name in ("wash", "dry", "mill")
    }
    names = ["wash", "dry", "wash", "dry"] if seed % 2 else [draw.choice(list(kinds)) for _ in range(4)]
    loads: list[Load] = []
    for place, name in enumerate(names):
        own_w = np.array(kinds[name])
        begins = np.zeros(SLOTS, dtype=bool)
        first = 5 if seed % 3 else draw.randint(3, 10)
        begins[first : first + 11] = True
        before, gap = None, (0, 0)
        if name == "dry" and place and names[place - 1] == "wash":
            before, length = place - 1, len(kinds["wash"])
            gap = (length, length + draw.choice([0, 2, 5, 10**6]))
        shape = Shape(np.array([own_w, *[0 * own_w] * 3]).repeat(CELLS, axis=1), np.zeros((2, len(own_w) * CELLS)))
        length_ms = len(own_w) * 300_000
        loads.append(Load(f"r{place}", name, length_ms, own_w, begins, (shape,), before, gap))
    room_w = np.array([draw.uniform(-200, 2500) for _ in range(SLOTS)])
    cells = SLOTS * CELLS
    most_w = np.full(cells, 3000.0 if seed % 5 == 0 else np.inf)
    endless = np.full(cells, np.inf)
    sight = Sight("inverter_continuous", np.zeros((4, cells)), np.zeros((2, cells)), most_w, endless, endless, endless,
                  endless, 1.0, 1.0)  # fmt: skip
    taken = np.zeros(SLOTS, dtype=np.int64)
    together = [Together(1, tuple(at for at, one in enumerate(names) if one == name), taken) for name in set(names)]
    if seed % 4 == 0:
        busy = taken.copy()
        busy[8:11] = 1
        together.append(Together(1, tuple(at for at, one in enumerate(names) if one != "dry"), busy))
    return Task(tuple(loads), room_w, (sight,), tuple(together), np.full(cells, 4000.0))


def best_of_all(task: Task) -> float:
    """The least of all placings that keep to machines, order, interlocks and watts; infinite where there are none.

    All at once: along every axis but the last the starts of one load, along the last the slots of the day.
    """
    there = [_there(load) for load in task.loads]
    apart = [on.reshape([len(on) if axis == place else 1 for axis in range(len(there))] + [SLOTS])
             for place, on in enumerate(there)]  # fmt: skip
    starts = np.ix_(*(load.may_begin for load in task.loads))
    drawn = [on.copy().astype(float) for on in apart]
    for load, on in zip(task.loads, drawn, strict=True):
        on[on > 0] = np.tile(load.slots_w, len(load.may_begin))
    watts = sum(drawn, np.zeros(SLOTS))
    may = (watts <= task.sights[0].hard_w[::CELLS]).all(axis=-1)
    for load, start in zip(task.loads, starts, strict=True):
        if load.before is not None:
            may &= (load.gap[0] <= start - starts[load.before]) & (start - starts[load.before] <= load.gap[1])
    for one in task.together:
        ours = sum((apart[place] for place in one.loads), np.zeros(SLOTS, dtype=np.int64))
        # What stands may be too much by itself; no load may add to that.
        may &= ((ours == 0) | (ours + one.taken <= one.at_most)).all(axis=-1)
    return float(np.maximum(watts[may] - task.room_w, 0.0).sum(axis=-1).min(initial=np.inf)) * SLOT_H


def _there(load: Load) -> NDArray[np.int64]:
    """For every start of a load the slots in which it is on, shape (starts, slots)."""
    slots = np.arange(SLOTS) - load.may_begin[:, None]
    return ((slots >= 0) & (slots < load.slots)).astype(np.int64)


def _fits(task: Task, starts: tuple[int, ...]) -> bool:
    for one in task.together:
        there = one.taken.copy()
        for place in one.loads:
            there[starts[place] : starts[place] + task.loads[place].slots] += 1
        # What stands may be too much by itself; no load may add to that.
        of_ours = there > one.taken
        if (there[of_ours] > one.at_most).any():
            return False
    watts = np.zeros(SLOTS)
    for load, start in zip(task.loads, starts, strict=True):
        watts[start : start + load.slots] += load.slots_w
    return bool((watts <= task.sights[0].hard_w[::CELLS]).all())


@pytest.mark.parametrize("seed", CASES)
def test_a_sweep_finds_the_best_of_all(seed: int) -> None:
    """In one it is exact, with starts that have it; in parts, and by branch and bound, it is never above."""
    task = made_up(seed)
    best_wh = best_of_all(task)
    parts = parts_of(task)
    assert len(parts) == 1
    proof = prove(task, parts)
    if not np.isfinite(best_wh):
        assert proof.least_wh == np.inf and proof.starts is None
        return
    assert best_wh - 1.5 * ROUNDING_WH <= proof.least_wh <= best_wh + 1e-6
    assert proof.starts is not None
    assert task.through_bank_wh(list(proof.starts)) == pytest.approx(best_wh, abs=ROUNDING_WH / 2)
    assert _fits(task, proof.starts)
    for most in (400, 60, 8):
        split = prove(task, parts_of(task, most))
        assert task.floor_wh <= split.least_wh <= best_wh + 1e-6
    assert Bound(task, best_wh, lambda _: True).prove() <= best_wh + 1e-6


def test_runs_that_are_the_same_take_turns() -> None:
    """Washes that are alike, and what waits for them; not what differs in its window."""
    loads = made_up(1).loads
    assert alike(loads) == {2: 0, 3: 1}
    strand = strand_of(loads, range(4), alike(loads), 10_000)
    free = strand_of(loads, range(4), {}, 10_000)
    assert strand is not None and free is not None and len(strand) < len(free)
    assert strand_of(loads, range(4), {}, len(free) - 1) is None


def test_a_sweep_can_be_stopped() -> None:
    """At once, by whoever asked."""
    task = made_up(2)
    with pytest.raises(Stopped):
        prove(task, parts_of(task), lambda: False)


@pytest.mark.parametrize("seed", range(20))
def test_what_a_start_costs_is_counted_alike(seed: int) -> None:
    """Standing loads keep sums of their own; they come to what a plain count comes to, also after going back."""
    task = made_up(seed)
    draw = random.Random(seed)
    standing = Standing(task)
    empty = standing.kept()
    starts = [draw.choice(load.may_begin.tolist()) for load in task.loads]
    for place, start in enumerate(starts):
        standing.put(place, start)
    assert standing.energy_wh == pytest.approx(task.through_bank_wh(starts))
    standing.take_out(0)
    adds_wh = added_wh(task.loads[0], standing.short_w)[starts[0]]
    beside_wh = standing.energy_wh
    standing.put(0, starts[0])
    assert standing.energy_wh - beside_wh == pytest.approx(adds_wh)
    standing.back(empty)
    assert standing.energy_wh == pytest.approx(task.standing_wh)
    assert standing.starts == [None] * len(starts)


@pytest.mark.parametrize("gap", [(0, 0), (3, 7), (5, 10**6), (60, 70)])
def test_the_least_within_a_gap(gap: tuple[int, int]) -> None:
    """Against plain slices."""
    costs_wh = np.random.default_rng(1).uniform(0, 9, 50)
    found = least_within(costs_wh, gap)
    for slot in range(50):
        window = costs_wh[slot + gap[0] : slot + gap[1] + 1]
        assert found[slot] == (window.min() if len(window) else np.inf)
