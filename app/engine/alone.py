"""Whether an appliance is too much with nothing else on at all."""

from functools import cached_property

import numpy as np

from app.engine.beside import Beside, Comparison
from app.engine.draw import HAIR
from app.engine.drops import lost_alone
from app.engine.heat import Rule, exceeds, store_s
from app.engine.pressing import tests_of
from app.engine.results import Flags, Floats, Instants
from app.engine.sums import Sums
from app.engine.told import UNSURE, Limits


class Alone:
    """Some guests, each by itself, at the best hour of the day.

    What of one comes and goes is taken as on, for sooner or later it is; by time only what is on throughout counts.
    """

    def __init__(self, beside: Beside) -> None:
        self._beside = beside

    def too_much(self, which: int) -> bool:
        """It breaks a limit by itself: running, starting, or by its time."""
        day, guests = self._beside.day, self._beside.guests
        rows = np.flatnonzero(guests.which == which)
        rows = rows[[not guests.standing[row] for row in rows.tolist()]]
        if self._breaking[rows].any():
            return True
        phases = rows[guests.starting[rows] < 0]
        views = [(day.house, day.rule), *((view, day.leg_rule) for view in day.legs.values())]
        return any(
            self._too_long(phases, self._beside.drawn(view, certain=True).rows(phases), rule) for view, rule in views
        )

    @cached_property
    def _breaking(self) -> Flags:
        """Rows of the guests that break a limit at once."""
        beside, guests = self._beside, self._beside.guests
        broken = np.zeros(len(guests.which), dtype=bool)
        for view, tests in tests_of(beside.day, Limits()):
            own = beside.drawn(view)
            use = (own.use_w, own.use_va)
            for starting, some in ((False, tests.running), (True, tests.starting)):
                for test in some:
                    if test.level.max() >= UNSURE:
                        broken |= _breaks(test, use, guests.seconds) & ((guests.seconds > 0) == starting)
        return np.asarray(broken | lost_alone(beside))

    def _too_long(self, phases: Instants, own: Sums, rule: Rule) -> bool:
        """Some store holds too much after its own run alone."""
        guests, use = self._beside.guests, (own.use_w, own.use_va)
        seconds = (guests.until_ms[phases] - guests.from_ms[phases])[None, :] / 1000
        for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
            above = [exceeds(use[check.quantity], float(check.line.value.max())) for check in rule.of_store(store)]
            filling = np.asarray(np.any(above, axis=0))[None, :]
            if filling.any() and exceeds(store_s(seconds, filling, allowed_s, cooling_s), allowed_s).any():
                return True
        return False


def _breaks(test: Comparison, use: tuple[Floats, Floats], seconds: Floats) -> Flags:
    over = exceeds(use[test.quantity], float(max(test.begin.max(), test.end.max())))
    return over if test.longer_than_s is None else over & (seconds > test.longer_than_s * (1 + HAIR))
