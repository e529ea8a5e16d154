"""Odds by brute force: thousands of days, each with phases of its own for everything that cycles.

Between the instants at which something comes on or goes off nothing changes, so a day is a row of instants and
of states. Numbers are those of one local day; an excursion belongs to the day in which it begins, and is followed
to the horizon.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from tests.oracle.chance_tables import Bools, Floats, Load, Over, Tables, Window
from tests.oracle.chance_tally import Figure, Tally
from tests.oracle.heat import Rule
from tests.oracle.home import Home
from tests.oracle.reading import Json
from tests.oracle.starts import starting_with

Ints = npt.NDArray[np.int64]
Places = npt.NDArray[np.intp]
AT_ONCE = 3_000_000  # instants of all days worked out together
PLAN = -1  # what the plan itself changes, among the loads that do


def simulate(document: Json, days: int, seed: int, scenario: str | None = None) -> dict[Any, Figure]:
    """Every figure of the odds by so many days.

    ('above', id) in seconds; ('lasting', rule, k) how often store k + 1 is filled in one go; ('begin', rule, k) how
    often its level comes to be passed; ('starts',) above the inverter's top; ('broken', id) how often at all, each
    excursion above the lowest level once; ('at once', rule) starts that are too much, and passings of the top.
    """
    tables = Tables(Home(document, scenario))
    events = sum(
        len(w.cells) + sum(2 * (w.end_ms - w.begin_ms) / x.period_ms + 4 for x in w.loads) for w in tables.windows
    )
    chunk = int(max(1, min(days, AT_ONCE // max(events, 1))))
    tally, random = Tally(), np.random.default_rng(seed)
    windows = [Watched(tables, window) for window in tables.windows]
    for first in range(0, days, chunk):
        count = min(chunk, days - first)
        phases = {id(load): random.random(count) * load.period_ms for load in tables.loads}
        values: dict[Any, Floats] = defaultdict(np.zeros(count).copy)
        for window in windows:
            window.live(phases, values)
        tally.add(count, values)
    return tally.figures()


@dataclass(frozen=True, eq=False)
class Days:
    """A window lived through by many days; shapes (days, instants). place: looked up in tables of (cells, states)."""

    t_ms: Floats
    end_ms: Floats
    place: npt.NDArray[np.intp]
    who: Ints  # which load came on; PLAN where a cell begins, PLAN - 1 else
    day_ms: int


class Watched:
    """A window with the tables of all rules."""

    def __init__(self, tables: Tables, window: Window) -> None:
        self.tables, self.window, self.home = tables, window, tables.home
        self.over = {rule.name: tables.over(rule, window) for rule in tables.rules}
        self.kept: list[Window] = []
        self.unplanned = list(self._unplanned())
        self.planned = {rule.name: list(self._planned(rule)) for rule in tables.rules}
        self.before = {
            r.name: tables.before_midnight(r, window) if window.begin_ms == 0 else None for r in tables.rules
        }

    # -- starts ---------------------------------------------------------------------------------------------

    def _unplanned(self) -> Any:
        """Each start of a load: which load, and where it is too much, rule by rule; what starts with it is one."""
        for bit, load in enumerate(self.window.loads):
            found: dict[int, Any] = {}
            for i in load.draws:
                draw = self.home.draws[i]
                if not draw.has_start or load.on_ms >= load.period_ms:
                    continue
                stands = np.array([bool(cell.cycling >> i & 1) for cell in self.window.cells])[:, None]
                lasts_ms = min(draw.start_ms, draw.end_ms - draw.begin_ms)
                broken, top = {}, {}
                window = self._without_what_comes_later(load, i)
                for rule in self.tables.rules:
                    own = starting_with(self.home.draws, i)
                    starting = [cell.starting | own & cell.cycling for cell in self.window.cells]
                    over = self.tables.over(rule, window, starting)
                    mine = stands & (self.home.share(draw, rule.scope) > 0)
                    broken[rule.name] = mine & self.tables.breaking(rule, over, lasts_ms)
                    top[rule.name] = mine & over.levels[-1]
                for one, other in zip((broken, top), found.get(draw.begin_ms, ()), strict=False):
                    for name, flags in other.items():
                        one[name] = one[name] | flags
                found[draw.begin_ms] = broken, top
            for broken, top in found.values():
                yield bit, broken, top

    def _without_what_comes_later(self, load: Load, i: int) -> Window:
        """The window as one draw starts: without those of its load that come on while it is on, but after its start."""
        draws, own = self.home.draws, self.home.draws[i]
        waits = {k: draws[k].begin_ms - own.begin_ms for k in load.draws if k != i}
        later = sum(1 << k for k, after_ms in waits.items() if own.start_ms <= after_ms < load.on_ms)
        cells = [replace(cell, cycling=cell.cycling & ~later) for cell in self.window.cells]
        self.kept.append(replace(self.window, cells=cells))  # what is known of it is known by its id
        return self.kept[-1]

    def _planned(self, rule: Rule) -> Any:
        """Each planned start: the cell in which it begins, its end, and the states with which it is too much."""
        cells = self.window.cells
        over = self.tables.over(rule, self.window, [cell.starting for cell in cells])
        for i, draw in enumerate(self.home.draws):
            if not draw.scheduled or self.home.share(draw, rule.scope) == 0:
                continue
            mine = [n for n, cell in enumerate(cells) if cell.starting >> i & 1]
            if not mine or cells[mine[0]].begin_ms != draw.begin_ms or draw.begin_ms >= self.home.reading.day_ms:
                continue
            lasts = np.array([cells[n].end_ms - cells[n].begin_ms for n in mine])[:, None]
            broken = over.levels[-1][mine].any(axis=0)
            for k, allowed_ms in enumerate(rule.allowed_ms):
                broken |= (over.levels[k][mine] * lasts).sum(axis=0) > allowed_ms
            if broken.any():
                yield mine[0], draw.begin_ms, draw.start_end_ms, broken

    # -- days -----------------------------------------------------------------------------------------------

    def live(self, phases: dict[int, Floats], values: dict[Any, Floats]) -> None:
        """Add what happens in this window on days with these phases."""
        days = self._days(phases)
        hits = {rule.name: self._starts(days, rule, values) for rule in self.tables.rules}
        for rule in self.tables.rules:
            long = self._running(days, rule, values)
            for places in hits[rule.name]:
                day = places // days.t_ms.shape[1]
                values["at once", rule.name] += np.bincount(day, minlength=len(days.t_ms))
            values["broken", self._whole(rule)] += self._trips(days, rule, [*hits[rule.name], *long])

    def _days(self, phases: dict[int, Floats]) -> Days:
        window = self.window
        count = len(next(iter(phases.values()))) if phases else 1
        states = window.states
        begins = np.array([cell.begin_ms for cell in window.cells[1:]], dtype=float)
        t = [np.full((count, 1), float(window.begin_ms)), np.broadcast_to(begins, (count, len(begins)))]
        step = [np.zeros((count, 1), np.int64), np.full((count, len(begins)), states)]
        who = [np.full((count, 1 + len(begins)), PLAN)]
        for bit, load in enumerate(window.loads):
            low, high = max(load.begin_ms, window.begin_ms), min(load.end_ms, window.end_ms)
            if load.on_ms >= load.period_ms:
                step[0] += 1 << bit
                continue
            since_on = (low - phases[id(load)]) % load.period_ms
            step[0][:, 0] += np.where(since_on < load.on_ms, 1 << bit, 0)
            cycles = np.arange((high - low) // load.period_ms + 2) * load.period_ms
            for offset, change, name in ((load.period_ms, 1 << bit, bit), (load.on_ms, -(1 << bit), PLAN - 1)):
                to_first = np.where(since_on < offset, offset, offset + load.period_ms) - since_on
                at = low + to_first[:, None] + cycles
                inside = at < high
                t.append(np.where(inside, at, float(window.end_ms)))
                step.append(np.where(inside, change, 0))
                who.append(np.where(inside, name, PLAN - 1))
        t_ms = np.concatenate(t, axis=1)
        order = np.argsort(t_ms, axis=1, kind="stable")
        t_ms = np.take_along_axis(t_ms, order, axis=1)
        place = np.take_along_axis(np.concatenate(step, axis=1), order, axis=1).cumsum(axis=1)
        end_ms = np.concatenate([t_ms[:, 1:], np.full((count, 1), float(window.end_ms))], axis=1)
        return Days(
            t_ms,
            end_ms,
            place,
            np.take_along_axis(np.concatenate(who, axis=1), order, axis=1),
            self.home.reading.day_ms,
        )

    def _starts(self, days: Days, rule: Rule, values: dict[Any, Floats]) -> list[Places]:
        """The instants at which there was a start that is too much; planned ones that overlap are one."""
        found: list[Places] = []
        today = days.t_ms < days.day_ms
        for bit, broken, top in self.unplanned:
            mine = (days.who == bit) & today
            if rule.name == "inverter" and top[rule.name].any():
                values["starts",] += (mine & top[rule.name].ravel()[days.place]).sum(axis=1)
            if broken[rule.name].any():
                found.append(np.flatnonzero(mine & broken[rule.name].ravel()[days.place]))
        until, begun, clusters = -1, np.zeros(0, np.intp), list[tuple[Places, Bools]]()
        for cell, begin_ms, end_ms, states in self.planned[rule.name]:
            column = (days.who == PLAN) & (days.t_ms == begin_ms)
            here = column & states[days.place % self.window.states]
            assert column.any(axis=1).all() and cell >= 0
            if begin_ms >= until:
                begun = column.argmax(axis=1) + np.arange(len(column)) * column.shape[1]
                clusters.append((begun, np.zeros(len(column), dtype=bool)))
            clusters[-1][1][:] |= here.any(axis=1)
            until = max(until, end_ms)
        return [*found, *(begun[broken] for begun, broken in clusters)]

    def _trips(self, days: Days, rule: Rule, ways: list[Places]) -> Floats:
        """How often a rule is broken on each day: what one excursion above the lowest level does, counts once."""
        found, width = np.zeros(len(days.t_ms)), days.t_ms.shape[1]
        if not ways:
            return found
        breaks = np.concatenate(ways)
        passed = self.over[rule.name].levels[0].ravel()[days.place]
        _, begin, end = self._all_excursions(days, passed)
        which = np.searchsorted(begin, breaks, side="right") - 1
        inside = (which >= 0) & (breaks < np.append(end, 0)[which])
        trips = np.concatenate([begin[np.unique(which[inside])], np.unique(breaks[~inside])])
        return found + np.bincount(trips // width, minlength=len(found))

    @staticmethod
    def _whole(rule: Rule) -> str:
        return {"inverter": "inverter_overload", "bank": "battery_peak"}.get(rule.name, rule.name)

    def _running(self, days: Days, rule: Rule, values: dict[Any, Floats]) -> list[Places]:
        """Seconds above, excursions and crossings by running draws; where those begin that break the rule."""
        over: Over = self.over[rule.name]
        if not over.levels[0].any():
            return []
        seconds = np.clip(np.minimum(days.end_ms, days.day_ms) - days.t_ms, 0, None) / 1000
        watts = over.watts.ravel()[days.place]
        above = {
            "inverter": {"inverter_continuous": over.watts, "inverter_apparent": over.steady},
            "bank": {"battery_continuous": over.steady},
        }.get(rule.name, {rule.name: over.levels[0]})
        for name, table in above.items():
            values["above", name] += (table.ravel()[days.place] * seconds).sum(axis=1)
        if rule.name in ("inverter", "bank"):
            values["above", self._whole(rule)] += (over.levels[-1].ravel()[days.place] * seconds).sum(axis=1)
        found: list[Places] = []
        for k, level in enumerate(over.levels):
            passed = level.ravel()[days.place]
            row, begin, end = self._excursions(days, passed, self.before[rule.name], k)
            if k == len(rule.levels):
                values["at once", rule.name] += np.bincount(row, minlength=len(days.t_ms))
                found.append(begin)
                continue
            lasts_ms = days.end_ms.ravel()[end - 1] - days.t_ms.ravel()[begin]
            long = lasts_ms > rule.allowed_ms[k]
            values["begin", rule.name, k] += np.bincount(row, minlength=len(days.t_ms))
            lasting = np.bincount(row[long], minlength=len(days.t_ms))
            values["lasting", rule.name, k] += lasting
            found.append(begin[long])
            if k == 0 and rule.name == "bank":
                values["broken", "battery_continuous"] += lasting
            if k == 0 and rule.name == "inverter" and long.any():
                steady = over.steady.ravel()[days.place]
                for name, own in (("inverter_continuous", watts), ("inverter_apparent", steady)):
                    until = np.append(np.where(own, days.end_ms, -np.inf).ravel(), -np.inf)
                    last = np.maximum.reduceat(until, np.stack([begin[long], end[long]], axis=1).ravel())[::2]
                    late = last - days.t_ms.ravel()[begin[long]] > rule.allowed_ms[0]
                    values["broken", name] += np.bincount(row[long][late], minlength=len(days.t_ms))
        return found

    @staticmethod
    def _all_excursions(days: Days, passed: Bools) -> tuple[Places, Places, Places]:
        """Day, first and last (excluded) flat instant of each excursion."""
        count, width = passed.shape
        padded = np.zeros((count, width + 2), dtype=np.int8)
        padded[:, 1:-1] = passed & (days.end_ms > days.t_ms)
        change = np.diff(padded, axis=1)
        row, column = np.nonzero(change == 1)
        last_row, last = np.nonzero(change == -1)
        assert (row == last_row).all()
        return row, row * width + column, row * width + last

    def _excursions(
        self, days: Days, passed: Bools, before: list[Bools] | None, k: int
    ) -> tuple[Places, Places, Places]:
        """The same of those that begin in the day."""
        row, begin, end = self._all_excursions(days, passed)
        column = begin - row * passed.shape[1]
        today = days.t_ms.ravel()[begin] < days.day_ms
        if before is not None:
            today &= ~((column == 0) & before[k][days.place[row, 0] % self.window.states])
        return row[today], begin[today], end[today]
