"""How often rules are broken while something runs, counted on days with it and without: for one that is asked about."""

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from app.engine.kinds import Floats
from app.engine.odds.odds import OddsOfDay
from app.engine.odds.played import Breaking, Played

FIGURES, AT_ONCE, ROUNDS = 1 << 16, 2048, 8  # instants times days that are played together, days, and so many times
ENOUGH, FEW = 600, 30  # times that a rule is broken: so many tell how often well enough; fewer tell nothing
HOPELESS = 0.5  # of the fewest, as expected after all rounds: the rest is not played


class Counted(NamedTuple):
    """How often a rule is broken in some time, once something runs in it and without."""

    broken_per_run: float
    without_per_run: float


class _Side:
    """The days with it, or those without."""

    def __init__(self, odds: OddsOfDay) -> None:
        self._views = {one.view: Played(one.view, one.under.loads) for one in odds.rules.values()}
        self._rules = {limit: Breaking(one.view, one.under) for limit, one in odds.rules.items()}
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

    before, after: of the same part of the day without it and with it, well before it begins to well after it ends.
    Without rules that are hardly ever broken: too few would be counted.
    """
    sides, found = (_Side(before), _Side(after)), dict[str, Counted]()
    sums = {limit: np.zeros((2, 2)) for limit in after.rules}
    count, days, wanted = max(min(FIGURES // max(one.size for one in sides), AT_ONCE), 1), 0, list(sums)
    for round_no in range(ROUNDS):
        for which, side in enumerate(sides):
            for limit, times in side.times(wanted, (count, round_no), begin_ms, end_ms).items():
                sums[limit][which] += times
        days += count
        for limit in wanted:
            (without_in_all, without), (in_all, with_it) = (sums[limit] / days).tolist()
            if sums[limit][1, 0] >= FEW:
                found[limit] = Counted(max(with_it, without + in_all - without_in_all), without)
        to_come = ROUNDS / (round_no + 1)
        wanted = [one for one in wanted if HOPELESS * FEW / to_come <= sums[one][1, 0] < ENOUGH]
        if not wanted:
            break
    return found
