"""What a plan needs of its bank in amperes: for hours, and for starts."""

from collections.abc import Iterator

import numpy as np

from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.planner.needs.found import Need
from app.planner.needs.steady import EVEN, Least, Side, for_hours, for_starts, hours_rule, lasting_s, starts_pass


def bank_needs(day: PlannedDay) -> Iterator[Need]:
    """The needs bank_a and bank_peak_a: of the whole bank, as its modules are rated, before what the cold takes."""
    bank, battery = day.bank, day.resolved.household.supply.battery
    has_a, has_peak_a = (bank.modules * one for one in (battery.continuous_discharge_a, battery.peak_discharge_a))
    hours = for_hours([_side(day, "battery_continuous")])
    yield Need(
        "bank_a", "A", has_a, _possible(hours), hours.units <= has_a * (1 + HAIR), limit="battery_continuous",
        at_ms=hours.at_ms if hours.units else None, appliance=hours.running_appliance if hours.units else None,
        why=_why(hours),
    )  # fmt: skip
    start = for_starts([_side(day, "battery_peak")])
    enough = starts_pass(day.house, bank.rule, bank.quantities)
    if _possible(hours) is None or _possible(start) is None:
        why = _why(hours) or _why(start)
        yield Need(
            "bank_peak_a", "A", has_peak_a, None, False, has_s=bank.peak_s, at_ms=start.at_ms,
            appliance=start.appliance, limit="battery_peak", why=why,
        )  # fmt: skip
        return
    for_s = lasting_s(day.house, hours_rule(bank.factor.times(hours.units * (1 + EVEN))), bank.quantities)
    decides = start if for_s > 0 else hours
    yield Need(
        "bank_peak_a", "A", has_peak_a, max(start.units, hours.units), enough, for_s, bank.peak_s,
        at_ms=decides.at_ms if decides.units else None,
        appliance=decides.appliance if for_s > 0 else decides.running_appliance,
        limit="battery_peak",
    )  # fmt: skip


def _side(day: PlannedDay, limit: str) -> Side:
    return Side(limit, day.house, day.bank.quantities, 0, day.bank.factor)


def _possible(least: Least) -> float | None:
    return least.units if np.isfinite(least.units) else None


def _why(least: Least) -> str:
    if _possible(least) is not None:
        return ""
    return "cannot_deliver" if least.impossible else "cold"
