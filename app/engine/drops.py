"""Where guests would lose too much voltage on the way to a circuit, whenever they come."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from app.engine.beside import Beside, Comparison, Passing
from app.engine.cables import FeedPath, back_percent, drop_v, feed_path
from app.engine.circuits import Conductor, Wired, has_cable
from app.engine.columns import Columns, most_of
from app.engine.draw import HAIR
from app.engine.left_behind import absent, staying
from app.engine.own_runs import Span
from app.engine.results import Flags, Floats, Instants
from app.engine.seen import Seen
from app.engine.sums import Sums, plain
from app.engine.told import NEVER, Limits

IN_AND_OUT_OF_PHASE = np.array([1.0, 0.0])  # cos phi


def drop_passing(seen: Seen, limits: Limits, *, of_several: bool | None = None) -> Iterator[Passing]:
    """of_several: only ways of one conductor, or of several; None for all."""
    beside, phases, starts = seen.beside, seen.phases, seen.starts
    day, guests = beside.day, beside.guests
    rules = day.resolved.household.supply.rules
    for wired in day.wired.values():
        if not has_cable(wired.circuit):
            continue
        path = feed_path(wired, day.wired)
        if of_several not in (None, len(path.parts) > 1):
            continue
        lost = _Lost(seen, path)
        running, starting = 100 * rules.drop_running, 100 * rules.drop_starting
        runs_free, starts_free = lost.runs_free(running), lost.starts_free(starting)
        if runs_free and starts_free:
            continue
        weights = [conductor.view.scope.weight for _, conductor in path.parts]
        touching = np.max([weight[guests.machine] for weight in weights], axis=0) > 0
        drawn = np.bincount(guests.entry_row, weights=touching[guests.entry_piece], minlength=len(guests.which)) > 0
        own_phases, sure, free = (rows[drawn[rows]] for rows in (phases, *starts))
        if not len(own_phases):
            continue
        # Its own starts count where they stand behind the circuit; on a feeder it shares it only runs.
        behind = np.max([conductor.view.scope.weight[guests.machine] for conductor in path.own], axis=0) > 0
        sure, free = (rows[behind[guests.starting[rows]]] for rows in (sure, free))
        told = limits.add(f"voltage_drop:{wired.circuit.id}", "%", weight=np.max(weights, axis=0))
        if not runs_free:
            yield from lost.passing(own_phases, lost.running, running, told)
            yield from lost.left_behind(own_phases, lost.running, running, told)
        if not starts_free:
            yield from lost.passing(own_phases, lost.starts, starting, told)
            yield from lost.left_behind(own_phases, lost.starts, starting, told)
            yield from lost.passing(sure, lost.started, starting, told)
            yield from lost.passing(free, lost.running, starting, told)


def lost_alone(beside: Beside) -> Flags:
    """Rows of the guests with which too much is lost though nothing else is on, at the best hour; shape (rows,)."""
    day, guests = beside.day, beside.guests
    rules = day.resolved.household.supply.rules
    starting = guests.seconds > 0
    most = 100 * np.where(starting, rules.drop_starting, rules.drop_running)
    found = np.zeros(len(guests.which), dtype=bool)
    for wired in day.wired.values():
        if not has_cable(wired.circuit):
            continue
        path = feed_path(wired, day.wired)
        behind = np.max([conductor.view.scope.weight[guests.machine] for conductor in path.own], axis=0) > 0
        lost = [
            _percent(one, conductor, beside.drawn(conductor.view))
            - np.max(back_percent(one, conductor, path.t_ms[:-1]), initial=0.0)
            for one, conductor in path.parts
        ]
        # Its own starts count where they stand behind the circuit; on a feeder it shares it only runs.
        found |= (path.on_the_worse_leg(lost) > most * (1 + HAIR)) & (~starting | behind[guests.starting])
    return np.asarray(found)


@dataclass(frozen=True, eq=False)
class _Lost:
    """The way to a circuit, from an instant on; columns are given per part of it."""

    seen: Seen
    path: FeedPath

    @property
    def beside(self) -> Beside:
        """The guests."""
        return self.seen.beside

    def runs_free(self, most: float) -> bool:
        """However running draws fall together, no more is lost."""
        views = [conductor.view for _, conductor in self.path.parts]
        each_va = [self.seen.day(view).most_running.va + self.seen.mine(view).running.va for view in views]
        return self._most(each_va) <= most

    def starts_free(self, most: float) -> bool:
        """However starts fall together with what runs, and with one another, no more is lost.

        By the columns that are compared: a start stands on top of either side of zero there, whichever its view counts.
        """
        day_va = [self.seen.day(conductor.view).most_running.va for _, conductor in self.path.parts]
        if any(len(one.view.scheduled) or one.view.unscheduled for one in self.path.own):
            each = (self.started, self.starts)
            day_va = [max(va, *(most_of(kind[part].sums).va for kind in each)) for part, va in enumerate(day_va)]
        own_va = (self.seen.mine(conductor.view).started.va for _, conductor in self.path.parts)
        return self._most([va + own for va, own in zip(day_va, own_va, strict=True)]) <= most

    def _most(self, each_va: list[float]) -> float:
        """What is lost at most, in per cent, with so much in each part: all of it in phase."""
        percent = 0.0
        for (wired, conductor), va in zip(self.path.parts, each_va, strict=True):
            amperes = va * (1 + self.beside.uncertainty) / conductor.volts
            circuit = wired.circuit
            assert circuit.cable_m is not None  # only cabled circuits lose voltage
            assert circuit.conductor_mm2 is not None
            volts = drop_v(amperes, circuit.cable_m, circuit.conductor_mm2, IN_AND_OUT_OF_PHASE)
            percent += 100 * math.hypot(*volts.tolist()) / conductor.of_v
            percent -= min(float(np.min(back_percent(wired, conductor, self.path.t_ms[:-1]))), 0.0)
        return percent

    @cached_property
    def running(self) -> list[Columns]:
        """What runs."""
        t_ms = self.path.t_ms
        return self._at(np.flatnonzero(t_ms[1:] > self.beside.from_ms))

    @cached_property
    def started(self) -> list[Columns]:
        """With scheduled starts behind it in progress."""
        columns = self.running
        kicks = [plain(one) for one in self.path.starts_behind(columns[0].t_ms)]
        return [_with_start(one, kick) for one, kick in zip(columns, kicks, strict=True)]

    @cached_property
    def starts(self) -> list[Columns]:
        """Scheduled starts, and those that come by themselves."""
        running = self.running
        at_ms = running[0].t_ms
        kicks = [self.path.starts_behind(at_ms)]
        there = [np.any([np.abs(one.p_w) + np.abs(one.q_var) > 0 for one in kicks[0]], axis=0)]
        starters = [-1]
        pieces = self.beside.day.laid.pieces
        first = self.path.parts[0][1].view
        stretch = first.scope.stretch_at(at_ms)
        for start, may_be, extra in self.path.unscheduled(at_ms):
            place = int(pieces.appliance[start.piece])
            kicks.append(extra)
            there.append(may_be & self.seen.day(first).may_start(place, stretch))
            starters.append(place)
        found = []
        for part, columns in enumerate(running):
            chosen = [np.flatnonzero(one) for one in there]
            index = np.concatenate(chosen)
            added = [plain(kick[part]).take(one) for kick, one in zip(kicks, chosen, strict=True)]
            sums = Sums(np.concatenate([one.figures for one in added], axis=1))
            whose = np.repeat(starters, [len(one) for one in chosen])
            found.append(replace(_with_start(columns.take(index), sums), starter=whose))
        return found

    def _at(self, index: Instants) -> list[Columns]:
        t_ms, end_ms = self.path.t_ms[index], self.path.t_ms[index + 1]
        found = []
        for _, conductor in self.path.parts:
            day = self.seen.day(conductor.view)
            stretch = conductor.view.scope.stretch_at(t_ms)
            running = day.running.take(np.maximum(stretch - day.first, 0))
            found.append(replace(running, t_ms=t_ms, end_ms=end_ms, stretch=stretch))
        return found

    def passing(self, rows: Instants, columns: list[Columns], most: float, told: int) -> Iterator[Passing]:
        """Where too much is lost, in per cent."""
        if not len(rows) or not len(columns[0].t_ms):
            return
        for span, theirs in self.beside.by_span(rows):
            yield from self._passing_in(span, rows[theirs], columns, most, told)

    def left_behind(self, rows: Instants, columns: list[Columns], most: float, told: int) -> Iterator[Passing]:
        """The same without runs that are moved, where these made up for others."""
        if not len(rows) or not len(columns[0].t_ms):
            return
        if not any(self.beside.made_up_va(conductor.view) for _, conductor in self.path.parts):
            return
        for span in self.beside.own_runs.moving(np.unique(self.beside.guests.which[rows])):
            gone = [self.beside.own_runs.gone(one.view, span.which, span.numbers) for _, one in self.path.parts]
            before = [
                there.sums if one is None else there.sums - one.take(there.stretch)
                for there, one in zip(columns, gone, strict=True)
            ]
            use, was = self._lost(columns, before), self._lost(columns, [one.as_planned for one in columns])
            stays = staying(self.beside, span, columns[0])
            one = (stays & (use > most * (1 + HAIR)) & (use > was * (1 + HAIR))).nonzero()[0]
            if len(one):
                test, there = _of_most(told, most, columns[0]), columns[0].take(one)
                yield from absent(
                    self.beside, test, span, there, test.begin[one], test.end[one], test.level[one], use[one]
                )

    def _passing_in(
        self, span: Span, rows: Instants, columns: list[Columns], most: float, told: int
    ) -> Iterator[Passing]:
        beside, first = self.beside, columns[0]
        where = beside.there(span, rows[:, None], first, np.arange(len(first.t_ms)))
        before, with_it = list[Sums](), list[Sums]()
        is_other = any(one.planned is not None for one in columns)
        for (_, conductor), there in zip(self.path.parts, columns, strict=True):
            own = beside.drawn(conductor.view).rows(rows)
            gone = beside.gone(conductor.view, span, rows[:, None], there.stretch)
            before.append(there.sums.flat() if gone is None else there.sums.flat() - gone)
            with_it.append(own.upright() + before[-1])
            is_other |= gone is not None
        use, was = self._lost(columns, with_it), self._lost(columns, before)
        if is_other:  # what is gone may have made up for others
            was = np.minimum(was, self._lost(columns, [one.as_planned.flat() for one in columns]))
        row, column = (where & (use > most * (1 + HAIR)) & (use > was * (1 + HAIR))).nonzero()
        if len(row):
            test = _of_most(told, most, first)
            yield beside.found(
                test, span, rows[row], first.take(column), test.begin[column], test.end[column], test.level[column],
                use[row, column],
            )  # fmt: skip

    def _lost(self, columns: list[Columns], each: list[Sums]) -> Floats:
        """In per cent, with so much in each part."""
        parts = zip(self.path.parts, columns, each, strict=True)
        return self.path.on_the_worse_leg([
            _percent(wired, conductor, sums) - back_percent(wired, conductor, there.t_ms)
            for (wired, conductor), there, sums in parts
        ])  # fmt: skip


def _with_start(columns: Columns, start: Sums) -> Columns:
    """With a start in each of them, in the plan as well."""
    planned = None if columns.planned is None else columns.planned + start
    return replace(columns, sums=columns.sums + start, planned=planned)


def _of_most(told: int, most: float, columns: Columns) -> Comparison:
    """What may be lost, per column."""
    limit = np.full(len(columns.t_ms), most)
    return Comparison(told, 0, limit, limit, None, np.full(len(columns.t_ms), NEVER))


def _percent(wired: Wired, conductor: Conductor, sums: Sums) -> Floats:
    """As a feed path has it, before what comes back; uncertainty included."""
    circuit = wired.circuit
    assert circuit.cable_m is not None  # only cabled circuits lose voltage
    assert circuit.conductor_mm2 is not None
    cos_phi = np.minimum(np.maximum(sums.p_w / np.maximum(sums.va, HAIR), 0), 1)
    volts = drop_v(sums.use_va / conductor.volts, circuit.cable_m, circuit.conductor_mm2, cos_phi)
    return np.asarray(100 * volts / conductor.of_v)
