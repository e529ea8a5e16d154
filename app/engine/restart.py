"""After a power cut: everything that starts by itself comes back at once."""

import numpy as np

from app.engine.bank import Bank
from app.engine.contributors import cold_contributors
from app.engine.draw import HAIR, Draws
from app.engine.heat import Rule, part_above
from app.engine.inverter import top_line
from app.engine.margins import Tightest, judged, tightest
from app.engine.readings import START_MARGIN, SURE_MARGIN, View
from app.engine.results import Flags, Floats, LimitReading, Verdict


def cold_restart_limit(house: View, rule: Rule, bank: Bank) -> LimitReading:
    """The reading `cold_restart`: the worst instant to come back, and what to switch off before."""
    scope, laid = house.scope, house.laid
    line = top_line(rule)
    at = tightest(scope.t_ms, scope.cold_worst.va, line)
    certain_at = tightest(scope.t_ms, scope.cold.va, line)
    low = bool(_too_low(house, bank, scope.cold_worst, certain=False).any())
    certain_low = bool(_too_low(house, bank, scope.cold, certain=True).any())
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
    if _too_low(house, bank, scope.cold_worst, certain=False)[scope.begin_ms < day_ms].any():
        return None
    length_ms = np.clip(np.diff(np.minimum(scope.t_ms, day_ms)), 0.0, None)
    part = part_above(
        scope.cold_worst.va, *(line.at(np.minimum(edge, day_ms)) for edge in (scope.t_ms[:-1], scope.t_ms[1:]))
    )
    return float(part @ length_ms) / max(float(length_ms.sum()), 1.0)


def _too_low(house: View, bank: Bank, cold: Draws, *, certain: bool) -> Flags:
    """In which stretches the start pulls the bank under the cut-off for as long as the inverter waits."""
    inverter = house.resolved.household.supply.inverter
    loaded = bank.under(_plain(cold))
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


def _plain(cold: Draws) -> Draws:
    """A plain sum: no uncertainty in what comes back at once."""
    return Draws(cold.p_w, cold.q_var, cold.d_va, np.zeros_like(cold.p_w))


def _switching_off(house: View, bank: Bank, at_ms: int, limit_va: float) -> tuple[str, ...]:
    """Appliances to switch off before power comes back, largest relief first, until it is under the limits."""
    pieces, rows = house.laid.pieces, house.laid.rows
    there = np.flatnonzero((pieces.begin_ms <= at_ms) & (pieces.end_ms > at_ms))
    row = pieces.row[there]
    left: dict[int, Floats] = {}
    for place, p_w, q_var, d_va in zip(
        rows.appliance[row].tolist(),
        rows.cold_p_w[row],
        rows.cold_q_var[row],
        rows.cold_d_va[row],
        strict=True,
    ):
        if p_w > 0:
            left[place] = left.get(place, np.zeros(3)) + np.array([p_w, q_var, d_va])

    def va(sums: Floats) -> float:
        return float(np.sqrt((sums**2).sum()))

    total = np.sum(list(left.values()), axis=0) if left else np.zeros(3)
    order: list[str] = []
    inverter = house.resolved.household.supply.inverter
    waits = inverter.cut_off_delay_s
    while left:
        draws = Draws(*(np.array([one]) for one in (*total, 0.0)))
        starting_s = max((float(rows.start_ms[r]) / 1000 for r in row if int(rows.appliance[r]) in left), default=0)
        low = bool(bank.terminal_v(draws)[0] < inverter.cut_off_v * (1 - HAIR) or bank.collapses(draws)[0])
        if va(total) <= limit_va * (1 + HAIR) and not (low and (waits == 0 or starting_s >= waits)):
            break
        # Of equals, the first in the file.
        heaviest = max(sorted(left), key=lambda place: va(total) - va(total - left[place]))
        total = total - left.pop(heaviest)
        order.append(rows.appliances[heaviest].id)
    return tuple(order)
