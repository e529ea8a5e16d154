"""How often rules are broken while something runs, counted on days with it and without: for one that is asked about."""

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from app.engine.kinds import Floats
from app.engine.odds.odds import OddsOfDay
from app.engine.odds.played import Breaking, Played
from app.engine.readings import View

FIGURES, AT_ONCE, ROUNDS = 1 << 16, 2048, 12  # instants times days that are played together, days, and so many times
ENOUGH, FEW = 600, 30  # times that a rule is broken: so many tell how often well enough; fewer tell it roughly
HOPELESS, AT_LEAST = 0.1, 400  # of the fewest, as expected after all rounds: the rest is not played, after so many days


class Counted(NamedTuple):
    """How often a rule is broken in some time, once something runs in it and without.

    error: how far off the difference may be, one standard deviation at most. is_rough: few were counted.
    """

    broken_per_run: float
    without_per_run: float
    error: float
    is_rough: bool


class _Side:
    """The days with it, or those without."""

    def __init__(self, odds: OddsOfDay) -> None:
        self._rules = {limit: Breaking(one.view, one.under) for limit, one in odds.rules.items()}
        self._views: dict[View, Played] = {}
        for view in {one.view for one in odds.rules.values()}:
            self._views[view] = Played(view, [one.under for one in odds.rules.values() if one.view is view])
        self.size = max(played.size for played in self._views.values())

    def times(self, limits: Iterable[str], days: tuple[int, int], begin_ms: float, end_ms: float) -> dict[str, Floats]:
        """How often each limit is broken from when it begins, and of that up to when it ends.

        days: how many, and which.
        """
        wanted = {limit: self._rules[limit] for limit in limits}
        lived = {view: self._views[view].days(*days) for view in {rule.view for rule in wanted.values()}}
        found = {}
        for limit, rule in wanted.items():
            broken_ms = rule.broken_ms(lived[rule.view])
            since = broken_ms[broken_ms >= begin_ms]
            found[limit] = np.array([len(since), (since < end_ms).sum()], dtype=float)
        return found


def counted(before: OddsOfDay, after: OddsOfDay, begin_ms: float, end_ms: float) -> dict[str, Counted]:
    """Per rule, by the limit that tells of it. What becomes of it after its end is its doing as well.

    before, after: of the same part of the day without it and with it, from well before it begins to well after it ends.
    """
    sides = (_Side(before), _Side(after))
    sums = {limit: np.zeros((2, 2)) for limit in after.rules}
    count, days, wanted = max(min(FIGURES // max(one.size for one in sides), AT_ONCE), 1), 0, list(sums)
    days_of = dict.fromkeys(sums, 0)
    for round_no in range(ROUNDS):
        for which, side in enumerate(sides):
            for limit, times in side.times(wanted, (count, round_no), begin_ms, end_ms).items():
                sums[limit][which] += times
        days += count
        days_of.update(dict.fromkeys(wanted, days))
        to_come = ROUNDS / (round_no + 1)
        fewest = HOPELESS * FEW / to_come if days >= AT_LEAST else 0
        wanted = [one for one in wanted if fewest <= sums[one][1, 0] < ENOUGH]
        if not wanted:
            break
    return {limit: _counted(sums[limit], days_of[limit]) for limit in sums}


def _counted(sums: Floats, days: int) -> Counted:
    """sums: without it and with it, how often from when it begins, and how often while it runs."""
    (without_in_all, without), (in_all, with_it) = (sums / days).tolist()
    error = math.sqrt(float(sums.max()) + 1) / days
    return Counted(max(with_it, without + in_all - without_in_all), without, error, bool(sums[1, 0] < FEW))
