"""Planned starts that are under way, and for how long each is above a limit by itself."""

from dataclasses import dataclass

import numpy as np

from app.engine.draw import HAIR
from app.engine.readings import View
from app.engine.results import Floats
from app.engine.sums import Sums


@dataclass(frozen=True, slots=True, eq=False)
class UnderWay:
    """Of one view, stretch by stretch: another start that comes meanwhile adds to what they are above.

    sums: what is drawn in each stretch, with the planned starts. lasts_s: as `planned_start_s`.
    """

    view: View
    sums: Sums
    lasts_s: Floats

    def above_w(self, begin: Floats, end: Floats) -> Floats:
        """For how many seconds the one that is so for longest is above watts that change from stretch to stretch."""
        return self._above(self.sums.use_w, begin, end)

    def above_va(self, begin: Floats, end: Floats) -> Floats:
        """The same of volt-amperes."""
        return self._above(self.sums.use_va, begin, end)

    def _above(self, use: Floats, begin: Floats, end: Floats) -> Floats:
        flags = use > np.minimum(begin, end) * (1 + HAIR)
        return _longest(self.view, self.view.scheduled.seconds(self.view.scope, flags))


def planned_start_s(view: View) -> Floats:
    """How long the longest planned start under way in each stretch lasts, 0 for none; shape (stretches,)."""
    starts = view.scheduled
    return _longest(view, (starts.end_ms - starts.begin_ms) / 1000)


def _longest(view: View, seconds: Floats) -> Floats:
    """Of a figure of each planned start, the largest of those under way in each stretch."""
    starts, found = view.scheduled, np.zeros(len(view.scope.t_ms) - 1)
    many = starts.last - starts.first
    of_start = np.repeat(starts.first - (many.cumsum() - many), many)
    np.maximum.at(found, of_start + np.arange(len(of_start)), np.repeat(seconds, many))
    return found
