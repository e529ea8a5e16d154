"""The DC side: what the inverter takes in, what the bank must give, where its voltage ends up."""

import numpy as np

from app.engine.results import Floats
from app.household.losses import Losses
from app.household.supply import Battery

# Open-circuit volts of a cell against state of charge.
# Lithium iron phosphate with graphite: computed from the half-cell functions of Afshar et al. 2017
# (arXiv:1709.03970) and Prada et al. 2013 in an open battery library; good to about 0.05 V.
LFP_CELL_V = (
    (0.10, 2.978),
    (0.20, 3.169),
    (0.30, 3.206),
    (0.50, 3.266),
    (0.70, 3.274),
    (0.80, 3.310),
    (0.90, 3.314),
)
# Flooded lead acid, at rest: the 12 V figures usually traced to the Battery Council International (read in a
# reprint, so named from memory), one sixth of each; within 25 mV of cell volts = specific gravity + 0.84.
LEAD_ACID_CELL_V = tuple(
    (soc, volts / 6) for soc, volts in ((0.0, 11.89), (0.25, 12.06), (0.5, 12.24), (0.75, 12.45), (1.0, 12.65))
)


def open_circuit_v(battery: Battery, state_of_charge: float | None = None) -> float:
    """Volts of the bank at rest; without a state of charge, at the reserve.

    Cells in a module: its nominal volts over 3.2 (LFP) or 2.0 (lead acid), rounded.
    """
    soc = battery.reserve if state_of_charge is None else state_of_charge
    return float(open_circuit_curve_v(battery, soc))


def open_circuit_curve_v(battery: Battery, state_of_charge: Floats | float) -> Floats:
    """Volts of the bank at rest at states of charge of any shape."""
    nominal_v, curve = (3.2, LFP_CELL_V) if battery.chemistry == "lfp" else (2.0, LEAD_ACID_CELL_V)
    cells = max(round(battery.module_v / nominal_v), 1)
    at, volts = zip(*curve, strict=True)
    return np.asarray(cells * np.interp(state_of_charge, at, volts))


def bank_resistance_ohm(battery: Battery) -> float:
    """Modules side by side, and the path to the inverter."""
    return battery.module_resistance_ohm / battery.modules + battery.dc_path_ohm


def input_w(losses: Losses, ac_w: Floats | float) -> Floats:
    """Watts the inverter takes in to give `ac_w`: P + a + b P + c P^2."""
    ac_w = np.asarray(ac_w, dtype=float)
    return np.asarray(ac_w + losses.no_load_w + (losses.per_w + losses.per_w2 * ac_w) * ac_w)


def bank_current_a(open_circuit_v: float, resistance_ohm: float, dc_w: Floats | float) -> Floats:
    """The current I of (V - I R) I = dc_w, the smaller root; V / 2R where the bank cannot deliver it.

    Written without a difference of near numbers, so that it holds for no resistance at all.
    """
    dc_w = np.asarray(dc_w, dtype=float)
    root = np.sqrt(np.maximum(open_circuit_v**2 - 4 * resistance_ohm * dc_w, 0.0))
    current = 2 * dc_w / (open_circuit_v + root)
    if resistance_ohm == 0:
        return np.asarray(current)
    return np.where(
        cannot_deliver(open_circuit_v, resistance_ohm, dc_w), open_circuit_v / (2 * resistance_ohm), current
    )


def cannot_deliver(open_circuit_v: float, resistance_ohm: float, dc_w: Floats | float) -> Floats:
    """True where no current gives these watts."""
    return np.asarray(4 * resistance_ohm * np.asarray(dc_w, dtype=float) > open_circuit_v**2)
