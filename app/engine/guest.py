"""An any-time load as a guest of the day: what it would draw from now on."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from app.engine.day import PlannedDay
from app.engine.draw import Draws
from app.engine.expand import Pieces, lay_out
from app.engine.patterns import cycled
from app.engine.results import Flags, Floats, Instants
from app.engine.rows import StageRows
from app.engine.sums import Sums, plain, sums_of
from app.household.day import DayFrame
from app.household.scenario import Run
from app.household.supply import Water


@dataclass(frozen=True, slots=True, eq=False)
class Guest:
    """An any-time load as it would run from now on, with all it sets off, the pump included.

    edge_ms: shape (n + 1,), from 0 to its end. pieces: its stages, in ms from now. machine: per piece, the place
    of its appliance. on: shape (pieces, n), everything that can be on. starts: (phase, piece, what starts with it,
    itself among them) of each start.
    """

    edge_ms: Floats
    pieces: Pieces
    machine: Instants
    place: int
    on: Flags
    starts: tuple[tuple[int, int, Instants], ...]

    def cycle_edges(self) -> Iterator[Floats]:
        """Instants at which its cycling pieces go off and on again."""
        pieces = self.pieces
        for piece in np.flatnonzero(pieces.cycling):
            begin_ms, end_ms = pieces.begin_ms[piece], pieces.end_ms[piece]
            figures = (pieces.on_ms[piece], pieces.period_ms[piece], pieces.longest_ms[piece])
            yield begin_ms + edges_of(*figures, end_ms - begin_ms)

    def on_at(self, since_ms: Floats) -> Flags:
        """Which pieces are on, its cycling ones from their beginning for their longest time; (pieces, n)."""
        phase = np.clip(np.searchsorted(self.edge_ms, since_ms, side="right") - 1, 0, len(self.edge_ms) - 2)
        on, pieces = self.on[:, phase], self.pieces
        for piece in np.flatnonzero(pieces.cycling):
            figures = (pieces.on_ms[piece], pieces.period_ms[piece], pieces.longest_ms[piece])
            on[piece] &= cycled(since_ms - pieces.begin_ms[piece], *figures)
        return on

    def brings(self, day: PlannedDay, at_ms: Floats) -> Flags:
        """Which of its pieces come with it at instants of the day; (pieces, n or 1).

        What it sets off is one machine: where that stands already it is not counted again. One column for all
        instants where it sets nothing off.
        """
        if (self.machine == self.place).all():
            return np.ones((len(self.machine), 1), dtype=bool)
        brings = np.ones((len(self.machine), len(at_ms)), dtype=bool)
        laid = day.laid.pieces
        machines = laid.appliance
        for piece in np.flatnonzero(self.machine != self.place):
            there = machines == self.machine[piece]
            stands = (laid.begin_ms[there, None] <= at_ms) & (laid.end_ms[there, None] > at_ms)
            brings[piece] = ~stands.any(axis=0)
        return brings


def edges_of(on_ms: float, period_ms: float, longest_ms: float, end_ms: float) -> Floats:
    """When a load that came on at 0 goes off and on again, before an end."""
    goes_off = longest_ms + np.arange(int(end_ms / period_ms) + 1) * float(period_ms)
    edges = np.concatenate([goes_off, goes_off + period_ms - on_ms])
    return np.asarray(edges[edges < end_ms])


def guest_of(day: PlannedDay, place: int, duration_s: float | None = None) -> Guest:
    """The appliance at a place of the library, as a guest: it alone on a day that has nothing else.

    duration_s: how long, for an appliance of one stage; needed where that stage has no length.
    """
    resolved, rows = day.resolved, day.rows
    if place < len(rows.beginning.appliances):
        rows = rows.beginning
    return _alone(rows, place, duration_s, resolved.day.off, resolved.household.supply.water, resolved.frame)


@lru_cache(maxsize=256)
def _alone(
    rows: StageRows, place: int, duration_s: float | None, off: tuple[str, ...], water: Water | None, frame: DayFrame
) -> Guest:
    """One run at midnight, and nothing that runs by itself."""
    quiet = tuple(one.id for one in rows.appliances if one.always_on)
    run = Run(id="guest", appliance=rows.appliances[place].id, start="00:00", duration_s=duration_s)
    if water is not None:
        water = water.model_copy(update={"taps_l_per_day": 0})
    pieces = lay_out(rows, (run,), (*off, *quiet), water, frame).pieces
    edges = np.unique(np.concatenate([[0], pieces.begin_ms, pieces.end_ms])).astype(float)
    on = (pieces.begin_ms[:, None] <= edges[:-1]) & (pieces.end_ms[:, None] > edges[:-1])
    starters = np.flatnonzero(rows.start_ms[pieces.row] > 0)
    starts = tuple(
        (int(np.argmax(on[piece])), piece, _starting_with(rows, pieces, piece)) for piece in starters.tolist()
    )
    return Guest(edges, pieces, pieces.appliance, place, on, starts)


def _starting_with(rows: StageRows, pieces: Pieces, piece: int) -> Instants:
    """Pieces whose start is under way as one begins; of those that come and go, parts of its own load alone."""
    begin_ms, ends_ms = pieces.begin_ms[piece], pieces.begin_ms + rows.start_ms[pieces.row]
    alike = (pieces.load == pieces.load[piece]) if pieces.cycling[piece] else pieces.scheduled
    return np.flatnonzero(alike & (pieces.begin_ms <= begin_ms) & (ends_ms > begin_ms))


def guest_draws(day: PlannedDay, guest: Guest, weight: Floats, at_ms: Floats) -> Sums:
    """Its draws in a scope at instants of the day, phase by phase; shape (phases, n or 1)."""
    return drawn_by(day, guest, weight, guest.on, at_ms)


def drawn_by(day: PlannedDay, guest: Guest, weight: Floats, on: Flags, at_ms: Floats) -> Sums:
    """Draws of those pieces that are on: on, shape (pieces, m), to shape (m, n or 1)."""
    own = sums_of(day.rows.running.take(guest.pieces.row).times(weight[guest.machine]), guest.pieces.cycling)
    return Sums((own.figures[:, None, :] * on.T) @ guest.brings(day, at_ms).astype(float))


def guest_starts(day: PlannedDay, guest: Guest, weight: Floats, at_ms: Floats) -> Iterator[tuple[float, int, Sums]]:
    """Its starts in a scope: (seconds, phase, what is more than while that phase runs, shape (n or 1,))."""
    if not guest.starts:
        return
    rows, brings = day.rows, guest.brings(day, at_ms)
    for phase, piece, together in guest.starts:
        more = Sums(np.zeros((5, 1)))
        for one in together.tolist():
            row = guest.pieces.row[one]
            share = weight[guest.machine[one]] * brings[one]
            nothing = np.zeros_like(share)
            kick = Draws(rows.start_p_w[row] * share, rows.start_q_var[row] * share, nothing, nothing)
            more = more + (plain(kick) - sums_of(rows.running.take(row).times(share), bool(guest.pieces.cycling[one])))
        yield float(rows.start_ms[guest.pieces.row[piece]]) / 1000, phase, more
