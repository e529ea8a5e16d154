"""The list of starts, as the inverter meets them."""

from collections.abc import Iterator

import numpy as np

from app.engine.curve import Line
from app.engine.heat import Rule
from app.engine.inverter import VOLT_AMPERES, top_line
from app.engine.margins import judged
from app.engine.readings import START_MARGIN, SURE_MARGIN, Ruled
from app.engine.results import Surge, Verdict


def surges_of(ruled: Ruled) -> Iterator[Surge]:
    """Every scheduled start, and every cycling load's start at its worst instant, in time order."""
    yield from sorted(_all(ruled), key=lambda surge: (surge.at_ms, surge.appliance))


def _all(ruled: Ruled) -> Iterator[Surge]:
    view, rule = ruled.view, ruled.rule
    scope, rows, pieces = view.scope, view.laid.rows, view.laid.pieces
    scheduled = view.scheduled
    line = top_line(rule)
    total_va = scheduled.largest(ruled.worst_total[VOLT_AMPERES])
    certain_va = scheduled.largest(ruled.certain_total[VOLT_AMPERES])
    before_va = scheduled.before.use_va
    for place, piece in enumerate(scheduled.piece.tolist()):
        row = int(pieces.row[piece])
        at_ms = int(scheduled.begin_ms[place])
        measured = view.starts_measured(at_ms, None)
        certain = _verdict(bool(ruled.certain_starts_broken[place]), certain_va[place], line, at_ms, measured)
        worst = _verdict(False, total_va[place], line, at_ms, measured)
        yield Surge(
            at_ms=at_ms, appliance=rows.appliances[int(rows.appliance[row])].id, run=_run(ruled, piece),
            start_va=float(rows.start_va[row]), duration_s=float(scheduled.end_ms[place] - at_ms) / 1000,
            before_va=max(float(before_va[place]), 0.0), total_va=float(total_va[place]),
            allowed_s=_allowed_s(rule, float(total_va[place]), at_ms),
            verdict=judged(certain, bool(ruled.worst_starts_broken[place]), worst), scheduled=True,
        )  # fmt: skip
    for start, use, broken in zip(view.unscheduled, ruled.unscheduled_use, ruled.unscheduled_broken, strict=True):
        if not len(start.stretch):
            continue
        va = use[VOLT_AMPERES]
        margin = np.minimum(line.at(scope.t_ms[start.stretch]), line.at(scope.t_ms[start.stretch + 1])) - va
        worst_place = int(np.argmin(margin))
        row = int(pieces.row[start.piece])
        at_ms = int(np.ceil(scope.t_ms[start.stretch[worst_place]]))
        appliance = rows.appliances[int(rows.appliance[row])]
        total = float(va[worst_place])
        fits = _verdict(False, total, line, at_ms, appliance.basis == "measured")
        yield Surge(
            at_ms=at_ms, appliance=appliance.id, run=_run(ruled, start.piece), start_va=float(rows.start_va[row]),
            duration_s=start.duration_s, before_va=max(float(start.before.use_va[worst_place]), 0.0), total_va=total,
            allowed_s=_allowed_s(rule, total, at_ms), verdict="chance" if broken else fits, scheduled=False,
        )  # fmt: skip


def _verdict(broken: bool, total_va: float, line: Line, at_ms: int, measured: bool) -> Verdict:
    if broken:
        return "over"
    limit = float(line.at(at_ms))
    left = SURE_MARGIN if measured else START_MARGIN
    return "tight" if limit - total_va < left * limit * (1 - 1e-9) else "fits"


def _allowed_s(rule: Rule, total_va: float, at_ms: int) -> float | None:
    """How long the inverter carries a total: None for hours, 0 above its top level."""
    allowed: float | None = None
    for check in rule.checks:
        if check.quantity == VOLT_AMPERES and total_va > float(check.line.at(at_ms)) * (1 + 1e-9):
            allowed = 0.0 if check.store is None else rule.allowed_s[check.store]
    return allowed


def _run(ruled: Ruled, piece: int) -> str | None:
    run = int(ruled.view.laid.pieces.run[piece])
    return ruled.view.resolved.day.runs[run].id if run >= 0 else None
