"""The part of the house that one limit sees, stretch by stretch: certain, worst, and with starts.

The house, a leg and a conductor of a circuit are all scopes: a weight for every appliance.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.cyclers import Cyclers, Interlocked, upright
from app.engine.draw import HAIR, Draws, apparent_va, worst_q_var
from app.engine.expand import Laid
from app.engine.programmes import COLD, COLD_BESIDE, DRAWN, RUNNING
from app.engine.results import Flags, Floats, Instants
from app.engine.stack import Deltas, stack_runs

NO_VAR = np.zeros(()), np.zeros(())
MOST_CHOICES = 64  # ways in which interlocks may let members on that are all tried
Choice = tuple[tuple[int, ...], ...]  # per interlock, as in `Interlocked.left_out`


@dataclass(frozen=True, slots=True, eq=False)
class Scope:
    """A scope over the day.

    t_ms: shape (n + 1,), edges of the stretches. certain, worst: running draws, shape (n,).
    certain_started, worst_started: the same with scheduled starts in place of what they replace.
    cold: certain draws after a cut (p, q, d as Draws), cold_worst: with the cycling ones.
    weight: per appliance.
    """

    t_ms: Floats
    certain: Draws
    worst: Draws
    certain_started: Draws
    worst_started: Draws
    cold: Draws
    cold_worst: Draws
    cyclers: Cyclers
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
    interlocks: (at_most, places of the appliances) each.
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
    members = tuple(_interlocked(laid, weight, at_most, places) for at_most, places in interlocks)
    members = tuple(one for one in members if len(one.piece) > one.at_most)
    worst = started = worst_case(certain, cyclers, active, members, grid[:-1])
    if not quiet:
        starts = drawn - certain
        # What starts counts before what merely runs.
        running = worst_case(certain, cyclers, active, members, grid[:-1], starts=starts) if members else worst
        started = (running + starts).where((starts.p_w != 0) | (starts.q_var != 0), worst)
    cold_worst = cold + _cold_cycling(laid, cyclers, weight, active) if len(cyclers) else cold
    return Scope(
        t_ms=grid, certain=certain, worst=worst, certain_started=drawn,
        worst_started=started,
        cold=cold, cold_worst=cold_worst, cyclers=cyclers, interlocked=members, weight=weight,
    )  # fmt: skip


def standing(cyclers: Cyclers, at_ms: Floats) -> Flags:
    """Which cycling loads stand at instants; shape (cyclers, n)."""
    return np.asarray((cyclers.begin_ms[:, None] <= at_ms) & (cyclers.end_ms[:, None] > at_ms))


def worst_case(
    certain: Draws, cyclers: Cyclers, on: Flags, interlocked: Sequence[Interlocked], at_ms: Floats,
    *, starts: Draws | None = None, beside_var: tuple[Floats, Floats] = NO_VAR,
) -> Draws:  # fmt: skip
    """Certain draws and those cycling loads that are on, without what interlocks keep off.

    certain: any shape. on: shape (cyclers, *shape). at_ms: shape, which instants of the day these are.
    starts: by how much scheduled starts draw more than what they replace; members in theirs count first.
    beside_var: as in `with_cyclers`.
    """
    if not interlocked:
        return with_cyclers(certain, cyclers.draws, on, beside_var)
    kept = KeptApart(certain, cyclers, on, interlocked, at_ms, in_their_start=starts is not None)

    def total(choice: Choice | None) -> Draws:
        left = kept.let_on(choice)
        lagging, leading = (own + more for own, more in zip(left.beside_var, beside_var, strict=True))
        running = with_cyclers(left.certain, cyclers.draws, left.on, (lagging, leading))
        return running if starts is None else running + starts

    worst = kept.largest(total)
    return worst if starts is None else worst - starts


class LetOn(NamedTuple):
    """Certain draws and which cycling loads are on, after interlocks; beside_var: as in `with_cyclers`."""

    certain: Draws
    on: Flags
    beside_var: tuple[Floats, Floats]


class KeptApart:
    """Draws of which interlocks keep some off, in each way in which they may."""

    def __init__(
        self, certain: Draws, cyclers: Cyclers, on: Flags, interlocked: Sequence[Interlocked], at_ms: Floats,
        *, in_their_start: bool = False, starters: Sequence[int] = (),
    ) -> None:  # fmt: skip
        """As in `worst_case`; in_their_start: members in their scheduled start count first, as starters do.

        starters: cycling pieces that start just then.
        """
        self.certain, self.cyclers, self.on, self.interlocked = certain, cyclers, on, interlocked
        self.starters, self.in_their_start, self.at_ms = starters, in_their_start, at_ms
        self._place = {int(piece): index for index, piece in enumerate(cyclers.piece)}

    def let_on(self, choice: Choice | None = None) -> LetOn:
        """What is left with some members chosen; with none, no figure is less than with any, whatever is added."""
        certain, on = self.certain, self.on
        nothing = np.zeros(np.shape(self.at_ms))
        lagging, leading = nothing, nothing
        for place, interlock in enumerate(self.interlocked):
            there, first = self._members(interlock, on)
            out = interlock.left_out(there, first, () if choice is None else choice[place])
            certain = certain - summed(interlock.draws, np.asarray(out & ~upright(interlock.cycling, out.ndim - 1)))
            if choice is None and interlock.is_mixed:
                more, (lag, lead) = interlock.more(there, first)
                certain, lagging, leading = certain + more, lagging + lag, leading + lead
            on = on.copy()
            for member in np.flatnonzero(interlock.cycling):
                if int(interlock.piece[member]) in self._place:
                    on[self._place[int(interlock.piece[member])]] &= ~out[member]
        return LetOn(certain, on, (lagging, leading))

    def largest(self, total: Callable[[Choice | None], Draws]) -> Draws:
        """Of totals with each choice of members the largest in watts and in volt-amperes, as limits use them."""
        return largest_of(total(None), [total(choice) for choice in self.choices])

    @cached_property
    def choices(self) -> list[Choice]:
        """All of them; of more than can be tried those of one interlock at a time. None where one is the largest."""
        if not any(one.is_mixed for one in self.interlocked):
            return []
        each = [one.choices(*self._members(one, self.on)) for one in self.interlocked]
        many = math.prod(map(len, each))
        if many <= MOST_CHOICES:
            return list(product(*each)) if many > 1 else []
        largest = [ways[0] for ways in each]
        return [
            (*largest[:place], way, *largest[place + 1 :])
            for place, ways in enumerate(each)
            for way in ways
        ]  # fmt: skip

    def _members(self, interlock: Interlocked, on: Flags) -> tuple[Flags, Flags]:
        """Which members of an interlock are on, and which of them count first."""
        there = interlock.there(self.at_ms)
        first = interlock.starting(self.at_ms) if self.in_their_start else np.zeros_like(there)
        for member in np.flatnonzero(interlock.cycling):
            piece = int(interlock.piece[member])
            there[member] = on[self._place[piece]] if piece in self._place else False
            first[member] = piece in self.starters
        return there, first


def largest_of(most: Draws, each: Sequence[Draws]) -> Draws:
    """Of several draws the largest in watts and in volt-amperes, as limits use them, as one.

    most: with every figure the largest of theirs; returned where there are none.
    """
    if not each:
        return most
    use_w = np.maximum.reduce([one.use_w for one in each])
    more_w = np.maximum(use_w - most.p_w, 0.0)
    scale = 1 + more_w / np.maximum(most.p_w, HAIR)  # as in `Draws.use_va`
    va = np.maximum.reduce([one.use_va for one in each]) / scale
    beside = np.sqrt(np.maximum(va**2 - most.p_w**2 - most.d_va**2, 0.0))
    return replace(most, q_var=np.copysign(beside, most.q_var), spread_w2=more_w**2)


def with_cyclers(
    certain: Draws, cycling: Draws, on: NDArray[np.bool_], beside_var: tuple[Floats, Floats] = NO_VAR
) -> Draws:
    """Certain draws and those cycling loads that are on.

    certain: any shape. cycling: shape (n,). on: shape (n, *shape). beside_var: reactive power of more that is there,
    with the loads that lag, and with those that lead.
    """
    if not len(cycling.p_w) and beside_var is NO_VAR:
        return certain
    lagging, leading = np.maximum(cycling.q_var, 0.0), np.minimum(cycling.q_var, 0.0)
    p_w, lag, lead, d_va, spread_w2 = _summed([cycling.p_w, lagging, leading, cycling.d_va, cycling.spread_w2], on)
    return Draws(
        certain.p_w + p_w,
        worst_q_var(certain.q_var, lag + beside_var[0], lead + beside_var[1]),
        certain.d_va + d_va,
        certain.spread_w2 + spread_w2,
    )


def summed(draws: Draws, flags: NDArray[np.bool_]) -> Draws:
    """Sums of those draws whose flags hold; shape (n,) and (n, *shape) to shape."""
    return Draws(*_summed([draws.p_w, draws.q_var, draws.d_va, draws.spread_w2], flags))


def _summed(figures: list[Floats], flags: NDArray[np.bool_]) -> Floats:
    """Each figure, shape (n,), summed where the flags hold, shape (n, *shape); shape (figures, *shape)."""
    sums = np.array(figures) @ flags.reshape(len(flags), math.prod(flags.shape[1:])).astype(float)
    return np.asarray(sums.reshape(len(figures), *flags.shape[1:]))


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
        draws=piece_draws(laid, weight, chosen), start_p_w=rows.start_p_w[row] * part,
        start_q_var=rows.start_q_var[row] * part, start_va=rows.start_va[row] * part,
        start_ms=np.minimum(rows.start_ms[row], pieces.end_ms[chosen] - pieces.begin_ms[chosen]),
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


def _cold_cycling(laid: Laid, cyclers: Cyclers, weight: Floats, active: NDArray[np.bool_]) -> Draws:
    """What the cycling loads add after a power cut."""
    rows, row = laid.rows, laid.pieces.row[cyclers.piece]
    part = weight[laid.pieces.appliance[cyclers.piece]]
    nothing = np.zeros(len(row))
    cold = Draws(rows.cold_p_w[row] * part, rows.cold_q_var[row] * part, rows.cold_d_va[row] * part, nothing)
    return summed(cold, active)
