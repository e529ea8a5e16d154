"""How long a level may be passed at most: what comes and goes, and is needed for it, at its worst point.

A bound, and not laxer than any order in which loads come on. Where a level is passed with everything on, but not
without one of the loads, it is passed no longer than that one is on; where any of them may be missing, all the while.
"""

from typing import NamedTuple

import numpy as np

from app.engine.cyclers import Cyclers
from app.engine.everything import everything_on
from app.engine.expand import Pieces
from app.engine.guest import edges_of
from app.engine.heat import exceeds, store_s
from app.engine.levels import Levels
from app.engine.patterns import cycled
from app.engine.results import Flags, Floats, Instants
from app.engine.scope import Scope, standing
from app.engine.sums import Sums, plain, sums_of


class Cycles(NamedTuple):
    """How loads come and go, shape (n,) each, in milliseconds."""

    on_ms: Floats
    period_ms: Floats
    longest_ms: Floats


class Needed(NamedTuple):
    """Loads that come and go in a scope: how, and what each draws, shape (loads, stretches).

    What an interlock may keep off for another is none of them: it counts as on all the while.
    """

    cycles: Cycles
    sums: Sums


def needed_of(scope: Scope, among: Instants | None = None) -> Needed:
    """Those of a scope; what shares a cycle is one load. among: places of pieces, of which alone they may be."""
    cyclers = scope.cyclers if among is None else scope.cyclers.take(np.isin(scope.cyclers.piece, among))
    kept_apart = np.isin(cyclers.piece, np.concatenate([np.empty(0, int), *(one.piece for one in scope.interlocked)]))
    groups = [np.flatnonzero(cyclers.load == load) for load in dict.fromkeys(cyclers.load[~kept_apart].tolist())]
    groups = [one for one in groups if not kept_apart[one].any()]
    on, figures = standing(cyclers, scope.begin_ms).astype(float), sums_of(cyclers.draws, True).figures
    each = np.array([figures[:, one] @ on[one] for one in groups]).reshape(-1, 5, len(scope.begin_ms))
    return Needed(cycles_of(cyclers, groups), Sums(each.swapaxes(0, 1)))


def cycles_of(pieces: Cyclers | Pieces, groups: list[Instants]) -> Cycles:
    """The cycles of groups of pieces, of which the members come and go together."""
    figures = (pieces.on_ms, pieces.period_ms, pieces.longest_ms)
    return Cycles(*(np.array([one[group].max() for group in groups], dtype=float) for one in figures))


def base_of(scope: Scope) -> Sums:
    """Everything on; with interlocks what they let on."""
    return plain(scope.worst) if scope.interlocked else everything_on(scope)


def at_most(t_ms: Floats, passed: Flags, without: Flags, cycles: Cycles) -> tuple[Floats, Flags]:
    """Parts of the time, and in which of them a level is passed at most.

    t_ms: shape (n + 1,), edges. passed: shape (n,), with everything on. without: shape (loads, n), without each.
    """
    owner = np.full(len(passed), -1)
    for load in np.argsort(cycles.on_ms / np.maximum(cycles.period_ms, 1.0), kind="stable").tolist():
        owner[passed & ~without[load] & (owner < 0)] = load
    first = np.flatnonzero(np.concatenate(([True], (owner[1:] != owner[:-1]) | (passed[1:] != passed[:-1]))))
    edges_ms, flags = [t_ms[:1]], []
    for begin, end in zip(first.tolist(), [*first[1:].tolist(), len(passed)], strict=True):
        load, from_ms, until_ms = int(owner[begin]), float(t_ms[begin]), float(t_ms[end])
        if load < 0:
            cut_ms, is_on = np.array([until_ms]), np.array([passed[begin]])
        else:
            cut_ms, is_on = _on_and_off(from_ms, until_ms, *(float(one[load]) for one in cycles))
        edges_ms.append(cut_ms)
        flags.append(is_on)
    return np.concatenate(edges_ms), np.concatenate(flags)


def _on_and_off(
    from_ms: float, until_ms: float, on_ms: float, period_ms: float, longest_ms: float
) -> tuple[Floats, Flags]:
    """Parts of a time, their ends, and in which a load is on: as it begins, as its cycle goes, and as it ends.

    At no point of its cycle does it fill a store more.
    """
    lasts_ms = until_ms - from_ms
    turns_ms = edges_of(on_ms, period_ms, longest_ms, lasts_ms)
    cut_ms = np.unique(np.concatenate((turns_ms, [max(lasts_ms - on_ms, 0.0), lasts_ms])))
    cut_ms = cut_ms[cut_ms > 0]
    middle_ms = (np.append(0.0, cut_ms[:-1]) + cut_ms) / 2
    return from_ms + cut_ms, cycled(middle_ms, on_ms, period_ms, longest_ms) | (middle_ms > lasts_ms - on_ms)


def may_break(levels: Levels) -> bool:
    """Whether some store of a rule may come to hold too much, in whatever order loads come on."""
    scope, rule = levels.view.scope, levels.rule
    base, needed = base_of(scope), needed_of(scope)
    fewer = base.flat() - needed.sums
    use, use_without = (levels.quantities(one.draws(one.leads)) for one in (base, fewer))
    for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
        passed, without = np.zeros(use[0].shape, dtype=bool), np.zeros(use_without[0].shape, dtype=bool)
        for check in rule.of_store(store):
            limit = check.line.at(scope.t_ms)
            low = np.minimum(limit[:-1], limit[1:])
            passed |= exceeds(use[check.quantity], low)
            without |= exceeds(use_without[check.quantity], low)
        t_ms, flags = at_most(scope.t_ms.astype(float), passed, without, needed.cycles)
        held_s = store_s(np.diff(t_ms)[None] / 1000, flags[None], allowed_s, cooling_s)
        if exceeds(held_s, allowed_s).any():
            return True
    return False
