"""After a power cut: everything that comes back by itself comes back at once."""

from __future__ import annotations

import math

from tests.oracle.home import Figures, bits, exceeds
from tests.oracle.limits import Judged, Limits, Tightest, ladder
from tests.oracle.reading import given, ms
from tests.oracle.starts import Moment


class ColdRestart:
    """The sum of starts, or running draws where there is none, of all that is in progress and restarts."""

    def __init__(self, limits: Limits) -> None:
        self.limits, self.home = limits, limits.home
        top = limits.rules["inverter"].levels[-1]
        both, verdicts = [], []
        for certain in (False, True):
            moments = [Moment(m.run, self.restarting(m.on), 0) for m in limits.day.running(certain)]
            found = limits.tightest(top, ((m, self.sum_of(bits(m.on)).va) for m in moments))
            both.append(found)
            # The limit may be lowest amid a moment, not as it begins.
            self.broken = self.limits.is_over(found) or any(self.trips(bits(m.on), m.run.begin_ms) for m in moments)
            kicks = [i for i in bits(found.moment.on) if self.home.draws[i].has_start] if found.moment else []
            measured = all(self.home.draws[i].basis == "measured" for i in kicks)
            verdicts.append((self.broken, limits.below(found, 0.10 if measured else 0.25)))
        (maybe, tight), (surely, tight_certain) = verdicts
        worst = both[0]
        self.judged = Judged(
            worst,
            both[1],
            ladder(surely, maybe, False, tight),
            ladder(surely, False, False, tight_certain),
            [self.sum_of(bits(m.on)) for m in worst.tied[:1]],
            {"switch_off": self.switch_off(worst)},
        )

    def restarting(self, on: int) -> int:
        return sum(1 << i for i in bits(on) if self.home.draws[i].restarts)

    def sum_of(self, members: list[int]) -> Figures:
        p = d = 0.0
        sides = [0.0, 0.0]  # with what comes and goes and lags, and with what leads: nobody knows which is on
        for draw in (self.home.draws[i] for i in members):
            own_p, own_q, own_d = (*draw.start, 0.0) if draw.has_start and draw.start else (draw.p, draw.q, draw.d)
            p, d = p + own_p, d + own_d
            for side, sign in enumerate((1, -1)):
                sides[side] += own_q if draw.cycle is None or own_q * sign > 0 else 0.0
        va = math.sqrt(p * p + max(q * q for q in sides) + d * d)
        return Figures(p, va, p, va)

    def trips(self, members: list[int], instant: int) -> bool:
        """Above the top level, or below the cut-off voltage for long enough."""
        figures = self.sum_of(members)
        if exceeds(figures.va, self.limits.rules["inverter"].levels[-1](instant)):
            return True
        inverter = self.home.inverter
        delay = ms(given(inverter, "cut_off_delay_s", 0))
        longest = max((self.home.draws[i].start_ms for i in members if self.home.draws[i].has_start), default=None)
        if delay > 0 and (longest is None or longest < delay):
            return False
        low = exceeds(inverter["cut_off_v"], self.home.terminal_v(figures.w))
        return bool(low) or not self.home.can_deliver(figures.w)

    def switch_off(self, worst: Tightest) -> list[str]:
        """Again and again the one whose leaving relieves most, until what is left no longer trips."""
        left = bits(worst.moment.on) if worst.moment else []
        order: list[str] = []
        while left and self.trips(left, worst.ats[0]):
            total = self.sum_of(left).va
            relief = {i: total - self.sum_of([j for j in left if j != i]).va for i in left}
            best = max(left, key=lambda i: (round(relief[i], 6), -i))
            left.remove(best)
            order.append(self.home.draws[best].appliance)
        return order
