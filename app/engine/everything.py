"""Everything that can be on at once in a scope, with either side of zero kept apart."""

from collections.abc import Sequence

import numpy as np

from app.engine.cyclers import upright
from app.engine.scope import KeptApart, Scope, standing
from app.engine.sums import Sums, plain, sums_of


def everything_on(scope: Scope, *, kept_apart: bool = False, starters: Sequence[int] = ()) -> Sums:
    """Certain draws and every cycling load that stands, either side of zero kept apart; shape (stretches,).

    kept_apart: without what interlocks keep off. starters: cycling pieces that count first in them.
    """
    certain, cyclers, begin_ms = scope.certain, scope.cyclers, scope.begin_ms
    if not len(cyclers):
        return plain(certain)
    on = standing(cyclers, begin_ms)
    most = plain(certain)
    if kept_apart and scope.interlocked:
        left = KeptApart(certain, cyclers, on, scope.interlocked, begin_ms, starters=starters).let_on()
        nothing = np.zeros(len(begin_ms))
        most, on = plain(left.certain) + Sums.of(nothing, *left.beside_var, nothing, nothing), left.on
    return most + Sums(sums_of(cyclers.draws, True).figures @ on.astype(float))


def most_on(scope: Scope) -> Sums:
    """No less than any pattern draws, whatever interlocks keep off in it; shape (stretches,).

    Everything is on. Reactive power of what is surely there unless an interlock keeps it off counts on its own side
    alone: that it is off for another may make the whole larger.
    """
    most, begin_ms = everything_on(scope), scope.begin_ms
    for interlock in scope.interlocked:
        certain = interlock.there(begin_ms) & ~upright(interlock.cycling, 1)
        q_var = interlock.draws.q_var
        nothing = np.zeros(len(q_var))
        other_side = Sums.of(nothing, np.minimum(q_var, 0), np.maximum(q_var, 0), nothing, nothing)
        most = most - Sums(other_side.figures @ certain.astype(float))
    return most
