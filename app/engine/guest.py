"""An any-time load as a guest of the day: what it would draw from now on, and the starts it must get along with."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from app.engine.day import PlannedDay
from app.engine.draw import Draws
from app.engine.expand import called_pieces
from app.engine.patterns import cycled
from app.engine.readings import View
from app.engine.results import Flags, Floats, Instants
from app.engine.rows import CycleMs


@dataclass(frozen=True, slots=True, eq=False)
class Guest:
    """An any-time load as it would run from now on, with all it sets off.

    edge_ms: shape (n + 1,), from 0 to its end. row, begin_ms, cycle: per piece, its stage's row, when it comes
    and how it cycles. on: shape (pieces, n), everything that can be on. starts: (phase, piece) of each start.
    """

    edge_ms: Floats
    row: Instants
    begin_ms: Instants
    cycle: tuple[CycleMs | None, ...]
    on: Flags
    starts: tuple[tuple[int, int], ...]

    def cycle_edges(self) -> Iterator[Floats]:
        """Instants at which its cycling pieces go off and on again."""
        for begin_ms, cycle in zip(self.begin_ms.tolist(), self.cycle, strict=True):
            if cycle is not None:
                yield begin_ms + edges_of(cycle.on_ms, cycle.period_ms, cycle.longest_ms, self.edge_ms[-1])

    def on_at(self, since_ms: Floats) -> Flags:
        """Which pieces are on, its cycling ones from their beginning for their longest time; (pieces, n)."""
        phase = np.clip(np.searchsorted(self.edge_ms, since_ms, side="right") - 1, 0, len(self.edge_ms) - 2)
        on = self.on[:, phase]
        for place, (begin_ms, cycle) in enumerate(zip(self.begin_ms.tolist(), self.cycle, strict=True)):
            if cycle is not None:
                on[place] &= cycled(since_ms - begin_ms, cycle.on_ms, cycle.period_ms, cycle.longest_ms)
        return on


def edges_of(on_ms: float, period_ms: float, longest_ms: float, end_ms: float) -> Floats:
    """When a load that came on at 0 goes off and on again, before an end."""
    goes_off = longest_ms + np.arange(int(end_ms / period_ms) + 1) * float(period_ms)
    edges = np.concatenate([goes_off, goes_off + period_ms - on_ms])
    return np.asarray(edges[edges < end_ms])


def guest_of(day: PlannedDay, place: int) -> Guest:
    """The appliance at a place of the library, as a guest."""
    pieces = list(called_pieces(day.resolved, day.rows, place))
    edges = np.unique([0] + [edge for piece in pieces for edge in piece[1:3]]).astype(float)
    row = np.array([piece[0] for piece in pieces], dtype=np.int64)
    begin_ms, end_ms = (np.array([piece[k] for piece in pieces], dtype=np.int64) for k in (1, 2))
    on = (begin_ms[:, None] <= edges[:-1]) & (end_ms[:, None] > edges[:-1])
    starts = tuple(
        (int(np.argmax(on[index])), index) for index in range(len(pieces)) if day.rows.start_ms[row[index]] > 0
    )
    return Guest(edges, row, begin_ms, tuple(piece[3] for piece in pieces), on, starts)


def guest_draws(day: PlannedDay, guest: Guest, weight: Floats) -> Draws:
    """Its draws in a scope, phase by phase; shape (n,)."""
    own = day.rows.running.take(guest.row).times(weight[day.rows.appliance[guest.row]])
    flags = guest.on.astype(float)
    return Draws(*(one @ flags for one in (own.p_w, own.q_var, own.d_va, own.spread_w2)))


def guest_starts(day: PlannedDay, guest: Guest, weight: Floats) -> list[tuple[float, Draws]]:
    """Its starts in a scope: (seconds, draws of all of it in that moment)."""
    phases, found = guest_draws(day, guest, weight), []
    rows = day.rows
    for phase, index in guest.starts:
        row = guest.row[index]
        share = float(weight[rows.appliance[row]])
        own = rows.running.take(row).times(share)
        kick = Draws(rows.start_p_w[row] * share, rows.start_q_var[row] * share, np.zeros(()), np.zeros(()))
        found.append((float(rows.start_ms[row]) / 1000, phases.take(phase) - own + kick))
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """A start while the guest runs, its own or a cycling load's: in which stretches, how long, and the total."""

    there: Flags
    seconds: float
    total: Draws


def moments_of(day: PlannedDay, guest: Guest, view: View, at_ms: Floats) -> Iterator[Moment]:
    """Starts to be reckoned with in stretches; planned ones are left out."""
    scope = view.scope
    stretch = scope.stretch_at(at_ms)
    worst = scope.worst.take(stretch)
    for seconds, draws in guest_starts(day, guest, scope.weight):
        yield Moment(np.ones(len(at_ms), dtype=bool), seconds, worst + draws)
    phases = guest_draws(day, guest, scope.weight)
    for start in view.unscheduled:
        if not len(start.stretch):
            continue
        there, place = start.place_in(stretch)
        for phase in range(len(phases.p_w)):
            yield Moment(there, start.duration_s, start.total.take(place) + phases.take(phase))
