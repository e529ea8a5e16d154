"""The odds of a report beside those of simulated days: how many standard errors each figure is off."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tests.oracle.chance import simulate
from tests.oracle.chance_tally import Figure
from tests.oracle.reading import Json

DRAWN = 4096  # moments the product follows for how long a level stays passed: at most so far is it off itself
FIRST_OF_DAYS, FIRST = 1600, (256, 1536)  # moments of each way that it sees came first: of so many days, from, to
ENOUGH = 30  # events in all simulated days, for their spread to be known from them
STEADY = ("inverter_continuous", "inverter_apparent", "battery_continuous")  # each broken in one way
RULES = {"inverter_overload": "inverter", "battery_continuous": "bank"}


@dataclass(frozen=True)
class Compared:
    """One figure; off: in standard errors of both together. known: whether anything happened in the simulated days."""

    name: Any
    product: float
    figure: Figure
    error: float

    @property
    def off(self) -> float:
        return (self.product - self.figure.mean) / self.error if self.error else 0.0

    @property
    def known(self) -> bool:
        return self.figure.mean * self.figure.days >= ENOUGH

    def __str__(self) -> str:
        return (
            f"{self.name}: {self.product:.6g}, simulated {self.figure.mean:.6g} +- {self.error:.2g} ({self.off:+.1f})"
        )


class Comparison:
    """All figures of a report that the simulation has too."""

    def __init__(self, document: Json, report: Json, days: int, seed: int) -> None:
        self.report, self.days = report, days
        self.simulated = simulate(document, days, seed)
        cycles = [s["cycle"] for a in document["appliances"] for s in a["stages"] if s.get("cycle")]
        self.longest_s = max((cycle["on_s"] for cycle in cycles), default=0.0)

    def figure(self, *name: Any) -> Figure:
        return self.simulated.get(name, Figure(0.0, 0.0, self.days))

    def all(self) -> Iterator[Compared]:
        odds = self.report["odds"]
        for entry in odds["above"]:
            yield self.compared(("above", entry["limit"]), entry["seconds_per_day"], self.longest_s)
        yield self.compared(("starts",), odds["overloading_starts_per_day"])
        drawn = defaultdict[str, float](float)
        filled: set[str] = set()  # the simulation takes excursions one by one; `test_filling` adds them up
        store: dict[str, int] = {}
        for entry in odds["lasting"]:
            rule = RULES.get(entry["limit"], entry["limit"])
            k = store[rule] = store.get(rule, -1) + 1
            error = self.drawn(self.figure("begin", rule, k).mean, self.figure("lasting", rule, k).mean)
            drawn[rule] = drawn[rule] or self.first(self.figure("at once", rule).mean)
            drawn[rule] = math.hypot(drawn[rule], error, self.first(entry["per_day"]))
            if entry["filled_per_day"] > entry["per_day"]:
                filled.add(rule)
            yield self.compared(("lasting", rule, k), entry["per_day"], 1.0, error)
        for limit in self.report["limits"]:
            if limit.get("broken_per_day") is not None:
                name = limit["id"]
                rule = "bank" if name.startswith("battery") else name if name.startswith("leg") else "inverter"
                if rule not in filled:
                    yield self.compared(("broken", name), limit["broken_per_day"], 1.0, drawn[rule])

    @staticmethod
    def drawn(begins: float, lasting: float) -> float:
        """How far the product may be off by following only some: a share of a rate that it knows exactly."""
        if begins <= 0:
            return 0.0
        share = min(lasting / begins, 1.0)
        return begins * math.sqrt(2 * max(share * (1 - share), 1 / DRAWN) / DRAWN)

    @staticmethod
    def first(per_day: float) -> float:
        """How far it may be off by seeing only of some whether they came first in their excursion."""
        return per_day / 2 / math.sqrt(min(max(FIRST_OF_DAYS * per_day, FIRST[0]), FIRST[1]))

    def compared(self, name: Any, product: float, one: float = 1.0, drawn: float = 0.0) -> Compared:
        """`one`: how much one event comes to, for where too few were seen to tell their spread."""
        figure = self.figure(*name)
        few = figure.mean * self.days < ENOUGH * one
        spread = math.sqrt(max(product, figure.mean) * one / self.days) if few else 0.0
        rounding = 1e-7 * max(product, figure.mean)
        return Compared(name, product, figure, math.hypot(max(figure.error, spread), drawn, rounding))
