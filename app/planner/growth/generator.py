"""How much more a generator carries: what is added to a plan may have it start, and run while too much is on."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from app.engine.bankday import plant_of, steps_of
from app.engine.draw import HAIR
from app.engine.flows import Course, Given, More, State, course, given_of
from app.engine.moment import Inspection
from app.engine.results import Floats, Instants
from app.engine.sun import suns_of
from app.engine.typical import typical_draw
from app.household.fields import wall_clock_s

CLOSE = 1e-3  # what is told is this part, or a watt, below the most
QUARTERS = (0.25, 0.5, 0.75, 1.0)  # tried one after another: with less it may run at another time


@dataclass(frozen=True)
class Carried:
    """A plan's energy, followed with something steady in it.

    A plan without a generator, or whose battery is not known, carries anything.
    """

    inspection: Inspection

    def most_w(self, wanted_w: float, from_ms: int, to_ms: int) -> float:
        """The most of what is wanted that it carries from one instant to another, and of which it carries less too."""
        low, high = 0.0, 0.0
        for part in QUARTERS:
            high = part * wanted_w
            if not self.carries(high, from_ms, to_ms):
                break
            low = high
        while high - low > max(CLOSE * high, 1.0):
            middle = (low + high) / 2
            low, high = (middle, high) if self.carries(middle, from_ms, to_ms) else (low, middle)
        return low

    def carries(self, watts: float, from_ms: int, to_ms: int) -> bool:
        """The generator never runs while more than its rating is on, in the worst case.

        On a day on which it does so by itself, other times do not count.
        """
        if not self._asks:
            return True
        day = self.inspection.day
        generator = day.resolved.household.supply.generator
        assert generator is not None  # else nothing is asked
        scope, followed = day.house.scope, self._followed(watts, from_ms, to_ms)
        t_ms = np.unique(np.concatenate([scope.t_ms, followed.edges_ms, [from_ms, to_ms]]))
        t_ms = t_ms[t_ms >= followed.edges_ms[0]]
        runs = followed.generator_on[_place(followed.edges_ms, t_ms)]
        there = (t_ms[:-1] >= from_ms) & (t_ms[:-1] < to_ms)
        use_w = scope.worst.use_w[scope.stretch_at(t_ms[:-1])] + np.where(there, watts, 0.0) + generator.charger_w
        passed = runs & (use_w > generator.rated_w * (1 + HAIR))
        return not bool((passed & there if self.overloaded_by_itself else passed).any())

    @cached_property
    def overloaded_by_itself(self) -> bool:
        """The plan as it is has it run while more than its rating is on."""
        reading = self.inspection.assessment.limit("generator")
        return reading is not None and reading.verdict == "over"

    @cached_property
    def _asks(self) -> bool:
        generator = self.inspection.day.resolved.household.supply.generator
        return generator is not None and self.inspection.assessment.battery is not None

    def _followed(self, watts: float, from_ms: int, to_ms: int) -> Course:
        """As an assessment follows it."""
        more = More(np.array([from_ms, to_ms], dtype=float), np.array([0.0, watts, 0.0]))
        return course(self._given, State(self.inspection.day.resolved.day.start_state_of_charge), 0, more)

    @cached_property
    def _given(self) -> Given:
        day, resolved = self.inspection.day, self.inspection.day.resolved
        begin_ms = resolved.frame.at_ms(wall_clock_s(resolved.day.state_of_charge_at))
        sun = suns_of(resolved).expected
        return given_of(plant_of(resolved), steps_of(resolved, sun, typical_draw(day.laid), begin_ms))


def _place(edges_ms: Floats, finer_ms: Floats) -> Instants:
    """In which step each of some finer steps lies."""
    return np.asarray(edges_ms.searchsorted(finer_ms[:-1], side="right") - 1)
