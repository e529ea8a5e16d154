"""What no placing can be below, worked out in a process of its own: it can be stopped at once, whatever it is at.

A few loads are tried all through (`bound`). For more, the same task goes to a constraint solver: time-indexed (one
literal per load and start, as in Dyer and Wolsey 1990), what goes through the bank minimised under what any plan that
is accepted keeps to. Limits are taken a little too wide there, never too narrow, and watts are rounded so that the
bound holds.
"""

import multiprocessing
import os
import threading
from collections.abc import Sequence
from contextlib import suppress
from itertools import pairwise
from multiprocessing.connection import Connection
from queue import SimpleQueue
from typing import Any, NamedTuple

import numpy as np

from app.engine.results import Floats
from app.planner.laundry.bound import TOLERANCE_WH, Bound, Stopped
from app.planner.laundry.task import CELLS, SLOT_MS, Task, Together

TRIED_THROUGH = 7  # loads; with more, the solver's bound rises faster
PARTS = 10  # of a watt, which the solver counts in whole numbers
PART_WH = SLOT_MS / 3_600_000 / PARTS


class Told(NamedTuple):
    """What a prover has to say: what no placing is below, the best it has, and whether it is through."""

    bound_wh: float
    starts: tuple[int, ...] | None
    done: bool


class Prover:
    """At work in another process; ends by itself after its time, or when it is stopped."""

    def __init__(self, task: Task, seconds: float, seed: int) -> None:
        context = multiprocessing.get_context("spawn")
        self._ours, theirs = context.Pipe()
        self._process = context.Process(target=_prove, args=(theirs, seconds, seed), daemon=True)
        self._process.start()
        theirs.close()
        self.told = Told(-np.inf, None, False)
        # Sent by a thread, for a task is larger than a pipe holds, and the other side may take a second to listen.
        self._to_send: SimpleQueue[Task | float | None] = SimpleQueue()
        self._to_send.put(task)
        self._sender = threading.Thread(target=self._send, daemon=True)
        self._sender.start()

    def known(self, wh: float) -> None:
        """Tell it of a plan there is: it begins with the first, and need not look for any that is worse."""
        self._to_send.put(wh)

    def _send(self) -> None:
        # That the other side is gone is noticed where it is listened to.
        with suppress(OSError):
            for one in iter(self._to_send.get, None):
                self._ours.send(one)

    def news(self, wait_s: float = 0.0) -> bool:
        """Take in what was told since; True if there was anything."""
        heard = False
        try:
            while not self.told.done and self._ours.poll(0.0 if heard else wait_s):
                one: Told = self._ours.recv()
                bound_wh = max(self.told.bound_wh, one.bound_wh)
                self.told = Told(bound_wh, one.starts or self.told.starts, one.done)
                heard = True
        except (EOFError, OSError):
            heard = True
            self.told = self.told._replace(done=True)
        return heard

    def stop(self) -> None:
        """Stop it at once."""
        self._to_send.put(None)
        self._process.terminate()
        self._process.join(2.0)
        self._sender.join(2.0)
        self._ours.close()

    def __enter__(self) -> "Prover":
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()


def _prove(pipe: Connection, seconds: float, seed: int) -> None:
    """What runs in the other process."""
    try:
        task: Task = pipe.recv()
        known_wh = pipe.recv()
        if len(task.loads) <= TRIED_THROUGH:
            _try_through(pipe, task, known_wh)
        else:
            _solve(pipe, task, seconds, seed, known_wh)
    except (EOFError, OSError):
        pass  # nobody waits for it any more


def _try_through(pipe: Connection, task: Task, known_wh: float) -> None:
    told = [-np.inf]

    def tell(bound_wh: float) -> bool:
        while pipe.poll():
            bound.known_wh = min(bound.known_wh, pipe.recv())
        if bound_wh > told[0] + TOLERANCE_WH:
            told[0] = bound_wh
            pipe.send(Told(bound_wh, None, False))
        return True

    bound = Bound(task, known_wh, tell)
    try:
        found_wh = bound.prove()
        pipe.send(Told(found_wh, bound.found, True))
    except Stopped:
        pass


def _solve(pipe: Connection, task: Task, seconds: float, seed: int, known_wh: float) -> None:
    from ortools.sat.python import cp_model

    below_wh = known_wh - TOLERANCE_WH
    model, starts, fixed_wh = modelled(task, below_wh)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = max((os.cpu_count() or 2) - 1, 1)  # one core stays for the search
    solver.parameters.random_seed = seed

    def tell(bound: float, found: tuple[int, ...] | None, *, done: bool = False) -> None:
        pipe.send(Told(min(fixed_wh + bound * PART_WH, below_wh), found, done))

    class Better(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            found = tuple(next(at for at, one in begun.items() if self.value(one)) for begun in starts)
            tell(self.best_objective_bound, found)

    solver.best_bound_callback = lambda bound: tell(bound, None)
    status = solver.solve(model, Better())
    if status == cp_model.INFEASIBLE:
        pipe.send(Told(below_wh, None, True))  # nothing has less than what was asked for
    else:
        tell(solver.best_objective_bound, None, done=True)


def modelled(task: Task, below_wh: float | None = None) -> tuple[Any, list[dict[int, Any]], float]:
    """The model, per load its literals by slot, and what goes through the bank whatever is done, in Wh.

    below_wh: only plans with less are looked for.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    starts: list[dict[int, Any]] = [
        {int(at): model.new_bool_var(f"{load.run}@{at}") for at in np.flatnonzero(load.begins)} for load in task.loads
    ]
    for begun in starts:
        model.add_exactly_one(begun.values())
    _ordered(model, task, starts)
    _alike(model, task, starts)
    for one in task.together:
        _at_once(model, task, one, starts)
    _limited(model, task, starts)
    fixed_wh, objective = _shortfall(model, task, starts)
    model.minimize(objective)
    if below_wh is not None:
        model.add(objective <= int(np.floor((below_wh - fixed_wh) / PART_WH)))
    return model, starts, fixed_wh


def _shortfall(model: Any, task: Task, starts: Sequence[dict[int, Any]]) -> tuple[float, Any]:
    """What goes through the bank: what each load adds alone, and in every slot what they add for being together.

    Together loads are short of the sum of their draws less the room left; alone each is short of its own draw beyond
    it. The difference is the sum of what each takes of the room, less the room, and never below nothing. Written so,
    the solver begins with what the loads add alone rather than with nothing.
    """
    room = np.maximum(task.room_w, 0.0)
    parts = np.ceil(room * PARTS).astype(np.int64)
    terms: list[list[tuple[Any, int]]] = [[] for _ in room]
    costs: list[Any] = []
    for load, begun, alone_wh in zip(task.loads, starts, task.alone_wh, strict=True):
        for at, literal in begun.items():
            costs.append(int(np.floor(alone_wh[at] / PART_WH)) * literal)
            taken = np.floor(np.minimum(load.slots_w, room[at : at + load.slots]) * PARTS).astype(np.int64)
            for offset in np.flatnonzero(taken).tolist():
                terms[at + offset].append((literal, int(taken[offset])))
    for slot, of_slot in enumerate(terms):
        most = _most_at_once(of_slot, task, starts)
        if most <= parts[slot]:
            continue
        more = model.new_int_var(0, int(most - parts[slot]), f"more@{slot}")
        model.add(more >= sum(weight * literal for literal, weight in of_slot) - int(parts[slot]))
        costs.append(more)
    return task.standing_wh, sum(costs)


def _most_at_once(terms: Sequence[tuple[Any, int]], task: Task, starts: Sequence[dict[int, Any]]) -> int:
    """The most that loads can take in a slot: each begins once."""
    weights = {literal.index: weight for literal, weight in terms}
    return sum(max((weights.get(literal.index, 0) for literal in begun.values()), default=0) for begun in starts)


def _ordered(model: Any, task: Task, starts: Sequence[dict[int, Any]]) -> None:
    """What waits begins no sooner and no later than its gap allows, in running sums, which are stronger than pairs."""
    for place, load in enumerate(task.loads):
        if load.before is None:
            continue
        first, last = load.gap
        before, own = starts[load.before], starts[place]
        for slot in range(len(load.begins)):
            if slot in own:
                model.add(
                    sum(one for at, one in own.items() if at <= slot)
                    <= sum(one for at, one in before.items() if at <= slot - first)
                )
            if slot in before and slot + last < len(load.begins):
                model.add(
                    sum(one for at, one in before.items() if at <= slot)
                    <= sum(one for at, one in own.items() if at <= slot + last)
                )


def _alike(model: Any, task: Task, starts: Sequence[dict[int, Any]]) -> None:
    """Runs that are all the same, with all that waits for them, take their turns in the order of the file."""

    def nature(place: int) -> tuple[Any, ...]:
        load = task.loads[place]
        waiting = sorted(nature(other) for other, one in enumerate(task.loads) if one.before == place)
        return (load.appliance, load.slots, load.begins.tobytes(), load.gap, tuple(waiting))

    by_nature: dict[tuple[Any, ...], list[int]] = {}
    for place, load in enumerate(task.loads):
        if load.before is None:
            by_nature.setdefault(nature(place), []).append(place)
    for places in by_nature.values():
        for earlier, later in pairwise(places):
            for slot in starts[later]:
                model.add(
                    sum(one for at, one in starts[later].items() if at <= slot)
                    <= sum(one for at, one in starts[earlier].items() if at < slot)
                )


def _at_once(model: Any, task: Task, one: Together, starts: Sequence[dict[int, Any]]) -> None:
    for slot in range(len(task.room_w)):
        there = [
            literal
            for place in one.loads
            for at, literal in starts[place].items()
            if at <= slot < at + task.loads[place].slots
        ]
        left = one.at_most - int(one.taken[slot])
        if len(there) > max(left, 0):
            model.add(sum(there) <= max(left, 0))


def _limited(model: Any, task: Task, starts: Sequence[dict[int, Any]]) -> None:
    """What every sight carries through a whole slot at least; nothing where what stands is too much already."""
    for number, sight in enumerate(task.sights):
        most_w = np.minimum(sight.hard_w, sight.hard_va).reshape(-1, CELLS).max(axis=1)
        left_w = most_w - _least_in_slots(sight.draws[0])
        drawn_w = [
            np.zeros(0) if (shape := load.shapes[number]) is None else _least_in_slots(shape.draws[0])
            for load in task.loads
        ]
        for slot in np.flatnonzero(np.isfinite(left_w) & (left_w > 0)).tolist():
            terms = [
                (literal, int(own_w[slot - at]))
                for begun, own_w in zip(starts, drawn_w, strict=True)
                for at, literal in begun.items()
                if 0 <= slot - at < len(own_w) and own_w[slot - at] >= 1
            ]
            if sum(weight for _, weight in terms) > left_w[slot]:
                model.add(sum(weight * literal for literal, weight in terms) <= int(np.ceil(left_w[slot])))


def _least_in_slots(cells: Floats) -> Floats:
    return np.asarray(cells.reshape(-1, CELLS).min(axis=1))
