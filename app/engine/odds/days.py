"""Days as they may go: when the loads come and go, and what is drawn, instant by instant."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import Draws
from app.engine.kinds import Flags, Floats
from app.engine.odds.loads import Loads


@dataclass(frozen=True, slots=True)
class Time:
    """A part of the day. stretches: that are in it, in order. loads: that come and go in it.

    small: those among them that change nothing that is asked: what is drawn is not looked at as they come and go.
    """

    from_ms: float
    to_ms: float
    stretches: NDArray[np.intp]
    loads: NDArray[np.intp]
    small: frozenset[int] = frozenset()

    def size(self, loads: Loads) -> int:
        """How many instants it has, on a day."""
        return len(self.stretches) + sum(
            self.size_of(loads, load) for load in self.loads.tolist() if load not in self.small
        )

    def size_of(self, loads: Loads, load: int) -> int:
        """How many of them are a load's."""
        return 2 * len(self.periods(loads, load))

    def periods(self, loads: Loads, load: int) -> NDArray[np.intp]:
        """Numbers of a load's periods in which it may stand, counted from where the part begins."""
        stands, t_ms = self.stretches[loads.stand[load, self.stretches]], loads.scope.t_ms
        if not len(stands):
            return np.arange(0)
        into_ms = np.clip(t_ms[[stands[0], stands[-1] + 1]], self.from_ms, self.to_ms) - self.from_ms
        first, last = (into_ms / (loads.on_ms + loads.off_ms)[load]).tolist()
        return np.arange(math.floor(first), math.ceil(last) + 1)


@dataclass(frozen=True, eq=False)
class Days:
    """A part of some days. phase_ms: how far into its cycle each of its loads begins, shape (loads, days)."""

    loads: Loads
    time: Time
    phase_ms: Floats

    @cached_property
    def edges_ms(self) -> Floats:
        """Instants at which anything changes, in order; shape (days, n + 1)."""
        time, count = self.time, self.phase_ms.shape[1]
        edges = [np.broadcast_to(self.loads.scope.t_ms[time.stretches[1:]], (count, len(time.stretches) - 1))]
        edges += [np.broadcast_to(np.array([time.from_ms, time.to_ms]), (count, 2))]
        for load in time.loads.tolist():
            if load not in time.small:
                comes_ms = self.comes_ms(load)
                edges += [comes_ms, comes_ms + self.loads.on_ms[load]]
        found = np.clip(np.concatenate(edges, axis=1), time.from_ms, time.to_ms)
        found.sort(axis=1)
        return found

    @cached_property
    def middle_ms(self) -> Floats:
        """In the midst of each span between two of them, shape (days, n)."""
        return (self.edges_ms[:, 1:] + self.edges_ms[:, :-1]) / 2

    @cached_property
    def seconds(self) -> Floats:
        """How long each span is."""
        return np.diff(self.edges_ms, axis=1) / 1000

    @cached_property
    def draws(self) -> Draws:
        """What is drawn in each span."""
        return self.drawn(self.middle_ms)

    def comes_ms(self, load: int) -> Floats:
        """When a load comes on, shape (days, times); some may be before the part begins, or after it."""
        time, period_ms = self.time, self.loads.on_ms[load] + self.loads.off_ms[load]
        phase_ms = self.phase_ms[int(np.flatnonzero(time.loads == load)[0])]
        return np.asarray(time.from_ms - phase_ms[:, None] + period_ms * time.periods(self.loads, load))

    def drawn(self, at_ms: Floats, *, starters: Sequence[int] = ()) -> Draws:
        """What is drawn at instants, shape (days, n). starters: pieces that interlocks let on first."""
        loads, scope, time = self.loads, self.loads.scope, self.time
        stretch = scope.stretch_at(at_ms)
        certain = scope.certain.take(stretch)
        on = self._on(at_ms)
        if scope.interlocked:
            return loads.drawn(certain, on[loads.of_piece] & loads.stands[:, stretch], at_ms, starters=starters)
        figures = [certain.p_w, certain.q_var, certain.d_va, certain.spread_w2]
        for number, each in enumerate(loads.each):
            for load in np.flatnonzero(each[:, time.stretches].any(axis=1)).tolist():
                figures[number] = figures[number] + each[load][stretch] * on[load]
        return Draws(*figures)

    def _on(self, at_ms: Floats) -> Flags:
        """Which loads are on, or would be where they stand; shape (loads, days, n)."""
        loads, time = self.loads, self.time
        on = np.zeros((len(loads.on_ms), *at_ms.shape), dtype=bool)
        on[loads.off_ms <= 0] = True
        for phase_ms, load in zip(self.phase_ms, time.loads.tolist(), strict=True):
            periods = (at_ms - time.from_ms + phase_ms[:, None]) / (loads.on_ms[load] + loads.off_ms[load])
            on[load] = periods - np.floor(periods) < loads.share[load]
        return on


def phases_at_random(loads: Loads, time: Time, count: int, random: np.random.Generator) -> Floats:
    """How far into its cycle each load of a part begins on so many days."""
    period_ms = (loads.on_ms + loads.off_ms)[time.loads]
    return np.asarray(random.random((len(time.loads), count)) * period_ms[:, None])


def once(too_much: Flags, over: Flags) -> tuple[Flags, Flags]:
    """Where too much comes about, once until it is over; and where it has since it was last over.

    Shape (days, n) all, spans in order.
    """
    number = np.cumsum(over, axis=1)
    newest = np.maximum.accumulate(np.where(too_much, number, -1), axis=1)
    before = np.concatenate([np.full((len(too_much), 1), -1), newest[:, :-1]], axis=1)
    return too_much & (before < number), newest == number
