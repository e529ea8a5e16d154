"""The bank as something that is filled and emptied: what it takes, what it gives, and what is lost on the way."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from app.engine.dc import bank_resistance_ohm, open_circuit_curve_v
from app.engine.kinds import Floats
from app.household.supply import Battery

# Charge current near full, as a share of capacity: from where it sinks, and to what. Lithium iron phosphate from
# 90 %, lead acid, which is held at its absorption voltage, from 80 % on. Common practice, no source.
TAPER_FROM = {"lfp": 0.9, "lead_acid": 0.8}
TAPER_TO_C = 0.02
# What of a charge current is kept by lead acid, on top of the bank's own efficiency: nearly all of it when empty,
# less and less near full. The course is that of Stevens and Corey (Sandia): above 95 % at low charge; about half
# near 80 % and less above 90 % are from memory.
LEAD_ACID_KEEPS = ((0.0, 1.0), (0.75, 1.0), (0.82, 0.57), (0.9, 0.5), (1.0, 0.45))
TABLE = 1000
# A step of time is cut where the charge changes by more than is steady: the volts by this share, or, near full, the
# charge by so much; lead acid, of which less is kept with every point, by half of that.
STEADY_V, CLOSELY = 0.002, 0.001
TAPERING = {"lfp": 2 * CLOSELY, "lead_acid": CLOSELY}


class Cells(NamedTuple):
    """A bank's figures by its state of charge; tables have shape (TABLE + 2,), from 0 to a little over 1.

    rest_v: open-circuit volts. taper_a: the most it takes, by its state of charge alone. keeps: share of a charge
    current that is stored. held_from: the charge from which a charger holds the bank at its highest voltage.
    curved_from: the charge from which what it takes and keeps changes fast. filling, emptying: by how much the charge
    may change before that, or its volts, are others.
    capacity_ah, resistance_ohm: of the bank. charge_a: the most its modules take together.
    rated_a: the current its capacity is stated at. peukert: exponent less 1.
    """

    rest_v: Floats
    taper_a: Floats
    keeps: Floats
    held_from: float
    curved_from: float
    filling: Floats
    emptying: Floats
    capacity_ah: float
    resistance_ohm: float
    charge_a: float
    rated_a: float
    peukert: float

    def stored_wh(self, state_of_charge: float) -> float:
        """Energy between empty and a state of charge, at rest: volts times ampere-hours."""
        at = np.linspace(0, 1, TABLE + 1)
        volts = self.rest_v[: TABLE + 1]
        inner = np.concatenate(([0.0], np.cumsum((volts[:-1] + volts[1:]) / 2 / TABLE)))
        return float(np.interp(state_of_charge, at, inner)) * self.capacity_ah


@lru_cache(maxsize=64)
def cells_of(battery: Battery) -> Cells:
    """The bank's figures.

    Peukert 1897: at a current I the capacity C, stated for H hours, lasts H (C / (I H))^k hours; below the stated
    current no more than C is counted on.
    """
    charge = np.minimum(np.arange(TABLE + 2) / TABLE, 1.0)
    middle = np.minimum((np.arange(TABLE + 2) + 0.5) / TABLE, 1.0)  # of an entry's stretch
    capacity_ah = battery.modules * battery.module_ah * battery.health
    modules = battery.modules / (battery.sharing if battery.modules > 1 else 1)
    charge_a = modules * battery.continuous_charge_a
    begin = TAPER_FROM[battery.chemistry]
    least_a = min(TAPER_TO_C * capacity_ah, charge_a)
    keeps = np.full_like(charge, battery.charge_efficiency)
    if battery.chemistry == "lead_acid":
        at, share = zip(*LEAD_ACID_KEEPS, strict=True)
        keeps *= np.interp(middle, at, share)
    rest_v = open_circuit_curve_v(battery, charge)
    curved_from = begin if battery.chemistry == "lfp" else LEAD_ACID_KEEPS[1][0]
    steady = STEADY_V * rest_v / np.maximum(np.diff(rest_v, append=rest_v[-1]) * TABLE, 1e-3)
    return Cells(
        rest_v=rest_v,
        taper_a=np.interp(middle, (begin, 1.0), (charge_a, least_a)),
        keeps=keeps,
        held_from=float(begin),
        curved_from=float(curved_from),
        filling=np.where(charge >= curved_from, np.minimum(steady, TAPERING[battery.chemistry]), steady),
        emptying=steady,
        capacity_ah=float(capacity_ah),
        resistance_ohm=bank_resistance_ohm(battery),
        charge_a=float(charge_a),
        rated_a=capacity_ah / battery.rated_hours,
        peukert=float(battery.peukert_exponent - 1),
    )
