"""After a power cut: everything that starts by itself comes back at once."""

import numpy as np

from app.engine.bank import Bank
from app.engine.contributors import cold_contributors
from app.engine.draw import HAIR, Draws
from app.engine.everything import coming_back
from app.engine.heat import Rule, part_above
from app.engine.inverter import top_line
from app.engine.margins import Tightest, judged, tightest
from app.engine.readings import START_MARGIN, SURE_MARGIN, View
from app.engine.results import Flags, Floats, LimitReading, Verdict
from app.engine.sums import Sums, sums_of


def cold_restart_limit(house: View, rule: Rule, bank: Bank) -> LimitReading:
    """The reading `cold_restart`: the worst instant to come back, and what to switch off before."""
    scope, laid = house.scope, house.laid
    line = top_line(rule)
    worst = coming_back(scope)
    at = tightest(scope.t_ms, worst.va, line)
    certain_at = tightest(scope.t_ms, scope.cold.va, line)
    low = bool(_too_low(house, bank, worst.p_w, certain=False).any())
    certain_low = bool(_too_low(house, bank, scope.cold.p_w, certain=True).any())
    rows, pieces = laid.rows, laid.pieces

    def ladder(at: Tightest, chosen: Flags) -> Verdict:
        restarting = chosen & (pieces.begin_ms <= at.at_ms) & (pieces.end_ms > at.at_ms)
        places = pieces.appliance[restarting].tolist()
        measured = all(rows.appliances[place].basis == "measured" for place in places)
        return "tight" if at.less_than(SURE_MARGIN if measured else START_MARGIN) else "fits"

    kicks = (rows.start_ms[pieces.row] > 0) & (rows.cold_p_w[pieces.row] > 0)
    certain: Verdict = "over" if certain_at.exceeded or certain_low else ladder(certain_at, kicks & ~pieces.cycling)
    broken = at.exceeded or low
    return LimitReading(
        id="cold_restart", direction="ceiling", limit=at.limit, unit="VA", use=at.use, margin=at.margin,
        at_ms=at.at_ms, verdict=judged(certain, broken, ladder(at, kicks)), verdict_certain=certain,
        use_certain=certain_at.use,
        contributors=cold_contributors(house.resolved, laid, scope, at.at_ms),
        switch_off=_switching_off(house, bank, at.at_ms, at.limit), broken_at_ms=at.at_ms if broken else None,
    )  # fmt: skip


def too_much_again(house: View, rule: Rule, bank: Bank, day_ms: float) -> float | None:
    """The part of a day, of what a view sees of it, in which all that starts again after a power cut is too much.

    None where it pulls the bank under the cut-off: no odds are told of voltage.
    """
    scope, line = house.scope, top_line(rule)
    worst = coming_back(scope)
    if _too_low(house, bank, worst.p_w, certain=False)[scope.begin_ms < day_ms].any():
        return None
    length_ms = np.clip(np.diff(np.minimum(scope.t_ms, day_ms)), 0.0, None)
    part = part_above(worst.va, *(line.at(np.minimum(edge, day_ms)) for edge in (scope.t_ms[:-1], scope.t_ms[1:])))
    return float(part @ length_ms) / max(float(length_ms.sum()), 1.0)


def _too_low(house: View, bank: Bank, cold_w: Floats, *, certain: bool) -> Flags:
    """In which stretches the start pulls the bank under the cut-off for as long as the inverter waits."""
    inverter = house.resolved.household.supply.inverter
    loaded = bank.under(_watts(cold_w))
    below = (loaded.terminal_v < inverter.cut_off_v * (1 - HAIR)) | loaded.collapses
    if not below.any() or inverter.cut_off_delay_s == 0:
        return np.asarray(below)
    scope, pieces, rows = house.scope, house.laid.pieces, house.laid.rows
    starts = (rows.start_ms[pieces.row] > 0) & (rows.cold_p_w[pieces.row] > 0)
    if certain:
        starts &= ~pieces.cycling
    chosen = np.flatnonzero(starts & (scope.weight[pieces.appliance] > 0))
    at_ms = scope.begin_ms[below]
    there = (pieces.begin_ms[chosen][:, None] <= at_ms) & (pieces.end_ms[chosen][:, None] > at_ms)
    seconds = rows.start_ms[pieces.row[chosen]][:, None] / 1000
    longest_s = np.max(np.where(there, seconds, 0.0), axis=0, initial=0.0)
    found = np.zeros(len(below), dtype=bool)
    found[below] = longest_s >= inverter.cut_off_delay_s * (1 - HAIR)
    return found


def _watts(p_w: Floats) -> Draws:
    """All that a bank sees of a draw."""
    nothing = np.zeros_like(p_w)
    return Draws(p_w, nothing, nothing, nothing)


def _switching_off(house: View, bank: Bank, at_ms: int, limit_va: float) -> tuple[str, ...]:
    """Appliances to switch off before power comes back, largest relief first, until it is under the limits."""
    pieces, rows = house.laid.pieces, house.laid.rows
    there = np.flatnonzero((pieces.begin_ms <= at_ms) & (pieces.end_ms > at_ms))
    row = pieces.row[there]
    each = sums_of(rows.cold.take(row), pieces.cycling[there])
    left: dict[int, Sums] = {}
    for piece, place in enumerate(rows.appliance[row].tolist()):
        if each.p_w[piece] > 0:
            own = Sums(each.figures[:, piece])
            left[place] = left[place] + own if place in left else own
    total = sum(left.values(), Sums(np.zeros(5)))
    order: list[str] = []
    inverter = house.resolved.household.supply.inverter
    waits = inverter.cut_off_delay_s
    while left:
        loaded = bank.under(_watts(total.p_w[None]))
        starting_s = max((float(rows.start_ms[r]) / 1000 for r in row if int(rows.appliance[r]) in left), default=0)
        low = bool(loaded.terminal_v[0] < inverter.cut_off_v * (1 - HAIR) or loaded.collapses[0])
        if total.va <= limit_va * (1 + HAIR) and not (low and (waits == 0 or starting_s >= waits)):
            break
        # Of equals, the first in the file.
        heaviest = max(sorted(left), key=lambda place: float(total.va - (total - left[place]).va))
        total = total - left.pop(heaviest)
        order.append(rows.appliances[heaviest].id)
    return tuple(order)
