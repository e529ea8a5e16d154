"""What a plan needs of its inverter: for hours, in watts and volt-amperes, for starts, and after a power cut."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

from app.engine.contributors import cold_contributors
from app.engine.curve import Line
from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.everything import coming_back
from app.engine.inverter import VOLT_AMPERES, WATTS, inverter_rule, quantities, steady_line
from app.engine.margins import tightest
from app.engine.restart import cold_restart_limit
from app.engine.starts import lowest
from app.household.losses import continuous_at_25_w
from app.household.resolve import Resolved
from app.household.supply import Inverter
from app.planner.needs.found import Need, What
from app.planner.needs.steady import AMPLE, EVEN, Least, Side, for_hours, for_starts, lasting_s, starts_pass

RED = ("chance", "over")


def inverter_needs(day: PlannedDay) -> Iterator[Need]:
    """The needs continuous_w, rated_va, surge_va and restart_va."""
    inverter = day.resolved.household.supply.inverter
    has_w, (has_top_va, has_s) = continuous_at_25_w(inverter), inverter.overload[-1][:2]
    watts = for_hours(list(_sides(day, WATTS, steady_line(day.rule, WATTS).times(1 / has_w), "inverter_continuous")))
    scale = steady_line(day.rule, VOLT_AMPERES).times(1 / inverter.rated_va)
    rating = for_hours(list(_sides(day, VOLT_AMPERES, scale, "inverter_apparent")))
    yield _running("continuous_w", "W", has_w, watts)
    yield _running("rated_va", "VA", inverter.rated_va, rating)
    start = for_starts(list(_sides(day, VOLT_AMPERES, scale, "inverter_overload")))
    least = sized(day.resolved, max(watts.units, EVEN) * (1 + EVEN), max(rating.units, EVEN) * (1 + EVEN))
    views = [(day.house, 1.0), *((view, 0.5) for view in day.legs.values())]
    for_s = max(lasting_s(view, inverter_rule(least, share), quantities) for view, share in views)
    enough = all(starts_pass(view, day.rule if view is day.house else day.leg_rule, quantities) for view, _ in views)
    needed = for_s > 0
    decides = start if needed else rating
    yield Need(
        "surge_va", "VA", has_top_va, max(start.units, rating.units), enough, for_s, has_s,
        at_ms=decides.at_ms if decides.units else None,
        appliance=decides.appliance if needed else decides.running_appliance,
        limit=decides.side.limit if needed else "inverter_overload",
    )  # fmt: skip
    yield _restart(day, scale, has_top_va)


def _sides(day: PlannedDay, quantity: int, per_unit: Line, limit: str) -> Iterator[Side]:
    """The house and, with two legs, each leg, which carries half."""
    yield Side(limit, day.house, quantities, quantity, per_unit)
    half = per_unit.times(0.5)
    for leg, view in day.legs.items():
        yield Side(f"leg:{leg}", view, quantities, quantity, half)


def _running(what: What, unit: Literal["W", "VA"], has: float, least: Least) -> Need:
    return Need(
        what, unit, has, least.units, least.units <= has * (1 + HAIR), limit=least.side.limit,
        at_ms=least.at_ms if least.units else None, appliance=least.running_appliance if least.units else None,
    )  # fmt: skip


def _restart(day: PlannedDay, scale: Line, has_va: float) -> Need:
    """The top that carries everything that comes back at once, unless the bank's volts do not."""
    house = day.house
    scope = house.scope
    line = lowest(scale.at(scope.t_ms))
    use_va = coming_back(scope).va
    least_va = float((use_va / line).max())
    if least_va <= 0:
        return Need("restart_va", "VA", has_va, 0.0, True, limit="cold_restart")
    at_ms = tightest(scope.t_ms, use_va, scale.times(least_va)).at_ms
    ample = cold_restart_limit(house, inverter_rule(sized(day.resolved, AMPLE, AMPLE)), day.bank)
    low = ample.verdict in RED
    who = cold_contributors(house.resolved, house.laid, scope, at_ms)
    return Need(
        "restart_va", "VA", has_va, None if low else least_va, not low and least_va <= has_va * (1 + HAIR),
        at_ms=ample.broken_at_ms if low else at_ms, appliance=who[0].appliance if who else None,
        limit="cold_restart", why="voltage" if low else "",
    )  # fmt: skip


def sized(resolved: Resolved, continuous_w: float, rated_va: float) -> Resolved:
    """The plan with an inverter of another size, its curve in proportion, and ample for starts; not checked."""
    supply = resolved.household.supply
    inverter: Inverter = supply.inverter
    factor = continuous_w / continuous_at_25_w(inverter)
    other = inverter.model_copy(
        update={
            "continuous_w": tuple((at_c, watts * factor) for at_c, watts in inverter.continuous_w),
            "rated_va": rated_va,
            "overload": ((AMPLE, AMPLE),),
        }
    )
    household = resolved.household.model_copy(update={"supply": supply.model_copy(update={"inverter": other})})
    return replace(resolved, household=household)
