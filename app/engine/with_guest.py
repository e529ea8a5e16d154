"""The energy of the plan's day with a guest in it: followed as an assessment follows it, from when the guest begins."""

import numpy as np

from app.engine.bankday import plant_of, steps_of
from app.engine.beside import Beside
from app.engine.charge import BankDay
from app.engine.flows import Flows, State, Steps, flows
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
        self._steps = steps_of(resolved, sun, typical_draw(day.laid), self._known_ms)
        self._drawn: dict[tuple[int, tuple[int, ...]], tuple[Profile, Floats]] = {}
        self.count = 0  # of days that were followed

    def follow(self, which: int, begin_ms: float) -> Flows:
        """What happens from a little before a guest begins, at an instant of the day, to the horizon."""
        self.count += 1
        steps, (from_ms, state) = self._steps, self._before(begin_ms)
        others, own_w = self._draw(which, self._beside.overlapped(which, begin_ms))
        own_ms = begin_ms + self._beside.guests.guests[which].edge_ms
        edges_ms = np.concatenate(([from_ms], steps.edges_ms, own_ms))
        edges_ms = np.unique(edges_ms[(edges_ms >= from_ms) & (edges_ms <= steps.edges_ms[-1])])
        middle_ms = (edges_ms[:-1] + edges_ms[1:]) / 2
        of = steps.edges_ms.searchsorted(middle_ms) - 1
        phase = own_ms.searchsorted(middle_ms, side="right") - 1
        there = (phase >= 0) & (phase < len(own_w) - 1)
        load_w = others.mean_on(edges_ms) + own_w[np.where(there, phase, -1)]
        given = Steps(
            edges_ms, load_w, steps.dc_w[:, of], steps.controller_a, steps.ac_w[of], steps.charge_factor[of],
            steps.through_w[of],
        )  # fmt: skip
        return flows(self._plant, given, state)

    def moves_others(self, which: int, from_ms: float, to_ms: float) -> bool:
        """Between two beginnings it comes to overlap another number of its own runs."""
        return any(from_ms < at_ms < to_ms for at_ms in self._beside.overlaps_turn_ms(which))

    def _before(self, begin_ms: float) -> tuple[float, State]:
        """The last step's edge before a beginning, and how things stand there: as without the guest."""
        battery, steps_ms = self._battery, self._steps.edges_ms
        edge_ms = float(steps_ms[max(int(steps_ms.searchsorted(begin_ms, side="right")) - 1, 0)])
        if edge_ms <= self._known_ms or battery.expected.dark_ms is not None:
            return self._known_ms, self._known
        runs = any(one.from_ms < edge_ms <= one.to_ms for one in battery.generator)
        return edge_ms, State(battery.charge_at(edge_ms), generator_on=runs)

    def _draw(self, which: int, moved: tuple[int, ...]) -> tuple[Profile, Floats]:
        """What the plan draws without some of the guest's own runs, and the guest in its phases, then nothing."""
        if (which, moved) not in self._drawn:
            guest, laid = self._beside.guests.guests[which], self._beside.day.laid
            gone = self._beside.pieces_of(which, moved)
            others = typical_without(laid, gone) if len(gone) else typical_draw(laid)
            own_w = laid.rows.running.p_w[guest.pieces.row] * share_on(guest.pieces)
            self._drawn[which, moved] = others, np.append(own_w @ guest.on, 0.0)
        return self._drawn[which, moved]
