"""Planned starts that are under way, and for how long each is above a limit by itself."""

from functools import cached_property

import numpy as np

from app.engine.draw import HAIR
from app.engine.readings import View
from app.engine.results import Floats
from app.engine.sums import Sums


class UnderWay:
    """Of one view, stretch by stretch: another start that comes meanwhile adds to what they are above."""

    def __init__(self, view: View, sums: Sums) -> None:
        """sums: what is drawn in each stretch, with the planned starts."""
        self._view, self._sums = view, sums

    @cached_property
    def lasts_s(self) -> Floats:
        """How long the longest in each stretch lasts, 0 for none; shape (stretches,)."""
        starts = self._view.scheduled
        return self._longest((starts.end_ms - starts.begin_ms) / 1000)

    def above_w(self, begin: Floats, end: Floats) -> Floats:
        """For how many seconds the one that is so for longest is above watts that change from stretch to stretch."""
        return self._above(self._sums.use_w, begin, end)

    def above_va(self, begin: Floats, end: Floats) -> Floats:
        """The same of volt-amperes."""
        return self._above(self._sums.use_va, begin, end)

    def _above(self, use: Floats, begin: Floats, end: Floats) -> Floats:
        flags = use > np.minimum(begin, end) * (1 + HAIR)
        return self._longest(self._view.scheduled.seconds(self._view.scope, flags))

    def _longest(self, seconds: Floats) -> Floats:
        """Of a figure of each start, the largest of those in each stretch."""
        starts, found = self._view.scheduled, np.zeros(len(self._view.scope.t_ms) - 1)
        many = starts.last - starts.first
        of_start = np.repeat(starts.first - (many.cumsum() - many), many)
        np.maximum.at(found, of_start + np.arange(len(of_start)), np.repeat(seconds, many))
        return found
