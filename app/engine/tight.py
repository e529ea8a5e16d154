"""What fits, and leaves less of the inverter's hours than is wanted."""

from functools import cached_property

import numpy as np

from app.engine.beside import Beside
from app.engine.curve import Line
from app.engine.draw import HAIR
from app.engine.everything import everything_on
from app.engine.inverter import VOLT_AMPERES, WATTS, steady_line
from app.engine.locked import Side
from app.engine.results import Flags
from app.engine.sums import Sums


class Tight:
    """Some guests at one instant of a day, beside everything that it may have on."""

    def __init__(self, beside: Beside, at_ms: float) -> None:
        self._beside, self._day, self._at_ms = beside, beside.day, at_ms

    def is_tight(self, which: int) -> bool:
        """A guest that begins then leaves less than wanted at some time."""
        day, scope, guest = self._day, self._day.house.scope, self._beside.guests.guests[which]
        if not self._may_be[which]:
            return False
        share, lines = self._wanted
        drawn = self._beside.drawn(day.house).rows(np.flatnonzero(self._phases & (self._beside.guests.which == which)))
        edges_ms = self._at_ms + guest.edge_ms
        inside = (scope.t_ms > edges_ms[0]) & (scope.t_ms < edges_ms[-1])
        t_ms = np.sort(np.concatenate((edges_ms, scope.t_ms[inside])))  # some twice, which is no time at all
        t_ms = t_ms[t_ms <= scope.t_ms[-1]]
        phase = edges_ms.searchsorted(t_ms[:-1], side="right") - 1
        own = drawn.take(phase)
        own_runs = self._beside.own_runs
        moved = own_runs.gone(day.house, which, own_runs.overlapped(which, self._at_ms))
        members = self._beside.kept_apart(which)
        most = self._most if members is None else Side(members, others_off=True).worst(day.house)
        others = most if moved is None else most - moved
        total = own + others.take(scope.stretch_at(t_ms[:-1]))
        for line, use in zip(lines, (total.use_w, total.use_va), strict=True):
            limit = line.at(t_ms)
            if (own.p_w > 0)[use > np.minimum(limit[:-1], limit[1:]) * share * (1 + HAIR)].any():
                return True
        return False

    @cached_property
    def _most(self) -> Sums:
        """Everything the plan may have on; a guest that leads may make the other side of zero count."""
        return everything_on(self._day.house.scope, kept_apart=True)

    @cached_property
    def _phases(self) -> Flags:
        """Which rows of the guests are their phases, with everything they set off coming on with them."""
        guests = self._beside.guests
        alone = np.array([not standing for standing in guests.standing], dtype=bool)
        return np.asarray(alone & (guests.starting < 0))

    @cached_property
    def _wanted(self) -> tuple[float, list[Line]]:
        """What of the inverter's hours may be drawn if enough is to be left; the hours in watts and volt-amperes."""
        rule = self._day.rule
        return 1 - self._day.resolved.day.wanted_margin, [steady_line(rule, one) for one in (WATTS, VOLT_AMPERES)]

    @cached_property
    def _may_be(self) -> Flags:
        """Guests of whom some phase, with the most that is on during it, comes near what is wanted; shape (guests,)."""
        scope, guests, phases = self._day.house.scope, self._beside.guests, np.flatnonzero(self._phases)
        own, (share, lines) = self._beside.drawn(self._day.house).take(phases), self._wanted
        first, last = (scope.stretch_at(self._at_ms + at_ms[phases]) for at_ms in (guests.from_ms, guests.until_ms))
        during = np.stack((first, last + 1), axis=1).ravel()
        most_w, most_va = (
            np.maximum.reduceat(np.append(most, 0.0), during)[::2] for most in (scope.worst.use_w, scope.worst.va)
        )
        near = own.use_w + most_w > share * lines[0].lowest
        near |= (own.va + most_va) * (1 + self._beside.uncertainty) > share * lines[1].lowest
        return np.bincount(guests.which[phases[near]], minlength=len(guests.guests)) > 0
