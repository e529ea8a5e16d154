"""Plans side by side: every figure of each, and how much one is from another's. Plain differences, nothing judged."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from app.engine.odds.odds import ONCE_A_DAY
from app.engine.results import Assessment, LimitReading, Surge
from app.household.resolve import Resolved

What = Literal[
    "energy_wh", "peak_w", "lowest_charge", "morning_charge", "midnight_charge", "noon_charge", "sun_used_wh",
    "spare_sun_wh", "out_of_bank_wh", "often_per_day",
]  # fmt: skip
Unit = Literal["Wh", "W", "%", ""]
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One limit in every plan; None where it does not apply."""

    id: str
    readings: tuple[LimitReading | None, ...]

    def difference(self, place: int, counted_from: int) -> float | None:
        """How much more is used than in another plan, in the limit's unit; None where either lacks it."""
        mine, other = self.readings[place], self.readings[counted_from]
        return None if mine is None or other is None else mine.use - other.use

    @property
    def differs(self) -> bool:
        """Not all plans have it alike: use, limit and verdict."""
        first = self.readings[0]
        return any(_is_other(first, one) for one in self.readings[1:])


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One figure of every plan, with when it is so; None where it is not known.

    Charges are per cent. lowest_charge: over the whole horizon; morning_charge: from midnight to noon of the next day.
    often_per_day: how often what breaks most often is to be expected; at least once where certain draws break it, None
    where the worst case breaks what odds say nothing of.
    """

    what: What
    unit: Unit
    values: tuple[float | None, ...]
    at_ms: tuple[int | None, ...]

    def difference(self, place: int, counted_from: int) -> float | None:
        """How much more it is than in another plan."""
        mine, other = self.values[place], self.values[counted_from]
        return None if mine is None or other is None else mine - other

    @property
    def differs(self) -> bool:
        """Not all plans have it alike."""
        return any(_is_apart(self.values[0], one) for one in self.values[1:])


@dataclass(frozen=True, slots=True)
class StartRow:
    """The hardest start of one appliance in every plan; None where it does not start."""

    appliance: str
    starts: tuple[Surge | None, ...]

    def difference(self, place: int, counted_from: int) -> float | None:
        """How much more the start comes to, with what runs beside it, in volt-amperes."""
        mine, other = self.starts[place], self.starts[counted_from]
        return None if mine is None or other is None else mine.total_va - other.total_va

    @property
    def differs(self) -> bool:
        """Not all plans have it alike."""
        totals = [None if one is None else one.total_va for one in self.starts]
        return any(_is_apart(totals[0], one) for one in totals[1:])


@dataclass(frozen=True, slots=True)
class Compared:
    """Plans side by side, in their order."""

    limits: tuple[LimitRow, ...]
    figures: tuple[FigureRow, ...]
    starts: tuple[StartRow, ...]


def side_by_side(plans: Sequence[tuple[Resolved, Assessment]]) -> Compared:
    """Put two or more assessed plans side by side."""
    assessments = [assessment for _, assessment in plans]
    return Compared(
        limits=tuple(
            LimitRow(one, tuple(assessment.limit(one) for assessment in assessments))
            for one in dict.fromkeys(reading.id for assessment in assessments for reading in assessment.limits)
        ),
        figures=tuple(
            row for what, unit, read in _FIGURES if (row := _figure(what, unit, [read(one) for one in assessments]))
        ),
        starts=tuple(
            StartRow(one, tuple(_hardest(assessment, one) for assessment in assessments))
            for one in dict.fromkeys(surge.appliance for assessment in assessments for surge in assessment.surges)
        ),
    )


def _figure(what: What, unit: Unit, found: Sequence[tuple[float | None, int | None]]) -> FigureRow | None:
    """A row, if any plan knows the figure."""
    values = tuple(value for value, _ in found)
    return None if all(one is None for one in values) else FigureRow(what, unit, values, tuple(at for _, at in found))


Read = Callable[[Assessment], tuple[float | None, int | None]]


def _lowest(assessment: Assessment) -> tuple[float | None, int | None]:
    bank = assessment.battery
    return (None, None) if bank is None else (100 * bank.expected.state_of_charge, bank.expected.at_ms)


def _morning(assessment: Assessment) -> tuple[float | None, int | None]:
    bank = assessment.battery
    if bank is None:
        return None, None
    night = np.flatnonzero(bank.edges_ms >= assessment.day_ms)
    place = int(night[bank.state_of_charge[night].argmin()])
    return 100 * float(bank.state_of_charge[place]), int(bank.edges_ms[place])


def _charge_at(edge: Literal["day_ms", "horizon_ms"]) -> Read:
    def read(assessment: Assessment) -> tuple[float | None, int | None]:
        bank, at_ms = assessment.battery, getattr(assessment, edge)
        known = bank is not None and bank.edges_ms[0] <= at_ms
        return (100 * bank.charge_at(at_ms) if bank is not None and known else None), None

    return read


def _total(name: str) -> Read:
    def read(assessment: Assessment) -> tuple[float | None, int | None]:
        bank = assessment.battery
        return (None if bank is None else float(getattr(bank.totals, name))), None

    return read


def _often(assessment: Assessment) -> tuple[float | None, int | None]:
    found = [_broken_per_day(one) for one in assessment.limits if one.id != "cold_restart"]  # of power cuts, not days
    known = [one for one in found if one is not None]
    most = max(known, default=0.0)
    return (most if len(known) == len(found) or most >= ONCE_A_DAY else None), None


def _broken_per_day(reading: LimitReading) -> float | None:
    if reading.broken_per_day is not None:
        return reading.broken_per_day
    if reading.verdict_certain == "over":
        return ONCE_A_DAY
    return None if reading.verdict in ("over", "chance") else 0.0


_FIGURES: tuple[tuple[What, Unit, Read], ...] = (
    ("often_per_day", "", _often),
    ("lowest_charge", "%", _lowest),
    ("morning_charge", "%", _morning),
    ("midnight_charge", "%", _charge_at("day_ms")),
    ("noon_charge", "%", _charge_at("horizon_ms")),
    ("energy_wh", "Wh", lambda one: (one.demand.energy_wh, None)),
    ("peak_w", "W", lambda one: (one.demand.peak_worst_w, one.demand.peak_at_ms)),
    ("spare_sun_wh", "Wh", _total("spare_sun_wh")),
    ("sun_used_wh", "Wh", _total("sun_used_wh")),
    ("out_of_bank_wh", "Wh", _total("out_of_bank_wh")),
)


def _hardest(assessment: Assessment, appliance: str) -> Surge | None:
    return max(
        (one for one in assessment.surges if one.appliance == appliance), key=lambda one: one.total_va, default=None
    )


def _is_other(one: LimitReading | None, other: LimitReading | None) -> bool:
    if one is None or other is None:
        return one is not other
    return one.verdict != other.verdict or _is_apart(one.use, other.use) or _is_apart(one.limit, other.limit)


def _is_apart(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is not other
    return abs(one - other) > SAME * max(abs(one), abs(other), 1.0)
