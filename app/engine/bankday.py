"""Sun and bank over the day: the plan's energy laid step by step, and what that comes to."""

from dataclasses import replace
from itertools import pairwise

import numpy as np

from app.engine.cells import cells_of
from app.engine.charge import BankDay, Dark, Lowest, Spell, Totals
from app.engine.curve import by_temperature
from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.flows import Flows, Plant, State, Steps, flows
from app.engine.results import Flags, Floats
from app.engine.sky import STEP_MS
from app.engine.sun import Sun, Suns
from app.engine.typical import Profile, repeated_day, typical_draw
from app.household.day import DAY_S, DayFrame
from app.household.fields import wall_clock_s
from app.household.losses import inverter_losses
from app.household.resolve import Resolved

DARK_DAYS = 2
DARK_STEP_MS = 3 * STEP_MS  # without sun only the draw changes, and by little within these
NOTICED_W = 20.0  # of sun to spare; less is the curve's own unevenness
JOINED_MS = 45 * 60_000  # spells of spare sun nearer to each other than this are one
WORTH_WH = 150.0  # a spell below this is not worth a sentence


def bank_day(day: PlannedDay, suns: Suns) -> BankDay:
    """Follow the energy of a plan, as expected and darker, and over two days without sun after it.

    From the instant at which the bank's charge is known to the horizon.
    """
    resolved = day.resolved
    plant = plant_of(resolved)
    start = State(resolved.day.start_state_of_charge)
    draw, upper = typical_draw(day.laid), typical_draw(day.laid, upper=True)
    begin_ms = resolved.frame.at_ms(wall_clock_s(resolved.day.state_of_charge_at))
    expected = flows(plant, steps_of(resolved, suns.expected, draw, begin_ms), start)
    worse = flows(plant, steps_of(resolved, suns.darker, upper, begin_ms), start)
    day_ms = resolved.frame.day_ms
    after = at_midnight(expected, day_ms, start)
    reserve = resolved.household.supply.battery.reserve
    cold_from_ms, cold_until_ms = _cold_ms(resolved, expected)
    return BankDay(
        edges_ms=expected.edges_ms,
        state_of_charge=expected.charge,
        sun_w=expected.sun_w,
        spare_w=expected.spare_w,
        into_w=expected.into_w,
        out_w=expected.out_w,
        generator_w=expected.generator_w,
        reserve=reserve,
        end_state_of_charge=after.charge,
        totals=_totals(expected, draw, day_ms),
        expected=lowest_of(expected, reserve),
        pessimistic=_worse_of(lowest_of(worse, reserve), lowest_of(expected, reserve)),
        then_dark=_then_dark(plant, day, after),
        spare=tuple(_spells(expected.edges_ms, expected.spare_w, expected.spare_w > NOTICED_W, JOINED_MS, WORTH_WH)),
        generator=tuple(_spells(expected.edges_ms, expected.generator_w, expected.generator_on)),
        generator_starts=int((np.diff(np.concatenate(([0], expected.generator_on.astype(int)))) == 1).sum()),
        cold_from_ms=cold_from_ms,
        cold_until_ms=cold_until_ms,
        yield_wh=suns.expected.yield_wh(day_ms),
        clear_wh=suns.expected.clear_wh,
        oktas=suns.expected.oktas,
        unreached_wh=suns.expected.unreached_wh,
    )


def plant_of(resolved: Resolved) -> Plant:
    """Bank, inverter and generator of a plan."""
    supply = resolved.household.supply
    inverter = supply.inverter
    return Plant(
        cells=cells_of(supply.battery),
        losses=inverter_losses(inverter),
        dc_load_w=supply.battery.dc_load_w,
        cut_off_v=inverter.cut_off_v,
        restart_v=inverter.restart_v or inverter.cut_off_v,
        generator=supply.generator,
    )


def steps_of(resolved: Resolved, sun: Sun, draw: Profile, begin_ms: float = 0.0) -> Steps:
    """The day from an instant on in the sun's steps with the draw's means; cut wherever the draw changes by much."""
    edges_ms = np.unique(np.maximum(draw.cut(sun.edges_ms), begin_ms))
    mid_ms = (edges_ms[:-1] + edges_ms[1:]) / 2
    of_sun = np.searchsorted(sun.edges_ms, mid_ms) - 1
    inverter, ambient_c, frame = resolved.household.supply.inverter, resolved.day.ambient_c, resolved.frame
    return Steps(
        edges_ms=edges_ms,
        load_w=draw.mean_on(edges_ms),
        dc_w=sun.dc_w[:, of_sun],
        controller_a=sun.controller_a,
        ac_w=sun.ac_w[of_sun],
        charge_factor=_charge_factor(resolved, mid_ms),
        through_w=by_temperature(inverter.continuous_w, ambient_c, inverter.room_offset_k, frame).at(mid_ms),
    )


def _charge_factor(resolved: Resolved, at_ms: Floats) -> Floats:
    """What of the bank's charge current its temperature lets in at instants."""
    battery = resolved.household.supply.battery
    factor = by_temperature(battery.charge_factor, resolved.day.ambient_c, battery.room_offset_k, resolved.frame)
    return factor.at(at_ms)


def _then_dark(plant: Plant, day: PlannedDay, midnight: State) -> Dark:
    """From midnight on two days without sun: until when the reserve holds, and when the generator would start."""
    frame, reserve = day.resolved.frame, day.resolved.household.supply.battery.reserve
    again = repeated_day(day.laid, frame.day_ms)
    edges_ms, begin_ms = _dark_steps(frame, again)
    lasts_ms = np.diff(edges_ms)
    load_w = again.mean_from(begin_ms, begin_ms + lasts_ms)
    nothing = np.zeros(len(load_w))
    warmth = _charge_factor(day.resolved, begin_ms + lasts_ms / 2)
    no_sun = np.zeros((0, len(load_w)))
    dark = flows(plant, Steps(edges_ms, load_w, no_sun, (), nothing, warmth, nothing + np.inf), midnight)
    happens = lowest_of(dark, reserve)
    starts = dark.generator_on & (not midnight.generator_on)
    generator_ms = int(dark.edges_ms[int(np.argmax(starts))]) if starts.any() else None
    return Dark(happens.below_ms, generator_ms, happens.dark_ms)


def _dark_steps(frame: DayFrame, again: Profile) -> tuple[Floats, Floats]:
    """Edges of the dark days' steps, and for each step when the plan's own day has the same time on the clock."""
    until_ms = frame.at_ms((1 + DARK_DAYS) * DAY_S)
    if until_ms == (1 + DARK_DAYS) * DAY_S * 1000:  # no clock changes
        day = again.cut(np.append(np.arange(0.0, frame.day_ms, DARK_STEP_MS), frame.day_ms))
        begin_ms = np.tile(day[:-1], DARK_DAYS)
        days = np.repeat(1 + np.arange(DARK_DAYS), len(day) - 1)
        return np.append(begin_ms + days * frame.day_ms, float(until_ms)), begin_ms
    edges_ms = np.append(np.arange(frame.day_ms, until_ms, DARK_STEP_MS), until_ms).astype(float)
    shown = (frame.local(at_ms) for at_ms in edges_ms[:-1].tolist())
    begins = [frame.at_ms(one.hour * 3600 + one.minute * 60 + one.second) for one in shown]
    return edges_ms, np.array(begins, dtype=float)


def _totals(happened: Flows, draw: Profile, day_ms: int) -> Totals:
    hours = np.diff(np.minimum(happened.edges_ms, day_ms)) / 3_600_000

    def wh(watts: Floats) -> float:
        return float(watts @ hours)

    begin_ms = happened.edges_ms[0]
    wanted_wh = float(draw.w @ (np.diff(np.clip(draw.edges_ms, begin_ms, day_ms)) / 3_600_000))
    return Totals(
        sun_used_wh=wh(happened.sun_w - happened.spare_w),
        spare_sun_wh=wh(happened.spare_w),
        into_bank_wh=wh(happened.into_w),
        out_of_bank_wh=wh(happened.out_w),
        served_wh=wh(happened.served_w),
        dc_served_wh=wh(happened.dc_served_w),
        unserved_wh=max(wanted_wh - wh(happened.served_w), 0.0),
        losses_wh=wh(happened.lost_w),
        stored_wh=wh(happened.stored_w),
        generator_wh=wh(happened.generator_w),
    )


def at_midnight(happened: Flows, day_ms: int, start: State) -> State:
    """How things stand at the end of the local day; as at the start where that is told for later."""
    midnight = int(np.searchsorted(happened.edges_ms, day_ms))
    return happened.state(midnight - 1) if midnight else start


def lowest_of(happened: Flows, reserve: float) -> Lowest:
    """The least charge, when it passes the reserve, and when the house goes dark."""
    place = int(np.argmin(happened.charge))
    dark = ~happened.inverter_on & ~happened.generator_on
    return Lowest(
        state_of_charge=float(happened.charge[place]),
        at_ms=round(float(happened.edges_ms[place])),
        below_ms=_passed_ms(happened.edges_ms, happened.charge, reserve),
        dark_ms=round(float(happened.edges_ms[int(np.argmax(dark))])) if dark.any() else None,
    )


def _worse_of(one: Lowest, other: Lowest) -> Lowest:
    """The worse in each respect: the darker day is cut elsewhere, and may come out better by a hair."""
    least = min(one, other, key=lambda lowest: lowest.state_of_charge)
    below_ms = [lowest.below_ms for lowest in (one, other) if lowest.below_ms is not None]
    dark_ms = [lowest.dark_ms for lowest in (one, other) if lowest.dark_ms is not None]
    return replace(least, below_ms=min(below_ms, default=None), dark_ms=min(dark_ms, default=None))


def _passed_ms(edges_ms: Floats, charge: Floats, reserve: float) -> int | None:
    """When the charge first sinks below the reserve; None if it never does."""
    below = np.flatnonzero(charge < reserve - HAIR)
    if not len(below):
        return None
    after = int(below[0])
    if after == 0:
        return round(float(edges_ms[0]))
    before, then = float(charge[after - 1]), float(charge[after])
    part = (before - reserve) / (before - then)
    return round(float(edges_ms[after - 1] + part * (edges_ms[after] - edges_ms[after - 1])))


def _spells(
    edges_ms: Floats, watts: Floats, there: Flags, joined_ms: float = 0.0, worth_wh: float = 0.0
) -> list[Spell]:
    """The stretches in which something is there, near ones joined, with their energy."""
    edge = np.diff(np.concatenate(([0], there.astype(int), [0])))
    bounds = [
        [int(first), int(last)] for first, last in zip(*(np.flatnonzero(edge == one) for one in (1, -1)), strict=True)
    ]
    for before, after in pairwise(list(bounds)):
        if edges_ms[after[0]] - edges_ms[before[1]] <= joined_ms:
            after[0] = before[0]
            bounds.remove(before)
    hours = np.diff(edges_ms) / 3_600_000
    found = [
        Spell(round(float(edges_ms[first])), round(float(edges_ms[last])), float(watts[first:last] @ hours[first:last]))
        for first, last in bounds
    ]
    return [spell for spell in found if spell.wh >= worth_wh]


def _cold_ms(resolved: Resolved, happened: Flows) -> tuple[int | None, int | None]:
    """From when until when the cold keeps sun out of the bank; None if it never does."""
    mid_ms = (happened.edges_ms[:-1] + happened.edges_ms[1:]) / 2
    factor = _charge_factor(resolved, mid_ms)
    # A full bank keeps the sun out as well.
    room = happened.charge[:-1] < cells_of(resolved.household.supply.battery).held_from
    held = np.flatnonzero((factor <= 0) & (happened.spare_w > NOTICED_W) & room)
    if not len(held):
        return None, None
    first = int(held[0])
    warm_before, warm_after = np.flatnonzero(factor[:first] > 0), np.flatnonzero(factor[first:] > 0)
    begin = int(warm_before[-1]) + 1 if len(warm_before) else 0
    end = first + int(warm_after[0]) if len(warm_after) else len(factor)
    return round(float(happened.edges_ms[begin])), round(float(happened.edges_ms[end]))
