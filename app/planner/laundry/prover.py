"""What no placing can be below, worked out in a process of its own: it can be stopped at once, whatever it is at.

A day that can be swept in one is (`parts`), which proves it. Otherwise a second search helps the first for some
seconds; then the parts of the day are a bound at once, and either a few loads are tried all through (`bound`), or a
constraint solver raises it (`solver`).
"""

import multiprocessing
import os
import threading
from collections.abc import Sequence
from contextlib import suppress
from multiprocessing.connection import Connection
from queue import SimpleQueue
from time import monotonic
from typing import NamedTuple

import numpy as np

from app.planner.laundry.bound import TOLERANCE_WH, Bound
from app.planner.laundry.local import Search
from app.planner.laundry.parts import parts_of, prove
from app.planner.laundry.solver import PART_WH, modelled
from app.planner.laundry.task import Task

SEARCHED_S = 3.0  # before it begins to prove what cannot be proved at once
TRIED_THROUGH = 7  # loads; with more, the solver's bound rises faster
SOLVED_TO = 12  # loads; with more, it says no more than the parts do
OTHER_WAY = 1000  # added to the seed


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
    begun = monotonic()
    with suppress(EOFError, OSError):  # nobody waits for it any more
        work = _Work(pipe, pipe.recv(), pipe.recv())
        parts = parts_of(work.task)
        if len(parts) > 1:
            work.search(begun + min(SEARCHED_S, seconds), seed)
        proof = prove(work.task, parts, work.going_on)
        through = len(parts) == 1 or proof.least_wh > work.known_wh - TOLERANCE_WH
        work.tell(proof.least_wh, proof.starts, done=through)
        if through:
            return
        if len(work.task.loads) <= TRIED_THROUGH:
            work.try_through()
        elif len(work.task.loads) <= SOLVED_TO:
            work.solve(begun + seconds - monotonic(), seed)
        else:
            work.tell(proof.least_wh, done=True)


class _Work:
    """One task in the other process, and the pipe to whoever asked."""

    def __init__(self, pipe: Connection, task: Task, known_wh: float) -> None:
        self._pipe, self.task, self.known_wh = pipe, task, known_wh
        self._told_wh = -np.inf

    def tell(self, bound_wh: float, starts: Sequence[int] | None = None, *, done: bool = False) -> None:
        """Say what no placing is below, and a plan that may be better than what is known; small steps are kept."""
        if done or starts is not None or bound_wh > self._told_wh + TOLERANCE_WH:
            self._told_wh = max(bound_wh, self._told_wh)
            self._pipe.send(Told(self._told_wh, None if starts is None else tuple(starts), done))

    def going_on(self) -> bool:
        """Hear of better plans. Raises EOFError where nobody asks any more."""
        while self._pipe.poll():
            self.known_wh = min(self.known_wh, self._pipe.recv())
        return True

    def search(self, until: float, seed: int) -> None:
        """Look for a better plan on a way of its own: two that begin apart are seldom caught in the same place."""
        local = Search(self.task, seed + OTHER_WAY)
        while monotonic() < until and self.going_on():
            if local.step():
                local.accept()
                if self.task.through_bank_wh(local.now) < self.known_wh - TOLERANCE_WH:
                    self.tell(-np.inf, local.now)

    def try_through(self) -> None:
        """Try everything by branch and bound."""

        def tell(bound_wh: float) -> bool:
            self.going_on()
            bound.known_wh = min(bound.known_wh, self.known_wh)
            self.tell(bound_wh)
            return True

        bound = Bound(self.task, self.known_wh, tell)
        self.tell(bound.prove(), bound.found, done=True)

    def solve(self, seconds: float, seed: int) -> None:
        """Let a constraint solver raise the bound."""
        from ortools.sat.python import cp_model

        below_wh = self.known_wh - TOLERANCE_WH
        model, starts, fixed_wh = modelled(self.task, below_wh)
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = max(seconds, 0.0)
        solver.parameters.num_workers = max((os.cpu_count() or 2) - 1, 1)  # one core stays for the search
        solver.parameters.random_seed = seed

        def tell(bound: float, found: tuple[int, ...] | None = None, *, done: bool = False) -> None:
            self.tell(min(fixed_wh + bound * PART_WH, below_wh), found, done=done)

        class Better(cp_model.CpSolverSolutionCallback):
            def on_solution_callback(self) -> None:
                found = tuple(next(at for at, one in begun.items() if self.value(one)) for begun in starts)
                tell(self.best_objective_bound, found)

        solver.best_bound_callback = tell
        status = solver.solve(model, Better())
        if status == cp_model.INFEASIBLE:
            self.tell(below_wh, done=True)  # nothing has less than what was asked for
        else:
            tell(solver.best_objective_bound, done=True)
