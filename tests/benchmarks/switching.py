"""What "Switch on" costs in the engine: every answer for an instant of a day."""

import time
from typing import Any

import numpy as np

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.moment import Inspection
from app.engine.sun import suns_of
from app.engine.switching import switching
from app.household.file import household_from
from app.household.resolve import resolve
from tests.benchmarks.mix import demo_mix

LATER_RUN_S = 6 * 3600  # a machine that runs again does so a quarter of a day later


def switching_document(appliances: int, runs: int) -> dict[str, Any]:
    """The demo's household with so many appliances in all, and so many runs of those that are not its own."""
    document = demo_mix(runs)
    plan = document["scenarios"][0]
    own = [one for one in document["appliances"] if not one["id"].startswith("m")]
    machines = [one for one in document["appliances"] if one["id"].startswith("m")][: appliances - len(own)]
    document["appliances"] = [*own, *machines]
    for number, run in enumerate(plan["runs"]):
        # Fewer machines than runs: each runs again, far enough from its other runs.
        machine, again = number % len(machines), number // len(machines)
        start_s = machine * 1200 % LATER_RUN_S + again * LATER_RUN_S
        run.update(appliance=machines[machine]["id"], start=f"{start_s // 3600:02}:{start_s // 60 % 60:02}")
    return document


def switching_figures(appliances: int = 30, runs: int = 40, repeats: int = 10) -> dict[str, float]:
    """Milliseconds of all answers at instants over a day in the demo's household, with so many appliances and runs.

    Each instant is asked about on an inspection of its own, as after a tap; the household stays the same.
    """
    document = switching_document(appliances, runs)
    resolved = resolve(household_from(document))
    day = lay_day(resolved)
    assessment = assess_day(day, suns_of(resolved))
    instants = np.linspace(0, assessment.day_ms - 1, 2 * repeats).astype(int).tolist()
    switching(Inspection(day, assessment), 0)
    taken = []
    for _ in range(repeats):
        for at_ms in instants:
            inspection = Inspection(day, assessment)
            begin = time.perf_counter()
            switching(inspection, at_ms)
            taken.append(1000 * (time.perf_counter() - begin))
    return {
        "median_ms": float(np.median(taken)),
        "p95_ms": float(np.percentile(taken, 95)),
        "appliances": len(document["appliances"]),
        "runs": len(document["scenarios"][0]["runs"]),
    }
