"""How long a level stays passed: moments at which it comes to be are followed, event by event, until it is over.

How often it comes to be passed is exact; only for how long is drawn at random, so the figure is as good with
passings that are rare as with frequent ones. (Palm's view of a stationary process: see any text on point
processes.)
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR, Draws
from app.engine.heat import Check
from app.engine.kinds import Flags, Floats
from app.engine.odds.entries import Entries, entries_of
from app.engine.odds.passing import SEED, Passing
from app.engine.odds.under import UnderRule

FOLLOWED = 4096
ENOUGH = 200  # moments that lasted, to know how often to some seven per cent
MOST = 16_384
MOST_EVENTS = 20_000


@dataclass(frozen=True, slots=True)
class Lasted:
    """How often a level stays passed for longer than is allowed, per day; own: with each quantity still passing it."""

    per_day: float
    own: dict[int, float]


def lasting(passing: Passing, allowed_s: float) -> Lasted:
    """How often some line is passed for longer than allowed."""
    quantities = {check.quantity for check in passing.checks}
    random = np.random.default_rng(SEED)
    followed, too_long, own = 0, 0, dict.fromkeys(quantities, 0)
    while passing.longest_s > allowed_s and too_long < ENOUGH and followed < MOST:
        entries = entries_of(passing, MOST - FOLLOWED if followed else FOLLOWED, random)
        if entries is None:
            break
        round_of = _Followed(passing, entries, allowed_s * 1000, random)
        round_of.run()
        followed += len(entries.at_ms)
        too_long += round_of.too_long
        own = {one: own[one] + round_of.own[one] for one in quantities}
    each = passing.per_day / followed if followed else 0.0
    return Lasted(each * too_long, {one: each * count for one, count in own.items()})


class _Followed:
    """Moments that are followed, all side by side, shape (m,); those that are settled are dropped now and then."""

    def __init__(self, passing: Passing, entries: Entries, allowed_ms: float, random: np.random.Generator) -> None:
        self.under: UnderRule = passing.under
        self.loads = passing.under.loads
        self.checks: Sequence[Check] = passing.checks
        self.allowed_ms = allowed_ms * (1 + 1e-9)
        self.random = random
        self.begin_ms = entries.at_ms
        self.now_ms = entries.at_ms.copy()
        self.stretch = self.under.cells.stretch[entries.cell].copy()
        self.on = entries.on & self.loads.stand[:, self.stretch]
        self.on |= (self.loads.off_ms <= 0)[:, None] & self.loads.stand[:, self.stretch]
        left = random.random(self.on.shape)
        just = entries.trigger >= 0
        left[entries.trigger[just], np.flatnonzero(just)] = 1.0  # it came on, or went off, just now
        self.next_ms = self._next_ms(self.on, self.now_ms, left, self.stretch)
        self.figures = self._figures(slice(None))
        self.settled = np.zeros(len(self.now_ms), dtype=bool)
        self.just_begun = np.ones(len(self.now_ms), dtype=bool)  # a line that sinks may be passed only in a moment
        # Per quantity, how long after the beginning it was last passed.
        self.last_ms = {check.quantity: np.zeros(len(self.now_ms)) for check in self.checks}
        self.too_long = 0
        self.own = dict.fromkeys(self.last_ms, 0)

    def _next_ms(self, on: Flags, now_ms: Floats, left: Floats, stretch: NDArray[np.intp]) -> Floats:
        """When each load changes next, with such a part of its time left; never where it does not stand."""
        lasts_ms = np.where(on, self.loads.on_ms[:, None], self.loads.off_ms[:, None])
        changes = self.loads.stand[:, stretch] & (self.loads.off_ms > 0)[:, None]
        return np.where(changes, now_ms + left * lasts_ms, np.inf)

    def _figures(self, some: Any) -> Floats:
        """What is drawn: watts, var, distortion and spread, shape (4, some)."""
        loads, stretch, on = self.loads, self.stretch[some], self.on[:, some]
        certain = loads.scope.certain.take(stretch)
        if loads.scope.interlocked:
            drawn = loads.drawn(certain, on[loads.of_piece] & loads.stands[:, stretch], self.now_ms[some])
            return np.array([drawn.p_w, drawn.q_var, drawn.d_va, drawn.spread_w2])
        base = np.array([certain.p_w, certain.q_var, certain.d_va, certain.spread_w2])
        return np.asarray(base + np.einsum("klm,lm->km", loads.each[:, :, stretch], on.astype(float)))

    def run(self) -> None:
        """Follow them all."""
        for _ in range(MOST_EVENTS):
            self._go_on()
            if self.settled.sum() * 2 > len(self.settled):
                self._drop()
                if not len(self.settled):
                    return
        self._drop()

    def _go_on(self) -> None:
        """Follow them to their next event each."""
        first = np.zeros(len(self.now_ms), dtype=np.intp)
        if len(self.next_ms):
            first = self.next_ms.argmin(axis=0)
        event_ms = np.min(self.next_ms, axis=0, initial=np.inf)
        edge_ms = self.loads.scope.t_ms[self.stretch + 1]
        then_ms = np.minimum(event_ms, edge_ms)
        until_ms = self._passed_until(then_ms)
        held_ms = until_ms - self.begin_ms
        known = np.logical_and.reduce([last > self.allowed_ms for last in self.last_ms.values()])
        over = (until_ms < then_ms) | known | (self.stretch >= len(self.loads.scope.begin_ms) - 1)
        self.too_long += int((over & ~self.settled & (held_ms > self.allowed_ms)).sum())
        for quantity, last in self.last_ms.items():
            self.own[quantity] += int((over & ~self.settled & (last > self.allowed_ms)).sum())
        self.settled |= over
        self.now_ms = then_ms
        self._change(np.flatnonzero(~self.settled & (event_ms <= edge_ms)), first)
        self._move_on(np.flatnonzero(~self.settled & (edge_ms <= then_ms)))

    def _passed_until(self, then_ms: Floats) -> Floats:
        """Until when some line stays passed, from now to the next event; now where none is."""
        now_ms = self.now_ms
        use = self.under.quantities(Draws(*self.figures))
        until_ms = now_ms.copy()
        still = self.just_begun.copy()
        for check in self.checks:
            still |= use[check.quantity] > check.line.at(now_ms) * (1 + HAIR)
        self.just_begun[:] = False
        for check in self.checks:
            begin, end = check.line.at(now_ms), check.line.at(then_ms)
            mine = use[check.quantity]
            passed_now, passed_then = mine > begin * (1 + HAIR), (mine > end * (1 + HAIR)) & still
            # A line that rises lets go of it on the way; one that sinks past it holds it to the end.
            own_ms = np.where(passed_then, then_ms, now_ms)
            let_go = passed_now & ~passed_then
            if let_go.any():
                with np.errstate(divide="ignore", invalid="ignore"):
                    crossed_ms = now_ms + (mine - begin) / (end - begin) * (then_ms - now_ms)
                own_ms = np.where(let_go, crossed_ms, own_ms)
            passed = passed_now | passed_then
            last = self.last_ms[check.quantity]
            self.last_ms[check.quantity] = np.where(passed & ~self.settled, own_ms - self.begin_ms, last)
            until_ms = np.maximum(until_ms, np.where(passed, own_ms, now_ms))
        return until_ms

    def _change(self, some: NDArray[np.intp], first: NDArray[np.intp]) -> None:
        """In some a load comes on or goes off."""
        loads, which = self.loads, first[some]
        comes = ~self.on[which, some]
        self.on[which, some] = comes
        self.next_ms[which, some] += np.where(comes, loads.on_ms[which], loads.off_ms[which])
        if loads.scope.interlocked:
            self.figures[:, some] = self._figures(some)
        else:
            self.figures[:, some] += np.where(comes, 1.0, -1.0) * loads.each[:, which, self.stretch[some]]

    def _move_on(self, some: NDArray[np.intp]) -> None:
        """In some the plan changes: loads begin to stand, at a random point of their period, or stand no longer."""
        if not len(some):
            return
        loads, before, after = self.loads, self.stretch[some], self.stretch[some] + 1
        begins = loads.stand[:, after] & ~loads.stand[:, before]
        fresh = self.random.random(begins.shape) < loads.share[:, None]
        on = np.where(begins, fresh, self.on[:, some]) & loads.stand[:, after]
        left = self.random.random(begins.shape)
        again_ms = self._next_ms(on, self.now_ms[some], left, after)
        gone = ~loads.stand[:, after]
        self.next_ms[:, some] = np.where(begins | gone, again_ms, self.next_ms[:, some])
        self.on[:, some], self.stretch[some] = on, after
        self.figures[:, some] = self._figures(some)

    def _drop(self) -> None:
        """Forget those that are settled."""
        kept = ~self.settled
        self.begin_ms, self.now_ms, self.stretch = self.begin_ms[kept], self.now_ms[kept], self.stretch[kept]
        self.on, self.next_ms, self.figures = self.on[:, kept], self.next_ms[:, kept], self.figures[:, kept]
        self.last_ms = {quantity: last[kept] for quantity, last in self.last_ms.items()}
        self.settled, self.just_begun = self.settled[kept], self.just_begun[kept]
