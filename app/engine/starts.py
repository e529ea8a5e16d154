"""Every start, scheduled or not, on top of what runs: its total, and whether a rule lets it pass."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from app.engine.cyclers import Cyclers
from app.engine.draw import Draws
from app.engine.expand import Laid
from app.engine.heat import Rule, exceeds
from app.engine.results import Flags, Floats, Instants
from app.engine.scope import Scope, standing
from app.engine.worst import NO_VAR, Choice, KeptApart, summed, with_cyclers


@dataclass(frozen=True, slots=True, eq=False)
class Scheduled:
    """Starts at known instants, shape (n,) each; those in progress at one instant make one total.

    piece: which ones. begin_ms, end_ms: when. first, last: their stretches, last not included.
    before: the worst running draw as they begin, without the draws of all that start just then.
    """

    piece: NDArray[np.intp]
    begin_ms: Instants
    end_ms: Instants
    first: NDArray[np.intp]
    last: NDArray[np.intp]
    before: Draws

    def __len__(self) -> int:
        return len(self.piece)

    def under_way(self, at_ms: Floats) -> Flags:
        """Whether one is in progress at instants of any shape."""
        begun = np.searchsorted(self.begin_ms, at_ms, side="right")  # they are in order of their beginnings
        return np.asarray(begun > np.searchsorted(np.sort(self.end_ms), at_ms, side="right"))

    def seconds(self, scope: Scope, flags: Flags) -> Floats:
        """How long flags on the stretches hold within each start."""
        held = np.concatenate(([0.0], np.cumsum(np.where(flags, np.diff(scope.t_ms), 0.0)))) / 1000
        return np.asarray(held[self.last] - held[self.first])

    def largest(self, use: Floats) -> Floats:
        """The largest of a quantity on the stretches within each start."""
        if not len(self):
            return np.empty(0)
        bounds = np.stack([self.first, self.last], axis=1).ravel()
        return np.asarray(np.maximum.reduceat(np.append(use, -np.inf), bounds)[::2])

    def broken(self, scope: Scope, use: list[Floats], rule: Rule) -> Flags:
        """Which of them break a rule: above the top at all, or above a level for longer than its time."""
        broken = np.zeros(len(self), dtype=bool)
        if not len(self) or rule.never_met(use):
            return broken
        for check in rule.checks:
            above = exceeds(use[check.quantity], lowest(check.line.at(scope.t_ms)))
            if above.any():
                allowed_s = 0.0 if check.store is None else rule.allowed_s[check.store]
                broken |= self.seconds(scope, above) > allowed_s * (1 + 1e-9)
        return broken


@dataclass(frozen=True, slots=True, eq=False)
class Unscheduled:
    """The start of one cycling load, at any instant of its stage.

    piece: which one. place: among the scope's cyclers. together: the pieces whose start is under way as it begins, its
    own among them. duration_s: how long it takes.
    stretch: places of the stretches in which it may be, one after another. before: the worst running draw there
    without it. total: with the start.
    """

    piece: int
    place: int
    together: tuple[int, ...]
    duration_s: float
    stretch: NDArray[np.intp]
    before: Draws
    total: Draws

    def place_in(self, stretch: NDArray[np.intp]) -> tuple[Flags, NDArray[np.intp]]:
        """For stretches of the scope: whether it may be in them, and their places among its own."""
        place = np.minimum(np.maximum(stretch - self.stretch[0], 0), len(self.stretch) - 1)
        return self.stretch[place] == stretch, place

    def total_at(self, stretch: int) -> Draws:
        """Its total in a stretch of the scope, the nearest of its own."""
        _, place = self.place_in(np.array(stretch))
        return self.total.take(place)

    def broken_ms(self, scope: Scope, use: list[Floats], rule: Rule) -> float:
        """Where it first breaks a rule: above the top at all, or above a level for longer than its time.

        The first instant at which it does; infinite where it breaks none.
        use: per quantity, its total in its stretches.
        """
        if rule.never_met(use):
            return np.inf
        at_ms = []
        for check in rule.checks:
            allowed_s = 0.0 if check.store is None else rule.allowed_s[check.store]
            if self.duration_s <= allowed_s * (1 + 1e-9):
                continue
            limit = check.line.at(scope.t_ms)
            above = exceeds(use[check.quantity], lowest(limit)[self.stretch])
            if above.any():
                first = int(above.argmax())
                at_ms.append(_passed_ms(scope, limit, int(self.stretch[first]), float(use[check.quantity][first])))
        return min(at_ms, default=np.inf)


def _passed_ms(scope: Scope, limit: Floats, stretch: int, use: float) -> float:
    """When a use first passes a limit that sinks below it in a stretch, if it does not from the beginning."""
    (begin, end), (from_ms, to_ms) = limit[stretch : stretch + 2], scope.t_ms[stretch : stretch + 2]
    return float(from_ms if use > begin else from_ms + (begin - use) / (begin - end) * (to_ms - from_ms))


def lowest(limit: Floats) -> Floats:
    """The lower end of a line in each stretch; shape (n + 1,) to (n,)."""
    return np.minimum(limit[:-1], limit[1:])


def scheduled_starts(laid: Laid, scope: Scope) -> Scheduled:
    """Starts at known instants in a scope, in order."""
    pieces, rows = laid.pieces, laid.rows
    seen = scope.weight[pieces.appliance]
    piece = (pieces.scheduled & (rows.start_ms[pieces.row] > 0) & (seen > 0)).nonzero()[0]
    piece = piece[pieces.begin_ms[piece].argsort(kind="stable")]
    row, begin_ms = pieces.row[piece], pieces.begin_ms[piece]
    end_ms = np.minimum(begin_ms + rows.start_ms[row], pieces.end_ms[piece])
    first, last = scope.t_ms.searchsorted(begin_ms), scope.t_ms.searchsorted(end_ms)
    if not len(piece):
        return Scheduled(piece, begin_ms, end_ms, first, last, scope.worst.take(first))
    own = rows.running.take(row).times(seen[piece])
    _, moment = np.unique(begin_ms, return_inverse=True)

    def of_the_moment(one: Floats) -> Floats:
        return np.asarray(np.bincount(moment, weights=one)[moment], dtype=float)

    theirs = Draws(*map(of_the_moment, (own.p_w, own.q_var, own.d_va, own.spread_w2)))
    kick = scope.certain_started.take(first) - scope.certain.take(first)
    running = scope.worst_started.take(first) - kick
    return Scheduled(piece, begin_ms, end_ms, first, last, running - theirs)


def unscheduled_starts(scope: Scope) -> Iterator[Unscheduled]:
    """The start of each cycling load on top of the worst running draw."""
    cyclers = scope.cyclers
    starters = (cyclers.start_ms > 0).nonzero()[0]
    if not len(starters):
        return
    begins, ends = scope.begin_ms.searchsorted(cyclers.begin_ms), scope.begin_ms.searchsorted(cyclers.end_ms)
    leads = _leads(scope.certain, cyclers, standing(cyclers, scope.begin_ms))
    for place in starters:
        stretch = np.arange(begins[place], ends[place])
        places = cyclers.starting_with(int(place))
        before, start = _starting(scope, places, stretch, leads[stretch])
        yield Unscheduled(
            int(cyclers.piece[place]),
            int(place),
            tuple(cyclers.piece[places].tolist()),
            float(cyclers.start_ms[place]) / 1000,
            stretch,
            before,
            before + start,
        )


def _starting(scope: Scope, places: Instants, stretch: NDArray[np.intp], leads: Flags) -> tuple[Draws, Draws]:
    """The worst running draw in some stretches less those of cycling loads that start there, and their starts.

    places: those that start together. leads: where the leading side of zero counts. They count before others that an
    interlock would keep off for them, which are not on when they start.
    """
    cyclers, at_ms = scope.cyclers, scope.begin_ms[stretch]
    own, on = cyclers.draws.take(places), standing(cyclers, at_ms)

    def before(worst: Draws, on: Flags, leads: Flags) -> Draws:
        # Its reactive power is there to be taken off only if its side of zero is the one that counts.
        there = on[places]
        q_var = np.where(leads == (own.q_var[:, None] < 0), own.q_var[:, None], 0.0)
        return worst - replace(summed(own, there), q_var=(q_var * there).sum(axis=0))

    starts = summed(cyclers.starts(places), on[places])
    if not scope.interlocked:
        return before(scope.worst.take(stretch), on, leads), starts
    starters = cyclers.piece[places].tolist()
    kept = KeptApart(scope.certain.take(stretch), cyclers, on, scope.interlocked, at_ms, starters=starters)
    starts = summed(cyclers.starts(places), kept.let_on().on[places])  # they come first, whatever is chosen

    def total(choice: Choice | None) -> Draws:
        left = kept.let_on(choice)
        worst = with_cyclers(left.certain, cyclers.draws, left.on, left.beside_var)
        return before(worst, left.on, _leads(left.certain, cyclers, left.on, left.beside_var)) + starts

    return kept.largest(total) - starts, starts


def _leads(certain: Draws, cyclers: Cyclers, on: Flags, beside_var: tuple[Floats, Floats] = NO_VAR) -> Flags:
    """Where the cycling loads that lead outweigh those that lag; beside_var: as in `with_cyclers`."""
    lagging = np.maximum(cyclers.draws.q_var, 0) @ on + beside_var[0]
    leading = np.minimum(cyclers.draws.q_var, 0) @ on + beside_var[1]
    return np.asarray(np.abs(certain.q_var + leading) > np.abs(certain.q_var + lagging))
