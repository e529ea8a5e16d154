"""The energy of the plan's day with a guest in it: followed as an assessment follows it, from when the guest begins."""

import numpy as np

from app.engine.bankday import plant_of, steps_of
from app.engine.beside import Beside
from app.engine.charge import BankDay
from app.engine.flows import Course, Given, More, State, course, given_of
from app.engine.guests import as_called
from app.engine.results import Floats
from app.engine.sun import Sun
from app.engine.typical import share_on, typical_draw
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
        self._moved: dict[tuple[int, tuple[int, ...]], Given] = {}
        self._own: dict[int, tuple[Floats, Floats]] = {}
        self.count = 0  # of days that were followed

    def follow(self, which: int, begin_ms: float) -> Course:
        """How the charge goes from a little before a guest begins, at an instant of the day, to the horizon."""
        self.count += 1
        moved = self._beside.own_runs.overlapped(which, begin_ms)
        first = self._step(begin_ms)
        return course(self._without(which, moved), self._state(first), first, self._more(which, moved, begin_ms))

    def moves_others(self, which: int, from_ms: float, to_ms: float) -> bool:
        """Between two beginnings it comes to overlap another number of its own runs."""
        return any(from_ms < at_ms < to_ms for at_ms in self._beside.own_runs.turns_ms(which))

    def _step(self, begin_ms: float) -> int:
        """The step in which it begins, or the first, where nothing else tells how things stand."""
        if self._battery.expected.dark_ms is not None:
            return 0
        return max(int(self._given.edges_ms.searchsorted(begin_ms, side="right")) - 1, 0)

    def _state(self, step: int) -> State:
        """How things stand as a step begins: as without the guest."""
        return State(float(self._charge[step]), generator_on=bool(self._runs[step])) if step else self._known

    def _without(self, which: int, moved: tuple[int, ...]) -> Given:
        """The day without some of the guest's own runs."""
        if not moved:
            return self._given
        if (which, moved) not in self._moved:
            draw = typical_draw(self._beside.own_runs.without(which, moved))
            self._moved[which, moved] = self._given._replace(load_w=draw.mean_on(self._given.edges_ms))
        return self._moved[which, moved]

    def _more(self, which: int, moved: tuple[int, ...], begin_ms: float) -> More:
        """What the guest draws; it and what it sets off are one machine each: nothing more where that stands."""
        guest = self._beside.guests.guests[which]
        if which not in self._own:
            own_w = self._beside.day.rows.running.p_w[guest.pieces.row] * share_on(guest.pieces)
            self._own[which] = own_w, np.concatenate(([0.0], own_w @ guest.on, [0.0]))
        own_w, phases_w = self._own[which]
        edges_ms, laid = begin_ms + guest.edge_ms, self._beside.own_runs.without(which, moved)
        there = np.isin(laid.pieces.appliance, np.unique(guest.machine))
        if not there.any():
            return More(edges_ms, phases_w)
        turns_ms = np.concatenate((laid.pieces.begin_ms[there], laid.pieces.end_ms[there])).astype(float)
        turns_ms = turns_ms[(turns_ms > edges_ms[0]) & (turns_ms < edges_ms[-1])]
        cut_ms = np.union1d(edges_ms, turns_ms)
        called = np.array([as_called(guest, piece) for piece in range(len(guest.machine))])
        stands = self._beside.stands(cut_ms[:-1], laid, np.unique(called).tolist())
        on = guest.on[:, edges_ms.searchsorted(cut_ms[:-1], side="right") - 1]
        for piece, machine in enumerate(called.tolist()):
            on[piece] &= ~stands[machine]
        return More(cut_ms, np.concatenate(([0.0], own_w @ on, [0.0])))
