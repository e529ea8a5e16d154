"""A guest in the house: what it meets in each view, reckoned once for every limit that asks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain

import numpy as np

from app.engine.day import PlannedDay
from app.engine.draw import Draws
from app.engine.everything import most_on, ways_on
from app.engine.guest import Guest, guest_draws, guest_starts
from app.engine.readings import View
from app.engine.results import Flags, Floats, Instants
from app.engine.starts import Unscheduled
from app.engine.sums import Sums, plain, sums_of
from app.engine.worst import largest_of


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """A start while the guest runs, its own or a cycling load's: in which stretches, how long, and the total."""

    there: Flags
    seconds: float
    total: Draws


@dataclass(frozen=True, eq=False)
class Visit:
    """A guest in one view at instants of the day, shape (n,)."""

    day: PlannedDay
    guest: Guest
    view: View
    at_ms: Floats

    @cached_property
    def draws(self) -> Sums:
        """What it draws itself, phase by phase; shape (phases, n or 1)."""
        return guest_draws(self.day, self.guest, self.view.scope.weight, self.at_ms)

    @cached_property
    def totals(self) -> tuple[Draws, ...]:
        """The worst running draw with it, per phase; shape (n,) each."""
        return tuple(self._worst(phase, self._days) for phase in self._phases)

    @cached_property
    def most(self) -> tuple[Draws, ...]:
        """No less than it and any pattern of the plan draw, per phase; shape (n,) each."""
        if not self.view.scope.interlocked:
            return self.totals
        most = (most_on(self.view.scope).take(self._stretch),)
        return tuple(self._worst(phase, most) for phase in self._phases)

    @cached_property
    def starts(self) -> tuple[Moment, ...]:
        """Its own starts, in the order of the guest's."""
        everywhere = np.ones(len(self.at_ms), dtype=bool)
        own = guest_starts(self.day, self.guest, self.view.scope.weight, self.at_ms)
        return tuple(Moment(everywhere, seconds, self._worst(phase, self._days, more)) for seconds, phase, more in own)

    @cached_property
    def beside(self) -> dict[int, tuple[Moment, ...]]:
        """Starts of cycling loads beside it, by their piece: one in each of its phases."""
        return {start.piece: tuple(self._beside(start)) for start in self.view.unscheduled if len(start.stretch)}

    @property
    def moments(self) -> Iterator[Moment]:
        """Starts to be reckoned with; planned ones are left out."""
        yield from self.starts
        yield from chain.from_iterable(self.beside.values())

    def more_than_worst(self, total: Draws) -> Draws:
        """What a total is more than the worst running draw of the plan."""
        return total - self.view.scope.worst.take(self._stretch)

    def _beside(self, start: Unscheduled) -> Iterator[Moment]:
        scope = self.view.scope
        there, among = start.place_in(self._stretch)
        if not self._asks_for_more_than_watts:
            day = plain(start.total.take(among))
            for phase in self._phases:
                yield Moment(there, start.duration_s, self._worst(phase, (day,)))
            return
        cyclers, places = scope.cyclers, scope.cyclers.starting_with(start.place)
        kick = plain(cyclers.starts(places)) - sums_of(cyclers.draws.take(places), True)
        more = Sums(kick.figures.sum(axis=1, keepdims=True)).where(there)
        days = self._days
        if scope.interlocked:
            days = tuple(day.take(self._stretch) for day in ways_on(scope, starters=start.together))
        for phase in self._phases:
            yield Moment(there, start.duration_s, self._worst(phase, days, more))

    @cached_property
    def _days(self) -> tuple[Sums, ...]:
        """The worst running draw without it, in each way in which interlocks may let loads on; as `ways_on`."""
        scope = self.view.scope
        days = ways_on(scope) if self._asks_for_more_than_watts else (plain(scope.worst),)
        return tuple(day.take(self._stretch) for day in days)

    def _worst(self, phase: int, days: Sequence[Sums], more: Sums | None = None) -> Draws:
        """The worst of days with one of its phases; more: what starts, on the side of zero that counts meanwhile."""
        totals = []
        for day in days:
            running = day + self.draws.row(phase)
            totals.append((running if more is None else running + more).draws(running.leads))
        return largest_of(totals[0], totals[1:])

    @property
    def _phases(self) -> range:
        return range(len(self.draws.p_w))

    @cached_property
    def _asks_for_more_than_watts(self) -> bool:
        """Reactive power may turn the side of zero that counts, and any draw which member of an interlock is worst."""
        return self._is_reactive or any(one.is_mixed for one in self.view.scope.interlocked)

    @cached_property
    def _is_reactive(self) -> bool:
        """Only what draws reactive power can turn the side of zero that counts."""
        return bool(self.draws.figures[1:3].any())

    @cached_property
    def _stretch(self) -> Instants:
        return self.view.scope.stretch_at(self.at_ms)


@dataclass(frozen=True, slots=True, eq=False)
class Stay:
    """A guest in the whole house, at instants of the day, shape (n,)."""

    day: PlannedDay
    guest: Guest
    at_ms: Floats
    _visits: dict[View, Visit] = field(default_factory=dict)

    def visit(self, view: View) -> Visit:
        """The guest in one view."""
        if view not in self._visits:
            self._visits[view] = Visit(self.day, self.guest, view, self.at_ms)
        return self._visits[view]

    def touches(self, view: View) -> bool:
        """Something of it is seen there."""
        return bool(view.scope.weight[self.guest.machine].any())
