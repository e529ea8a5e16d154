"""What guests take from the charge, whenever they come: bounds on the safe side."""

import math
from typing import NamedTuple

import numpy as np

from app.engine.cells import cells_of
from app.engine.charge import BankDay
from app.engine.day import PlannedDay
from app.engine.dc import bank_current_a, input_w
from app.engine.guest import Guest
from app.engine.results import Floats, Instants
from app.household.losses import inverter_losses
from app.household.supply import Generator

STEP_MS = 1_800_000
LEAST_CHARGE = 0.02  # the house may be dark before the last of it is gone
TAKES_PER_H = 0.02  # of its capacity: what a nearly full bank takes back; see `cells`


class Lacking(NamedTuple):
    """What of the charge is missing with guests, half hour by half hour.

    begins_ms: shape (n,). charge: the plan's least charge in each step, shape (n,). asked: which guests may come
    below a floor. points: what is missing at most after each step, shape (asked, n, n), by guest and beginning.
    """

    begins_ms: Floats
    charge: Floats
    asked: Instants
    points: Floats


def least_charge(battery: BankDay) -> float:
    """What the charge must not sink below."""
    return max(battery.reserve, LEAST_CHARGE)


def keeps_itself(day: PlannedDay, generator: Generator) -> bool:
    """Whether a generator, once it runs, does not let the charge sink."""
    supply = day.resolved.household.supply
    idle_w, per_w, per_w2 = inverter_losses(supply.inverter)
    charger_w = float(generator.charger_w)
    return charger_w - (idle_w + (per_w + per_w2 * charger_w) * charger_w) >= supply.battery.dc_load_w


def lacking(
    day: PlannedDay, battery: BankDay, guests: tuple[Guest, ...], from_ms: float, floor: float,
    *, all_of_them: bool = False,
) -> Lacking:  # fmt: skip
    """What is missing of the charge with guests of which some may come below a floor.

    It takes the guest's typical energy from the bank at the worst of its losses, and lets little of it come back.
    """
    begins_ms = np.arange(from_ms, day.resolved.frame.horizon_ms, STEP_MS, dtype=float)
    steps = len(begins_ms)
    nobody = Lacking(begins_ms, np.ones(steps), np.empty(0, dtype=np.int64), np.zeros((0, steps, steps)))
    if not guests:
        return nobody
    edges_ms = np.append(begins_ms, begins_ms[-1] + STEP_MS)
    lowest = _lowest(battery.edges_ms, battery.state_of_charge, edges_ms)
    spare_w = _least(battery.edges_ms, battery.spare_w, edges_ms)
    known = edges_ms[1:] > battery.edges_ms[0]
    drawn_w = _typical_w(day, guests, steps)
    per_w = _charge_per_wh(day, float(drawn_w.max(initial=0.0)))
    hours = STEP_MS / 3_600_000
    cold = battery.cold_from_ms is not None
    keeps = min(cells_of(day.resolved.household.supply.battery).keeps)
    back = np.zeros(steps) if cold else np.minimum(spare_w * per_w * hours, TAKES_PER_H * hours) * keeps
    # Most take too little to matter whenever they begin.
    all_of_it = drawn_w.sum(axis=1) * per_w * hours
    asked = np.flatnonzero((lowest.min() - all_of_it < floor) | all_of_them)
    if not len(asked):
        return nobody
    drawn_w = drawn_w[asked]
    # Beginning so many steps on: the same draw, later; shape (guests, begins, steps).
    late = np.concatenate((np.zeros_like(drawn_w), drawn_w), axis=1)
    index = steps + np.arange(steps) - np.arange(steps)[:, None]
    taken = np.maximum(late[:, index] - spare_w, 0.0) * (per_w * hours * known)
    return Lacking(begins_ms, lowest, asked, _missing(taken, back))


def charge_taken(day: PlannedDay, guest: Guest) -> float:
    """How much of the bank's charge a guest takes at most, without sun."""
    drawn_w = _typical_w(day, (guest,), math.ceil(float(guest.edge_ms[-1]) / STEP_MS))
    return float(drawn_w.sum()) * STEP_MS / 3_600_000 * _charge_per_wh(day, float(drawn_w.max(initial=0.0)))


def _missing(taken: Floats, back: Floats) -> Floats:
    """What is missing from the bank after each step: a store that is filled by what is taken."""
    summed = np.cumsum(np.where(taken > 0, taken, -back), axis=-1)
    return np.asarray(summed - np.minimum(np.minimum.accumulate(summed, axis=-1), 0.0))


def _lowest(at_ms: Floats, charge: Floats, edges_ms: Floats) -> Floats:
    """The least charge in each step; before it is known, as it is first known."""
    at_edges = np.interp(edges_ms, at_ms, charge)
    place = np.clip(edges_ms.searchsorted(at_ms, side="right") - 1, 0, len(edges_ms) - 2)
    lowest = np.minimum(at_edges[:-1], at_edges[1:])
    inside = (at_ms >= edges_ms[0]) & (at_ms <= edges_ms[-1])
    np.minimum.at(lowest, place[inside], charge[inside])
    return lowest


def _least(at_ms: Floats, watts: Floats, edges_ms: Floats) -> Floats:
    """The least of a mean in each step."""
    first = np.clip(at_ms.searchsorted(edges_ms[:-1], side="right") - 1, 0, len(watts) - 1)
    last = np.clip(at_ms.searchsorted(edges_ms[1:], side="left") - 1, 0, len(watts) - 1)
    bounds = np.stack((first, last + 1), axis=1).ravel()
    return np.asarray(np.minimum.reduceat(np.append(watts, np.inf), bounds)[::2])


def _typical_w(day: PlannedDay, guests: tuple[Guest, ...], steps: int) -> Floats:
    """What each guest draws on the whole in each step from its beginning; shape (guests, steps)."""
    row, cycling, on_ms, period_ms, begin_ms, end_ms = (
        np.concatenate([getattr(guest.pieces, name) for guest in guests])
        for name in ("row", "cycling", "on_ms", "period_ms", "begin_ms", "end_ms")
    )
    watts = day.rows.running.p_w[row] * np.where(cycling, on_ms / np.maximum(period_ms, 1), 1.0)
    edges_ms = np.arange(steps + 1, dtype=float) * STEP_MS
    inside_ms = np.minimum(end_ms[:, None], edges_ms[1:]) - np.maximum(begin_ms[:, None], edges_ms[:-1])
    drawn_w = np.maximum(inside_ms, 0) * (watts / STEP_MS)[:, None]
    whose = np.repeat(np.arange(len(guests)), [len(guest.machine) for guest in guests])
    return np.asarray((whose == np.arange(len(guests))[:, None]).astype(float) @ drawn_w)


def _charge_per_wh(day: PlannedDay, more_w: float) -> float:
    """How much of the bank's charge a watt-hour of AC costs at most, beside the most the house draws on the whole."""
    bank, battery = day.bank, day.resolved.household.supply.battery
    cells = cells_of(battery)
    most_w = float(day.house.scope.worst.p_w.max()) + more_w
    inverter = 1 + bank.losses.per_w + 2 * bank.losses.per_w2 * most_w
    current_a = float(bank_current_a(bank.rest_v, bank.resistance_ohm, input_w(bank.losses, most_w) + bank.dc_load_w))
    left = 1 - 2 * current_a * bank.resistance_ohm / bank.rest_v
    inside = 1 / max(left, 0.2)
    faster = (1 + cells.peukert) * max(current_a / cells.rated_a, 1.0) ** cells.peukert
    return float(inverter * inside * faster) / (bank.rest_v * cells.capacity_ah)
