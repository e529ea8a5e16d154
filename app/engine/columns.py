"""What a day has already, as columns to put guests beside: running, and in starts; worst, and what is certain."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.engine.draw import Draws
from app.engine.guests import Sums
from app.engine.readings import View
from app.engine.results import Floats, Instants
from app.engine.scope import Scope


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """Draws of the day, one column each, shape (n,).

    stretch: of the view. seconds: how long a start lasts, 0 for running draws. starter: place of the appliance whose
    unscheduled start it is, else -1.
    """

    t_ms: Floats
    end_ms: Floats
    stretch: Instants
    seconds: Floats
    starter: Instants
    sums: Sums

    def take(self, index: Instants) -> "Columns":
        """Some of them."""
        return Columns(
            self.t_ms[index], self.end_ms[index], self.stretch[index], self.seconds[index], self.starter[index],
            self.sums.take(index),
        )  # fmt: skip


def everything_on(scope: Scope) -> Sums:
    """Certain draws and every cycling load that stands, either side of zero kept apart; shape (stretches,)."""
    certain, cyclers, begin_ms = scope.certain, scope.cyclers, scope.begin_ms
    if not len(cyclers):
        return plain(certain)
    on = (cyclers.begin_ms[:, None] <= begin_ms) & (cyclers.end_ms[:, None] > begin_ms)
    own = cyclers.draws
    figures = np.array([own.p_w, np.maximum(own.q_var, 0), np.minimum(own.q_var, 0), own.d_va, own.spread_w2])
    p_w, lag, lead, d_va, spread_w2 = figures @ on.astype(float)
    return Sums(
        certain.p_w + p_w, certain.q_var + lag, certain.q_var + lead, certain.d_va + d_va,
        certain.spread_w2 + spread_w2,
    )  # fmt: skip


def plain(draws: Draws) -> Sums:
    """Draws whose side of zero is chosen already."""
    return Sums(draws.p_w, draws.q_var, draws.q_var, draws.d_va, draws.spread_w2)


@dataclass(frozen=True, slots=True, eq=False)
class Day:
    """A view's columns from an instant on: running, and in starts; in the worst case, and of what is certain.

    first: the view's stretch they begin with. started, certain_started: every stretch with the scheduled starts in
    it, for a guest's own start.
    """

    view: View
    first: int
    running: Columns
    starts: Columns
    unscheduled: Columns
    started: Columns
    certain: Columns
    certain_starts: Columns
    certain_started: Columns


def day_of(view: View, from_ms: float, *, everything: bool) -> Day:
    """everything: what interlocks keep off is on all the same, for one who is a member of one."""
    scope = view.scope
    first = int(scope.stretch_at(from_ms))
    chosen = np.arange(first, len(scope.t_ms) - 1)
    certain = plain(scope.certain)
    if scope.interlocked and not everything:
        worst, added = plain(scope.worst), plain(scope.worst_started - scope.worst)
    else:
        worst, added = everything_on(scope), plain(scope.certain_started - scope.certain)
    more = plain(scope.certain_started - scope.certain)
    seconds = _start_s(view)
    starting = chosen[seconds[chosen] > 0]
    none = np.zeros(len(scope.t_ms) - 1)
    parts = [_columns(scope, chosen[:0], none, worst)]
    for start in view.unscheduled:
        index = start.stretch[start.stretch >= first]
        total = plain(start.total)
        if everything:
            total = total + (worst.take(start.stretch) - plain(scope.worst.take(start.stretch)))
        total = total.take(np.flatnonzero(start.stretch >= first))
        place = int(view.laid.pieces.appliance[start.piece])
        parts.append(
            Columns(
                scope.t_ms[index], scope.t_ms[index + 1], index, np.full(len(index), start.duration_s),
                np.full(len(index), place), total,
            )
        )  # fmt: skip
    return Day(
        view=view,
        first=first,
        running=_columns(scope, chosen, none, worst),
        starts=_columns(scope, starting, seconds, worst + added),
        unscheduled=_joined(parts),
        started=_columns(scope, chosen, none, worst + added),
        certain=_columns(scope, chosen, none, certain),
        certain_starts=_columns(scope, starting, seconds, certain + more),
        certain_started=_columns(scope, chosen, none, certain + more),
    )


def _start_s(view: View) -> Floats:
    """How long the longest scheduled start in progress in each stretch lasts, 0 for none."""
    scheduled, seconds = view.scheduled, np.zeros(len(view.scope.t_ms) - 1)
    lasts_s = (scheduled.end_ms - scheduled.begin_ms) / 1000
    for first, last, one in zip(scheduled.first.tolist(), scheduled.last.tolist(), lasts_s.tolist(), strict=True):
        seconds[first:last] = np.maximum(seconds[first:last], one)
    return seconds


def _columns(scope: Scope, index: Instants, seconds: Floats, sums: Sums) -> Columns:
    nobody = np.full(len(index), -1)
    return Columns(scope.t_ms[index], scope.t_ms[index + 1], index, seconds[index], nobody, sums.take(index))


def _joined(parts: Sequence[Columns]) -> Columns:
    def joined(name: str) -> Floats:
        return np.concatenate([getattr(one, name) for one in parts])

    return Columns(
        joined("t_ms"), joined("end_ms"), joined("stretch").astype(np.int64), joined("seconds"),
        joined("starter").astype(np.int64),
        Sums(*(np.concatenate(one) for one in zip(*(part.sums for part in parts), strict=True))),
    )  # fmt: skip
