"""Moments at which a level comes to be passed, followed side by side, event by event, for as long as is allowed.

A load whose change would end it at once is held as it is, and what is followed counts by how likely that was: so
few come to nothing. (Conditional Monte Carlo; see any text on simulation.)
"""

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR, Draws
from app.engine.kinds import Flags, Floats
from app.engine.odds.broken import Broken, Lasting, together
from app.engine.odds.entries import BY_PLAN, Entries
from app.engine.odds.passing import Passing

MOST_EVENTS = 2000  # of one moment; what goes on after so many is taken to last
A_MOMENT_MS = 1e-3
NEVER_MS = 1e12
MOST_HELD = 24  # loads; of more it takes longer to see which would end it than is gained
NONE = np.zeros(0, dtype=np.intp)


class Followed:
    """Moments that are followed, shape (m,); those that are settled are dropped now and then.

    weight: how likely it was that the loads that were held stayed as they are.
    """

    def __init__(self, passing: Passing, entries: Entries, allowed_ms: float, random: np.random.Generator) -> None:
        self.under, self.loads, self.checks = passing.under, passing.under.loads, passing.checks
        self.allowed_ms, self.random = allowed_ms, random
        self.begin_ms, self.now_ms = entries.at_ms, entries.at_ms.copy()
        self.stretch = self.under.cells.stretch[entries.cell].copy()
        self.on = entries.on & self._there(self.stretch)
        self.next_ms, self.latest_ms = self._changes(self.on, self.now_ms, self.stretch)
        just = np.flatnonzero(entries.trigger != BY_PLAN)
        which = entries.trigger[just]
        self.next_ms[which, just] = self.latest_ms[which, just]  # it came on, or went off, just now
        self.weight = entries.weight.copy()
        self.number = np.arange(len(self.now_ms))
        self._look(np.arange(len(self.now_ms)))
        self.settled = np.zeros(len(self.now_ms), dtype=bool)
        self.just_begun = np.ones(len(self.now_ms), dtype=bool)  # a line that sinks may be passed only in a moment
        # Per quantity, how long after the beginning it was last passed.
        self.last_ms = {check.quantity: np.zeros(len(self.now_ms)) for check in self.checks}
        self.noted = np.zeros(len(self.now_ms), dtype=bool)  # once it has been so for too long
        self._notes: list[tuple[NDArray[np.intp], Broken]] = []
        self._long: list[tuple[NDArray[np.intp], Floats, Floats]] = []

    def _changes(self, on: Flags, now_ms: Floats, stretch: NDArray[np.intp]) -> tuple[Floats, Floats]:
        """When each load changes next, at random, and when at the latest; never where it does not stand."""
        loads = self.loads
        lasts_ms = loads.off_ms[:, None] + on * (loads.on_ms - loads.off_ms)[:, None]
        changes = self._there(stretch) & (loads.off_ms > 0)[:, None]
        if not changes.all():
            lasts_ms[~np.broadcast_to(changes, on.shape)] = NEVER_MS
        next_ms = self.random.random(on.shape)
        np.subtract(1, next_ms, out=next_ms)
        next_ms *= lasts_ms
        next_ms += now_ms
        lasts_ms += now_ms
        return next_ms, lasts_ms

    def _there(self, stretch: NDArray[np.intp]) -> Flags:
        """Which loads stand in stretches, shape (loads, m); (loads, 1) where the same do all day."""
        stand = self.loads.stand
        return stand[:, :1] if self.loads.alike else stand[:, stretch]

    def _figures(self, some: NDArray[np.intp]) -> Floats:
        """What is drawn: watts, var, distortion and spread, shape (4, some)."""
        loads, stretch, on = self.loads, self.stretch[some], self.on[:, some]
        certain = loads.scope.certain.take(stretch)
        if loads.scope.interlocked:
            drawn = loads.drawn(certain, on[loads.of_piece] & loads.stands[:, stretch], self.now_ms[some])
            return np.array([drawn.p_w, drawn.q_var, drawn.d_va, drawn.spread_w2])
        base = np.array([certain.p_w, certain.q_var, certain.d_va, certain.spread_w2])
        if loads.alike:
            return np.asarray(base + np.einsum("kl,lm->km", loads.each[:, :, 0], on.astype(float)))
        return np.asarray(base + np.einsum("klm,lm->km", loads.each[:, :, stretch], on.astype(float)))

    def _look(self, some: NDArray[np.intp]) -> None:
        """See what is drawn in some, in the stretch in which they are now."""
        if len(some) == len(self.now_ms):
            self.figures = self._figures(some)
        else:
            self.figures[:, some] = self._figures(some)

    def run(self) -> None:
        """Follow them all."""
        for _ in range(MOST_EVENTS):
            self._go_on()
            if self.settled.sum() * 4 > len(self.settled):
                self._drop()
                if not len(self.settled):
                    return
        for last in self.last_ms.values():
            last[:] = np.inf
        left = (~self.settled).nonzero()[0]
        self._note(left[~self.noted[left]])
        self._count(left)

    def _go_on(self) -> None:
        """Follow them to their next event each."""
        edge_ms = self.loads.scope.t_ms[self.stretch + 1]
        stop_ms = self.begin_ms + self.allowed_ms + A_MOMENT_MS
        waiting = self.now_ms < stop_ms
        if not self.under.flat and self.just_begun.any():
            waiting &= self._begun()
        stop_ms = np.where(waiting, np.minimum(stop_ms, edge_ms), edge_ms)
        held = self._held(waiting, stop_ms)
        free_ms = self.next_ms.copy()
        free_ms.put(held, np.inf)
        then_ms = np.minimum(free_ms.min(axis=0, initial=np.inf), stop_ms)
        self._hold(held, then_ms)
        until_ms = self._passed_until(then_ms)
        over = self._known()
        over |= until_ms < then_ms
        over |= self.weight <= 0
        at_an_edge = edge_ms <= then_ms
        over |= at_an_edge & (self.stretch >= len(self.loads.scope.begin_ms) - 1)
        self.now_ms = then_ms
        self._note(((until_ms - self.begin_ms > self.allowed_ms) & ~(self.noted | self.settled)).nonzero()[0])
        self._settle(over, until_ms)
        # No two loads change in one instant, for each is at a random point of its own.
        self._change((free_ms <= np.where(self.settled, -np.inf, then_ms)).ravel().nonzero()[0])
        self._move_on((at_an_edge & ~self.settled).nonzero()[0])

    def _known(self) -> Flags:
        """Where every quantity was passed for too long."""
        first, *others = (last > self.allowed_ms for last in self.last_ms.values())
        for one in others:
            first &= one
        return first

    def _settle(self, over: Flags, until_ms: Floats) -> None:
        """Nothing more is to be seen of some; of these, those that lasted too long until then count."""
        long = over & (until_ms - self.begin_ms > self.allowed_ms)
        long &= ~self.settled
        self._count(long.nonzero()[0])
        self.settled |= over

    def _begun(self) -> Flags:
        """Where a line is passed by now: in the middle of its cell it is, and one that sinks not always before."""
        draws, passed = Draws(*self.figures), ~self.just_begun
        for check in self.checks:
            passed |= self.under.quantities[check.quantity](draws) > check.line.at(self.now_ms) * (1 + HAIR)
        return passed

    def _note(self, some: NDArray[np.intp]) -> None:
        """Some have lasted too long just now: note what each load has been doing."""
        if not len(some):
            return
        on, now_ms = self.on[:, some], self.now_ms[some]
        lasts_ms = np.where(on, self.loads.on_ms[:, None], self.loads.off_ms[:, None])
        since_ms = lasts_ms - (self.next_ms[:, some] - now_ms)
        broken = Broken(now_ms, self.stretch[some], on.T, since_ms.T, self.weight[some])
        self._notes.append((self.number[some], broken))
        self.noted[some] = True

    def _count(self, long: NDArray[np.intp]) -> None:
        """Some lasted too long."""
        if len(long):
            own = np.stack([self.last_ms[one][long] > self.allowed_ms for one in sorted(self.last_ms)]).astype(float)
            self._long.append((self.number[long], self.weight[long], own))

    @property
    def lasting(self) -> Lasting:
        """Those that lasted too long, with each quantity still passed, in order."""
        if not self._long:
            loads, nothing = len(self.loads.on_ms), np.zeros(0)
            empty = Broken(nothing, NONE, np.zeros((0, loads), dtype=bool), np.zeros((0, loads)), nothing)
            return Lasting(np.zeros((len(self.last_ms), 0)), empty)
        number, weight, own = (np.concatenate(column, axis=-1) for column in zip(*self._long, strict=True))
        noted = np.concatenate([one for one, _ in self._notes])
        order = np.argsort(noted)
        some = order[np.searchsorted(noted, number, sorter=order)]
        return Lasting(own, together([one for _, one in self._notes]).of(some)._replace(weight=weight))

    # -- what would end it ----------------------------------------------------------------------------------

    def _held(self, waiting: Flags, stop_ms: Floats) -> NDArray[np.intp]:
        """Loads without whose state no line would be passed, and whose next change is at random.

        Few of all: their places among (loads, m).
        """
        loads = self.loads
        if loads.scope.interlocked or not waiting.any() or not 0 < len(loads.on_ms) <= MOST_HELD:
            return NONE
        turned = np.where(self.on, -1.0, 1.0)
        each = loads.each[:, :, :1] if loads.alike else loads.each[:, :, self.stretch]
        drawn = Draws(*(self._turned(figure, one, turned) for figure, one in zip(self.figures, each, strict=True)))
        ends = (self.latest_ms > self.next_ms) & waiting
        for check in self.checks:
            line = np.minimum(check.line.at(self.now_ms), check.line.at(stop_ms))
            ends &= self.under.quantities[check.quantity](drawn) <= line * (1 + HAIR)
        return ends.ravel().nonzero()[0]

    @staticmethod
    def _turned(figure: Floats, one: Floats, factor: Floats) -> Floats:
        """A figure of what is drawn, with each load the other way round; what is nothing anywhere stays small."""
        if not one.any():
            return figure[None] if figure.any() else np.zeros((1, 1))
        other = one * factor
        other += figure
        return other

    def _hold(self, held: NDArray[np.intp], then_ms: Floats) -> None:
        """Weigh by how likely those that are held do not change; when they do then is at random again."""
        some = held - held // len(then_ms) * len(then_ms)  # of many, quicker than their remainders
        latest_ms, now_ms = self.latest_ms.take(held), self.now_ms.take(some)
        stays = np.maximum(latest_ms - then_ms.take(some), 0.0)
        stays /= latest_ms - now_ms
        np.multiply.at(self.weight, some, stays)
        self.next_ms.put(held, latest_ms - stays * (latest_ms - self.next_ms.take(held)))

    def _passed_until(self, then_ms: Floats) -> Floats:
        """Until when some line stays passed, from now to the next event; now where none is."""
        now_ms = self.now_ms
        draws = Draws(*self.figures)
        use = {check.quantity: self.under.quantities[check.quantity](draws) for check in self.checks}
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

    # -- events ---------------------------------------------------------------------------------------------

    def _change(self, places: NDArray[np.intp]) -> None:
        """Loads come on or go off, each at one of these places among all of (loads, m)."""
        which, some = np.divmod(places, len(self.now_ms))
        comes = ~self.on.take(places)
        next_ms = self.next_ms.take(places) + np.where(comes, self.loads.on_ms[which], self.loads.off_ms[which])
        self.on.put(places, comes)
        self.next_ms.put(places, next_ms)
        self.latest_ms.put(places, next_ms)
        self._turn(some, which, comes)

    def _turn(self, some: NDArray[np.intp], which: NDArray[np.intp], comes: Flags) -> None:
        """See what is drawn in some in which a load just came on, or went off."""
        loads = self.loads
        if loads.scope.interlocked:
            self.figures[:, some] = self._figures(some)
        else:
            self.figures[:, some] += np.where(comes, 1.0, -1.0) * loads.each[:, which, self.stretch[some]]

    def _move_on(self, some: NDArray[np.intp]) -> None:
        """In some the plan changes: loads begin to stand, at a random point of their period, or stand no longer."""
        if not len(some):
            return
        loads, before, after = self.loads, self.stretch[some], self.stretch[some] + 1
        self.stretch[some] = after
        if not loads.alike:
            begins = loads.stand[:, after] & ~loads.stand[:, before]
            fresh = self.random.random(begins.shape) < loads.share[:, None]
            on = np.where(begins, fresh, self.on[:, some]) & loads.stand[:, after]
            again_ms, latest_ms = self._changes(on, self.now_ms[some], after)
            anew = begins | ~loads.stand[:, after]
            self.next_ms[:, some] = np.where(anew, again_ms, self.next_ms[:, some])
            self.latest_ms[:, some] = np.where(anew, latest_ms, self.latest_ms[:, some])
            self.on[:, some] = on
        self._look(some)

    def _drop(self) -> None:
        """Forget those that are settled."""
        kept = (~self.settled).nonzero()[0]
        self.begin_ms, self.now_ms, self.stretch = self.begin_ms[kept], self.now_ms[kept], self.stretch[kept]
        self.on = self.on.take(kept, axis=1)
        self.next_ms, self.latest_ms = self.next_ms.take(kept, axis=1), self.latest_ms.take(kept, axis=1)
        self.weight, self.number, self.noted = self.weight[kept], self.number[kept], self.noted[kept]
        self.last_ms = {quantity: last[kept] for quantity, last in self.last_ms.items()}
        self.settled, self.just_begun = self.settled[kept], self.just_begun[kept]
        self.figures = self.figures[:, kept]
