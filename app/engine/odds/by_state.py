"""Moments that are followed where no line moves and the same loads stand all day.

There a state and a stretch say what is passed: nothing is added up on the way.
"""

import numpy as np
from numpy.typing import NDArray

from app.engine.kinds import Flags, Floats
from app.engine.odds.block import Passed
from app.engine.odds.entries import Entries
from app.engine.odds.followed import NONE, Followed
from app.engine.odds.passing import Passing
from app.engine.odds.under import AT_ONCE, UnderRule

NEVER = -1  # a place below all others: nothing is passed there


def by_state(under: UnderRule) -> bool:
    """Whether passings may be followed so."""
    whole = under.whole if under.flat else None
    if whole is None or whole.table.gain_per_ms is not None:
        return False
    return len(whole.table.weight) * len(whole.stairs.height) <= AT_ONCE


class ByState(Followed):
    """As `Followed`. state: of the table. here: the place of the stretch on its stair, or NEVER."""

    def __init__(self, passing: Passing, entries: Entries, allowed_ms: float, random: np.random.Generator) -> None:
        whole = passing.under.whole
        assert whole is not None, "by_state was not asked"
        loads = passing.under.loads
        self.bit = np.zeros(len(loads.on_ms), dtype=np.intp)
        self.bit[whole.table.loads] = 1 << np.arange(len(whole.table.loads))
        self.stairs = whole.stairs
        self.of_stretch = np.full(len(loads.scope.begin_ms), NEVER, dtype=np.int32)
        self.of_stretch[whole.cells.stretch] = whole.stairs.of_item
        self.any_of = whole.passed(passing.checks)
        self.each_of = {
            quantity: whole.passed([check for check in passing.checks if check.quantity == quantity])
            for quantity in {check.quantity for check in passing.checks}
        }
        bits = self.bit[whole.table.loads].astype(np.uint16)  # no more than `MOST_BITS`
        self.state = np.bitwise_or.reduce(bits[:, None] * entries.on[whole.table.loads], axis=0).astype(np.intp)
        self.here = np.full(len(self.state), NEVER, dtype=np.int32)
        super().__init__(passing, entries, allowed_ms, random)

    def _look(self, some: NDArray[np.intp]) -> None:
        self.here[some] = self.of_stretch[self.stretch[some]]

    def _turn(self, some: NDArray[np.intp], which: NDArray[np.intp], comes: Flags) -> None:
        self.state[some] ^= self.bit[which]

    def _keep(self, kept: NDArray[np.intp]) -> None:
        self.state, self.here = self.state[kept], self.here[kept]

    def _passes(self, lines: Passed, state: NDArray[np.intp]) -> Flags:
        """Whether lines are passed in states, of shape (*any, m)."""
        stairs = self.stairs
        if len(stairs.height) > 1:
            state = state * len(stairs.height) + self.here // stairs.width
        return np.asarray(lines.short.take(state, mode="clip") <= self.here)

    def _see_ends(self) -> None:
        self._settle(~self._passes(self.any_of, self.state), self.now_ms)

    def _held(self, waiting: Flags, stop_ms: Floats) -> NDArray[np.intp]:
        if not waiting.any():
            return NONE
        ends = self._passes(self.any_of, self.state ^ self.bit[:, None])
        np.less(ends, waiting, out=ends)  # it does not, and they are waiting
        ends &= self.latest_ms > self.next_ms
        return ends.ravel().nonzero()[0]

    def _passed_until(self, then_ms: Floats) -> Floats:
        passed = self._passes(self.any_of, self.state)
        going_on = ~self.settled
        for quantity, last in self.last_ms.items():
            own = passed if len(self.each_of) == 1 else self._passes(self.each_of[quantity], self.state)
            self.last_ms[quantity] = np.where(own & going_on, then_ms - self.begin_ms, last)
        return np.where(passed, then_ms, self.now_ms)
