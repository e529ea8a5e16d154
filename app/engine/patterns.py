"""The worst pattern: when loads that come and go might be on, tried from every instant that matters.

Before a pattern's first instant nothing that cycles is on. From it all come on at once (together), or those
that alone lift the certain draw above a level come on one after the other (in relay). Each stays on for its
longest time, then follows its cycle; a stage that begins later comes on at its beginning. Every other order
is left to the odds.
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from app.engine.cyclers import Cyclers
from app.engine.draw import Draws
from app.engine.everything import most_on
from app.engine.heat import Rule, Stores, empty_stores, exceeds, run_stores
from app.engine.results import Flags, Floats, Instants
from app.engine.scope import Scope
from app.engine.worst import worst_case

Quantities = Callable[[Draws], Sequence[Floats]]

_CELLS_AT_ONCE = 60_000  # rows times stretches computed in one go: bounded memory, and an early end


def stores_of(scope: Scope, rule: Rule, use: Sequence[Floats]) -> Stores:
    """The stores of a rule under draws on a scope's stretches: one quantity each, shape (n,)."""
    return _run(scope.t_ms[None, :], use, rule)


def worst_stores(scope: Scope, rule: Rule, quantities: Quantities, certain: Stores, use: Sequence[Floats]) -> Stores:
    """The stores of a rule in the worst pattern: the largest of each over all patterns tried.

    certain: its stores with certain draws alone. use: its quantities in the worst case.
    """
    if not len(scope.cyclers):
        return certain
    if scope.interlocked:
        # An interlock lets on what is largest in volt-amperes; another of its members may take more watts.
        most = most_on(scope)
        use = quantities(most.draws(most.leads))
    envelope = stores_of(scope, rule, use)
    if envelope.empty:
        return certain
    hot = _hot_stretches(scope, rule, (use, quantities(scope.certain)))
    cyclers = scope.cyclers.take(_touching(scope, hot))
    worst = certain
    for first_on_ms in _batches(_first_on(scope, cyclers, rule, quantities, hot), scope, cyclers, hot):
        t_ms = _edges(scope, cyclers, hot, first_on_ms)
        middle_ms = (t_ms[:, :-1] + t_ms[:, 1:]) / 2
        stretch = scope.stretch_at(middle_ms)
        on = _on(cyclers, first_on_ms, middle_ms)
        draws = worst_case(scope.certain.take(stretch), cyclers, on, scope.interlocked, middle_ms)
        use = [np.where(hot[stretch], one, 0.0) for one in quantities(draws)]
        worst = worst.together_with(run_stores(t_ms, use, rule))
        # Nothing can be worse than every load on all the time; once that is met the rest need no trying.
        if worst.as_bad_as(envelope):
            break
    return worst


def _on(cyclers: Cyclers, first_on_ms: Floats, t_ms: Floats) -> NDArray[np.bool_]:
    """Which cycling loads are on; shape (cyclers, rows, n)."""
    on = np.zeros((len(cyclers), *t_ms.shape), dtype=bool)
    for place in range(len(cyclers)):
        since_ms = t_ms - np.minimum(first_on_ms[:, place, None], 1e15)
        running = cycled(since_ms, cyclers.on_ms[place], cyclers.period_ms[place], cyclers.longest_ms[place])
        on[place] = running & (t_ms >= cyclers.begin_ms[place]) & (t_ms < cyclers.end_ms[place])
    return on


def cycled(
    since_ms: Floats, on_ms: Instants | float, period_ms: Instants | float, longest_ms: Instants | float
) -> Flags:
    """Whether a load that came on so long ago is on: for its longest time, then as its cycle goes, off first."""
    later = np.mod(since_ms - longest_ms, np.maximum(period_ms, 1)) >= period_ms - on_ms
    return np.asarray((since_ms >= 0) & ((since_ms < longest_ms) | later))


def cycle_edges(cyclers: Cyclers, place: int, first_on_ms: Floats, from_ms: float, to_ms: float) -> Floats:
    """Instants between two at which one cycling load may go on or off; shape (rows, edges), clipped."""
    longest_ms, period_ms = float(cyclers.longest_ms[place]), float(cyclers.period_ms[place])
    off_ms = period_ms - float(cyclers.on_ms[place])
    from_ms, to_ms = max(from_ms, float(cyclers.begin_ms[place])), min(to_ms, float(cyclers.end_ms[place]))
    if to_ms <= from_ms:
        return np.empty((len(first_on_ms), 0))
    on_ms = np.minimum(first_on_ms[:, place], to_ms)[:, None]
    off_again = on_ms + longest_ms
    passed = np.maximum(np.floor((from_ms - off_again) / period_ms), 0.0)
    cycle = passed + np.arange(int((to_ms - from_ms) / period_ms) + 2)
    goes_off = off_again + cycle * period_ms
    edges = np.concatenate([on_ms, goes_off, goes_off + off_ms], axis=1)
    return np.asarray(np.clip(edges, from_ms, to_ms))


def _run(t_ms: Floats, quantities: Sequence[Floats], rule: Rule) -> Stores:
    if rule.never_met(quantities):
        return empty_stores(rule)
    return run_stores(t_ms, [np.asarray(one).reshape(1, -1) for one in quantities], rule)


def _hot_stretches(scope: Scope, rule: Rule, uses: tuple[Sequence[Floats], ...]) -> NDArray[np.bool_]:
    """Stretches in which one of some uses, the most that any pattern draws among them, exceeds something at a time."""
    hot = np.zeros(len(scope.t_ms) - 1, dtype=bool)
    for use in uses:
        for check in rule.checks:
            limit = check.line.at(scope.t_ms)
            hot |= exceeds(use[check.quantity], np.minimum(limit[:-1], limit[1:]))
    return hot


def _hot_windows(scope: Scope, hot: NDArray[np.bool_]) -> list[tuple[float, float]]:
    """Runs of hot stretches, as instants."""
    change = np.diff(np.concatenate(([0], hot.astype(np.int8), [0])))
    begins, ends = np.flatnonzero(change == 1), np.flatnonzero(change == -1)
    return [(float(scope.t_ms[b]), float(scope.t_ms[e])) for b, e in zip(begins, ends, strict=True)]


def _touching(scope: Scope, hot: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Cycling loads that are there in some hot stretch."""
    cyclers = scope.cyclers
    begin, end = scope.t_ms[:-1][hot], scope.t_ms[1:][hot]
    touching = (cyclers.begin_ms[:, None] < end) & (cyclers.end_ms[:, None] > begin)
    return np.flatnonzero(touching.any(axis=1))


def _first_on(scope: Scope, cyclers: Cyclers, rule: Rule, quantities: Quantities, hot: NDArray[np.bool_]) -> Floats:
    """When each load comes on first in each pattern; shape (patterns, cyclers), infinite for never."""
    from_ms = _first_instants(scope, rule, quantities, hot)
    # What begins while its load comes and goes already comes and goes with it.
    first, end = cyclers.first_ms.astype(float), cyclers.end_ms
    together = np.where(end > from_ms[:, None], np.maximum(first, from_ms[:, None]), np.inf)
    relays = list(_relays(scope, cyclers, rule, quantities, from_ms, together))
    rows = np.concatenate([together, np.array(relays)]) if relays else together
    rows = rows[np.isfinite(rows).any(axis=1)]
    if not len(rows):
        return np.asarray(rows)
    # Patterns that begin within a hot stretch are the likely worst: first, so that the rest can be spared.
    instants = rows.min(axis=1)
    likely = hot[scope.stretch_at(instants)]
    _, once = np.unique(rows, axis=0, return_index=True)
    once = np.sort(once)
    return np.asarray(rows[once[np.argsort(~likely[once], kind="stable")]])


def _first_instants(scope: Scope, rule: Rule, quantities: Quantities, hot: NDArray[np.bool_]) -> Floats:
    """Instants from which patterns are tried.

    Steps up of the certain draw, begins of cycling stages, and where the worst draw begins to exceed a level. Those
    that come where nothing exceeds any count as well: they say where in their cycles others stand when it does.
    """
    instants = [scope.cyclers.begin_ms.astype(float)]
    worst = quantities(scope.worst)
    for certain in quantities(scope.certain):
        before = np.concatenate(([0.0], certain[:-1]))
        instants.append(scope.begin_ms[exceeds(certain, before + 1e-6)])
    for check in rule.checks:
        limit = check.line.at(scope.t_ms)
        use = worst[check.quantity]
        begin, end = exceeds(use, limit[:-1]), exceeds(use, limit[1:])
        before = np.concatenate(([False], end[:-1]))
        instants.append(scope.begin_ms[begin & ~before])
        rising = np.flatnonzero(~begin & end)
        if len(rising):
            part = (use[rising] - limit[rising]) / (limit[rising + 1] - limit[rising])
            instants.append(scope.t_ms[rising] + part * (scope.t_ms[rising + 1] - scope.t_ms[rising]))
    all_of_them = np.unique(np.concatenate(instants))
    last_hot_ms = scope.t_ms[1:][hot].max()
    return np.asarray(all_of_them[all_of_them < last_hot_ms])


def _relays(
    scope: Scope, cyclers: Cyclers, rule: Rule, quantities: Quantities, from_ms: Floats, together: Floats
) -> Iterator[Floats]:
    """For each level and instant, the loads that alone lift the certain draw above it, one after another."""
    loads = [np.flatnonzero(cyclers.load == load) for load in dict.fromkeys(cyclers.load.tolist())]
    if len(loads) < 2 or not len(from_ms):
        return
    stretch = scope.stretch_at(from_ms)
    there = (cyclers.begin_ms <= from_ms[:, None]) & (cyclers.end_ms > from_ms[:, None])
    certain = scope.certain.take(stretch)
    lifts: list[list[NDArray[np.bool_]]] = []
    for members in loads:
        draws = worst_case(certain, cyclers.take(members), there[:, members].T, scope.interlocked, from_ms)
        use = quantities(draws)
        per_store = []
        for store in range(len(rule.allowed_s)):
            above = np.zeros(len(from_ms), dtype=bool)
            for check in rule.of_store(store):
                above |= exceeds(use[check.quantity], check.line.at(from_ms))
            per_store.append(above & there[:, members].any(axis=1))
        lifts.append(per_store)
    lifting = np.array(lifts)  # (loads, stores, instants)
    longest_first = sorted(range(len(loads)), key=lambda load: -cyclers.longest_ms[loads[load]].max())
    for store, instant in zip(*np.nonzero(lifting.sum(axis=0) >= 2), strict=True):
        row = together[instant].copy()
        turn_ms = float(from_ms[instant])
        for load in longest_first:
            if not lifting[load, store, instant]:
                continue
            members = loads[load]
            end_ms = cyclers.end_ms[members]
            row[members] = np.where(end_ms > turn_ms, np.maximum(cyclers.first_ms[members], turn_ms), np.inf)
            if end_ms.max() > turn_ms:
                # What shares a cycle has one longest time; it is off when the last of it has ended.
                turn_ms = float(min(turn_ms + cyclers.longest_ms[members[0]], end_ms.max()))
        yield row


def _batches(first_on_ms: Floats, scope: Scope, cyclers: Cyclers, hot: NDArray[np.bool_]) -> Iterator[Floats]:
    """The patterns in groups that fit in memory."""
    if not len(first_on_ms):
        return
    width = _edges(scope, cyclers, hot, first_on_ms[:1]).shape[1]
    size = max(_CELLS_AT_ONCE // (width * max(len(cyclers) // 4, 1)), 1)
    for begin in range(0, len(first_on_ms), size):
        yield first_on_ms[begin : begin + size]


def _edges(scope: Scope, cyclers: Cyclers, hot: NDArray[np.bool_], first_on_ms: Floats) -> Floats:
    """Edges of the stretches of each pattern, fine where it is hot, coarse where nothing can fill."""
    rim = np.zeros(len(scope.t_ms), dtype=bool)
    rim[:-1] |= hot
    rim[1:] |= hot
    rim[[0, -1]] = True
    fixed = np.broadcast_to(scope.t_ms[rim], (len(first_on_ms), int(rim.sum())))
    moving = [
        cycle_edges(cyclers, place, first_on_ms, from_ms, to_ms)
        for from_ms, to_ms in _hot_windows(scope, hot)
        for place in range(len(cyclers))
    ]
    return np.sort(np.concatenate([fixed, *moving], axis=1), axis=1)
