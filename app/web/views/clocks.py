"""A day on which clocks are put forward or back: where on its axis, and what is said of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from app.household.day import DayFrame
from app.web.figures import again

QUARTER_MS = 900_000
MINUTE_MS = 60_000


@dataclass(frozen=True, slots=True)
class Change:
    """Clocks go from one face to another, both in minutes since midnight."""

    at_ms: int
    old: int
    new: int


@lru_cache(maxsize=64)
def clock_shifts(frame: DayFrame) -> tuple[tuple[int, int, str], ...]:
    """From which instant on the clock's face is how many minutes ahead of the time that has passed since midnight.

    Each with what follows a time on the face from then on, which tells the second passing of an hour from the first.
    """
    shifts = [(0, 0, "")]
    for at_ms in range(0, frame.horizon_ms, QUARTER_MS):
        local = frame.local(at_ms)
        minutes = (local.date() - frame.date).days * 1440 + local.hour * 60 + local.minute
        shift = (minutes - at_ms // MINUTE_MS, again(local))
        if shift != shifts[-1][1:]:
            shifts.append((at_ms, *shift))
    return tuple(shifts)


def changes_of_clocks(shifts: Sequence[tuple[int, int, str]]) -> list[Change]:
    """Mostly none. shifts: of `clock_shifts`."""
    return [
        Change(at_ms, at_ms // MINUTE_MS + before, at_ms // MINUTE_MS + after)
        for (_, before, _), (at_ms, after, _) in pairwise(shifts)
        if after != before
    ]


def said_of_clocks(changes: Sequence[Change]) -> str:
    """What the first change does to the times of the day, and to runs; empty on a day without one."""
    if not changes:
        return ""
    change = changes[0]
    old, new = _face(change.old), _face(change.new)
    if change.new < change.old:
        return (
            f"At {old} the clock goes back to {new}. Times from {new} to {old} come twice: the second time they are"
            " written with (second) after them, and a run set to one of them begins the first time."
        )
    missing, instead = _face(change.old + 20), _face(change.new + 20)
    return f"At {old} the clock goes forward to {new}. A run set to {missing}, which is not there, begins at {instead}."


def _face(minutes: int) -> str:
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"
