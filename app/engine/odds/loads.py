"""The loads of a scope that come and go, each at a random point of its period, independent of one another.

Pieces that share a cycle, such as a saw and what it sets off, are one load.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.engine.cyclers import upright
from app.engine.draw import Draws, worst_q_var
from app.engine.kinds import Flags, Floats
from app.engine.scope import Scope
from app.engine.worst import KeptApart, summed

ROUNDING_VAR = 1e-6
MOSTLY_REACTIVE = 1.5  # var to the watt: a power factor of some 0.55


@dataclass(frozen=True, eq=False)
class Loads:
    """The loads of one scope.

    of_piece: per cycling piece of the scope, which load it is part of. on_ms, off_ms: per load, its cycle.
    stands: shape (pieces, stretches), where each piece stands.
    """

    scope: Scope
    of_piece: NDArray[np.intp]
    on_ms: Floats
    off_ms: Floats
    stands: Flags

    @cached_property
    def share(self) -> Floats:
        """Per load, the part of the time in which it is on."""
        return self.on_ms / (self.on_ms + self.off_ms)

    @cached_property
    def stand(self) -> Flags:
        """Where each load has some piece that stands; shape (loads, stretches)."""
        found = np.zeros((len(self.on_ms), self.stands.shape[1]), dtype=bool)
        np.logical_or.at(found, self.of_piece, self.stands)
        return found

    @cached_property
    def each(self) -> Floats:
        """What each load draws in each stretch: watts, var, distortion, spread; shape (4, loads, stretches)."""
        draws = self.scope.cyclers.draws
        found = np.zeros((4, len(self.on_ms), self.stands.shape[1]))
        for one, figure in enumerate((draws.p_w, draws.q_var, draws.d_va, draws.spread_w2)):
            np.add.at(found[one], self.of_piece, figure[:, None] * self.stands)
        return found

    @cached_property
    def more_as_it_starts(self) -> Floats:
        """What each piece that starts draws more then, and what starts with it, than when they run.

        Less what of its load comes on only after that start, as an extractor two seconds after its saw. Watts, var,
        distortion, spread; shape (4, pieces).
        """
        cyclers = self.scope.cyclers
        found = np.zeros((4, len(self.of_piece)))
        for piece in np.flatnonzero(cyclers.start_ms > 0).tolist():
            places, later = cyclers.starting_with(piece), self._later_than(piece)
            more = cyclers.starts(places).figures.sum(axis=1) - cyclers.draws.take(places).figures.sum(axis=1)
            found[:, piece] = more - cyclers.draws.take(later).figures.sum(axis=1)
        return found

    def _later_than(self, piece: int) -> NDArray[np.intp]:
        """Pieces of its load that come on after its start, while it is on."""
        cyclers, load = self.scope.cyclers, self.of_piece[piece]
        after_ms = cyclers.begin_ms - cyclers.begin_ms[piece]
        later = (after_ms >= cyclers.start_ms[piece]) & (after_ms < self.on_ms[load])
        return np.flatnonzero(later & (self.of_piece == load) & (np.arange(len(later)) != piece))

    def starters(self, piece: int) -> list[int]:
        """A piece and what starts with it, as places among all pieces."""
        cyclers = self.scope.cyclers
        return list(cyclers.piece[cyclers.starting_with(piece)].tolist())

    @cached_property
    def alike(self) -> bool:
        """The same pieces stand all day."""
        return bool((self.stands == self.stands[:, :1]).all())

    @cached_property
    def may_lower_the_use(self) -> bool:
        """One more load on may lower the use: some lead, an interlock keeps others off, or it makes sure what was not.

        With little in the way of watts beside much that is reactive, one more sure load lowers how uncertain all is.
        """
        scope = self.scope
        draws = scope.cyclers.draws
        unsure = scope.certain.spread_w2.max(initial=0.0) > 0 or (draws.spread_w2 > 0).any()
        if unsure and (draws.q_var + draws.d_va > MOSTLY_REACTIVE * draws.p_w).any():
            return True
        leading = (scope.cyclers.draws.q_var < -ROUNDING_VAR).any() or (scope.certain.q_var < -ROUNDING_VAR).any()
        return bool(leading or scope.interlocked)

    def drawn(self, certain: Draws, on: Flags, at_ms: Floats, *, starters: Sequence[int] = ()) -> Draws:
        """What is drawn at instants, shape (n,), with those pieces on; on: shape (pieces, n).

        Interlocks keep off the smaller ones. starters: pieces that count first.
        """
        scope = self.scope
        if not scope.interlocked:
            return certain + summed(scope.cyclers.draws, on)
        left = KeptApart(certain, scope.cyclers, on, scope.interlocked, at_ms, starters=starters).let_on()
        drawn = left.certain + summed(scope.cyclers.draws, left.on)
        return replace(drawn, q_var=worst_q_var(drawn.q_var, *left.beside_var))

    def groups(self, stretches: NDArray[np.intp]) -> list[NDArray[np.intp]]:
        """Places among some stretches, in groups in which the same pieces stand, and the same members of interlocks."""
        if self.alike and not self.scope.interlocked and len(stretches):
            return [np.arange(len(stretches))]
        kind = self._kind[stretches]
        order = np.argsort(kind, kind="stable")
        return np.split(order, np.flatnonzero(np.diff(kind[order])) + 1) if len(order) else []

    @cached_property
    def _kind(self) -> NDArray[np.intp]:
        numbers: dict[bytes, int] = {}
        return np.array([numbers.setdefault(kind, len(numbers)) for kind in self.kinds], dtype=np.intp)

    @cached_property
    def kinds(self) -> list[bytes]:
        """Per stretch, a name of its kind: which pieces stand, and which members of interlocks."""
        standing = [self.stands, *(interlock.there(self.scope.begin_ms) for interlock in self.scope.interlocked)]
        columns = np.ascontiguousarray(np.packbits(np.concatenate(standing), axis=0).T)
        return [column.tobytes() for column in columns]


def loads_of(scope: Scope) -> Loads:
    """The loads of a scope."""
    cyclers = scope.cyclers
    _, first, of_piece = np.unique(cyclers.load, return_index=True, return_inverse=True)
    on_ms = cyclers.on_ms[first].astype(float)
    at_ms = scope.begin_ms
    stands = (upright(cyclers.begin_ms, 1) <= at_ms) & (upright(cyclers.end_ms, 1) > at_ms)
    return Loads(scope, of_piece, on_ms, cyclers.period_ms[first] - on_ms, np.asarray(stands))
