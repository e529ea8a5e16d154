"""Time above levels: heat stores stepped along the grid, on every pattern that is to be tried."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from tests.oracle.grid import Fine, Grid, Painted, Run
from tests.oracle.home import Figures, Home, Limit, exceeds
from tests.oracle.reading import ms

COARSE_MS = 5000  # in changing weather no cell outside the fine stretch is longer


@dataclass(frozen=True)
class Rule:
    """Levels L0 < L1 < ... with their times; L0 is `steady`, and `steady_w` where watts count too."""

    name: str  # inverter | bank | leg:A | leg:B
    scope: str
    steady: Limit
    steady_w: Limit | None
    levels: tuple[Limit, ...]
    allowed_ms: tuple[int, ...]
    cooling_ms: tuple[int, ...]

    def above(self, k: int) -> Limit:
        """The level that store k (from 1) is filled above."""
        return self.steady if k == 1 else self.levels[k - 2]


def rules_of(home: Home) -> list[Rule]:
    inverter, bank = home.inverter, home.battery
    curve = inverter["overload"]
    times = tuple(ms(row[1]) for row in curve)
    cooling = tuple(ms(row[2]) if len(row) > 2 and row[2] is not None else ms(row[1]) for row in curve)

    def of_inverter(name: str, scope: str, part: float) -> Rule:
        levels = tuple(home.inverter_limit(row[0], part) for row in curve)
        rated, watts = home.inverter_limit(inverter["rated_va"], part), home.inverter_limit(None, part)
        return Rule(name, scope, rated, watts, levels, times, cooling)

    rules = [of_inverter("inverter", "house", 1.0)]
    peak = home.bank_limit(bank["peak_discharge_a"])
    steady = home.bank_limit(bank["continuous_discharge_a"])
    rules.append(Rule("bank", "house", steady, None, (peak,), (ms(bank["peak_s"]),), (ms(bank["peak_s"]),)))
    if home.two_legs:
        rules += [of_inverter(f"leg:{leg}", f"leg:{leg}", 0.5) for leg in "AB"]
    return rules


def measure(home: Home, rule: Rule, figures: Figures) -> float:
    return home.amps(figures.w) if rule.name == "bank" else figures.va


@dataclass(frozen=True)
class Stretch:
    """A stretch in which the same levels are exceeded; `above[k]` says so for Lk, the last is Ln."""

    begin_ms: int
    length_ms: int
    above: tuple[bool, ...]
    watts_above: bool
    va_above: bool


def levels_exceeded(home: Home, rule: Rule, run: Run) -> Stretch:
    """Which levels a set of draws exceeds, with the limits as they are when it begins."""
    figures = home.figures(run.on, 0, rule.scope)
    value = measure(home, rule, figures)
    over = [bool(exceeds(value, limit(run.begin_ms))) for limit in (rule.steady, *rule.levels)]
    over_w = rule.steady_w is not None and bool(exceeds(figures.w, rule.steady_w(run.begin_ms)))
    return Stretch(run.begin_ms, run.end_ms - run.begin_ms, (over[0] or over_w, *over[1:]), over_w, over[0])


def stretches(home: Home, rule: Rule, grid: Grid, runs: list[Run]) -> Iterator[Stretch]:
    """Which levels the draw exceeds, run by run (and cell by cell where the weather changes)."""
    if home.reading.steady:
        known: dict[int, Stretch] = {}  # the limits stand still, so that what is on says it all
        for run in runs:
            found = known.get(run.on) or known.setdefault(run.on, levels_exceeded(home, rule, run))
            yield Stretch(run.begin_ms, run.end_ms - run.begin_ms, found.above, found.watts_above, found.va_above)
        return
    figures = [home.figures(run.on, 0, rule.scope) for run in runs]
    cells = [run.last - run.first for run in runs]
    value = np.repeat([measure(home, rule, one) for one in figures], cells)
    rows = [exceeds(value, limit(grid.middles)) for limit in (rule.steady, *rule.levels)]
    by_watts = np.zeros_like(rows[0])
    if rule.steady_w:
        by_watts = exceeds(np.repeat([one.w for one in figures], cells), rule.steady_w(grid.middles))
    table = np.array([*rows, by_watts])
    changes = (table[:, 1:] != table[:, :-1]).any(axis=0)
    changes[[run.first - 1 for run in runs[1:]]] = True
    cuts = [0, *(np.flatnonzero(changes) + 1).tolist(), table.shape[1]]
    edges, columns = grid.edges[cuts].tolist(), table[:, cuts[:-1]].T.tolist()
    for (begin, end), (over, *levels, over_w) in zip(itertools.pairwise(edges), columns, strict=True):
        yield Stretch(begin, end - begin, (over or over_w, *levels), over_w, over)


@dataclass
class Heat:
    """What the stores of one rule came to: largest value of each (ms), and what was broken."""

    largest_ms: list[float]
    store_broken: bool = False
    top_broken: bool = False
    watts_broken: bool = False
    va_broken: bool = False
    starts_above: list[tuple[int, int]] = field(default_factory=list)  # (instant, k): L(k) begins to be exceeded

    @property
    def broken(self) -> bool:
        return self.store_broken or self.top_broken


def step(rule: Rule, along: Iterator[Stretch]) -> Heat:
    """Walk along the draw with every store empty at first."""
    stores = [0.0] * len(rule.levels)
    heat = Heat([0.0] * len(rule.levels))
    before = (False,) * (len(rule.levels) + 1)
    for piece in along:
        if not any(stores) and not any(piece.above):  # nothing to fill, nothing to cool
            before = piece.above
            continue
        for k, allowed in enumerate(rule.allowed_ms):
            if piece.above[k]:
                stores[k] += piece.length_ms
                heat.largest_ms[k] = max(heat.largest_ms[k], stores[k])
                if exceeds(stores[k], allowed):
                    heat.store_broken = True
                    if k == 0:
                        heat.watts_broken |= piece.watts_above
                        heat.va_broken |= piece.va_above
            else:
                stores[k] = max(0.0, stores[k] - piece.length_ms * allowed / rule.cooling_ms[k])
        heat.top_broken |= piece.above[-1]
        heat.starts_above += [(piece.begin_ms, k) for k, now in enumerate(piece.above) if now and not before[k]]
        before = piece.above
    return heat


class Patterns:
    """The two ways in which what cycles can come on, tried from every instant that matters."""

    def __init__(self, home: Home, fine: Fine | None) -> None:
        self.home, self.fine = home, fine
        draws = home.draws
        self.edges = sorted({e for d in draws for e in (d.begin_ms, d.end_ms, d.start_end_ms)})
        self.longest_ms = 0 if home.reading.steady else COARSE_MS
        self.certain = sum(1 << i for i, d in enumerate(draws) if d.cycle is None)
        self.groups: dict[int, list[int]] = {}
        for i, draw in enumerate(draws):
            if draw.cycle is not None:
                self.groups.setdefault(draw.group, []).append(i)
        self.begin = {g: min(draws[i].begin_ms for i in m) for g, m in self.groups.items()}
        self.end = {g: max(draws[i].end_ms for i in m) for g, m in self.groups.items()}
        self.grid = self.grid_with([])
        self.worst = self.grid.runs([(d.begin_ms, d.end_ms, i) for i, d in enumerate(draws)])
        self.steady_runs = self.grid.runs([(d.begin_ms, d.end_ms, i) for i, d in enumerate(draws) if d.cycle is None])
        self._tried: dict[tuple[tuple[int, int], ...], tuple[Grid, list[Run]]] = {}

    def grid_with(self, more: list[int]) -> Grid:
        return Grid(self.home.reading.horizon_ms, self.fine, [*self.edges, *more], self.longest_ms)

    def cycle(self, group: int) -> tuple[int, int, int]:
        cycle = self.home.draws[self.groups[group][0]].cycle
        assert cycle is not None
        return cycle

    def on_times(self, i: int, instant: int) -> Iterator[tuple[int, int]]:
        """On from then (or its load's beginning) for longest_on, then as the cycle says, until the stage ends."""
        draw = self.home.draws[i]
        on, period, longest = self.cycle(draw.group)
        begin = max(instant, self.begin[draw.group])
        end = begin + longest
        while begin < draw.end_ms:
            if end > draw.begin_ms:
                yield max(begin, draw.begin_ms), min(end, draw.end_ms)
            begin = end + period - on
            end = begin + on

    def pattern(self, first_on: dict[int, int]) -> tuple[Grid, list[Run]]:
        """The grid and what is on along it when each group first comes on at its instant."""
        key = tuple(sorted(first_on.items()))
        if key not in self._tried:
            painted: list[Painted] = []
            for i, draw in enumerate(self.home.draws):
                if draw.cycle is None:
                    painted.append((draw.begin_ms, draw.end_ms, i))
            for group, instant in first_on.items():
                for i in self.groups[group]:
                    painted += [(a, b, i) for a, b in self.on_times(i, instant)]
            grid = self.grid_with([e for p in painted for e in p[:2]])
            self._tried[key] = grid, grid.runs(painted)
        return self._tried[key]

    def from_instant(self, rule: Rule, instant: int) -> Iterator[dict[int, int]]:
        """Together, then in relay for each level: when each group first comes on."""
        now = [g for g in self.groups if self.begin[g] <= instant < self.end[g]]
        together = {g: max(instant, self.begin[g]) for g in self.groups if self.end[g] > instant}
        yield together
        certain = next(r.on for r in self.steady_runs if r.begin_ms <= instant < r.end_ms)
        for k in range(len(rule.levels)):
            members = [g for g in now if self.lifts(rule, k, certain, g, instant)]
            if len(members) < 2:
                continue
            members.sort(key=lambda g: -self.cycle(g)[2])
            relay, turn = dict(together), instant
            for group in members:
                if self.end[group] <= turn:
                    del relay[group]
                    continue
                relay[group] = turn
                turn = min(turn + self.cycle(group)[2], self.end[group])
            yield relay

    def lifts(self, rule: Rule, k: int, certain: int, group: int, instant: int) -> bool:
        """Does this group alone lift the certain draw above Lk?"""
        here = [i for i in self.groups[group] if self.home.draws[i].begin_ms <= instant < self.home.draws[i].end_ms]
        figures = self.home.figures(certain | sum(1 << i for i in here), 0, rule.scope)
        limit = (rule.steady, *rule.levels)[k]
        by_watts = k == 0 and rule.steady_w is not None and exceeds(figures.w, rule.steady_w(instant))
        return bool(exceeds(measure(self.home, rule, figures), limit(instant)) or by_watts)

    def instants(self, rule: Rule) -> list[int]:
        """Where patterns begin."""
        found = {d.begin_ms for d in self.home.draws if d.cycle is not None}
        before = Figures(0.0, 0.0, 0.0, 0.0)
        for run in self.steady_runs:
            now = self.home.figures(run.on, 0, rule.scope)
            if exceeds(now.w, before.w) or exceeds(now.va, before.va):
                found.add(run.begin_ms)
            before = now
        worst = step(rule, stretches(self.home, rule, self.grid, self.worst))
        return sorted(found | {instant for instant, _ in worst.starts_above})

    def certain_heat(self, rule: Rule) -> Heat:
        return step(rule, stretches(self.home, rule, self.grid, self.steady_runs))

    def worst_heat(self, rule: Rule) -> list[Heat]:
        """The stores on every pattern, the one without anything that cycles first."""
        heats = [self.certain_heat(rule)]
        tried = set()
        for instant in self.instants(rule) if self.groups else []:
            for first_on in self.from_instant(rule, instant):
                key = tuple(sorted(first_on.items()))
                if key not in tried:
                    tried.add(key)
                    heats.append(step(rule, stretches(self.home, rule, *self.pattern(first_on))))
        return heats
