"""What went before a moment: the loads walked back, change by change, for as long as a level may be passed.

A load that comes and goes at a random point of its period does so backwards as well: how long it has been as it is
says when it changed last, and from there on its times alternate.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.compiled import compiled
from app.engine.draw import Draws
from app.engine.inverter import VOLT_AMPERES, WATTS
from app.engine.kinds import Flags, Floats
from app.engine.odds.broken import Broken
from app.engine.odds.quantities import OF_INVERTER
from app.engine.odds.tables import table_of
from app.engine.odds.under import UnderRule

NOTHING_CAME = -1
ROOM = 5  # spans for each moment that are written down at once


class Spans(NamedTuple):
    """Spans in which nothing changes, shape (n,) each.

    from_ms, to_ms, stretch: where. came: the load that came on as it began; `NOTHING_CAME` where none did. draws: what
    is drawn. on: shape (n, loads), where interlocks ask for it.
    """

    from_ms: Floats
    to_ms: Floats
    stretch: NDArray[np.intp]
    came: NDArray[np.intp]
    draws: Draws
    on: Flags

    def of(self, some: NDArray[np.intp]) -> "Spans":
        """Some of them."""
        on = self.on[some] if len(self.on) else self.on
        from_ms, to_ms, stretch, came = self.from_ms[some], self.to_ms[some], self.stretch[some], self.came[some]
        return Spans(from_ms, to_ms, stretch, came, self.draws.take(some), on)


def past_of(
    under: UnderRule, broken: Broken, longest_ms: float, random: np.random.Generator
) -> tuple[NDArray[np.intp], Spans]:
    """What went before moments, for so long at most and no further back than the day's first instant.

    How many spans each has, shape (m,); and all of these, of each moment from the latest to the earliest.
    """
    loads, scope = under.loads, under.loads.scope
    edges_ms, stretch, edge = _parts(under, broken)
    each = np.transpose(loads.each[:, :, :1] if loads.alike else loads.each, (2, 1, 0))
    points = random.random(broken.on.shape if not loads.alike else (0, len(loads.on_ms)))
    counts, found, begin, room = list[NDArray[np.intp]](), list[Spans](), 0, ROOM * len(broken.at_ms)
    while begin < len(broken.at_ms):
        count, from_ms, to_ms, part, came, figures, on = walk_back(
            broken.on[begin:],
            broken.since_ms[begin:],
            broken.at_ms[begin:],
            edge[begin:],
            loads.on_ms,
            loads.off_ms,
            loads.stand.T,
            each,
            scope.certain.figures.T,
            edges_ms,
            stretch,
            longest_ms,
            *_nothing_passed(under),
            room,
            bool(scope.interlocked),
            points[begin:],
        )
        counts.append(count)
        found.append(Spans(from_ms, to_ms, stretch[part], came, Draws(*figures.T), on))
        begin += len(count)
        room = room if len(count) else 2 * room
    past = found[0] if len(found) == 1 else _joined(found)
    return np.concatenate(counts), past._replace(draws=_drawn_in(under, past)) if scope.interlocked else past


def _joined(parts: Sequence[Spans]) -> Spans:
    """All spans, part after part."""
    figures = np.concatenate([one.draws.figures for one in parts], axis=1)
    return Spans(
        np.concatenate([one.from_ms for one in parts]),
        np.concatenate([one.to_ms for one in parts]),
        np.concatenate([one.stretch for one in parts]),
        np.concatenate([one.came for one in parts]),
        Draws(*figures),
        np.concatenate([one.on for one in parts]),
    )


def _nothing_passed(under: UnderRule) -> tuple[float, float]:
    """Watts and volt-amperes up to which for sure no level is passed, where that is told without looking closely."""
    scope, checks = under.loads.scope, under.rule.checks
    if under.quantities is not OF_INVERTER or under.loads.may_lower_the_use or scope.worst.spread_w2.any():
        return -np.inf, -np.inf
    lowest = dict.fromkeys((WATTS, VOLT_AMPERES), np.inf)
    for one in checks:
        lowest[one.quantity] = min(lowest[one.quantity], one.line.lowest)
    return lowest[WATTS], lowest[VOLT_AMPERES]


def _drawn_in(under: UnderRule, past: Spans) -> Draws:
    """What is drawn in spans where interlocks keep some off, by the state of the loads that come and go."""
    loads, figures = under.loads, under.loads.scope.certain.take(past.stretch).figures
    for group in loads.groups(past.stretch):
        table = table_of(loads, int(past.stretch[group[0]]))
        states = past.on[np.ix_(group, table.loads)] @ (1 << np.arange(len(table.loads)))
        figures[:, group] += table.draws.take(states).figures
    return Draws(*figures)


def _parts(under: UnderRule, broken: Broken) -> tuple[Floats, NDArray[np.intp], NDArray[np.intp]]:
    """Edges between which neither the plan nor, by much, a line changes, shape (parts + 1,).

    Then the stretch of each part between them, shape (parts,); and in which part each moment is, shape (m,).
    """
    t_ms = under.loads.scope.t_ms.astype(float)
    if under.flat:
        return t_ms, np.arange(len(t_ms) - 1), broken.stretch
    edges_ms = np.unique(np.concatenate([t_ms, under.cells.from_ms, under.cells.to_ms]))
    stretch = np.searchsorted(t_ms, edges_ms[:-1], side="right") - 1
    # A moment at an edge is the plan's, and of the stretch that begins there; rounding may have put it elsewhere.
    part = np.searchsorted(edges_ms, broken.at_ms, side="right") - 1
    part = np.maximum(part, np.searchsorted(stretch, broken.stretch, side="left"))
    return edges_ms, stretch, np.minimum(part, np.searchsorted(stretch, broken.stretch, side="right") - 1)


@compiled
def walk_back(
    on_at_last: Flags,
    since_ms: Floats,
    at_ms: Floats,
    edge_at: NDArray[np.intp],
    on_ms: Floats,
    off_ms: Floats,
    stand: Flags,
    each: Floats,
    certain: Floats,
    edges_ms: Floats,
    stretch: NDArray[np.intp],
    longest_ms: float,
    low_w: float,
    low_va: float,
    room: int,
    with_states: bool,
    points: Floats,
) -> tuple[NDArray[np.intp], Floats, Floats, NDArray[np.intp], NDArray[np.intp], Floats, Flags]:
    """The spans of the first of m moments, as many as there is room for.

    How many each has; then as `Spans`, with parts between edges in place of stretches.

    on_at_last, since_ms: shape (m, n). at_ms, edge_at: shape (m,). on_ms, off_ms: shape (n,). stand: shape
    (stretches, n). each: shape (stretches, n, 4), or of one stretch that is like all. certain: shape (stretches, 4).
    stretch: of each part between edges. low_w, low_va: what went before a span that is no higher does not matter.
    points: of its period at which each load stands no longer, as a part, shape (m, n); where the same do not all day.
    """
    moments, loads = on_at_last.shape
    alike, span, done = len(each) == 1, 0, 0
    count = np.zeros(moments, dtype=np.intp)
    from_ms, to_ms = np.empty(room), np.empty(room)
    edge, came = np.empty(room, dtype=np.intp), np.empty(room, dtype=np.intp)
    figures = np.empty((room, 4))
    states = np.empty((room if with_states else 0, loads), dtype=np.bool_)
    changed_ms, on = np.empty(loads), np.empty(loads, dtype=np.bool_)
    for moment in range(moments):
        now_ms, at = at_ms[moment], edge_at[moment]
        stop_ms = max(now_ms - longest_ms, edges_ms[0])
        here = stretch[at]
        for load in range(loads):
            on[load] = on_at_last[moment, load]
            moves = stand[here, load] and off_ms[load] > 0
            changed_ms[load] = now_ms - since_ms[moment, load] if moves else -np.inf
        summed = False
        while True:
            if not summed:
                own = each[0 if alike else here]
                p_w, q_var = certain[here, 0], certain[here, 1]
                d_va, spread_w2 = certain[here, 2], certain[here, 3]
                for load in range(loads):
                    share = 1.0 if on[load] and stand[here, load] else 0.0
                    p_w += share * own[load, 0]
                    q_var += share * own[load, 1]
                    d_va += share * own[load, 2]
                    spread_w2 += share * own[load, 3]
                summed = True
            which, then_ms = loads, max(edges_ms[at], stop_ms)
            for load in range(loads):
                if changed_ms[load] > then_ms:
                    which, then_ms = load, changed_ms[load]
            if span == room:
                span -= count[moment]
                break
            from_ms[span], to_ms[span], edge[span] = then_ms, now_ms, at
            came[span] = which if which < loads and on[which] else NOTHING_CAME
            figures[span, 0], figures[span, 1] = p_w, q_var
            figures[span, 2], figures[span, 3] = d_va, spread_w2
            if with_states:
                for load in range(loads):
                    states[span, load] = on[load]
            span += 1
            count[moment] += 1
            low = p_w <= low_w and p_w**2 + q_var**2 + d_va**2 <= low_va**2
            if then_ms <= stop_ms or (low and then_ms < now_ms):
                done += 1
                break
            now_ms = then_ms
            if which < loads:
                on[which] = not on[which]
                changed_ms[which] -= on_ms[which] if on[which] else off_ms[which]
                share = 1.0 if on[which] else -1.0
                p_w += share * own[which, 0]
                q_var += share * own[which, 1]
                d_va += share * own[which, 2]
                spread_w2 += share * own[which, 3]
                continue
            at -= 1
            if stretch[at] == here:
                continue
            later, here, summed = here, stretch[at], False
            for load in range(loads):
                if stand[here, load] and not stand[later, load] and off_ms[load] > 0:
                    # It stands no longer from then on, at a random point of its period.
                    into_ms = points[moment, load] * (on_ms[load] + off_ms[load])
                    on[load] = into_ms < on_ms[load]
                    changed_ms[load] = now_ms - (into_ms if on[load] else into_ms - on_ms[load])
                elif not stand[here, load]:
                    changed_ms[load] = -np.inf
                    on[load] = off_ms[load] <= 0
        if done == moment:
            break
    return count[:done], from_ms[:span], to_ms[:span], edge[:span], came[:span], figures[:span], states[:span]
