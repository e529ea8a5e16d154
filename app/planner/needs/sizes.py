"""What a plan needs of its bank in watt-hours, and of its arrays: each beside the other as the plan has it."""

from collections.abc import Callable, Iterator

import numpy as np

from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.flows import Flows
from app.engine.sun import Suns
from app.planner.needs.energy import Energy
from app.planner.needs.found import Need
from app.planner.needs.narrow import Tried, in_inverse, in_proportion, narrowed

LEAST, MOST = 1e-3, 1e2  # times what the plan has: below is told as none, and what needs more is carried by no size
FULL = 0.995  # of its charge: the bank took all it could


def energy_needs(day: PlannedDay, suns: Suns) -> Iterator[Need]:
    """The needs usable_wh and array_w."""
    energy = Energy(day, suns)
    yield _usable(energy)
    yield _arrays(energy)


def _usable(energy: Energy) -> Need:
    """The smallest bank that keeps its reserve, of the same modules but for their ampere-hours."""
    battery = energy.day.resolved.household.supply.battery
    has_wh = battery.modules * battery.module_ah * battery.module_v * battery.health * (1 - battery.reserve)

    def tried(factor: float) -> Tried:
        happened = energy.as_it_is if factor == 1 else energy.followed(bank=factor)
        return Tried(factor, *energy.above_reserve(happened), happened)

    now = tried(1.0)
    found = _least_bank(energy, tried, now)
    lowest = energy.lowest(found.happened)
    if not found.carries:
        why = "begins_below" if lowest.below_ms is not None else "voltage"
        return Need(
            "usable_wh", "Wh", has_wh, None, False, at_ms=lowest.at_ms, appliance=energy.taker(lowest.at_ms),
            limit="reserve", why=why,
        )  # fmt: skip
    if found.factor <= LEAST:
        return Need("usable_wh", "Wh", has_wh, 0.0, now.carries, limit="reserve")
    return Need(
        "usable_wh", "Wh", has_wh, found.factor * has_wh, now.carries, at_ms=lowest.at_ms,
        appliance=energy.taker(lowest.at_ms), limit="reserve",
    )  # fmt: skip


def _least_bank(energy: Energy, tried: Callable[[float], Tried], now: Tried) -> Tried:
    """The least that keeps the reserve; one that does not carry the plan where none does."""
    spare = energy.start.charge - energy.reserve
    # How far the charge sinks is nearly in proportion to one over the size, until the bank is full.
    sinks = spare - now.left
    guess = sinks / spare if spare > 0 and sinks > 0 else LEAST
    if not now.carries:
        large = tried(min(max(2 * guess, 2.0), MOST))
        if not large.carries and large.factor < MOST:
            now, large = large, tried(MOST)
        return narrowed(tried, now, large, in_inverse) if large.carries else large
    small = tried(max(guess / 2, LEAST))
    if small.carries and small.factor > LEAST:
        now, small = small, tried(LEAST)
    return small if small.carries else narrowed(tried, small, now, in_inverse)


def _arrays(energy: Energy) -> Need:
    """The smallest arrays that keep the reserve and leave at midnight what the day began with."""
    arrays = energy.day.resolved.household.supply.arrays
    has_w = sum(one.peak_w for one in arrays)

    def seen(factor: float, happened: Flows) -> Tried:
        above, smooth = energy.above_reserve(happened)
        return Tried(factor, min(above, energy.gained(happened)), smooth, happened)

    def tried(factor: float) -> Tried:
        return seen(factor, energy.followed(array=factor))

    enough = seen(1.0, energy.as_it_is).carries

    def need(one: Tried, why: str = "") -> Need:
        of_reserve = energy.above_reserve(one.happened)[0] < energy.gained(one.happened)
        at_ms = energy.lowest(one.happened).at_ms if of_reserve else energy.day.resolved.frame.day_ms
        return Need(
            "array_w", "W", has_w, None if why else one.factor * has_w, enough, at_ms=at_ms,
            appliance=energy.taker(at_ms), limit="reserve" if of_reserve else "midnight", why=why,
        )  # fmt: skip

    none = tried(0.0)
    if none.carries:
        return Need("array_w", "W", has_w, 0.0, enough, limit="midnight")
    if not arrays:
        return need(none, "no_array")
    if not energy.sun_until(np.inf):
        return need(none, "dark_day")
    low, large = none, tried(1.0)
    if not large.carries:
        low, large = large, tried(2.0)
    if not large.carries:
        low, large = large, tried(MOST)
    if not large.carries:
        return need(large, _why_none(energy, large.happened))
    return need(narrowed(tried, low, large, in_proportion))


def _why_none(energy: Energy, happened: Flows) -> str:
    """Why even a hundred times the arrays would not do."""
    lowest = energy.lowest(happened)
    if energy.start.charge < energy.reserve - HAIR:
        return "begins_below"
    if lowest.below_ms is not None and not energy.sun_until(lowest.below_ms):
        return "night"
    if lowest.dark_ms is not None and lowest.below_ms is None:
        return "voltage"
    if energy.frozen:
        return "cold"
    return "full" if float(happened.charge.max()) >= FULL else "charger"
