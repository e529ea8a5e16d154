"""The reports of `loadstead assess` and `loadstead plan`: the same numbers the screens show, as JSON."""

from typing import Any

import numpy as np

from app.engine.charge import BankDay, Spell
from app.engine.likely import Odds
from app.engine.results import Assessment, Caution, LimitReading, Surge
from app.household.day import DayFrame
from app.household.household import Household
from app.household.resolve import Resolved, resolve
from app.planner.laundry.found import Proposal, Stuck
from app.web import words

SERIES_MS = 300_000


def report(household: Household, scenario_id: str | None, assessment: Assessment) -> dict[str, Any]:
    """The JSON value printed for one plan; without an id, of the first."""
    resolved = resolve(household, scenario_id)
    frame, demand = resolved.frame, assessment.demand
    return {
        "verdict": assessment.verdict,
        "sentence": words.sentence(resolved, assessment),
        "limits": [_limit(reading, frame) for reading in assessment.limits],
        "surges": [_surge(surge, frame) for surge in assessment.surges],
        "demand": {
            "energy_wh": demand.energy_wh,
            "peak_certain_w": demand.peak_certain_w,
            "peak_worst_w": demand.peak_worst_w,
            "peak_worst_va": demand.peak_worst_va,
            "peak_at": iso(frame, demand.peak_at_ms),
        },
        "any_time": [
            {
                "appliance": one.appliance,
                "not": [
                    {"from": iso(frame, span.from_ms), "to": iso(frame, span.to_ms), "limit": span.limit}
                    for span in one.not_then
                ],
            }
            for one in assessment.any_time
        ],
        "trust": assessment.trust,
        "cautions": [_caution(caution, resolved) for caution in assessment.cautions],
        "odds": _odds(assessment.odds),
        "battery": None if assessment.battery is None else _battery(assessment.battery, frame),
    }


def plan_report(household: Household, scenario_id: str, found: Proposal | Stuck) -> dict[str, Any]:
    """The JSON value printed for a laundry day; household: with the runs where they were found."""
    if isinstance(found, Proposal):
        return {
            "runs": [{"id": run, "start": start} for run, start in found.starts.items()],
            "through_bank_wh": found.through_bank_wh,
            "cannot_be_below_wh": found.cannot_be_below_wh,
            "proven": found.proven,
            "assessment": report(household, scenario_id, found.assessment),
        }
    return {
        "runs": [], "through_bank_wh": None, "cannot_be_below_wh": None, "proven": False, "assessment": None,
        "stuck": {
            "limit": found.limit,
            "runs": list(found.runs),
            "easings": [
                {
                    "kind": easing.kind, "run": easing.run, "clock": easing.clock,
                    "runs": [{"id": run, "start": start} for run, start in easing.proposal.starts.items()],
                }
                for easing in found.easings
            ],
        },
    }  # fmt: skip


def iso(frame: DayFrame, ms: int) -> str:
    """An instant as ISO 8601 local time with its offset; milliseconds only where there are some."""
    return frame.local(ms).isoformat(timespec="milliseconds" if ms % 1000 else "seconds")


def _limit(reading: LimitReading, frame: DayFrame) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "id": reading.id,
        "direction": reading.direction,
        "limit": reading.limit,
        "unit": reading.unit,
        "use": reading.use,
        "margin": reading.margin,
        "at": iso(frame, reading.at_ms),
        "verdict": reading.verdict,
        "verdict_certain": reading.verdict_certain,
        "use_certain": reading.use_certain,
        "contributors": [
            {
                "appliance": one.appliance,
                "run": one.run,
                "stage": one.stage,
                "certain": one.certain,
                "w": one.w,
                "va": one.va,
            }
            for one in reading.contributors
        ],
    }
    if reading.heat is not None:
        if reading.id == "inverter_overload":
            entry["level_va"] = reading.heat.level
        entry |= {"lasts_s": reading.heat.lasts_s, "allowed_s": reading.heat.allowed_s}
        if reading.heat.trips_at_ms is not None:
            entry["trips_at"] = iso(frame, reading.heat.trips_at_ms)
    if reading.open_circuit_v is not None:
        entry["open_circuit_v"] = reading.open_circuit_v
    if reading.circuit is not None:
        entry |= {
            "start_a": reading.circuit.start_a,
            "trip_a": reading.circuit.trip_a,
            "cable_a": reading.circuit.cable_a,
        }
    if reading.drop is not None:
        entry |= {
            "running_percent": reading.drop.running_percent,
            "starting_percent": reading.drop.starting_percent,
        }
    if reading.switch_off is not None:
        entry["switch_off"] = list(reading.switch_off)
    if reading.broken_per_day is not None:
        entry["broken_per_day"] = reading.broken_per_day
    if reading.cut_share is not None:
        entry["cut_share"] = reading.cut_share
    if reading.charge is not None:
        charge = reading.charge
        entry |= {
            "below_at": _iso_or_null(frame, charge.below_ms),
            "dark_at": _iso_or_null(frame, charge.dark_ms),
            "pessimistic_use": charge.pessimistic,
            "pessimistic_below_at": _iso_or_null(frame, charge.pessimistic_below_ms),
            "pessimistic_dark_at": _iso_or_null(frame, charge.pessimistic_dark_ms),
        }
    return entry


def _odds(odds: Odds) -> dict[str, Any]:
    """Expected figures of one such day; those of limits that only the worst case breaks stand with them too."""
    return {
        "above": [{"limit": one.limit, "seconds_per_day": one.seconds_per_day} for one in odds.above],
        "overloading_starts_per_day": odds.overloading_starts_per_day,
        "lasting": [
            {
                "limit": one.limit,
                "above_va" if one.limit != "battery_continuous" else "above_a": one.above,
                "longer_than_s": one.longer_than_s,
                "per_day": one.per_day,
                "filled_per_day": one.filled_per_day,
            }
            for one in odds.lasting
        ],
        "once_in_days": odds.once_in_days,
    }


def _battery(bank: BankDay, frame: DayFrame) -> dict[str, Any]:
    """Energies of the local day, instants over the horizon, and the day in steps of five minutes."""
    totals = bank.totals
    begin_ms = -(-int(bank.edges_ms[0]) // SERIES_MS) * SERIES_MS
    edges_ms = np.arange(begin_ms, int(bank.edges_ms[-1]), SERIES_MS)
    sun = np.concatenate(([0.0], np.cumsum(bank.sun_w * np.diff(bank.edges_ms))))
    sun_w = np.diff(np.interp(np.append(edges_ms, edges_ms[-1] + SERIES_MS), bank.edges_ms, sun)) / SERIES_MS
    charge = np.interp(edges_ms, bank.edges_ms, bank.state_of_charge)
    return {
        "lowest_state_of_charge": bank.expected.state_of_charge,
        "lowest_at": iso(frame, bank.expected.at_ms),
        "lowest_pessimistic": bank.pessimistic.state_of_charge,
        "lowest_pessimistic_at": iso(frame, bank.pessimistic.at_ms),
        "end_state_of_charge": bank.end_state_of_charge,
        "sun_used_wh": totals.sun_used_wh,
        "into_bank_wh": totals.into_bank_wh,
        "out_of_bank_wh": totals.out_of_bank_wh,
        "spare_sun_wh": totals.spare_sun_wh,
        "losses_wh": totals.losses_wh,
        "served_wh": totals.served_wh,
        "dc_served_wh": totals.dc_served_wh,
        "unserved_wh": totals.unserved_wh,
        "stored_wh": totals.stored_wh,
        "generator_wh": totals.generator_wh,
        "generator": [_spell(spell, frame) for spell in bank.generator],
        "spare": [_spell(spell, frame) for spell in bank.spare],
        "too_cold_to_charge_until": _iso_or_null(frame, bank.cold_until_ms),
        "series": {
            "from": iso(frame, begin_ms),
            "step_s": SERIES_MS // 1000,
            "state_of_charge": charge.tolist(),
            "sun_w": sun_w.tolist(),
        },
        "then_dark": _iso_or_null(frame, bank.then_dark.reserve_ms),
        "then_dark_generator": _iso_or_null(frame, bank.then_dark.generator_ms),
    }


def _spell(spell: Spell, frame: DayFrame) -> dict[str, Any]:
    return {"from": iso(frame, spell.from_ms), "to": iso(frame, spell.to_ms), "wh": spell.wh}


def _iso_or_null(frame: DayFrame, ms: int | None) -> str | None:
    return None if ms is None else iso(frame, ms)


def _surge(surge: Surge, frame: DayFrame) -> dict[str, Any]:
    return {
        "at": iso(frame, surge.at_ms),
        "appliance": surge.appliance,
        "start_va": surge.start_va,
        "before_va": surge.before_va,
        "total_va": surge.total_va,
        "allowed_s": surge.allowed_s,
        "verdict": surge.verdict,
    }


def _caution(caution: Caution, resolved: Resolved) -> dict[str, Any]:
    return {"code": caution.code, "params": caution.params, "text": words.caution_text(caution, resolved)}
