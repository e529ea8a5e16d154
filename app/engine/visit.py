"""A guest in the house: what it meets in each view, reckoned once for every limit that asks."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from app.engine.day import PlannedDay
from app.engine.draw import Draws
from app.engine.guest import Guest, guest_draws, guest_starts
from app.engine.readings import View
from app.engine.results import Flags, Floats


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
    def draws(self) -> Draws:
        """What it draws itself, phase by phase; shape (phases, n or 1)."""
        return guest_draws(self.day, self.guest, self.view.scope.weight, self.at_ms)

    @cached_property
    def totals(self) -> tuple[Draws, ...]:
        """The worst running draw with it, per phase; shape (n,) each."""
        return tuple(self._worst + self.draws.take(phase) for phase in range(len(self.draws.p_w)))

    @cached_property
    def starts(self) -> list[tuple[float, Draws]]:
        """Its own starts, as in `guest_starts`."""
        return guest_starts(self.day, self.guest, self.view.scope.weight, self.at_ms)

    @cached_property
    def moments(self) -> tuple[Moment, ...]:
        """Starts to be reckoned with; planned ones are left out."""
        return tuple(self._moments())

    def _moments(self) -> Iterator[Moment]:
        for seconds, draws in self.starts:
            yield Moment(np.ones(len(self.at_ms), dtype=bool), seconds, self._worst + draws)
        stretch = self.view.scope.stretch_at(self.at_ms)
        for start in self.view.unscheduled:
            if not len(start.stretch):
                continue
            there, place = start.place_in(stretch)
            total = start.total.take(place)
            for phase in range(len(self.draws.p_w)):
                yield Moment(there, start.duration_s, total + self.draws.take(phase))

    @cached_property
    def _worst(self) -> Draws:
        return self.view.scope.worst.take(self.view.scope.stretch_at(self.at_ms))


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
