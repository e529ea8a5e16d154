"""Means and standard errors of what many days came to."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.oracle.chance_tables import Floats


@dataclass(frozen=True)
class Figure:
    """A mean per day with its standard error, and how many days it is from."""

    mean: float
    error: float
    days: int


@dataclass
class Tally:
    """Figures day by day, summed: names are tuples such as ('above', 'leg:A') or ('lasting', 'inverter', 0)."""

    days: int = 0
    sums: dict[Any, float] = field(default_factory=lambda: defaultdict(float))
    squares: dict[Any, float] = field(default_factory=lambda: defaultdict(float))

    def add(self, days: int, values: dict[Any, Floats]) -> None:
        self.days += days
        for name, each in values.items():
            self.sums[name] += float(each.sum())
            self.squares[name] += float((each * each).sum())

    def figures(self) -> dict[Any, Figure]:
        found = {}
        for name, total in self.sums.items():
            mean = total / self.days
            variance = max(self.squares[name] / self.days - mean * mean, 0.0)
            found[name] = Figure(mean, float(np.sqrt(variance / self.days)), self.days)
        return found
