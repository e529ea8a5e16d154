"""The energy of the plan's day with a guest in it: followed as an assessment follows it, from when the guest begins."""

import numpy as np

from app.engine.bankday import plant_of, steps_of
from app.engine.beside import Beside
from app.engine.charge import BankDay
from app.engine.flows import Course, Given, More, State, course, given_of
from app.engine.results import Floats
from app.engine.sun import Sun
from app.engine.typical import share_on, typical_draw, typical_without
from app.household.fields import wall_clock_s


class WithGuest:
    """Days with one of some guests each; its own runs that it overlaps are this one, moved."""

    def __init__(self, beside: Beside, battery: BankDay, sun: Sun) -> None:
        """battery: of the plan, up to the guest as it is."""
        day = beside.day
        resolved = day.resolved
        self._beside, self._battery = beside, battery
        known_ms = float(resolved.frame.at_ms(wall_clock_s(resolved.day.state_of_charge_at)))
        self._known = State(resolved.day.start_state_of_charge)
        self._given = given_of(plant_of(resolved), steps_of(resolved, sun, typical_draw(day.laid), known_ms))
        edges_ms = self._given.edges_ms
        self._charge = np.interp(edges_ms, battery.edges_ms, battery.state_of_charge)
        runs = [(one.from_ms < edges_ms) & (edges_ms <= one.to_ms) for one in battery.generator]
        self._runs = np.any(runs or [edges_ms < 0], axis=0)
        self._drawn: dict[tuple[int, tuple[int, ...]], tuple[Given, Floats]] = {}
        self.count = 0  # of days that were followed

    def follow(self, which: int, begin_ms: float) -> Course:
        """How the charge goes from a little before a guest begins, at an instant of the day, to the horizon."""
        self.count += 1
        given, own_w = self._draw(which, self._beside.overlapped(which, begin_ms))
        more = More(begin_ms + self._beside.guests.guests[which].edge_ms, own_w)
        first = self._step(begin_ms)
        return course(given, self._state(first), first, more)

    def moves_others(self, which: int, from_ms: float, to_ms: float) -> bool:
        """Between two beginnings it comes to overlap another number of its own runs."""
        return any(from_ms < at_ms < to_ms for at_ms in self._beside.overlaps_turn_ms(which))

    def _step(self, begin_ms: float) -> int:
        """The step in which it begins, or the first, where nothing else tells how things stand."""
        if self._battery.expected.dark_ms is not None:
            return 0
        return max(int(self._given.edges_ms.searchsorted(begin_ms, side="right")) - 1, 0)

    def _state(self, step: int) -> State:
        """How things stand as a step begins: as without the guest."""
        return State(float(self._charge[step]), generator_on=bool(self._runs[step])) if step else self._known

    def _draw(self, which: int, moved: tuple[int, ...]) -> tuple[Given, Floats]:
        """The day without some of the guest's own runs; the guest's draw before, phase by phase, and after."""
        if (which, moved) not in self._drawn:
            guest, laid = self._beside.guests.guests[which], self._beside.day.laid
            gone, given = self._beside.pieces_of(which, moved), self._given
            if len(gone):
                given = given._replace(load_w=typical_without(laid, gone).mean_on(given.edges_ms))
            own_w = laid.rows.running.p_w[guest.pieces.row] * share_on(guest.pieces)
            self._drawn[which, moved] = given, np.concatenate(([0.0], own_w @ guest.on, [0.0]))
        return self._drawn[which, moved]
