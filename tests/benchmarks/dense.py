"""The obvious way, as most would write it first: one cell per second, one slice addition per stage and start.

It reads stages as the household file has them, as a first version would. The baseline of every ratio; it may
not be made slower.
"""

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

Stages = list[dict[str, Any]]
CELLS = 86_400


def slices(stages: Stages, start_s: float) -> Iterator[tuple[int, int, complex]]:
    """What to add from which cell to which; a start stands in place of the running draw."""
    at_s = start_s
    for stage in stages:
        running = _power(stage["watts"], stage["power_factor"])
        yield round(at_s), round(at_s + stage["duration_s"]), running
        start = stage.get("start")
        if start:
            kick = _power(start["va"] * start["power_factor"], start["power_factor"])
            yield round(at_s), round(at_s + start["duration_s"]), kick - running
        at_s += stage["duration_s"]


def dense_total(runs: list[tuple[Stages, int]], cells: int = CELLS) -> NDArray[np.complex128]:
    """The day's total, edges rounded to whole seconds."""
    total = np.zeros(cells, dtype=np.complex128)
    for stages, start_s in runs:
        for begin, end, change in slices(stages, start_s):
            total[begin:end] += change
    return total


def dense_per_load(runs: list[tuple[Stages, int]], cells: int) -> NDArray[np.complex128]:
    """The same, keeping every load apart for the stacked picture, and then summed."""
    loads = np.zeros((len(runs), cells), dtype=np.complex128)
    for load, (stages, start_s) in zip(loads, runs, strict=True):
        for begin, end, change in slices(stages, start_s):
            load[begin:end] += change
    return loads.sum(axis=0)


def _power(watts: float, power_factor: float) -> complex:
    return complex(watts, watts * math.tan(math.acos(power_factor)))
