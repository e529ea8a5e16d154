"""Everything that can be on, or come back, at once in a scope, with either side of zero kept apart."""

from collections.abc import Sequence

import numpy as np

from app.engine.cyclers import upright
from app.engine.draw import Draws
from app.engine.results import Flags
from app.engine.scope import Scope, standing
from app.engine.sums import Sums, plain, sums_of
from app.engine.worst import KeptApart


def everything_on(scope: Scope, *, kept_apart: bool = False, starters: Sequence[int] = ()) -> Sums:
    """Certain draws and every cycling load that stands, either side of zero kept apart; shape (stretches,).

    kept_apart: without what interlocks keep off. starters: cycling pieces that count first in them.
    """
    if kept_apart and scope.interlocked and len(scope.cyclers):
        return _kept_apart(scope, starters)[0]
    return _with(scope.cyclers.draws, plain(scope.certain), standing(scope.cyclers, scope.begin_ms))


def coming_back(scope: Scope) -> Sums:
    """What is there at once when power comes back, if all that comes and goes does so too; shape (stretches,).

    A plain sum, in which no watts are uncertain.
    """
    return _with(scope.cyclers.cold, plain(scope.cold), standing(scope.cyclers, scope.begin_ms))


def ways_on(scope: Scope, starters: Sequence[int] = ()) -> tuple[Sums, ...]:
    """The same with each choice of members that interlocks may let on; the first is no less than any."""
    return _kept_apart(scope, starters) if scope.interlocked else (everything_on(scope),)


def _kept_apart(scope: Scope, starters: Sequence[int]) -> tuple[Sums, ...]:
    begin_ms, nothing = scope.begin_ms, np.zeros(len(scope.begin_ms))
    on = standing(scope.cyclers, begin_ms)
    kept = KeptApart(scope.certain, scope.cyclers, on, scope.interlocked, begin_ms, starters=starters)
    return tuple(
        _with(scope.cyclers.draws, plain(left.certain) + Sums.of(nothing, *left.beside_var, nothing, nothing), left.on)
        for left in map(kept.let_on, (None, *kept.choices))
    )


def _with(cycling: Draws, certain: Sums, on: Flags) -> Sums:
    if not len(cycling.p_w):
        return certain
    return certain + Sums(sums_of(cycling, True).figures @ on.astype(float))


def most_on(scope: Scope) -> Sums:
    """No less than any pattern draws, whatever interlocks keep off in it for more to come; shape (stretches,).

    Everything is on. Reactive power of what is surely there unless an interlock keeps it off counts on its own side
    alone: that it is off for another may make the whole larger.
    """
    most, begin_ms = everything_on(scope), scope.begin_ms
    for interlock in scope.interlocks:
        certain = interlock.there(begin_ms) & ~upright(interlock.cycling, 1)
        q_var = interlock.draws.q_var
        nothing = np.zeros(len(q_var))
        other_side = Sums.of(nothing, np.minimum(q_var, 0), np.maximum(q_var, 0), nothing, nothing)
        most = most - Sums(other_side.figures @ certain.astype(float))
    return most
