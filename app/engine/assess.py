"""The door to the engine: a household and a plan in, everything that can be said about it out."""

from collections.abc import Iterator

import numpy as np

from app.engine.anytime import any_time_loads
from app.engine.bankday import bank_day
from app.engine.cautions import cautions_of
from app.engine.contributors import left_out_at
from app.engine.day import PlannedDay, lay_day
from app.engine.expand import Laid
from app.engine.inverter import steady_line, top_line
from app.engine.odds.odds import odds_of, talked_down
from app.engine.power import power_limits
from app.engine.reserve import energy_limits
from app.engine.results import Assessment, BankDay, Curves, Demand, Piece, worst_of
from app.engine.scope import Scope
from app.engine.sun import Suns, suns_of
from app.engine.sure import with_sure
from app.engine.surges import surges_of
from app.household.household import Household
from app.household.resolve import Resolved, resolve


def assess(household: Household, scenario_id: str | None = None) -> Assessment:
    """Assess one plan of a household; without an id, its first.

    Pure: the same household and plan give the same assessment.
    Raises HouseholdFaults for a plan that cannot be computed.
    """
    resolved = resolve(household, scenario_id)
    return assess_day(lay_day(resolved), suns_of(resolved))


def assess_day(
    day: PlannedDay, suns: Suns | None, *, closely: bool = True, battery: BankDay | None = None
) -> Assessment:
    """Assess a plan that is laid on its day already; without its sun, all but reserve, generator and battery.

    closely: with how often what could cut out does, and when each any-time load may be on. Without, which is half the
    work, no chance is taken for too much for coming every day, and any-time loads are left out.
    battery: what comes of the sun, where that is worked out already.
    """
    resolved, house = day.resolved, day.house
    ruled, limits = power_limits(day)
    limits = with_sure(day, limits)
    odds = odds_of(day, limits)
    if closely:
        limits = [talked_down(reading, odds) for reading in limits]
    if battery is None and suns is not None:
        battery = bank_day(day, suns)
    if battery is not None:
        limits += energy_limits(house, battery)
    demand, trust = _demand(resolved, day.laid, house.scope)
    return Assessment(
        verdict=worst_of(*(reading.verdict for reading in limits)),
        limits=tuple(limits),
        surges=tuple(surges_of(ruled)),
        demand=demand,
        any_time=tuple(any_time_loads(day, battery)) if closely else (),
        trust=trust,
        cautions=tuple(cautions_of(resolved, day.laid)),
        pieces=tuple(_pieces(resolved, day.laid)),
        curves=Curves(
            t_ms=house.scope.t_ms,
            certain_w=house.scope.certain.p_w,
            worst_w=house.scope.worst.p_w,
            limit_w=steady_line(day.rule, 0).at(house.scope.t_ms),
            start_limit_va=top_line(day.rule).at(house.scope.t_ms),
        ),
        day_ms=resolved.frame.day_ms,
        horizon_ms=resolved.frame.horizon_ms,
        odds=odds,
        battery=battery,
    )


def _demand(resolved: Resolved, laid: Laid, scope: Scope) -> tuple[Demand, dict[str, float]]:
    """Energy, running peaks, and how much of the peak rests on what kind of figure."""
    hours = np.diff(np.minimum(scope.t_ms, resolved.frame.day_ms)) / 3_600_000
    pieces, rows = laid.pieces, laid.rows
    cycling = np.flatnonzero(pieces.cycling)
    on_hours = np.clip(resolved.frame.day_ms - pieces.begin_ms[cycling], 0, None)
    on_hours = np.minimum(on_hours, pieces.end_ms[cycling] - pieces.begin_ms[cycling]) / 3_600_000
    share = pieces.on_ms[cycling] / pieces.period_ms[cycling]
    typical_wh = float(scope.certain.p_w @ hours + (rows.running.p_w[pieces.row[cycling]] * share) @ on_hours)
    worst_w, worst_va = scope.worst.p_w, scope.worst.va
    peak_w = float(worst_w.max())
    at_ms = int(np.ceil(scope.t_ms[np.flatnonzero(worst_w >= peak_w * (1 - 1e-12))[0]]))
    demand = Demand(
        energy_wh=typical_wh,
        peak_certain_w=float(scope.certain.p_w.max()),
        peak_worst_w=peak_w,
        peak_worst_va=float(worst_va.max()),
        peak_at_ms=at_ms,
    )
    trust = dict.fromkeys(("measured", "nameplate", "typical"), 0.0)
    there = (pieces.begin_ms <= at_ms) & (pieces.end_ms > at_ms)
    there[left_out_at(scope, at_ms)] = False
    for place, p_w in zip(pieces.appliance[there].tolist(), rows.running.p_w[pieces.row[there]].tolist(), strict=True):
        trust[rows.appliances[place].basis] += p_w / peak_w if peak_w else 0.0
    return demand, trust


def _pieces(resolved: Resolved, laid: Laid) -> Iterator[Piece]:
    """Every stage as it stands on the day."""
    pieces, rows = laid.pieces, laid.rows
    runs = [run.id for run in resolved.day.runs]
    names = [rows.names[row] for row in pieces.row.tolist()]
    columns = zip(
        [appliance for appliance, _ in names],
        [runs[run] if run >= 0 else None for run in pieces.run.tolist()],
        [stage for _, stage in names],
        pieces.begin_ms.tolist(),
        pieces.end_ms.tolist(),
        rows.running.p_w[pieces.row].tolist(),
        rows.running.va[pieces.row].tolist(),
        (~pieces.cycling).tolist(),
        pieces.set_off.tolist(),
        strict=True,
    )
    return map(Piece._make, columns)
