"""How good laundry days get how soon, against the best known and against a solver alone.

`python -m tests.benchmarks.laundry` measures and writes `laundry.json`; `... best` computes the best known values
anew, which takes most of an hour, and writes `laundry_best.json`, which is committed.
"""

import datetime
import json
import platform
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import monotonic
from typing import Any

import numpy as np

from app.household.file import household_from
from app.household.resolve import resolve
from app.planner.laundry.found import Proposal
from app.planner.laundry.local import Search
from app.planner.laundry.reading import read_task
from app.planner.laundry.search import search
from app.planner.laundry.solver import PART_WH, modelled
from app.planner.laundry.task import Task
from app.planner.laundry.wish import Wish
from tests.benchmarks.laundry_days import cloudy_day

RESULTS = Path(__file__).with_name("laundry.json")
BEST = Path(__file__).with_name("laundry_best.json")
Course = list[tuple[float, float]]  # seconds, and Wh
DAYS, SEEDS = 20, (1, 2, 3)
SOLVER_S, SOLVER_DAYS = 60.0, 6


def wish(runs: int) -> Wish:
    """All runs of such a day."""
    return Wish(tuple(f"r{number}" for number in range(runs)))


def task_of(day: int, runs: int) -> Task:
    """The task of one day; its sun is worked out meanwhile, as it is on a page that was looked at."""
    return read_task(resolve(household_from(cloudy_day(day, runs))), wish(runs))[0]


def best_known(day: int, runs: int, steps: int = 8000, seeds: int = 4) -> float:
    """The best of several long searches, Wh."""
    task = task_of(day, runs)
    least = np.inf
    for seed in range(100, 100 + seeds):
        looking = Search(task, seed)
        for _ in range(steps):
            if looking.step():
                looking.accept()
        if looking.best is not None:
            least = min(least, task.through_bank_wh(looking.best))
    return least


def course(
    day: int, runs: int, seconds: float, seed: int, *, prove: bool = True
) -> tuple[list[tuple[float, float]], Any]:
    """(seconds since the question, Wh) of every better plan, and what it ended with."""
    household = household_from(cloudy_day(day, runs))
    read_task(resolve(household), wish(runs))
    told: list[tuple[float, float]] = []
    begun = monotonic()

    def report(found: Proposal | None, _bound_wh: float) -> bool:
        if found is not None and (not told or found.through_bank_wh < told[-1][1] - 1e-6):
            told.append((monotonic() - begun, found.through_bank_wh))
        return True

    found = search(household, "day", wish(runs), seconds=seconds, seed=seed, report=report, prove=prove)
    return told, found


def after(told: Course, seconds: float) -> float:
    """The best within so many seconds; infinite for none."""
    return min((wh for at, wh in told if at <= seconds), default=np.inf)


def reached(told: Course, wh: float) -> float:
    """Seconds to a plan as good as this; infinite for never."""
    return next((at for at, found in told if found <= wh), np.inf)


def solver_alone(day: int, runs: int, enough_wh: float, seconds: float = SOLVER_S) -> Course:
    """The same for the constraint solver by itself on the same model, its building counted; until it is good enough."""
    from ortools.sat.python import cp_model

    task = task_of(day, runs)
    told: list[tuple[float, float]] = []
    begun = monotonic()
    model, _, fixed_wh = modelled(task)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2

    class Better(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            told.append((monotonic() - begun, fixed_wh + self.objective_value * PART_WH))
            if told[-1][1] <= enough_wh:
                self.stop_search()

    solver.solve(model, Better())
    return told


def measure(days: int = DAYS, seeds: tuple[int, ...] = SEEDS, longest_s: float = 3.0) -> dict[str, Any]:
    """All figures; shares above the best known."""
    best: dict[str, list[float]] = json.loads(BEST.read_text())

    def above(runs: int, seconds: tuple[float, ...], seeds: tuple[int, ...] = seeds) -> dict[str, dict[str, float]]:
        shares: dict[float, list[float]] = {at: [] for at in seconds}
        for day in range(days):
            for seed in seeds:
                told, _ = course(day, runs, max(seconds), seed)
                for at in seconds:
                    shares[at].append(after(told, at) / best[str(runs)][day] - 1)
        return {f"{at:g} s": {"median": median(one), "worst": max(one)} for at, one in shares.items()}

    first_s = [course(day, 10, 0.5, 1)[0][0][0] for day in range(days)]
    ten = above(10, (1.0, longest_s))
    fourteen = above(14, (longest_s,), seeds[:1])
    proofs = [_proof(day) for day in range(days)]
    return {
        "days": days, "seeds": len(seeds),
        "first_plan_s": {"median": median(first_s), "worst": max(first_s)},
        "ten_runs_above_best": ten, "fourteen_runs_above_best": fourteen,
        "six_runs_proven": sum(proven for proven, _ in proofs), "six_runs_s": {
            "median": median(s for _, s in proofs), "worst": max(s for _, s in proofs),
        },
        "solver_alone": _against_solver(min(days, SOLVER_DAYS), best["10"]),
    }  # fmt: skip


def _proof(day: int) -> tuple[bool, float]:
    begun = monotonic()
    at: list[float] = []

    def report(found: Proposal | None, _bound_wh: float) -> bool:
        if found is not None and found.proven:
            at.append(monotonic() - begun)
            return False
        return True

    household = household_from(cloudy_day(day, 6))
    read_task(resolve(household), wish(6))
    begun = monotonic()
    search(household, "day", wish(6), seconds=15.0, report=report)
    return bool(at), at[0] if at else 15.0


def _against_solver(days: int, best: list[float]) -> dict[str, Any]:
    """How much sooner the search is within 3 % of the best known than the solver alone; at least, where it never is."""
    ratios, never = [], 0
    for day in range(days):
        enough_wh = best[day] * 1.03
        ours = reached(course(day, 10, 5.0, 1, prove=False)[0], enough_wh)
        theirs = reached(solver_alone(day, 10, enough_wh), enough_wh)
        never += theirs == np.inf
        ratios.append(min(theirs, SOLVER_S) / ours)
    return {"times_sooner_median": median(ratios), "times_sooner_least": min(ratios), "solver_never": never,
            "solver_s": SOLVER_S, "days": days}  # fmt: skip


def main(write: Callable[[str], Any] = print) -> None:
    """Measure, or compute the best known."""
    if "best" in sys.argv:
        best = {runs: [best_known(day, runs) for day in range(DAYS)] for runs in (10, 14)}
        BEST.write_text(json.dumps(best, indent=1) + "\n")
        return
    commit = subprocess.run(["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False)
    figures = {
        "date": datetime.date.today().isoformat(), "commit": commit.stdout.strip(),
        "machine": f"{platform.system()} {platform.machine()}", **measure(),
    }  # fmt: skip
    RESULTS.write_text(json.dumps(figures, indent=1) + "\n")
    write(json.dumps(figures, indent=1))


if __name__ == "__main__":
    main()
