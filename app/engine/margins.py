"""The smallest margin of a limit over the day, and the ladder's words for it."""

from dataclasses import dataclass

import numpy as np

from app.engine.curve import Line
from app.engine.draw import HAIR
from app.engine.results import Floats, Verdict


@dataclass(frozen=True, slots=True)
class Tightest:
    """Where a limit's margin is smallest: the first such instant, and the figures there."""

    at_ms: int
    stretch: int
    limit: float
    use: float
    margin: float

    @property
    def exceeded(self) -> bool:
        """Strictly beyond the limit, by more than rounding."""
        return self.margin < -HAIR * max(abs(self.limit), HAIR)

    def less_than(self, fraction: float) -> bool:
        """Less than this fraction of the limit is left."""
        return self.margin < fraction * self.limit - HAIR * abs(self.limit)


def tightest(t_ms: Floats, use: Floats, line: Line) -> Tightest:
    """The smallest margin of a ceiling.

    t_ms: shape (n + 1,), edges; use: shape (n,), the draw in each stretch; line: the ceiling.
    A margin reached only in the limit at a stretch's end is put on the last millisecond inside it.
    """
    limit = line.at(t_ms)
    begin, end = limit[:-1] - use, limit[1:] - use
    smaller = np.minimum(begin, end)
    close = smaller.min() + HAIR * max(abs(float(limit.max())), 1.0)
    stretch = int((smaller <= close).argmax())
    at_end = int(begin[stretch] > close)
    at_ms = t_ms[stretch + at_end] - at_end
    margin = end[stretch] if at_end else begin[stretch]
    return Tightest(int(np.ceil(at_ms)), stretch, float(limit[stretch + at_end]), float(use[stretch]), float(margin))


def tightest_floor(t_ms: Floats, use: Floats, floor: float) -> Tightest:
    """The smallest margin of a floor that does not move: the first instant of the lowest value."""
    lowest = use.min()
    stretch = int((use <= lowest + HAIR * abs(floor)).argmax())
    return Tightest(int(np.ceil(t_ms[stretch])), stretch, floor, float(use[stretch]), float(use[stretch]) - floor)


def judged(certain: Verdict, worst_breaks: bool, worst: Verdict) -> Verdict:
    """A verdict that can be talked down by odds: over for certain draws, could cut out for the worst case.

    worst: what the worst case would be if it broke nothing.
    """
    if certain == "over":
        return "over"
    return "chance" if worst_breaks else worst
