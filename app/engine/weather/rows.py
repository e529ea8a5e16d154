"""What a weather file says, line by line, before anything is made of it; and what is found wrong with it."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from app.engine.results import Floats
from app.household.errors import Fault, HouseholdFaults

Kind = Literal["EPW", "TMY3", "TMY2", "CSV"]
# How the times of a plain file are meant, where it does not say: as they look; standard time all year; the clock on
# the wall, with summer time; UTC. And where a time stands: before its step, or after it.
Clock = Literal["auto", "standard", "wall", "utc"]
Stamps = Literal["auto", "begin", "end"]
Whole = NDArray[np.int64]

DAY_S, HOUR_S = 86_400, 3600
SHOWN_AT_MOST = 8
MINUS = "\u2212"


def figure_of(text: str) -> float | None:
    """A number as a file writes it; None for what is none, or endless."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if np.isfinite(value) else None


@dataclass
class Findings:
    """Everything wrong with a file, as far as it is told: the first lines, and how many more there are."""

    found: list[tuple[int, str]] = field(default_factory=list)

    def add(self, why: str, line: int | None = None) -> None:
        """Note a fault. line: counted from one, as an editor shows it."""
        self.found.append((line or 0, why))

    def raise_if_any(self) -> None:
        """Raises HouseholdFaults."""
        if not self.found:
            return
        told = [f"line {line}: {why}" if line else why for line, why in sorted(self.found, key=lambda one: one[0])]
        more = len(told) - SHOWN_AT_MOST
        rest = [f"and {more} more like these"] if more > 0 else []
        raise HouseholdFaults([Fault("file", why) for why in (*told[:SHOWN_AT_MOST], *rest)])


def refused(why: str) -> HouseholdFaults:
    """A file that cannot be read any further."""
    return HouseholdFaults([Fault("file", why)])


def offset_words(offset_h: float) -> str:
    """A clock by how far it is ahead of UTC.

    >>> offset_words(5.5)
    'UTC+5:30'
    """
    hours, minutes = divmod(round(abs(offset_h) * 60), 60)
    return f"UTC{'+' if offset_h >= 0 else MINUS}{hours}" + (f":{minutes:02d}" if minutes else "")


@dataclass
class Rows:
    """A file's steps in its order; every array has shape (steps,).

    lines: where each stands in the file. clock_s: when it begins, seconds since 1970 on the record's clock, which
    keeps standard time. laid_s: the same, with the months of a typical year, which come out of many years, put into
    one. sun_w_m2: means over the step, by `ghi`, `dni`, `dhi` or `plane`. air_c: NaN where it is not told.
    read_as_h: of the clock its times were read on, where that is not the record's; ahead of UTC.
    air_at: where in its step a temperature holds, 0.5 for a mean, 1 at its end. notes: what was taken to be so.
    """

    kind: Kind
    source: str
    utc_offset_h: float
    step_s: int
    lines: Whole
    clock_s: Whole
    laid_s: Whole
    sun_w_m2: dict[str, Floats]
    air_c: Floats | None = None
    air_at: float = 0.5
    latitude: float | None = None
    longitude: float | None = None
    is_typical: bool = False
    read_as_h: float | None = None
    notes: list[str] = field(default_factory=list)
