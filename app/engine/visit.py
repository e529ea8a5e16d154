"""A guest in the house: what it meets in each view, reckoned once for every limit that asks."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain

import numpy as np

from app.engine.day import PlannedDay
from app.engine.draw import Draws
from app.engine.everything import everything_on, most_on
from app.engine.guest import Guest, guest_draws, guest_starts
from app.engine.readings import View
from app.engine.results import Flags, Floats, Instants
from app.engine.starts import Unscheduled
from app.engine.sums import Sums, plain, sums_of


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
        return tuple(running.draws(running.leads) for running in self._running)

    @cached_property
    def most(self) -> tuple[Draws, ...]:
        """No less than it and any pattern of the plan draw, per phase; shape (n,) each."""
        if not self.view.scope.interlocked:
            return self.totals
        return tuple(one.draws(one.leads) for one in self._with_phases(most_on(self.view.scope).take(self._stretch)))

    @cached_property
    def starts(self) -> tuple[Moment, ...]:
        """Its own starts, in the order of the guest's."""
        everywhere = np.ones(len(self.at_ms), dtype=bool)
        own = guest_starts(self.day, self.guest, self.view.scope.weight, self.at_ms)
        return tuple(Moment(everywhere, seconds, _start(self._running[phase], more)) for seconds, phase, more in own)

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
        if not self._is_reactive:
            for running in self._with_phases(plain(start.total.take(among))):
                yield Moment(there, start.duration_s, running.draws(running.leads))
            return
        cyclers, places = scope.cyclers, scope.cyclers.starting_with(start.place)
        kick = plain(cyclers.starts(places)) - sums_of(cyclers.draws.take(places), True)
        more = Sums(kick.figures.sum(axis=1, keepdims=True)).where(there)
        all_running = self._running
        if scope.interlocked:
            day = everything_on(scope, kept_apart=True, starters=start.together).take(self._stretch)
            all_running = self._with_phases(day)
        for running in all_running:
            yield Moment(there, start.duration_s, _start(running, more))

    @cached_property
    def _running(self) -> tuple[Sums, ...]:
        """The worst running draw with it, per phase, either side of zero kept apart."""
        scope = self.view.scope
        day = everything_on(scope, kept_apart=True) if self._is_reactive else plain(scope.worst)
        return self._with_phases(day.take(self._stretch))

    @cached_property
    def _is_reactive(self) -> bool:
        """Only what draws reactive power can turn the side of zero that counts."""
        return bool(self.draws.figures[1:3].any())

    def _with_phases(self, day: Sums) -> tuple[Sums, ...]:
        return tuple(day + self.draws.row(phase) for phase in range(len(self.draws.p_w)))

    @cached_property
    def _stretch(self) -> Instants:
        return self.view.scope.stretch_at(self.at_ms)


def _start(running: Sums, more: Sums) -> Draws:
    """A total in which something starts; the side of zero is the one that counts while it runs."""
    return (running + more).draws(running.leads)


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
