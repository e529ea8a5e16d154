"""How long a level may be passed at most: what comes and goes, and is needed for it, at its worst point.

A bound, and not laxer than any order in which loads come on. Where a level is passed with everything on, but not
without one of the loads, it is passed no longer than that one is on; where any of them may be missing, no longer than
all of them are on, each by the part it gives of what is missing without any.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np

from app.engine.curve import Line
from app.engine.cyclers import Cyclers
from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.everything import everything_on
from app.engine.expand import Pieces
from app.engine.guest import edges_of
from app.engine.heat import exceeds
from app.engine.inverter import VOLT_AMPERES
from app.engine.levels import Levels
from app.engine.patterns import cycled
from app.engine.results import Flags, Floats, Instants
from app.engine.scope import Scope, standing
from app.engine.sums import Sums, sums_of
from app.engine.told import in_watts

Limit = tuple[int, Line]  # a quantity, and a line that it passes


class Cycles(NamedTuple):
    """How loads come and go, shape (n,) each, in milliseconds."""

    on_ms: Floats
    period_ms: Floats
    longest_ms: Floats


class Needed(NamedTuple):
    """Loads that come and go in a scope: how, and what each draws, shape (loads, stretches).

    What an interlock may keep off for another is none of them: it counts as on all the while.
    """

    cycles: Cycles
    sums: Sums


class AtMost(NamedTuple):
    """For how long a level is passed at most: parts of the time, and in which of them; t_ms: shape (n + 1,), edges.

    within_ms: shape (m + 1,), edges of what is cut no finer: inside one of them it may as well come sooner or later.
    """

    t_ms: Floats
    passed: Flags
    within_ms: Floats

    def summed_s(self, allowed_s: float, cooling_s: float) -> Floats:
        """What a store has gained by each edge since the first, were it to hold less than nothing, shape (n + 1,)."""
        seconds = np.diff(self.t_ms) / 1000
        return np.append(0.0, np.cumsum(np.where(self.passed, seconds, -seconds * (allowed_s / cooling_s))))

    def holds_more(self, allowed_s: float, cooling_s: float) -> bool:
        """Whether a store comes to hold more than is allowed."""
        summed_s = self.summed_s(allowed_s, cooling_s)
        return bool(exceeds(summed_s - np.minimum.accumulate(summed_s), allowed_s).any())

    def holds_more_by(self, at_ms: Floats, allowed_s: float, cooling_s: float) -> float | None:
        """Not before when it may because of what is passed at some instants among others; None for never.

        They are in between: it begins to fill before, or then, and holds more then, or later.
        """
        summed_s, found = self.summed_s(allowed_s, cooling_s), list[float]()
        least_s, within = np.minimum.accumulate(summed_s), self.within_ms.searchsorted(at_ms, side="right") - 1
        for place in np.unique(within).tolist():
            first, last = self.t_ms.searchsorted(self.within_ms[place : place + 2]).tolist()
            held_s = summed_s - np.concatenate((least_s[:last], np.full(len(least_s) - last, least_s[last])))
            if exceeds(held_s[first:], allowed_s).any():
                left_ms = max(allowed_s - float(held_s[first]), 0.0) * 1000
                found.append(max(float(at_ms[within == place].min()), float(self.t_ms[first]) + left_ms))
        return min(found, default=None)

    def longest_ms(self, at_ms: Floats) -> tuple[float, float] | None:
        """From when to when it is passed without a break, the longest that may take in one of some instants."""
        turns = np.diff(np.concatenate(([False], self.passed, [False])).astype(np.int8))
        from_ms, to_ms = self.t_ms[(turns == 1).nonzero()[0]], self.t_ms[(turns == -1).nonzero()[0]]
        place = np.unique(self.within_ms.searchsorted(at_ms, side="right") - 1)
        begin_ms, end_ms = self.within_ms[place][:, None], self.within_ms[place + 1][:, None]
        there = ((from_ms < end_ms) & (to_ms > begin_ms)).any(axis=0)
        if not there.any():
            return None
        longest = int(np.where(there, to_ms - from_ms, -1.0).argmax())
        return float(from_ms[longest]), float(to_ms[longest])


def needed_of(scope: Scope, among: Instants | None = None) -> Needed:
    """Those of a scope; what shares a cycle is one load. among: places of pieces, of which alone they may be."""
    cyclers = scope.cyclers if among is None else scope.cyclers.take(np.isin(scope.cyclers.piece, among))
    kept_apart = np.isin(cyclers.piece, np.concatenate([np.empty(0, int), *(one.piece for one in scope.interlocked)]))
    groups = [np.flatnonzero(cyclers.load == load) for load in dict.fromkeys(cyclers.load[~kept_apart].tolist())]
    groups = [one for one in groups if not kept_apart[one].any()]
    on, figures = standing(cyclers, scope.begin_ms).astype(float), sums_of(cyclers.draws, True).figures
    each = np.array([figures[:, one] @ on[one] for one in groups]).reshape(-1, 5, len(scope.begin_ms))
    return Needed(cycles_of(cyclers, groups), Sums(each.swapaxes(0, 1)))


def cycles_of(pieces: Cyclers | Pieces, groups: list[Instants]) -> Cycles:
    """The cycles of groups of pieces, of which the members come and go together."""
    figures = (pieces.on_ms, pieces.period_ms, pieces.longest_ms)
    return Cycles(*(np.array([one[group].max() for group in groups], dtype=float) for one in figures))


def base_of(scope: Scope) -> Sums:
    """Everything on; with interlocks no less than any choice they let on, either side of zero kept apart."""
    return everything_on(scope, kept_apart=True)


@dataclass(frozen=True, eq=False)
class Uses:
    """What is drawn in parts of a day, in all and by each load that comes and goes.

    t_ms: shape (n + 1,), edges. whole: figures (5, n). of_loads: asked for where it is needed, figures (5, loads, n).
    """

    t_ms: Floats
    whole: Sums
    of_loads: Callable[[], Needed]
    _asked: dict[tuple[Limit, ...], Flags] = field(default_factory=dict)  # of all the while

    @cached_property
    def _needed(self) -> Needed:
        return self.of_loads()

    def too_much(self, lines: Sequence[Limit], allowed_s: float, cooling_s: float) -> bool:
        """Whether a store that some lines fill may come to hold more than is allowed."""
        if not AtMost(self.t_ms, self.all_the_while(lines), self.t_ms).holds_more(allowed_s, cooling_s):
            return False  # nor with everything on all the while
        return self.passed(lines).holds_more(allowed_s, cooling_s)

    def passed(self, lines: Sequence[Limit]) -> AtMost:
        """For how long one of some lines is passed at most."""
        passed = self.all_the_while(lines)
        at = passed.nonzero()[0]
        if not len(at):
            return AtMost(self.t_ms, passed, self.t_ms)
        whole, each = self.whole.take(at), self._needed.sums.take(at)
        rest, fewer = Sums(whole.figures - each.figures.sum(axis=1)), whole.flat() - each
        sure = np.zeros(len(passed), dtype=bool)
        without, share = np.zeros((each.figures.shape[1], len(passed)), dtype=bool), np.zeros(fewer.p_w.shape)
        # Watts with their uncertainty are at most the sum of both; volt-amperes too, by the largest part uncertain.
        more = 1 + np.maximum(_uncertain(rest), _uncertain(each).max(axis=0, initial=0.0))
        for quantity, line in lines:
            low = _low(line, self.t_ms)[at]
            in_va = quantity == VOLT_AMPERES
            without[:, at] |= exceeds(fewer.use_va if in_va else fewer.use_w, low)
            missing = low - (rest.va * more if in_va else rest.use_w)
            sure[at] |= missing <= 0
            of_each = each.va * more if in_va else each.use_w
            np.maximum(share, np.minimum(of_each / np.maximum(missing, 1e-9), 1.0), out=share)
        shares = np.zeros(without.shape)
        shares[:, at] = share
        return at_most(self.t_ms, passed, sure, without, shares, self._needed.cycles)

    def all_the_while(self, lines: Sequence[Limit]) -> Flags:
        """In which parts one of some lines is passed with everything on."""
        asked = tuple(lines)
        if asked not in self._asked:
            self._asked[asked] = self._passed_by(asked)
        return self._asked[asked]

    def _passed_by(self, lines: Sequence[Limit]) -> Flags:
        uses = [(self.whole.use_va if quantity == VOLT_AMPERES else self.whole.use_w, line) for quantity, line in lines]
        return np.asarray(np.any([exceeds(use, _low(line, self.t_ms)) for use, line in uses], axis=0))


def _low(line: Line, t_ms: Floats) -> Floats:
    """A line at its lowest in parts of a day."""
    limit = line.at(t_ms)
    return np.minimum(limit[:-1], limit[1:])


def _uncertain(sums: Sums) -> Floats:
    """The part of the watts that is uncertain."""
    return np.where(sums.p_w > 0, sums.sure_w / np.maximum(sums.p_w, HAIR), 0.0)


NOT_PASSED, ALL_THE_WHILE, CROWD = -1, -2, -3
CHUNKS, SHORTEST_CHUNK_MS = 200, 20_000.0


def at_most(t_ms: Floats, passed: Flags, sure: Flags, without: Flags, share: Floats, cycles: Cycles) -> AtMost:
    """For how long a level is passed at most.

    t_ms: shape (n + 1,), edges. passed: shape (n,), with everything on; sure: perhaps with none of the loads. without:
    shape (loads, n), without each. share: shape (loads, n), the part of what is missing without any that each gives.
    """
    owner = np.where(passed, CROWD, NOT_PASSED)
    for load in np.argsort(cycles.on_ms / np.maximum(cycles.period_ms, 1.0), kind="stable").tolist():
        owner[passed & ~without[load] & (owner == CROWD)] = load
    owner[sure & (owner == CROWD)] = ALL_THE_WHILE
    first = np.flatnonzero(np.concatenate(([True], owner[1:] != owner[:-1])))
    edges_ms, flags = [t_ms[:1]], []
    for begin, end in zip(first.tolist(), [*first[1:].tolist(), len(passed)], strict=True):
        load, from_ms, until_ms = int(owner[begin]), float(t_ms[begin]), float(t_ms[end])
        cut_ms, is_on = np.array([until_ms]), np.array([load != NOT_PASSED])
        if load >= 0:
            cut_ms, is_on = _on_and_off(from_ms, until_ms, *(float(one[load]) for one in cycles))
        elif load == CROWD:
            figures = _crowd(share[:, begin:end].max(axis=1), cycles, until_ms - from_ms)
            if figures is not None:
                cut_ms, is_on = _on_and_off(from_ms, until_ms, *figures)
        edges_ms.append(cut_ms)
        flags.append(is_on)
    return AtMost(np.concatenate(edges_ms), np.concatenate(flags), np.append(t_ms[first], t_ms[-1]))


def _crowd(share: Floats, cycles: Cycles, lasts_ms: float) -> tuple[float, float, float] | None:
    """How one load would come and go that is on for at least as long as several give together what is missing.

    Time on, period, longest; None for all the while. Whenever it is passed their shares make one at least: in any
    time it is passed no longer than the sum of what each is on in it, times its share.
    """
    part = cycles.on_ms / np.maximum(cycles.period_ms, 1.0)
    steady = float(share @ part)
    if steady >= 1:
        return None
    # Beyond its part of the time a load is on by this much at most, wherever in its cycle one begins to look.
    burst_ms = float(share @ (cycles.on_ms * (1 - part) + cycles.longest_ms - cycles.on_ms))
    period_ms = max(SHORTEST_CHUNK_MS, lasts_ms / CHUNKS)
    return steady * period_ms, period_ms, burst_ms / (1 - steady) + steady * period_ms


def _on_and_off(
    from_ms: float, until_ms: float, on_ms: float, period_ms: float, longest_ms: float
) -> tuple[Floats, Flags]:
    """Parts of a time, their ends, and in which a load is on: as it begins, as its cycle goes, and as it ends.

    At no point of its cycle does it fill a store more.
    """
    lasts_ms = until_ms - from_ms
    turns_ms = edges_of(on_ms, period_ms, longest_ms, lasts_ms)
    cut_ms = np.unique(np.concatenate((turns_ms, [max(lasts_ms - longest_ms, 0.0), lasts_ms])))
    cut_ms = cut_ms[cut_ms > 0]
    middle_ms = (np.append(0.0, cut_ms[:-1]) + cut_ms) / 2
    return from_ms + cut_ms, cycled(middle_ms, on_ms, period_ms, longest_ms) | (middle_ms > lasts_ms - longest_ms)


def may_break(day: PlannedDay, levels: Levels) -> bool:
    """Whether some store of a rule may come to hold too much, in whatever order loads come on."""
    scope, rule = levels.view.scope, levels.rule
    uses = Uses(scope.t_ms.astype(float), base_of(scope), lambda: needed_of(scope))
    return any(
        uses.too_much(lines_of(day, levels, store), allowed_s, cooling_s)
        for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True))
    )


def lines_of(day: PlannedDay, levels: Levels, store: int) -> list[Limit]:
    """What fills a store; of the bank in watts."""
    checks = levels.rule.of_store(store)
    return [(one.quantity, in_watts(day.bank, one.line) if levels.bank else one.line) for one in checks]
