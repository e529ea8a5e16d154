"""What every combination of cycling loads draws, in every part of the day: the simulated days look it up."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from tests.oracle.heat import Rule, measure, rules_of
from tests.oracle.home import Figures, Home, exceeds

Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]
STEP_MS = 10_000  # the weather's lines are straight between two of these, but for a corner here and there


@dataclass
class Load:
    """What goes on and off together and stands without a gap: the draws of one cycle, with a phase of its own."""

    group: int
    begin_ms: int
    end_ms: int
    on_ms: int
    period_ms: int
    draws: list[int]


@dataclass(frozen=True)
class Cell:
    """A part of the day in which the same draws stand; masks have one bit per draw."""

    begin_ms: int
    end_ms: int
    certain: int
    cycling: int
    starting: int

    @property
    def middle_ms(self) -> float:
        return (self.begin_ms + self.end_ms) / 2


@dataclass(frozen=True, eq=False)
class Window:
    """Neighbouring cells in which something may be too much, and the loads that stand there.

    A state of the window has one bit for each of its loads.
    """

    cells: list[Cell]
    loads: list[Load]

    @property
    def begin_ms(self) -> int:
        return self.cells[0].begin_ms

    @property
    def end_ms(self) -> int:
        return self.cells[-1].end_ms

    @property
    def states(self) -> int:
        return 1 << len(self.loads)


@dataclass(frozen=True, eq=False)
class Over:
    """What is too much by one rule in a window; shapes (cells, states). levels[k] is above Lk, L0 by both measures."""

    watts: Bools
    steady: Bools
    levels: list[Bools]


def loads_of(home: Home) -> list[Load]:
    """The loads of a day; what begins after a pause of its load has a phase of its own."""
    loads: list[Load] = []
    cycling = [(d.group, d.begin_ms, i) for i, d in enumerate(home.draws) if d.cycle is not None]
    for group, begin, i in sorted(cycling):
        draw = home.draws[i]
        assert draw.cycle is not None
        if loads and loads[-1].group == group and begin <= loads[-1].end_ms:
            loads[-1].end_ms = max(loads[-1].end_ms, draw.end_ms)
            loads[-1].draws.append(i)
        elif begin < draw.end_ms:
            loads.append(Load(group, begin, draw.end_ms, draw.cycle[0], draw.cycle[1], [i]))
    return loads


def instants_of(cell: Cell) -> Floats:
    """Instants of a cell from end to end at which its limits are looked up."""
    inner = np.arange(-(-cell.begin_ms // STEP_MS) * STEP_MS, cell.end_ms, STEP_MS)
    return np.unique(np.concatenate(([cell.begin_ms], inner, [cell.end_ms]))).astype(float)


def crossings(instants: Floats, limits: Floats, uses: Floats) -> list[int]:
    """When a limit crosses what is used, in whole milliseconds."""
    found: list[int] = []
    for use in uses:
        room = limits - use
        at = np.flatnonzero((room[1:] < 0) != (room[:-1] < 0))
        part = room[at] / (room[at] - room[at + 1])
        found += np.round(instants[at] + part * (instants[at + 1] - instants[at])).astype(int).tolist()
    return found


class Tables:
    """The day of a home cut into cells, and what its states come to."""

    def __init__(self, home: Home) -> None:
        self.home = home
        self.rules = rules_of(home)
        self.loads = loads_of(home)
        self.shares = {r.scope: np.array([home.share(d, r.scope) for d in home.draws]) for r in self.rules}
        self._known: dict[Any, tuple[Floats, Floats]] = {}

    # -- cells and windows ---------------------------------------------------------------------------------

    @cached_property
    def cells(self) -> list[Cell]:
        """The day cut where something begins or ends."""
        draws, horizon = self.home.draws, self.home.reading.horizon_ms
        edges = {0, horizon, self.home.reading.day_ms}
        edges |= {e for d in draws for e in (d.begin_ms, d.end_ms, d.start_end_ms) if 0 <= e <= horizon}
        cells = []
        for begin, end in itertools.pairwise(sorted(edges)):
            here = [(i, d) for i, d in enumerate(draws) if d.begin_ms <= begin and end <= d.end_ms]
            certain = sum(1 << i for i, d in here if d.cycle is None)
            cycling = sum(1 << i for i, d in here if d.cycle is not None)
            starting = sum(1 << i for i, d in here if d.scheduled and end <= d.start_end_ms)
            cells.append(Cell(begin, end, certain, cycling, starting))
        return cells

    @cached_property
    def windows(self) -> list[Window]:
        """Where the sum of all magnitudes passes something: elsewhere nothing can happen."""
        windows = []
        for hot, group in itertools.groupby(self.cells, self._may_be_hot):
            cells = list(group)
            begin, end = cells[0].begin_ms, cells[-1].end_ms
            if hot and begin < self.home.reading.day_ms:
                window = Window(cells, [x for x in self.loads if x.begin_ms < end and x.end_ms > begin])
                if not self.home.reading.steady:
                    window = Window([part for cell in cells for part in self._cut(window, cell)], window.loads)
                windows.append(window)
        return windows

    def _may_be_hot(self, cell: Cell) -> bool:
        instants = instants_of(cell)
        for rule in self.rules:
            most = 0.0
            for i, draw in enumerate(self.home.draws):
                if (cell.certain | cell.cycling) >> i & 1:
                    running = (1 + draw.u) * np.sqrt(draw.p**2 + draw.q**2 + draw.d**2)
                    most += self.shares[rule.scope][i] * max(running, draw.start_va if draw.has_start else 0.0)
            value = measure(self.home, rule, Figures(most, most, most, most))
            lowest = min(np.min(limit(instants)) for limit in (rule.steady, *rule.levels))
            if exceeds(value, lowest) or (rule.steady_w and exceeds(most, np.min(rule.steady_w(instants)))):
                return True
        return False

    def _cut(self, window: Window, cell: Cell) -> list[Cell]:
        """A cell cut wherever a limit that follows the weather crosses what some state uses."""
        instants = instants_of(cell)
        starters = [1 << i for i in range(len(self.home.draws)) if cell.cycling >> i & 1]
        edges = {cell.begin_ms, cell.end_ms}
        for rule in self.rules:
            for starting in {0, cell.starting, *(cell.starting | one for one in starters)}:
                w, value = self.used(rule, window, cell, starting)
                lines = [(value, limit) for limit in (rule.steady, *rule.levels)]
                for uses, limit in [*lines, (w, rule.steady_w)]:
                    if limit:
                        edges |= set(crossings(instants, limit(instants), np.unique(uses)))
        return [
            Cell(begin, end, cell.certain, cell.cycling, cell.starting)
            for begin, end in itertools.pairwise(sorted(edges))
        ]

    # -- what states use -----------------------------------------------------------------------------------

    def used(self, rule: Rule, window: Window, cell: Cell, starting: int = 0) -> tuple[Floats, Floats]:
        """Watts, and VA or A as the rule measures, of every state; the draws `starting` start, if they are on."""
        key = (rule.name, id(window), cell.certain, cell.cycling, starting)
        if key not in self._known:
            states = np.arange(window.states)
            on = np.zeros((window.states, len(self.home.draws)), dtype=bool)
            on[:, [i for i in range(on.shape[1]) if cell.certain >> i & 1]] = True
            for bit, load in enumerate(window.loads):
                there = [i for i in load.draws if cell.cycling >> i & 1]
                on[:, there] = (states >> bit & 1).astype(bool)[:, None]
            more = self._more(on, starting, rule.scope)
            w, va = self._figures(self._let_on(on, starting, rule.scope), starting, rule.scope, more)
            self._known[key] = w, self._amps(w) if rule.name == "bank" else va
        return self._known[key]

    def _let_on(self, on: Bools, starting: int, scope: str) -> Bools:
        """Interlocks keep the smaller ones off."""
        if not self.home.reading.interlocks:
            return on
        found = np.zeros_like(on)
        for row, state in enumerate(on):
            mask = sum(1 << int(i) for i in np.flatnonzero(state))
            found[row, self.home.counted(mask, starting & mask, scope)] = True
        return found

    def _more(self, on: Bools, starting: int, scope: str) -> Floats:
        """What another member of an interlock has more, as `Home.more` tells it; per state."""
        if not self.home.reading.interlocks:
            return np.zeros((5, len(on)))
        masks = [sum(1 << int(i) for i in np.flatnonzero(state)) for state in on]
        return np.array([self.home.more(mask, starting & mask, scope) for mask in masks]).T

    def _figures(self, on: Bools, starting: int, scope: str, more: Floats) -> tuple[Floats, Floats]:
        """Watts and VA with their uncertainty: plain sums, for what is on is on and lagging cancels leading."""
        draws, share = self.home.draws, self.shares[scope]
        starts = np.array([bool(starting >> i & 1) for i in range(len(draws))], dtype=bool)
        kick = np.array([d.start or (0.0, 0.0) for d in draws]).reshape(-1, 2)
        p = more[0] + on @ (share * np.where(starts, kick[:, 0], [d.p for d in draws]))
        q = on @ (share * np.where(starts, kick[:, 1], [d.q for d in draws]))
        q = np.where(np.abs(q + more[4]) > np.abs(q + more[3]), q + more[4], q + more[3])
        d = more[2] + on @ (share * np.where(starts, 0.0, [d.d for d in draws]))
        doubt = np.sqrt(more[1] + on @ np.where(starts, 0.0, [(d.u * d.p) ** 2 for d in draws] * share**2))
        with np.errstate(divide="ignore", invalid="ignore"):
            times = np.where(p > 0, (p + doubt) / p, 1.0)
        return p + doubt, np.sqrt(p**2 + q**2 + d**2) * times

    def _amps(self, w: Floats) -> Floats:
        """Bank current at so many watts each."""
        different, where = np.unique(w, return_inverse=True)
        return np.array([self.home.amps(one) for one in different.tolist()])[where]

    # -- what is too much ----------------------------------------------------------------------------------

    def over(self, rule: Rule, window: Window, starting: list[int] | None = None) -> Over:
        """Which states are above what in each cell; `starting` has the draws that start, cell by cell."""
        watts, steady, levels = [], [], []
        for number, cell in enumerate(window.cells):
            w, value = self.used(rule, window, cell, starting[number] if starting else 0)
            watts.append(exceeds(w, rule.steady_w(cell.middle_ms)) if rule.steady_w else np.zeros_like(w, bool))
            steady.append(exceeds(value, rule.steady(cell.middle_ms)))
            levels.append([exceeds(value, level(cell.middle_ms)) for level in rule.levels])
        first = np.array(steady) | np.array(watts)
        return Over(np.array(watts), np.array(steady), [first, *(np.array(one) for one in zip(*levels, strict=True))])

    def before_midnight(self, rule: Rule, window: Window) -> list[Bools]:
        """Which states were above each level in the instant before the day began: what is always on was there."""
        always = sum(1 << i for i, d in enumerate(self.home.draws) if d.always_on)
        first = window.cells[0]
        cell = Cell(0, 0, first.certain & always, first.cycling & always, 0)
        return [level[0] for level in self.over(rule, Window([cell], window.loads)).levels]

    def breaking(self, rule: Rule, over: Over, lasts_ms: int) -> Bools:
        """Where a start of that length is too much: above the top, or above a level that allows less."""
        found = over.levels[-1].copy()
        for k, allowed_ms in enumerate(rule.allowed_ms):
            if lasts_ms > allowed_ms:
                found |= over.levels[k]
        return found
