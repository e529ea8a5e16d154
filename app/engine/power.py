"""The limits that power is held against: inverter, legs, bank, breakers, cables, and the restart after a cut."""

from app.engine.bank import bank_limits
from app.engine.cables import cable_limits
from app.engine.circuits import breaker_limits
from app.engine.day import PlannedDay
from app.engine.inverter import inverter_limits, leg_limit
from app.engine.readings import Ruled
from app.engine.restart import cold_restart_limit
from app.engine.results import LimitReading


def power_limits(day: PlannedDay) -> tuple[Ruled, list[LimitReading]]:
    """All limits but the energy's, in the worst case; first the house under the inverter's rule."""
    ruled, limits = levels_limits(day)
    limits += breaker_limits(day.resolved, day.wired)
    limits += cable_limits(day.resolved, day.wired)
    limits.append(cold_restart_limit(day.house, day.rule, day.bank))
    return ruled, limits


def levels_limits(day: PlannedDay) -> tuple[Ruled, list[LimitReading]]:
    """Those of inverter, legs and bank, all that have levels and times among them."""
    ruled, limits = inverter_limits(day.house, day.rule)
    limits += [leg_limit(view, day.leg_rule, leg) for leg, view in day.legs.items()]
    limits += bank_limits(day.house, day.bank)
    return ruled, limits
