"""Who draws at an instant, each with its share of the total as a limit sees it."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from app.engine.cyclers import Interlocked
from app.engine.draw import Draws
from app.engine.expand import Laid
from app.engine.results import Contributor, Flags, Floats, Instants
from app.engine.scope import Scope
from app.household.resolve import Resolved


def contributors_at(
    resolved: Resolved,
    laid: Laid,
    scope: Scope,
    at_ms: float,
    *,
    starts: bool = False,
    starters: Sequence[int] = (),
    total: Draws | None = None,
) -> tuple[Contributor, ...]:
    """Everything that counts in a scope's worst case at an instant, the largest first.

    starts: scheduled starts in progress stand in place of their running draw.
    starters: cycling pieces that start just then; total: with their start. Watts and projected VA sum to the total.
    """
    pieces, rows = laid.pieces, laid.rows
    there = (pieces.begin_ms <= at_ms) & (pieces.end_ms > at_ms) & (scope.weight[pieces.appliance] > 0)
    if scope.interlocked:
        there[left_out_at(scope, at_ms, starts=starts, starters=starters)] = False
    chosen = there.nonzero()[0]
    if not len(chosen):
        return ()
    row, part = pieces.row[chosen], scope.weight[pieces.appliance[chosen]]
    draws = rows.running.take(row).times(part)
    p_w, q_var, d_va = draws.p_w, counted_q_var(draws, pieces.cycling[chosen]), draws.d_va
    starting = np.isin(chosen, starters) if starters else np.zeros(len(chosen), dtype=bool)
    if starts:
        starting |= pieces.scheduled[chosen] & (at_ms < pieces.begin_ms[chosen] + rows.start_ms[row])
    if starting.any():
        p_w = np.where(starting, rows.start_p_w[row] * part, p_w)
        q_var = np.where(starting, rows.start_q_var[row] * part, q_var)
        d_va = np.where(starting, 0.0, d_va)
    if any(interlock.is_mixed for interlock in scope.interlocked):
        if total is None:
            total = (scope.worst_started if starts else scope.worst).take(scope.stretch_at(at_ms))
        in_place = _in_place(scope, chosen, at_ms, starts=starts, starters=starters)
        p_w, q_var, d_va = (
            own + in_place * (float(all_of_it) - own.sum())
            for own, all_of_it in ((p_w, total.p_w), (q_var, total.q_var), (d_va, total.d_va))
        )
    return tuple(_listed(resolved, laid, chosen, (p_w, q_var, d_va), starting))


def _in_place(scope: Scope, chosen: Instants, at_ms: float, *, starts: bool, starters: Sequence[int]) -> Floats:
    """Which pieces stand for others that an interlock would let on instead, and which part of those each does.

    The last that counts of each interlock whose members differ.
    """
    found = np.zeros(len(chosen))
    for interlock in scope.interlocked:
        if interlock.is_mixed:
            there, first = _members_at(interlock, at_ms, starts=starts, starters=starters)
            counts = np.flatnonzero(there & ~interlock.left_out(there, first) & ~first)
            found[chosen == interlock.piece[counts[-1:]].sum()] = 1.0 if len(counts) else 0.0
    return np.asarray(found / max(found.sum(), 1.0))


def _members_at(interlock: Interlocked, at_ms: float, *, starts: bool, starters: Sequence[int]) -> tuple[Flags, Flags]:
    """Which members of an interlock stand at an instant, and which count first."""
    first = np.isin(interlock.piece, starters)
    if starts:
        first |= interlock.starting(np.asarray(at_ms))
    return interlock.there(np.asarray(at_ms)), first


def left_out_at(scope: Scope, at_ms: float, *, starts: bool = False, starters: Sequence[int] = ()) -> Instants:
    """Pieces that stand at an instant and that interlocks keep out of the worst case."""
    out: list[Instants] = []
    for interlock in scope.interlocked:
        there, first = _members_at(interlock, at_ms, starts=starts, starters=starters)
        out.append(interlock.piece[interlock.left_out(there, first)])
    return np.concatenate([np.empty(0, dtype=np.int64), *out])


def counted_q_var(draws: Draws, cycling: Flags) -> Floats:
    """The reactive power each load counts with: of the cycling ones only those on the worse side of zero."""
    certain = draws.q_var[~cycling].sum()
    comes_and_goes = draws.q_var[cycling]
    if not comes_and_goes.any():
        return draws.q_var
    lagging = certain + np.maximum(comes_and_goes, 0).sum()
    leading = certain + np.minimum(comes_and_goes, 0).sum()
    side = draws.q_var < 0 if abs(leading) > abs(lagging) else draws.q_var > 0
    return np.where(cycling & ~side, 0.0, draws.q_var)


def cold_contributors(resolved: Resolved, laid: Laid, scope: Scope, at_ms: float) -> tuple[Contributor, ...]:
    """Everything that comes back at an instant when power returns, the largest first."""
    pieces, rows = laid.pieces, laid.rows
    there = (pieces.begin_ms <= at_ms) & (pieces.end_ms > at_ms)
    row = pieces.row
    there &= (rows.cold_p_w[row] > 0) | (rows.cold_q_var[row] != 0)
    there &= scope.weight[pieces.appliance] > 0
    chosen = there.nonzero()[0]
    row = row[chosen]
    cold = rows.cold.take(row)
    draws = cold.p_w, counted_q_var(cold, pieces.cycling[chosen]), cold.d_va
    return tuple(_listed(resolved, laid, chosen, draws, rows.start_ms[row] > 0))


def _listed(
    resolved: Resolved, laid: Laid, chosen: Instants, draws: tuple[Floats, Floats, Floats], starting: Flags
) -> Iterator[Contributor]:
    """Pieces as contributors, each with its draw's projection on the sum, the largest first.

    draws: watts, reactive and distortion volt-amperes of each piece.
    """
    if not len(chosen):
        return
    p_w, q_var, d_va = draws
    sums = tuple(float(one.sum()) for one in draws)
    total_va = math.hypot(*sums)
    va = (p_w * sums[0] + q_var * sums[1] + d_va * sums[2]) / total_va if total_va > 0 else p_w
    pieces, rows, runs = laid.pieces, laid.rows, resolved.day.runs
    order = (-va).argsort(kind="stable")
    chosen = chosen[order]
    for row, run, cycles, own_w, own_va, starts in zip(
        pieces.row[chosen].tolist(), pieces.run[chosen].tolist(), pieces.cycling[chosen].tolist(),
        p_w[order].tolist(), va[order].tolist(), starting[order].tolist(), strict=True,
    ):  # fmt: skip
        appliance, stage = rows.names[row]
        yield Contributor(appliance, runs[run].id if run >= 0 else None, stage, not cycles, own_w, own_va, starts)
