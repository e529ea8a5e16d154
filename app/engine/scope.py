"""The part of the house that one limit sees, stretch by stretch: certain, worst, and with starts.

The house, a leg and a conductor of a circuit are all scopes: a weight for every appliance.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.engine.cyclers import Cyclers, Interlocked
from app.engine.draw import Draws, apparent_va
from app.engine.expand import Laid
from app.engine.interlocks import joined
from app.engine.programmes import COLD, COLD_BESIDE, DRAWN, RUNNING
from app.engine.results import Flags, Floats, Instants
from app.engine.stack import Deltas, stack_runs
from app.engine.worst import worst_case


@dataclass(frozen=True, slots=True, eq=False)
class Scope:
    """A scope over the day.

    t_ms: shape (n + 1,), edges of the stretches. certain, worst: running draws, shape (n,).
    certain_started, worst_started: the same with scheduled starts in place of what they replace.
    cold: certain draws after a cut.
    interlocks: all that see something here; interlocked: those that may keep some of it off.
    weight: per appliance.
    """

    t_ms: Floats
    certain: Draws
    worst: Draws
    certain_started: Draws
    worst_started: Draws
    cold: Draws
    cyclers: Cyclers
    interlocks: tuple[Interlocked, ...]
    interlocked: tuple[Interlocked, ...]
    weight: Floats

    @property
    def begin_ms(self) -> Floats:
        """Beginnings of the stretches, shape (n,)."""
        return self.t_ms[:-1]

    def stretch_at(self, t_ms: Floats | float) -> NDArray[np.intp]:
        """Places of the stretches that hold instants of any shape."""
        place = np.asarray(self.t_ms.searchsorted(t_ms, side="right") - 1)
        return np.minimum(np.maximum(place, 0), len(self.t_ms) - 2)


def scope_of(laid: Laid, weight: Floats, corners_ms: Floats, interlocks: Sequence[tuple[int, Instants]] = ()) -> Scope:
    """The scope that sees each appliance with its weight.

    weight: shape (appliances,), 0 to 1. corners_ms: more instants that shall be edges.
    interlocks: (at_most, places of the appliances) each; those that share an appliance count as one.
    """
    share = weight[laid.appliance]
    seen = share.nonzero()[0]
    if (share[seen] == 1).all():
        t_ms, sums = stack_runs(laid.programmes, laid.which[seen], laid.begin_ms[seen], slice(None))
        square = sums
    else:
        t_ms, sums, square = _stack_weighted(laid, seen, share)
    cyclers = _cyclers(laid, weight)
    grid = np.unique(
        np.concatenate([t_ms, cyclers.begin_ms, cyclers.end_ms, corners_ms, [0.0, float(laid.horizon_ms)]])
    )
    grid = grid[grid.searchsorted(0.0) : grid.searchsorted(laid.horizon_ms, side="right")]
    index = t_ms.searchsorted(grid[:-1], side="right")
    of_all = _after(sums, index)
    real, imag = of_all.real.copy(), of_all.imag.copy()
    spread = imag if square is sums else _after(square, index).imag

    def draws(channel: int) -> Draws:
        return Draws(real[channel], imag[channel], real[channel + 1], spread[channel + 1])

    certain, cold = draws(RUNNING), draws(COLD)
    quiet = np.array_equal(of_all[DRAWN:RUNNING], of_all[RUNNING:COLD])  # nothing starts at an instant that is known
    drawn = certain if quiet else draws(DRAWN)
    active = standing(cyclers, grid[:-1])
    seen_here = tuple(_interlocked(laid, weight, at_most, places) for at_most, places in joined(interlocks, weight))
    members = tuple(one for one in seen_here if len(one.piece) > one.at_most)
    worst = started = worst_case(certain, cyclers, active, members, grid[:-1])
    if not quiet:
        starts = drawn - certain
        # What starts counts before what merely runs.
        running = worst_case(certain, cyclers, active, members, grid[:-1], starts=starts) if members else worst
        started = (running + starts).where((starts.p_w != 0) | (starts.q_var != 0), worst)
    return Scope(
        t_ms=grid, certain=certain, worst=worst, certain_started=drawn,
        worst_started=started,
        cold=cold, cyclers=cyclers, interlocks=seen_here, interlocked=members, weight=weight,
    )  # fmt: skip


def standing(cyclers: Cyclers, at_ms: Floats) -> Flags:
    """Which cycling loads stand at instants; shape (cyclers, n)."""
    return np.asarray((cyclers.begin_ms[:, None] <= at_ms) & (cyclers.end_ms[:, None] > at_ms))


def _after(sums: Deltas, count: Instants) -> Deltas:
    """Sums after so many of their steps; nothing after none."""
    return np.concatenate([np.zeros((len(sums), 1), dtype=complex), sums], axis=1).take(count, axis=1)


def _stack_weighted(laid: Laid, seen: Instants, share: Floats) -> tuple[Instants, Deltas, Deltas]:
    """Stacks in which appliances count in part: draws by their share, spreads by its square."""
    parts = []
    for part in np.unique(share[seen]):
        chosen = seen[share[seen] == part]
        stacked = stack_runs(laid.programmes, laid.which[chosen], laid.begin_ms[chosen], slice(None))
        parts.append((float(part), *stacked))
    t_ms = np.unique(np.concatenate([t for _, t, _ in parts] or [np.empty(0, dtype=np.int64)]))
    sums = np.zeros((COLD_BESIDE + 1, len(t_ms)), dtype=complex)
    square = np.zeros_like(sums)
    for part, t, of_part in parts:
        index = np.searchsorted(t, t_ms, side="right")
        here = _after(of_part, index)
        sums += part * here
        square += part**2 * here
    return t_ms, sums, square


def piece_draws(laid: Laid, weight: Floats, chosen: Instants) -> Draws:
    """Running draws of some pieces as a scope sees them, shape (n,)."""
    return laid.rows.running.take(laid.pieces.row[chosen]).times(weight[laid.pieces.appliance[chosen]])


def _cyclers(laid: Laid, weight: Floats) -> Cyclers:
    pieces, rows = laid.pieces, laid.rows
    share = weight[pieces.appliance]
    chosen = (pieces.cycling & (share > 0)).nonzero()[0]
    chosen = chosen[np.lexsort((pieces.begin_ms[chosen], pieces.appliance[chosen]))]
    row = pieces.row[chosen]
    part = share[chosen]
    return Cyclers(
        piece=chosen, begin_ms=pieces.begin_ms[chosen], end_ms=pieces.end_ms[chosen], on_ms=pieces.on_ms[chosen],
        period_ms=pieces.period_ms[chosen], longest_ms=pieces.longest_ms[chosen], load=pieces.load[chosen],
        first_ms=pieces.first_ms[chosen], draws=piece_draws(laid, weight, chosen),
        start_p_w=rows.start_p_w[row] * part, start_q_var=rows.start_q_var[row] * part,
        start_va=rows.start_va[row] * part,
        start_ms=np.minimum(rows.start_ms[row], pieces.end_ms[chosen] - pieces.begin_ms[chosen]),
        cold=rows.cold.take(row).times(part),
    )  # fmt: skip


def _interlocked(laid: Laid, weight: Floats, at_most: int, places: Instants) -> Interlocked:
    pieces = laid.pieces
    appliance = laid.pieces.appliance
    chosen = np.flatnonzero(np.isin(appliance, places) & (weight[appliance] > 0))
    draws = piece_draws(laid, weight, chosen)
    # Of equals, the first in the file.
    order = np.lexsort((appliance[chosen], -apparent_va(draws.p_w, draws.q_var, draws.d_va)))
    chosen = chosen[order]
    begin_ms = pieces.begin_ms[chosen]
    lasts_ms = np.where(pieces.scheduled[chosen], laid.rows.start_ms[pieces.row[chosen]], 0)
    return Interlocked(
        at_most=at_most, piece=chosen, cycling=pieces.cycling[chosen], begin_ms=begin_ms,
        end_ms=pieces.end_ms[chosen], started_ms=begin_ms + lasts_ms, draws=draws.take(order),
    )  # fmt: skip
