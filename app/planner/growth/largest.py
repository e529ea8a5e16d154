"""The largest thing that could still be added to a plan's day, hour by hour, and what that costs the battery."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from app.engine.charge import BankDay
from app.engine.moment import Inspection
from app.household.appliance import Appliance
from app.planner.growth.adding import START, START_S, STEADY, Grown, grown, starting, steady
from app.planner.growth.generator import Carried
from app.planner.growth.hours import Hour, hours_of
from app.planner.growth.rooms import Room, Rooms
from app.planner.ways import WAKING_MIN

NEARLY = 0.85  # hours that leave as much as this of the best one's go with it
LESS = (1 - 1e-6, 0.99, 0.95, 0.9, 0.75, 0.5, 0.25)  # tried one after another until the engine agrees
LEAST_W = 10.0  # less is nothing


class HourRoom(NamedTuple):
    """What one hour leaves.

    steady_w: at power factor 1, for all of it. start_va: at any instant of it. steady_limit, start_limit: what
    decides. spare_wh: the sun that nobody can use then; None where it is not known.
    """

    hour: Hour
    steady_w: float
    steady_limit: str
    start_va: float
    start_limit: str
    spare_wh: float | None


class Span(NamedTuple):
    """Hours one after another, and the most that all of them carry; confirmed by an assessment each.

    below_ms: when what is steady, on all that time, takes the charge below the reserve, or the house goes dark; None
    where it does not, or the plan does without it, or the battery is not known.
    """

    from_ms: int
    to_ms: int
    steady_w: float
    steady_limit: str
    start_va: float
    start_limit: str
    below_ms: int | None


class Cost(NamedTuple):
    """What one hour of it takes.

    steady_w: of what. wh: on the AC side. spare_wh: the sun to spare in that hour, of which no more than wh helps.
    end_points: how many points of charge less there are at the end of the day's horizon. lowest, was_lowest: the least
    charge with it and without, 0 to 1; below: it is short only with it.
    """

    from_ms: int
    to_ms: int
    steady_w: float
    wh: float
    spare_wh: float
    end_points: float
    lowest: float
    was_lowest: float
    below: bool


@dataclass(frozen=True, slots=True)
class Largest:
    """Room to grow on a plan's day.

    best: the hours that carry most; None where none carries anything. waking: the same among those in which people
    are up; None where these are the same. all_day: every hour of the day. cost: of an hour of what people would add
    while they are up; None where the battery is not known or nothing can be added. short_ms: when the plan itself, with
    nothing added, goes below the reserve or dark; None where it does not. overloaded_ms: when the plan itself has more
    on than its generator carries.
    """

    hours: tuple[HourRoom, ...]
    best: Span | None
    waking: Span | None
    all_day: Span
    cost: Cost | None
    short_ms: int | None
    overloaded_ms: int | None


def largest(inspection: Inspection) -> Largest:
    """The largest that may be added to a plan."""
    carried = Carried(inspection)
    hours = hour_rooms(inspection, carried)
    up = tuple(one for one in hours if WAKING_MIN[0] <= one.hour.clock * 60 < WAKING_MIN[1])
    best, waking = _best(carried, hours), _best(carried, up)
    if best is not None and best.below_ms is not None and waking is not None and waking.below_ms is None:
        best = waking  # what the battery does not carry is no room
    battery, generator = inspection.assessment.battery, inspection.assessment.limit("generator")
    short = () if battery is None else (battery.expected.below_ms, battery.expected.dark_ms)
    return Largest(
        hours=hours,
        best=best,
        waking=None if waking == best else waking,
        all_day=_confirmed(carried, hours),
        cost=_cost(inspection, waking or best, hours),
        short_ms=min((one for one in short if one is not None), default=None),
        overloaded_ms=None if generator is None else generator.broken_at_ms,
    )


def hour_rooms(inspection: Inspection, carried: Carried | None = None) -> tuple[HourRoom, ...]:
    """Every hour of a plan's day."""
    carried = carried or Carried(inspection)
    hours = hours_of(inspection.day.resolved.frame)
    rooms = Rooms(inspection, hours)
    steadily = [
        _carried(carried, *found, hour.from_ms, hour.to_ms)
        for hour, found in zip(hours, _least(rooms.steady(STEADY), len(hours)), strict=True)
    ]
    starts = _least(rooms.start(START, START_S), len(hours))
    battery = inspection.assessment.battery
    return tuple(
        HourRoom(hour, *steadily[place], *starts[place], None if battery is None else spare_wh(battery, hour))
        for place, hour in enumerate(hours)
    )


def _least(rooms: Iterable[Room], hours: int) -> list[tuple[float, str]]:
    """The least that any limit leaves in each hour, and which that is."""
    least = [(np.inf, "")] * hours
    for room in rooms:
        more = np.full(hours, np.inf)
        np.minimum.at(more, room.cut.hour, room.more)
        least = [
            min(known, (float(one), room.limit), key=lambda pair: pair[0])
            for known, one in zip(least, more, strict=True)
        ]
    return least


def _carried(carried: Carried, steady_w: float, limit: str, from_ms: int, to_ms: int) -> tuple[float, str]:
    """The same, as far as the generator carries it."""
    most_w = carried.most_w(steady_w, from_ms, to_ms)
    return (steady_w, limit) if most_w >= steady_w else (most_w, "generator")


def spare_wh(battery: BankDay, hour: Hour) -> float:
    """The sun to spare in an hour."""
    begin, end = (np.clip(edge, hour.from_ms, hour.to_ms) for edge in (battery.edges_ms[:-1], battery.edges_ms[1:]))
    return float(battery.spare_w @ (end - begin)) / 3_600_000


def _best(carried: Carried, hours: tuple[HourRoom, ...]) -> Span | None:
    """The sunniest of the stretches that carry nearly as much as the best hour; of those without sun the longest."""
    most_w = max((one.steady_w for one in hours), default=0.0)
    if most_w < LEAST_W:
        return None
    stretches: list[list[HourRoom]] = [[]]
    for one in hours:
        if one.steady_w < NEARLY * most_w:
            stretches.append([])
        else:
            stretches[-1].append(one)
    chosen = max((part for one in stretches for part in _carried_parts(carried, one)), key=_worth)
    return _confirmed(carried, tuple(chosen))


def _carried_parts(carried: Carried, stretch: list[HourRoom]) -> Iterator[list[HourRoom]]:
    """All of a stretch, or the longest parts of it, each of which the generator carries from end to end."""

    def carries(part: list[HourRoom]) -> bool:
        return carried.carries(min(one.steady_w for one in part), part[0].hour.from_ms, part[-1].hour.to_ms)

    told = 0
    for first in range(len(stretch)):
        last = max(told, first + 1)
        while last < len(stretch) and carries(stretch[first : last + 1]):
            last += 1
        if last > told:
            yield stretch[first:last]
            told = last


def _worth(hours: list[HourRoom]) -> tuple[int, int]:
    return round(sum(one.spare_wh or 0.0 for one in hours)), len(hours)


def _confirmed(carried: Carried, hours: tuple[HourRoom, ...]) -> Span:
    """What all of some hours carry, as far as the engine agrees."""
    inspection = carried.inspection
    span_ms = hours[0].hour.from_ms, hours[-1].hour.to_ms
    least_w, least_va = min(hours, key=lambda one: one.steady_w), min(hours, key=lambda one: one.start_va)
    most_w, limit = _carried(carried, least_w.steady_w, least_w.steady_limit, *span_ms)
    steady_w, with_it = _agreed(inspection, steady, most_w, span_ms)
    start_va, _ = _agreed(inspection, starting, least_va.start_va, span_ms)
    below_ms = None if with_it is None else _short_ms(inspection.assessment.battery, with_it.assessment.battery)
    return Span(*span_ms, steady_w, limit, start_va, least_va.start_limit, below_ms)


def _agreed(
    inspection: Inspection, make: Callable[[float], Appliance], most: float, span_ms: tuple[int, int]
) -> tuple[float, Grown | None]:
    """The largest part of it with which the plan still holds, and the plan with that; 0 and None for none."""
    for part in LESS if most >= LEAST_W else ():
        with_it = grown(inspection, make(part * most), *span_ms)
        if with_it.holds:
            return part * most, with_it
    return 0.0, None


def _short_ms(before: BankDay | None, after: BankDay | None) -> int | None:
    """When the charge is short only with it."""
    if before is None or after is None or before.expected.below_ms is not None or before.expected.dark_ms is not None:
        return None
    return min((one for one in (after.expected.below_ms, after.expected.dark_ms) if one is not None), default=None)


def _cost(inspection: Inspection, span: Span | None, hours: tuple[HourRoom, ...]) -> Cost | None:
    battery = inspection.assessment.battery
    if span is None or battery is None or span.steady_w < LEAST_W:
        return None
    within = [one for one in hours if span.from_ms <= one.hour.from_ms and one.hour.to_ms <= span.to_ms]
    # The sunniest hour; where none has any to spare, the first.
    sunniest = max(within, key=lambda one: one.spare_wh or 0.0)
    hour = sunniest.hour
    with_it = grown(inspection, steady(span.steady_w), hour.from_ms, hour.to_ms)
    return _compared(battery, with_it, hour, span.steady_w, sunniest.spare_wh or 0.0)


def _compared(battery: BankDay, with_it: Grown, hour: Hour, steady_w: float, spare: float) -> Cost | None:
    after = with_it.assessment.battery
    if after is None:
        return None
    return Cost(
        from_ms=hour.from_ms,
        to_ms=hour.to_ms,
        steady_w=steady_w,
        wh=steady_w * (hour.to_ms - hour.from_ms) / 3_600_000,
        spare_wh=spare,
        end_points=100 * (battery.end_state_of_charge - after.end_state_of_charge),
        lowest=after.expected.state_of_charge,
        was_lowest=battery.expected.state_of_charge,
        below=_short_ms(battery, after) is not None,
    )
