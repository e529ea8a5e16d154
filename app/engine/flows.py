"""Where the energy goes, step after step: sun to house, sun to bank, bank to house, and what nobody can use.

Within a step all powers are means. The inverter's losses, the bank's resistance, what charging loses and what fast
emptying loses are counted each time; at the end nothing is missing.
"""

from dataclasses import dataclass
from math import sqrt
from typing import NamedTuple

import numpy as np

from app.engine.cells import CLOSELY, Cells
from app.engine.compiled import compiled
from app.engine.results import Flags, Floats
from app.household.losses import Losses
from app.household.supply import Generator


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """What is given for every step, shape (n,) each; edges_ms: shape (n + 1,).

    load_w: what the house draws on the AC side. dc_w: shape (arrays, n), charge controllers' sun;
    controller_a: the most each gives, at the bank's volts. ac_w: sun on the
    AC side. charge_factor: of the bank's charge current, by its temperature. through_w: what the inverter carries.
    """

    edges_ms: Floats
    load_w: Floats
    dc_w: Floats
    controller_a: tuple[float, ...]
    ac_w: Floats
    charge_factor: Floats
    through_w: Floats


@dataclass(frozen=True, slots=True)
class Plant:
    """What does not change over the day: bank, inverter, generator."""

    cells: Cells
    losses: Losses
    dc_load_w: float
    cut_off_v: float
    restart_v: float
    generator: Generator | None


@dataclass(frozen=True, slots=True)
class State:
    """How things stand at one instant: the bank's charge, whether the inverter and the generator run."""

    charge: float
    inverter_on: bool = True
    generator_on: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Flows:
    """What happened in every step, means in watts, shape (n,) each.

    charge: shape (n + 1,), state of charge at the edges. sun_w: what the controllers could give. spare_w: of that,
    what nobody could use. served_w, dc_served_w: what the house and the DC side got. into_w, out_w: at the bank's
    terminals. lost_w: in inverter, resistance, charging and fast emptying. stored_w: what the bank's store gained.
    generator_w: what the generator gave. inverter_on, generator_on: through the step.
    """

    edges_ms: Floats
    charge: Floats
    sun_w: Floats
    spare_w: Floats
    served_w: Floats
    dc_served_w: Floats
    into_w: Floats
    out_w: Floats
    lost_w: Floats
    stored_w: Floats
    generator_w: Floats
    inverter_on: Flags
    generator_on: Flags

    def state(self, step: int) -> State:
        """How things stood at the end of a step, -1 for the last."""
        return State(float(self.charge[1:][step]), bool(self.inverter_on[step]), bool(self.generator_on[step]))


SHORTEST_H = 15 / 3600  # no piece of a step is shorter, so that what goes on and off all the time comes to an end
NEAR_CUT_OFF = 1.02  # times the cut-off's volts; from there on small pieces, to find when it is reached
HAIR = 1e-9


class Given(NamedTuple):
    """Plant and steps as the loop takes them. limited: some controller may be at its current limit."""

    edges_ms: Floats
    load_w: Floats
    dc_w: Floats
    controller_a: Floats
    limited: Flags
    dc_sum_w: Floats
    ac_w: Floats
    charge_a: Floats
    through_w: Floats
    cells: Cells
    losses: Losses
    house: "_House"
    generator: "_Starting"


class More(NamedTuple):
    """What is drawn on top of the steps' loads.

    edges_ms: shape (n,), rising. w: shape (n + 1,), before the first edge, between them, after the last.
    """

    edges_ms: Floats
    w: Floats


NO_MORE = More(np.empty(0), np.zeros(1))


class Course(NamedTuple):
    """How the charge goes, shape (n + 1,) at the edges, and whether the generator runs in between, shape (n,)."""

    edges_ms: Floats
    charge: Floats
    generator_on: Flags

    def generator_ms(self) -> list[tuple[float, float]]:
        """From when to when the generator runs."""
        runs = np.concatenate(([False], self.generator_on, [False]))
        turns = self.edges_ms[(runs[1:] != runs[:-1]).nonzero()[0]].tolist()
        return list(zip(turns[::2], turns[1::2], strict=True))


def given_of(plant: Plant, steps: Steps) -> Given:
    """What the loop takes."""
    controller_a = np.array(steps.controller_a, dtype=float)
    # Only where some controller may be at its current limit does it matter which array the sun falls on.
    limited = (steps.dc_w > (controller_a * plant.cells.rest_v.min())[:, None]).any(axis=0)
    charge_a = steps.charge_factor * plant.cells.charge_a
    # Whole numbers would be another kind, for which the loop would be compiled anew.
    house = _House(*map(float, (plant.dc_load_w, plant.cut_off_v, plant.restart_v, CLOSELY)))
    return Given(
        steps.edges_ms, steps.load_w, steps.dc_w, controller_a, limited, steps.dc_w.sum(axis=0), steps.ac_w, charge_a,
        steps.through_w, plant.cells, Losses(*map(float, plant.losses)), house, _starting(plant.generator),
    )  # fmt: skip


def flows(plant: Plant, steps: Steps, start: State) -> Flows:
    """Let the steps happen, one after the other; a step is cut where something begins or ends within it."""
    told, ran = _followed(given_of(plant, steps), start, 0, NO_MORE)
    table = np.ascontiguousarray(told.T)
    np.maximum(table[3], 0.0, out=table[3])  # a rounding below nothing
    return Flows(
        np.concatenate((steps.edges_ms[:1], table[0])), np.concatenate(([start.charge], table[1])), table[2], table[3],
        table[4], table[5], table[6], table[7], table[8], table[9], table[10], ran[:, 0].copy(), ran[:, 1].copy(),
    )  # fmt: skip


def course(given: Given, start: State, first: int, more: More) -> Course:
    """How the charge goes from a step on, with more drawn than is given."""
    told, ran = _followed(given, start, first, more)
    edges_ms = np.concatenate((given.edges_ms[first : first + 1], told[:, 0]))
    return Course(edges_ms, np.concatenate(([start.charge], told[:, 1])), ran[:, 1])


def _followed(given: Given, start: State, first: int, more: More) -> tuple[Floats, Flags]:
    return followed(*given, *more, first, float(start.charge), bool(start.inverter_on), bool(start.generator_on))


class _House(NamedTuple):
    """What the loop must know besides bank and losses. closely: by how much the charge may change near what happens."""

    dc_load_w: float
    cut_off_v: float
    restart_v: float
    closely: float


class _Starting(NamedTuple):
    """By what charge a generator starts and stops, and what its charger draws; where there is none it never starts."""

    below: float
    above: float
    charger_w: float


def _starting(generator: Generator | None) -> _Starting:
    if generator is None:
        return _Starting(-np.inf, np.inf, 0.0)
    return _Starting(float(generator.start_below), float(generator.stop_above), float(generator.charger_w))


@compiled
def followed(
    edges_ms: Floats, loads_w: Floats, arrays_w: Floats, controller_a: Floats, limited: Flags, dc_sums_w: Floats,
    ac_suns_w: Floats, mosts_a: Floats, throughs_w: Floats, cells: Cells, losses: Losses, house: _House,
    generator: _Starting, more_ms: Floats, mores_w: Floats, first: int, charge: float, on: bool, running: bool,
) -> tuple[Floats, Flags]:  # fmt: skip
    """What happens piece by piece from the first step on: when it ends, the charge then, and what else `Flows` tells.

    Shape (pieces, 11) of figures, and (pieces, 2) whether inverter and generator run.
    One long loop, for a call a step would cost as much as the step.
    """
    idle_w, per_w, per_w2 = losses
    rest_v, taper_a, keeps, filling, emptying = cells.rest_v, cells.taper_a, cells.keeps, cells.filling, cells.emptying
    curved_from, held_from, capacity_ah, rated_a = cells.curved_from, cells.held_from, cells.capacity_ah, cells.rated_a
    ohm, peukert, entries = cells.resistance_ohm, cells.peukert, len(rest_v) - 2
    dc_load_w, cut_off_v, restart_v, closely = house

    def until(hours: float, points: float, per_h: float) -> float:
        """Hours until the charge has changed so much, a hair more, at a rate per hour; no longer than `hours`."""
        if per_h <= 0:
            return hours
        return min(hours, max(points / per_h * (1 + HAIR), SHORTEST_H))

    count, room = 0, 2 * len(loads_w) + 16
    told, ran = np.empty((room, 11)), np.empty((room, 2), dtype=np.bool_)
    at_ms, part = edges_ms[first], 0
    for step in range(first, len(loads_w)):
        dc_sun_w, ac_sun_w, most_a, through_w = dc_sums_w[step], ac_suns_w[step], mosts_a[step], throughs_w[step]
        while at_ms < edges_ms[step + 1]:
            while part < len(more_ms) and more_ms[part] <= at_ms:
                part += 1
            load_w, end_ms = loads_w[step] + mores_w[part], edges_ms[step + 1]
            if part < len(more_ms) and more_ms[part] < end_ms:
                end_ms = more_ms[part]
            hours = left_h = (end_ms - at_ms) / 3_600_000
            place = charge * entries
            entry = int(place)
            volts = rest_v[entry] + (place - entry) * (rest_v[entry + 1] - rest_v[entry])
            if limited[step]:
                dc_sun_w = 0.0
                for array in range(len(controller_a)):
                    dc_sun_w += min(arrays_w[array, step], controller_a[array] * volts)
            if charge <= generator.below:
                running = True
            elif charge >= generator.above:
                running = False
            if not on and charge > 0 and (volts >= restart_v or charge >= held_from):
                on = True
            while True:
                served_w, dc_w, inner_w, spare_w = load_w, 0.0, 0.0, 0.0
                charger_w = converted_w = given_w = 0.0
                if running:
                    # The generator carries the house; the inverter turns round and charges. Nothing feeds into it.
                    charger_w = generator.charger_w
                    inner_w = min(idle_w + (per_w + per_w2 * charger_w) * charger_w, charger_w)
                    converted_w = charger_w - inner_w
                    spare_w = ac_sun_w
                elif not on:
                    served_w, spare_w = 0.0, ac_sun_w
                elif load_w >= ac_sun_w:
                    ac_w = load_w - ac_sun_w
                    inner_w = idle_w + (per_w + per_w2 * ac_w) * ac_w
                    dc_w = ac_w + inner_w
                else:
                    # More sun on the AC side than the house draws: what the inverter carries goes to the bank.
                    back_w = min(ac_sun_w - load_w, through_w)
                    spare_w = ac_sun_w - load_w - back_w
                    inner_w = idle_w + (per_w + per_w2 * back_w) * back_w
                    dc_w = inner_w - back_w
                net_w = dc_sun_w + converted_w - dc_w - dc_load_w
                lost_w, into_w, out_w, stored_w, dc_served_w = inner_w, 0.0, 0.0, 0.0, dc_load_w
                after, at_start = charge, False
                if net_w >= 0:
                    top_a = most_a if most_a < taper_a[entry] else taper_a[entry]
                    amps = 2 * net_w / (volts + sqrt(volts * volts + 4 * ohm * net_w))
                    if amps > top_a:
                        amps = top_a
                    kept = keeps[entry]
                    per_h = amps * kept / capacity_ah
                    if per_h * hours > (points := filling[entry] if on else closely):
                        hours = until(hours, points, per_h)
                    if charge < curved_from < charge + per_h * hours:
                        hours = until(hours, curved_from - charge, per_h)
                    if running and charge + per_h * hours > generator.above:
                        hours = until(hours, generator.above - charge, per_h)
                    gained = per_h * hours
                    if charge + gained > 1:
                        amps *= (1 - charge) / gained
                        gained = 1 - charge
                    into_w = (volts + amps * ohm) * amps
                    left_w = net_w - into_w
                    if left_w > 1e-9 and converted_w > 0:
                        # The charger steps back before the sun does.
                        back = min(left_w, converted_w) / converted_w
                        left_w -= back * converted_w
                        charger_w, inner_w = charger_w * (1 - back), inner_w * (1 - back)
                        lost_w = inner_w
                    spare_w += left_w
                    stored_w = volts * amps * kept
                    lost_w += amps * amps * ohm + volts * amps * (1 - kept)
                    after = charge + gained
                else:
                    root = volts * volts + 4 * ohm * net_w
                    carries = root > 0 and charge > 0
                    amps = -2 * net_w / (volts + sqrt(root)) if carries else 0.0
                    if on and not running and (not carries or volts - amps * ohm < cut_off_v):
                        on = False
                        continue
                    if carries:
                        faster = (amps / rated_a) ** peukert if amps > rated_a and peukert else 1.0
                        per_h = amps * faster / capacity_ah
                        near = on and not running and volts - amps * ohm < cut_off_v * NEAR_CUT_OFF
                        if per_h * hours > (points := closely if near else emptying[entry]):
                            hours = until(hours, points, per_h)
                        if not running and charge - per_h * hours < generator.below:
                            # Exactly there it starts: by not a hair less is the charge ever below.
                            hours, at_start = min(hours, (charge - generator.below) / per_h), True
                        if per_h * hours > charge:
                            hours = charge / per_h
                        out_w = (volts - amps * ohm) * amps
                        stored_w = -volts * amps * faster
                        lost_w += amps * amps * ohm + volts * amps * (faster - 1)
                        after = charge - per_h * hours
                        if at_start:
                            after = generator.below
                        if after < HAIR:
                            after = 0.0
                    else:
                        # Nothing comes from the bank: the DC side has the sun and the charger alone.
                        dc_served_w = min(dc_sun_w + converted_w, dc_load_w)
                break
            if running:
                given_w = load_w + charger_w
            charge = after
            at_ms = end_ms if hours >= left_h else at_ms + hours * 3_600_000
            if count == len(told):
                told, ran = np.concatenate((told, np.empty_like(told))), np.concatenate((ran, np.empty_like(ran)))
            # Written out: a row that is set as a whole takes the compiler twice as long.
            told[count, 0] = at_ms
            told[count, 1] = charge
            told[count, 2] = dc_sun_w + ac_sun_w
            told[count, 3] = spare_w
            told[count, 4] = served_w
            told[count, 5] = dc_served_w
            told[count, 6] = into_w
            told[count, 7] = out_w
            told[count, 8] = lost_w
            told[count, 9] = stored_w
            told[count, 10] = given_w
            ran[count, 0] = on
            ran[count, 1] = running
            count += 1
    return told[:count], ran[:count]
