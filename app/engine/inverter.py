"""The inverter's limits and, with two legs, each leg's: hours, levels with times, starts."""

from collections.abc import Iterator
from functools import lru_cache

from app.engine.curve import Line, Points, at_most, by_temperature
from app.engine.draw import Draws
from app.engine.heat import Check, Rule
from app.engine.margins import judged
from app.engine.readings import Ruled, View, put_under
from app.engine.results import Floats, LimitReading, Verdict
from app.engine.timed import broken_at_ms, peak_reading, steady_reading
from app.household.day import DayFrame
from app.household.losses import continuous_at_25_w
from app.household.resolve import Resolved
from app.household.supply import Inverter

WATTS, VOLT_AMPERES = 0, 1


def quantities(draws: Draws) -> list[Floats]:
    """What the inverter's rule compares: watts and volt-amperes, uncertainty included."""
    return [draws.use_w, draws.use_va]


def inverter_rule(resolved: Resolved, share: float = 1.0) -> Rule:
    """The inverter's levels over the day as its room warms; a leg carries its share of all of them.

    The rating and all levels scale by continuous_w(T) / continuous_w(25), at most 1.
    """
    return _rule(resolved.household.supply.inverter, resolved.day.ambient_c, resolved.frame, share)


@lru_cache(maxsize=32)
def _rule(inverter: Inverter, ambient_c: Points, frame: DayFrame, share: float) -> Rule:
    continuous_w = by_temperature(inverter.continuous_w, ambient_c, inverter.room_offset_k, frame).times(share)
    at_25_w = continuous_at_25_w(inverter) * share
    scale = at_most(continuous_w, at_25_w).times(1 / at_25_w)
    levels_va = [inverter.rated_va * share, *(point[0] * share for point in inverter.overload)]
    checks = [Check(WATTS, continuous_w, 0)]
    checks += [Check(VOLT_AMPERES, scale.times(level), store) for store, level in enumerate(levels_va[:-1])]
    checks.append(Check(VOLT_AMPERES, scale.times(levels_va[-1]), None))
    return Rule(
        checks=tuple(checks),
        allowed_s=tuple(point[1] for point in inverter.overload),
        cooling_s=tuple(point[2] if len(point) == 3 else point[1] for point in inverter.overload),
        level=tuple(levels_va[:-1]),
        units=("W", "VA"),
    )


def top_line(rule: Rule) -> Line:
    """The level that is broken at once."""
    return rule.of_store(None)[0].line


def steady_line(rule: Rule, quantity: int) -> Line:
    """What may be drawn for hours."""
    return next(check.line for check in rule.of_store(0) if check.quantity == quantity)


def inverter_limits(house: View, rule: Rule) -> tuple[Ruled, list[LimitReading]]:
    """The readings `inverter_continuous`, `inverter_apparent` and `inverter_overload`."""
    ruled = put_under(house, rule, quantities)
    steady = [
        steady_reading(ruled, "inverter_continuous", "W", WATTS, steady_line(rule, WATTS)),
        steady_reading(ruled, "inverter_apparent", "VA", VOLT_AMPERES, steady_line(rule, VOLT_AMPERES)),
    ]
    return ruled, [*steady, peak_reading(ruled, "inverter_overload", "VA", VOLT_AMPERES, top_line(rule))]


def leg_limit(leg: View, rule: Rule, name: str) -> LimitReading:
    """The reading `leg:A` or `leg:B`: volt-amperes against half the rating; broken by anything of that leg."""
    ruled = put_under(leg, rule, quantities)
    wanted = leg.resolved.day.wanted_margin
    line, watts = steady_line(rule, VOLT_AMPERES), steady_line(rule, WATTS)

    def ladder(*, certain: bool) -> Verdict:
        stores = ruled.certain if certain else ruled.worst
        if any(stores.fullest_s):
            return "short_time"
        margins = (
            ruled.running(VOLT_AMPERES, line, certain=certain),
            ruled.running(WATTS, watts, certain=certain),
        )
        return "tight" if any(at.less_than(wanted) for at in margins) else "fits"

    certain: Verdict = "over" if ruled.certain_breaks else ladder(certain=True)
    at, certain_at = ruled.running(VOLT_AMPERES, line), ruled.running(VOLT_AMPERES, line, certain=True)
    return LimitReading(
        id=f"leg:{name}", direction="ceiling", limit=at.limit, unit="VA", use=at.use, margin=at.margin,
        at_ms=at.at_ms, verdict=judged(certain, ruled.worst_breaks, ladder(certain=False)),
        verdict_certain=certain, use_certain=certain_at.use, contributors=leg.contributors(at.at_ms),
        heat=ruled.heat(), broken_at_ms=broken_at_ms(ruled),
    )  # fmt: skip


def legs(resolved: Resolved) -> Iterator[str]:
    """The legs there are to be judged."""
    if resolved.household.supply.inverter.legs == 2:
        yield from ("A", "B")
