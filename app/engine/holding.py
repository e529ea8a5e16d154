"""Stores of time above a level, of certain draws, with a guest in the house, whenever it begins."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from app.engine.beside import VOLT_AMPERES, Beside
from app.engine.curve import Line
from app.engine.heat import exceeds, store_s
from app.engine.levels import Levels, levels_of
from app.engine.results import Flags, Floats, Instants
from app.engine.sums import Sums, plain
from app.engine.told import Limits, amperes, in_watts

WITHOUT = 1e-6  # of what is allowed: a store that holds no more than this beyond what it does without a guest
A_MOMENT_MS = 1.0
PLANNED, NOBODY, FIRST_PHASE = 0, 1, 2  # rows of what is drawn: as planned, by all others, with the guest's phases


class Held(NamedTuple):
    """A store that comes to hold too much because of a guest.

    told: the number of the limit. at_ms: when it holds too much. use, most: the draw then and what it exceeds, watts
    or volt-amperes.
    """

    told: int
    at_ms: float
    use: float
    most: float


class Holding:
    """Asked for one guest at a time; few are worth asking for."""

    def __init__(self, beside: Beside, limits: Limits) -> None:
        self.beside, self.limits = beside, limits
        self._levels = list(levels_of(beside.day))
        self._told: dict[tuple[str, str], int] = {}
        bank = beside.day.bank
        self._lines = {check: in_watts(bank, check.line) for check in bank.rule.checks}
        self._lowest_w = min(line.lowest for line in self._lines.values())
        self._stores: dict[tuple[int, tuple[int, ...]], list[_Store]] = {}

    def too_long(self, which: int, begin_ms: float) -> Held | None:
        """What first comes to hold too much, of certain draws, because a guest begins then."""
        found = []
        numbers, _ = next(self.beside.own_runs.moved(which, np.array([begin_ms])))
        for store in self._of(which, numbers):
            full = store.first_full(begin_ms)
            if full is not None:
                found.append((full, store))
        if not found:
            return None
        full, store = min(found, key=lambda pair: pair[0].at_ms)
        return Held(self._number(store, full.quantity), full.at_ms, full.use, full.most)

    def sure(self, which: int, begin_ms: Floats) -> Flags:
        """Whether some store comes to hold too much of certain draws, from each of some beginnings."""
        found = np.zeros(len(begin_ms), dtype=bool)
        for numbers, some in self.beside.own_runs.moved(which, begin_ms):
            for store in self._of(which, numbers):
                found[some] |= store.too_much(begin_ms[some])
        return found

    def _of(self, which: int, numbers: tuple[int, ...]) -> "list[_Store]":
        if (which, numbers) not in self._stores:
            self._stores[which, numbers] = list(self._made(which, numbers))
        return self._stores[which, numbers]

    def _made(self, which: int, numbers: tuple[int, ...]) -> "Iterator[_Store]":
        beside = self.beside
        rows = np.flatnonzero((beside.guests.which == which) & (beside.guests.starting < 0))
        for levels in self._levels:
            view, scope, rule = levels.view, levels.view.scope, levels.rule
            drawn = beside.drawn(view, certain=True).rows(rows)
            if not drawn.p_w.any():
                continue
            base = plain(scope.certain)
            if not self._comes_near(levels, base, drawn, times=1 + len(numbers)):
                continue
            moved, with_it = beside.with_phases(base, view, which, numbers, certain=True)
            # Of the bank only the first is asked.
            use = [
                np.vstack((base.use_w, moved.use_w, with_it.use_w)),
                np.vstack((base.use_va, moved.use_va, with_it.use_va)),
            ]
            for number, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
                lines = [
                    _Line(check.quantity, self._lines[check] if levels.bank else check.line, use[check.quantity])
                    for check in rule.of_store(number)
                ]
                store = _Store(
                    levels, number, scope.t_ms.astype(float), beside.guests.guests[which].edge_ms, lines, allowed_s,
                    cooling_s, is_moved=bool(numbers),
                )  # fmt: skip
                if store.ever_passed:
                    yield store

    def _comes_near(self, levels: Levels, base: Sums, own: Sums, times: int) -> bool:
        """The most of both together comes up to some level. times: once itself, and each run that is moved."""
        more = 1 + self.beside.uncertainty
        most_w, most_va = base.use_w.max() + own.use_w.max(), (base.va.max() + times * own.va.max()) * more
        if levels.bank:
            return bool(most_w > self._lowest_w)
        checks = [check for check in levels.rule.checks if check.store is not None]
        return any(check.line.lowest < (most_va if check.quantity == VOLT_AMPERES else most_w) for check in checks)

    def _number(self, store: "_Store", quantity: int) -> int:
        """The number of the limit that a store is told by."""
        levels = store.levels
        limit = levels.steady[quantity] if store.number == 0 else levels.top
        unit = "A" if levels.bank else ("W", "VA")[quantity]
        if (limit, unit) not in self._told:
            if levels.bank:
                self._told[limit, unit] = self.limits.add(limit, "A", amperes(self.beside.day.bank))
            else:
                weight = levels.view.scope.weight
                self._told[limit, unit] = self.limits.add(limit, "VA" if quantity else "W", weight=weight)
        return self._told[limit, unit]


class _Line(NamedTuple):
    """What may not be passed, and what is drawn: as planned, by all others, and with the guest in each phase.

    The others have not those of its own runs that are moved. use: shape (2 + phases, stretches).
    """

    quantity: int
    line: Line
    use: Floats


class _Full(NamedTuple):
    """When a store comes to hold too much, and by which quantity, which draw, above what."""

    at_ms: float
    quantity: int
    use: float
    most: float


class _Joined(NamedTuple):
    """Parts of the day in which some line is passed all the while, or not: t_ms, shape (n + 1,).

    passed: shape (2 + phases, n).
    """

    t_ms: Floats
    passed: Flags


@dataclass(frozen=True, eq=False)
class _Store:
    """A store with a guest that may begin at any time.

    number: which of its rule. t_ms: edges of stretches. edge_ms: of the guest's phases, from its beginning.
    is_moved: some of its own runs are this one, moved.
    """

    levels: Levels
    number: int
    t_ms: Floats
    edge_ms: Floats
    lines: Sequence[_Line]
    allowed_s: float
    cooling_s: float
    is_moved: bool

    @cached_property
    def _joined(self) -> _Joined:
        """Cut where a line that moves passes what is drawn, and joined where nothing changes."""
        t_ms = np.unique(np.concatenate([self.t_ms, *map(self._crossed, self.lines)]))
        middle_ms = (t_ms[:-1] + t_ms[1:]) / 2
        stretch = self.t_ms.searchsorted(middle_ms, side="right") - 1
        passed = np.logical_or.reduce([exceeds(one.use[:, stretch], one.line.at(middle_ms)) for one in self.lines])
        first = np.flatnonzero(np.concatenate(([True], np.diff(passed, axis=1).any(axis=0))))
        return _Joined(np.append(t_ms[first], t_ms[-1]), passed[:, first])

    def _crossed(self, one: _Line) -> Floats:
        """When a line that moves passes what is drawn in some row."""
        if one.line.is_flat:
            return np.zeros(0)
        limit = one.line.at(self.t_ms)
        begin, end = limit[:-1], limit[1:]
        row, stretch = ((one.use - begin) * (one.use - end) < 0).nonzero()
        part = (one.use[row, stretch] - begin[stretch]) / (end - begin)[stretch]
        return np.asarray(self.t_ms[stretch] + part * np.diff(self.t_ms)[stretch])

    @property
    def ever_passed(self) -> bool:
        """Some line is passed with the guest at some time, or without what is moved."""
        passed = self._joined.passed
        return bool(passed[FIRST_PHASE:].any() or (passed[NOBODY] & ~passed[PLANNED]).any())

    def too_much(self, begin_ms: Floats) -> Flags:
        """Whether it comes to hold too much because the guest begins at each of some instants."""
        found = np.zeros(len(begin_ms), dtype=bool)
        if len(begin_ms):
            found |= self._run(begin_ms)[2].any(axis=1)
        return found

    def first_full(self, begin_ms: float) -> _Full | None:
        """When it first comes to hold too much because the guest begins then; None where it does not."""
        t_ms, held_s, too_much = self._run(np.array([begin_ms]))
        if not too_much.any():
            return None
        place = int(too_much[0].argmax())
        since_ms, until_ms = float(t_ms[0, place]), float(t_ms[0, place + 1])
        at_ms = max(until_ms - max(held_s[0, place] - self.allowed_s, 0) * 1000, since_ms)
        # What is drawn in the moment before it is too much; where it begins as too much, in the moment after.
        inside_ms = np.clip(at_ms, since_ms + A_MOMENT_MS, max(until_ms - A_MOMENT_MS, since_ms + A_MOMENT_MS))
        inside_ms -= A_MOMENT_MS / 2
        stretch = int(self.t_ms.searchsorted(inside_ms, side="right")) - 1
        row = int(self._rows(np.array(inside_ms - begin_ms)))
        told = [(one.quantity, float(one.use[row, stretch]), float(one.line.at(inside_ms))) for one in self.lines]
        return _Full(at_ms, *next((one for one in told if exceeds(np.array(one[1]), one[2])), told[0]))

    def _rows(self, since_ms: Floats) -> Instants:
        """Which row of what is drawn holds so long after the guest began."""
        phase, phases = self.edge_ms.searchsorted(since_ms, side="right") - 1, len(self.lines[0].use) - FIRST_PHASE
        return np.where((phase >= 0) & (phase < phases), phase + FIRST_PHASE, NOBODY)

    def _run(self, begin_ms: Floats) -> tuple[Floats, Floats, Flags]:
        """Per beginning: edges, what is held as each span between them ends, and whether the guest makes it too much.

        Shapes (m, n + 1), (m, n) and (m, n); spans may have no length.
        """
        joined, end_ms = self._joined, self.t_ms[-1]
        own_ms = np.minimum(begin_ms[:, None] + self.edge_ms, end_ms)
        whole_ms = np.broadcast_to(joined.t_ms, (len(begin_ms), len(joined.t_ms)))
        t_ms = np.sort(np.concatenate([whole_ms, own_ms], axis=1), axis=1)
        middle_ms = (t_ms[:, :-1] + t_ms[:, 1:]) / 2
        place = np.minimum(joined.t_ms.searchsorted(middle_ms, side="right"), joined.passed.shape[1]) - 1
        seconds = np.diff(t_ms, axis=1) / 1000

        def held(row: Instants) -> Floats:
            return store_s(seconds, joined.passed[row, place], self.allowed_s, self.cooling_s)

        with_it = self._rows(middle_ms - begin_ms[:, None])
        held_s = held(with_it)
        was_s = held(np.full_like(with_it, NOBODY))
        if self.is_moved:  # what is moved may have made up for others, which hold more without it
            was_s = np.minimum(was_s, held(np.full_like(with_it, PLANNED)))
        return t_ms, held_s, exceeds(held_s, self.allowed_s) & (held_s > was_s + WITHOUT * self.allowed_s)
