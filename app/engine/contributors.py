"""Who draws at an instant, each with its share of the total as a limit sees it."""

from collections.abc import Iterator

import numpy as np

from app.engine.draw import Draws, apparent_va
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
    starter: int | None = None,
) -> tuple[Contributor, ...]:
    """Everything that counts in a scope's worst case at an instant, the largest first.

    starts: scheduled starts in progress stand in place of their running draw.
    starter: a cycling piece that starts just then. Watts and projected VA sum to the nominal total.
    """
    pieces, rows = laid.pieces, laid.rows
    there = (pieces.begin_ms <= at_ms) & (pieces.end_ms > at_ms)
    there[left_out_at(scope, at_ms, starts=starts, starter=starter)] = False
    chosen = np.flatnonzero(there)
    part = scope.weight[rows.appliance[pieces.row[chosen]]]
    chosen, part = chosen[part > 0], part[part > 0]
    row = pieces.row[chosen]
    cycling = pieces.cycling[chosen]
    draws = rows.running.take(row).times(part)
    q_var = counted_q_var(draws, cycling)
    starting = np.zeros(len(chosen), dtype=bool)
    if starts:
        starting |= pieces.scheduled[chosen] & (at_ms < pieces.begin_ms[chosen] + rows.start_ms[row])
    if starter is not None:
        starting |= chosen == starter
    p_w = np.where(starting, rows.start_p_w[row] * part, draws.p_w)
    q_var = np.where(starting, rows.start_q_var[row] * part, q_var)
    d_va = np.where(starting, 0.0, draws.d_va)
    sums = Draws(p_w, q_var, d_va, np.zeros_like(p_w))
    return tuple(_listed(resolved, laid, chosen, sums, starting))


def left_out_at(scope: Scope, at_ms: float, *, starts: bool = False, starter: int | None = None) -> Instants:
    """Pieces that stand at an instant and that interlocks keep out of the worst case."""
    out: list[Instants] = []
    for interlock in scope.interlocked:
        first = interlock.piece == starter
        if starts:
            first |= interlock.starting(np.asarray(at_ms))
        out.append(interlock.piece[interlock.left_out(interlock.there(np.asarray(at_ms)), first)])
    return np.concatenate([np.empty(0, dtype=np.int64), *out])


def counted_q_var(draws: Draws, cycling: Flags) -> Floats:
    """The reactive power each load counts with: of the cycling ones only those on the worse side of zero."""
    certain = draws.q_var[~cycling].sum()
    lagging = certain + np.maximum(draws.q_var[cycling], 0).sum()
    leading = certain + np.minimum(draws.q_var[cycling], 0).sum()
    side = draws.q_var < 0 if abs(leading) > abs(lagging) else draws.q_var > 0
    return np.where(cycling & ~side, 0.0, draws.q_var)


def cold_contributors(resolved: Resolved, laid: Laid, scope: Scope, at_ms: float) -> tuple[Contributor, ...]:
    """Everything that comes back at an instant when power returns, the largest first."""
    pieces, rows = laid.pieces, laid.rows
    there = (pieces.begin_ms <= at_ms) & (pieces.end_ms > at_ms)
    row = pieces.row
    there &= (rows.cold_p_w[row] > 0) | (rows.cold_q_var[row] != 0)
    there &= scope.weight[rows.appliance[row]] > 0
    chosen = np.flatnonzero(there)
    row = row[chosen]
    starting = rows.start_ms[row] > 0
    cold = Draws(rows.cold_p_w[row], rows.cold_q_var[row], rows.cold_d_va[row], np.zeros(len(row)))
    return tuple(_listed(resolved, laid, chosen, cold, starting))


def _listed(resolved: Resolved, laid: Laid, chosen: Instants, draws: Draws, starting: Flags) -> Iterator[Contributor]:
    """Draws as contributors, each with its projection on their sum, the largest first."""
    p_w, q_var, d_va = draws.p_w, draws.q_var, draws.d_va
    total_va = float(apparent_va(p_w.sum(), q_var.sum(), d_va.sum()))
    va = (p_w * p_w.sum() + q_var * q_var.sum() + d_va * d_va.sum()) / total_va if total_va > 0 else p_w
    pieces, rows = laid.pieces, laid.rows
    for place in np.argsort(-va, kind="stable"):
        piece = chosen[place]
        row = int(pieces.row[piece])
        appliance_place = int(rows.appliance[row])
        appliance = rows.appliances[appliance_place]
        run = int(pieces.run[piece])
        yield Contributor(
            appliance=appliance.id,
            run=resolved.day.runs[run].id if run >= 0 else None,
            stage=appliance.stages[row - int(rows.first[appliance_place])].name,
            certain=not pieces.cycling[piece],
            w=float(p_w[place]),
            va=float(va[place]),
            starting=bool(starting[place]),
        )
