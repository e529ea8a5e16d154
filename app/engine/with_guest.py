"""The energy of the plan's day with a guest in it: followed as an assessment follows it, from when the guest begins."""

import numpy as np

from app.engine.bankday import plant_of, steps_of
from app.engine.beside import Beside
from app.engine.charge import BankDay
from app.engine.flows import Flows, State, given_of, happened
from app.engine.results import Floats
from app.engine.sun import Sun
from app.engine.typical import Profile, share_on, typical_draw, typical_without
from app.household.fields import wall_clock_s


class WithGuest:
    """Days with one of some guests each; its own runs that it overlaps are this one, moved."""

    def __init__(self, beside: Beside, battery: BankDay, sun: Sun) -> None:
        """battery: of the plan, up to the guest as it is."""
        day = beside.day
        resolved = day.resolved
        self._beside, self._battery, self._plant = beside, battery, plant_of(resolved)
        self._known_ms = float(resolved.frame.at_ms(wall_clock_s(resolved.day.state_of_charge_at)))
        self._known = State(resolved.day.start_state_of_charge)
        self._given = given_of(self._plant, steps_of(resolved, sun, typical_draw(day.laid), self._known_ms))
        self._drawn: dict[tuple[int, tuple[int, ...]], tuple[Profile, Floats, Floats]] = {}
        self.count = 0  # of days that were followed

    def follow(self, which: int, begin_ms: float) -> Flows:
        """What happens from a little before a guest begins, at an instant of the day, to the horizon."""
        self.count += 1
        given, (from_ms, state) = self._given, self._before(begin_ms)
        others, means_w, own_w = self._draw(which, self._beside.overlapped(which, begin_ms))
        # Only while the guest is on are there other edges than without it.
        own_ms, steps_ms = begin_ms + self._beside.guests.guests[which].edge_ms, given.edges_ms
        own_ms = own_ms[own_ms < steps_ms[-1]]
        first, after = steps_ms.searchsorted((from_ms, begin_ms + self._beside.guests.guests[which].edge_ms[-1]))
        after = min(int(after), len(steps_ms) - 1)
        near_ms = np.unique(np.concatenate((steps_ms[first : after + 1], own_ms[own_ms > from_ms])))
        middle_ms = (near_ms[:-1] + near_ms[1:]) / 2
        phase = own_ms.searchsorted(middle_ms, side="right") - 1
        near_w = others.mean_on(near_ms) + own_w[np.where(phase < len(own_w) - 1, phase, -1)]
        edges_ms = np.concatenate((near_ms, steps_ms[after + 1 :]))
        of = np.concatenate((steps_ms.searchsorted(middle_ms) - 1, np.arange(after, len(steps_ms) - 1)))
        load_w = np.concatenate((near_w, means_w[after:]))
        return happened(self._plant, given.with_load(edges_ms, of, load_w), state)

    def moves_others(self, which: int, from_ms: float, to_ms: float) -> bool:
        """Between two beginnings it comes to overlap another number of its own runs."""
        return any(from_ms < at_ms < to_ms for at_ms in self._beside.overlaps_turn_ms(which))

    def _before(self, begin_ms: float) -> tuple[float, State]:
        """The last step's edge before a beginning, and how things stand there: as without the guest."""
        battery, steps_ms = self._battery, self._given.edges_ms
        edge_ms = float(steps_ms[max(int(steps_ms.searchsorted(begin_ms, side="right")) - 1, 0)])
        if edge_ms <= self._known_ms or battery.expected.dark_ms is not None:
            return self._known_ms, self._known
        runs = any(one.from_ms < edge_ms <= one.to_ms for one in battery.generator)
        return edge_ms, State(battery.charge_at(edge_ms), generator_on=runs)

    def _draw(self, which: int, moved: tuple[int, ...]) -> tuple[Profile, Floats, Floats]:
        """What the plan draws without some of the guest's own runs, and step by step; the guest's phases, and nothing.

        With nothing at the end, for before and after.
        """
        if (which, moved) not in self._drawn:
            guest, laid = self._beside.guests.guests[which], self._beside.day.laid
            gone = self._beside.pieces_of(which, moved)
            others = typical_without(laid, gone) if len(gone) else typical_draw(laid)
            own_w = laid.rows.running.p_w[guest.pieces.row] * share_on(guest.pieces)
            self._drawn[which, moved] = others, others.mean_on(self._given.edges_ms), np.append(own_w @ guest.on, 0.0)
        return self._drawn[which, moved]
