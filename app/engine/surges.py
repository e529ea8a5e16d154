"""The list of starts, as the inverter meets them."""

import math
from collections.abc import Iterator
from operator import attrgetter

import numpy as np

from app.engine.heat import Rule, exceeds
from app.engine.inverter import VOLT_AMPERES, top_line
from app.engine.readings import START_MARGIN, SURE_MARGIN, Ruled
from app.engine.results import Flags, Floats, Surge
from app.engine.starts import lowest


def surges_of(ruled: Ruled) -> list[Surge]:
    """Every scheduled start, and every cycling load's start at its worst instant, in time order."""
    surges = [*_scheduled(ruled), *_unscheduled(ruled)]
    return sorted(surges, key=attrgetter("at_ms", "appliance"))


def _scheduled(ruled: Ruled) -> Iterator[Surge]:
    view, starts = ruled.view, ruled.view.scheduled
    rows, pieces = view.laid.rows, view.laid.pieces
    if not len(starts):
        return
    at_ms = starts.begin_ms.astype(float)
    row = pieces.row[starts.piece]
    measured = np.array([appliance.basis == "measured" for appliance in rows.appliances])
    measured = measured[pieces.appliance[starts.piece]]
    # Those that begin at one instant are one moment: sure only if all of it is.
    _, moment = np.unique(starts.begin_ms, return_inverse=True)
    all_measured = np.bincount(moment, weights=~measured)[moment] == 0
    total_va = starts.largest(ruled.worst_total[VOLT_AMPERES])
    tight = _tight(total_va, top_line(ruled.rule).at(at_ms), all_measured)
    verdict = np.select(
        [ruled.certain_starts_broken, ruled.worst_starts_broken, tight], ["over", "chance", "tight"], "fits"
    )
    runs = [run.id for run in view.resolved.day.runs]
    columns = zip(
        starts.begin_ms.tolist(),
        [rows.names[one][0] for one in row.tolist()],
        [runs[run] if run >= 0 else None for run in pieces.run[starts.piece].tolist()],
        rows.start_va[row].tolist(),
        ((starts.end_ms - starts.begin_ms) / 1000).tolist(),
        np.maximum(starts.before.use_va, 0.0).tolist(),
        total_va.tolist(),
        _allowed_s(ruled.rule, total_va, at_ms),
        verdict.tolist(),
        [True] * len(starts),
        strict=True,
    )
    yield from map(Surge._make, columns)


def _unscheduled(ruled: Ruled) -> Iterator[Surge]:
    view, line = ruled.view, top_line(ruled.rule)
    scope, rows, pieces = view.scope, view.laid.rows, view.laid.pieces
    for start, use, broken_ms in zip(view.unscheduled, ruled.unscheduled_use, ruled.unscheduled_broken_ms, strict=True):
        if not len(start.stretch):
            continue
        va = use[VOLT_AMPERES]
        limit_va = lowest(line.at(scope.t_ms))[start.stretch]
        worst = int(np.argmin(limit_va - va))
        at_ms = float(np.ceil(scope.t_ms[start.stretch[worst]]))
        row = int(pieces.row[start.piece])
        appliance = rows.appliances[int(rows.appliance[row])]
        tight = _tight(va[worst], limit_va[worst], np.asarray(appliance.basis == "measured"))
        yield Surge(
            at_ms=int(at_ms), appliance=appliance.id, run=_run_id(ruled, int(pieces.run[start.piece])),
            start_va=float(rows.start_va[row]), duration_s=start.duration_s,
            before_va=max(float(start.before.use_va[worst]), 0.0), total_va=float(va[worst]),
            allowed_s=_allowed_s(ruled.rule, va[worst : worst + 1], np.array([at_ms]))[0],
            verdict="chance" if np.isfinite(broken_ms) else "tight" if tight else "fits", scheduled=False,
        )  # fmt: skip


def _tight(total_va: Floats, limit_va: Floats, measured: Flags) -> Flags:
    left = np.where(measured, SURE_MARGIN, START_MARGIN)
    return np.asarray(limit_va - total_va < left * limit_va * (1 - 1e-9))


def _allowed_s(rule: Rule, total_va: Floats, at_ms: Floats) -> list[float | None]:
    """How long the inverter carries totals: None for hours, 0 above its top level."""
    allowed_s = np.full(len(total_va), np.inf)
    for check in rule.checks:
        if check.quantity == VOLT_AMPERES and total_va.max(initial=0.0) > check.line.lowest:
            time_s = 0.0 if check.store is None else rule.allowed_s[check.store]
            allowed_s = np.where(exceeds(total_va, check.line.at(at_ms)), time_s, allowed_s)
    return [None if one == math.inf else one for one in allowed_s.tolist()]


def _run_id(ruled: Ruled, run: int) -> str | None:
    return ruled.view.resolved.day.runs[run].id if run >= 0 else None
