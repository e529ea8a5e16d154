"""Every start of the day with the totals it makes, scheduled or not."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from tests.oracle.draws import Draw
from tests.oracle.grid import Run
from tests.oracle.heat import Patterns, Rule, measure
from tests.oracle.home import Home, exceeds


@dataclass(frozen=True)
class Moment:
    """A stretch with one set of draws on, some of them starting."""

    run: Run
    on: int
    starting: int


@dataclass
class Start:
    """One start and all the moments it may happen in; the certain ones only if it is scheduled."""

    draw: int
    scheduled: bool
    lasts_ms: int
    worst: list[Moment] = field(default_factory=list)
    certain: list[Moment] = field(default_factory=list)


def crossed(left: list[Run], right: list[Run]) -> list[Moment]:
    """What is on (left) and what is starting (right), wherever one of them changes."""
    moments = []
    for a in left:
        for b in right:
            begin, end = max(a.begin_ms, b.begin_ms), min(a.end_ms, b.end_ms)
            if begin < end:
                moments.append(Moment(Run(begin, end, max(a.first, b.first), min(a.last, b.last), 0), a.on, b.on))
    return moments


def starting_with(draws: list[Draw], i: int) -> int:
    """What starts with a cycling draw, itself among it: of its load, with a start under way as it begins."""
    begin_ms = draws[i].begin_ms
    return sum(
        1 << k
        for k, other in enumerate(draws)
        if other.cycle is not None and other.has_start and other.group == draws[i].group
        if other.begin_ms <= begin_ms < other.start_end_ms
    )


class Day:
    """The profile of the day: running and starting, in the worst case and for sure."""

    def __init__(self, home: Home, patterns: Patterns) -> None:
        self.home, self.patterns = home, patterns
        scheduled = [(d.begin_ms, d.start_end_ms, i) for i, d in enumerate(home.draws) if d.scheduled]
        starting = patterns.grid.runs(scheduled)
        self.worst = crossed(patterns.worst, starting)
        self.certain = [Moment(m.run, m.on & patterns.certain, m.starting) for m in self.worst]
        self.starts: list[Start] = []
        for i, draw in enumerate(home.draws):
            bit = 1 << i
            if draw.scheduled:
                start = Start(i, True, draw.start_end_ms - draw.begin_ms)
                start.worst = [m for m in self.worst if m.starting & bit]
                start.certain = [m for m in self.certain if m.starting & bit]
                self.starts.append(start)
            elif draw.has_start and draw.cycle is not None:
                start = Start(i, False, min(draw.start_ms, draw.end_ms - draw.begin_ms))
                start.worst = [
                    Moment(r, r.on, r.on & starting_with(home.draws, i)) for r in patterns.worst if r.on & bit
                ]
                self.starts.append(start)

    def running(self, certain: bool) -> list[Moment]:
        runs = self.patterns.steady_runs if certain else self.patterns.worst
        return [Moment(run, run.on, 0) for run in runs]

    def breaks(self, start: Start, rule: Rule, certain: bool) -> bool:
        """Is a start above the top level, or above another for longer than that allows?"""
        if self.home.share(self.home.draws[start.draw], rule.scope) == 0:
            return False
        moments = start.certain if certain else start.worst
        if not start.scheduled:
            return any(self.total_breaks(rule, [m], start.lasts_ms) for m in moments)
        return self.total_breaks(rule, moments)

    def total_breaks(self, rule: Rule, moments: list[Moment], lasts_ms: int | None = None) -> bool:
        """The total of a start, moment after moment (or one for lasts_ms), against the levels."""
        above_ms = [0] * len(rule.levels)
        for moment in moments:
            figures = self.home.figures(moment.on, moment.starting, rule.scope)
            value = measure(self.home, rule, figures)
            when = self.when(moment.run)
            if np.any(exceeds(value, rule.levels[-1](when))):
                return True
            for k, allowed_ms in enumerate(rule.allowed_ms):
                over = np.any(exceeds(value, rule.above(k + 1)(when)))
                if k == 0 and rule.steady_w is not None:
                    over |= np.any(exceeds(figures.w, rule.steady_w(when)))
                length = moment.run.end_ms - moment.run.begin_ms if lasts_ms is None else lasts_ms
                above_ms[k] = above_ms[k] + length if over else 0
                if above_ms[k] > allowed_ms:
                    return True
        return False

    def when(self, run: Run) -> npt.NDArray[np.float64]:
        """The instants at which a limit is looked up: one in steady weather, else every cell."""
        if self.home.reading.steady:
            return np.zeros(1)
        return self.patterns.grid.middles[run.first : run.last]
