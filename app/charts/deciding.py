"""The stretch the verdict is about: one of constant draw, or that in which the time above a level runs."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from app.engine.results import Floats, LimitReading


@dataclass(frozen=True, slots=True)
class Deciding:
    """When it is, and what decides.

    from_ms, to_ms: the stretch. at_ms: its tightest instant, at which a start that decides begins.
    by: a running draw, the time above a level, a start, or what comes back after a power cut.
    """

    from_ms: int
    to_ms: int
    at_ms: int
    by: Literal["running", "heat", "start", "restart"]


def deciding(reading: LimitReading, edges_ms: Floats) -> Deciding:
    """The stretch a limit is judged by.

    edges_ms: shape (n + 1,), edges of the stretches of constant draw.
    """
    heat = reading.decided_by_time
    if heat is not None:  # a store fills over several stretches
        first, last = _stretch(edges_ms, heat.since_ms), _stretch(edges_ms, heat.until_ms - 1)
        return Deciding(int(edges_ms[first]), int(edges_ms[last + 1]), heat.at_ms, "heat")
    stretch = _stretch(edges_ms, reading.at_ms)
    from_ms, to_ms = int(edges_ms[stretch]), int(edges_ms[stretch + 1])
    if reading.id == "cold_restart":
        return Deciding(from_ms, to_ms, reading.at_ms, "restart")
    by_start = any(one.starting for one in reading.contributors)
    return Deciding(from_ms, to_ms, reading.at_ms, "start" if by_start else "running")


def _stretch(edges_ms: Floats, at_ms: int) -> int:
    """Which stretch an instant lies in."""
    return int(np.clip(np.searchsorted(edges_ms, at_ms, side="right") - 1, 0, len(edges_ms) - 2))
