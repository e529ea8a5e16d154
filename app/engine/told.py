"""Limits as they are told: which one, in which unit, and the figures that go with watts or volt-amperes."""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import sqrt

import numpy as np

from app.engine.bank import Bank
from app.engine.curve import Line
from app.engine.dc import bank_current_a, input_w
from app.engine.results import Flags, Floats, Instants
from app.engine.traces import Unit

NOTHING, FITS, CAREFUL, UNSURE, NEVER = -1, 0, 1, 2, 3  # not told; fine; for a while; could cut out; not at all


@dataclass(frozen=True, slots=True)
class Told:
    """A limit to be told.

    figure: its unit from what it was compared in. most: the limit, where it is not what it was compared with.
    weight: per appliance, what of it the limit sees; None for all of all. lesser: told where nothing else refuses.
    """

    limit: str
    unit: Unit
    figure: Callable[[float], float]
    most: float | None = None
    weight: Floats | None = None
    lesser: bool = False


def same(figure: float) -> float:
    """It was compared in its own unit."""
    return figure


@dataclass(slots=True)
class Limits:
    """The limits met so far, and which are broken without the guest.

    broken: of those that certain draws alone break, in which stretches of their view they do.
    """

    broken: dict[str, Flags] = field(default_factory=dict)
    told: list[Told] = field(default_factory=list)

    def add(
        self, limit: str, unit: Unit, figure: Callable[[float], float] = same, most: float | None = None,
        weight: Floats | None = None, *, lesser: bool = False,
    ) -> int:  # fmt: skip
        """A limit to be told; returns its number."""
        self.told.append(Told(limit, unit, figure, most, weight, lesser))
        return len(self.told) - 1

    def level(self, limit: str, level: int, *alike: str) -> int | Instants:
        """What passing it means, stretch by stretch: where certain draws break it already, not at all.

        alike: limits that are broken by the same store.
        """
        broken = [self.broken[one] for one in (limit, *alike) if one in self.broken]
        return np.where(np.any(broken, axis=0), NEVER, level) if broken else level

    def number(self, limit: str, unit: Unit | None = None) -> int:
        """The number of one that was told before, if one is given in a unit; -1 where it was not."""
        found = (number for number, one in enumerate(self.told) if one.limit == limit and unit in (None, one.unit))
        return next(found, -1)


def in_watts(bank: Bank, line: Line) -> Line:
    """A line in amperes as one in watts."""
    return Line(line.t_ms, np.array([watts_for(bank, one) for one in line.value.tolist()]))


def watts_for(bank: Bank, current_a: float) -> float:
    """The AC watts, uncertainty included, at which the bank gives a current; at most what it can ever give."""
    dc_w = (bank.rest_v - current_a * bank.resistance_ohm) * current_a
    if bank.resistance_ohm and current_a >= bank.rest_v / (2 * bank.resistance_ohm):
        dc_w = bank.rest_v**2 / (4 * bank.resistance_ohm)
    return _ac_w(bank, dc_w)


def most_w(bank: Bank) -> float:
    """The AC watts above which the bank cannot deliver at all; infinite without any resistance."""
    return _ac_w(bank, bank.rest_v**2 / (4 * bank.resistance_ohm)) if bank.resistance_ohm else float("inf")


def _ac_w(bank: Bank, dc_w: float) -> float:
    """The output at which the inverter takes this in: the other way round of `input_w`."""
    no_load_w, per_w, per_w2 = bank.losses
    over_w = dc_w - bank.dc_load_w - no_load_w
    if per_w2 <= 0 or over_w <= 0:
        return over_w / (1 + per_w)
    return (sqrt((1 + per_w) ** 2 + 4 * per_w2 * over_w) - (1 + per_w)) / (2 * per_w2)


def amperes(bank: Bank) -> Callable[[float], float]:
    """The bank's current at AC watts."""

    def figure(use_w: float) -> float:
        return float(bank_current_a(bank.rest_v, bank.resistance_ohm, input_w(bank.losses, use_w) + bank.dc_load_w))

    return figure


def terminal_volts(bank: Bank) -> Callable[[float], float]:
    """The volts at the inverter at AC watts."""
    current_a = amperes(bank)

    def figure(use_w: float) -> float:
        return bank.rest_v - current_a(use_w) * bank.resistance_ohm

    return figure
