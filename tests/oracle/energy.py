"""Sun and bank once more, second by second: a plain loop over the household file.

What the panels give is taken as it is (`tests/engine/test_sun.py` checks it); everything after them is done here
again: the inverter's losses, the bank with its resistance, what it takes by temperature and near full, what charging
and fast emptying lose, dark and light again, the generator, arrays on the AC side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.oracle.home import Home
from tests.oracle.reading import LEAD_ACID_SIX, LFP_CELL, Json, given

SECOND_MS = 1000
# What design and trade give where the file says nothing.
LFP_TAKES = [[0, 0.0], [5, 0.2], [15, 1.0]]
TAPER_FROM = {"lfp": 0.9, "lead_acid": 0.8}
LEAST_TAKEN_C = 0.02
LEAD_ACID_KEEPS = [(0.0, 1.0), (0.75, 1.0), (0.82, 0.57), (0.9, 0.5), (1.0, 0.45)]
FINE = 20_000  # entries of the tables over the state of charge


@dataclass
class Sunshine:
    """Watts of every array behind a controller, the controllers' amps, and watts on the AC side; in steps."""

    edges_ms: Any
    dc_w: Any
    controller_a: tuple[float, ...]
    ac_w: Any


@dataclass
class Course:
    """The day in seconds. charge: one more than seconds. wh: energies of the local day. went: instants of a change."""

    charge: list[float]
    wh: dict[str, float]
    dark_ms: list[int]
    light_ms: list[int]
    generator_ms: list[tuple[int, int]]


class Bank:
    """The bank as the file has it."""

    def __init__(self, battery: Json) -> None:
        chemistry, modules = battery["chemistry"], battery["modules"]
        self.ah = modules * battery["module_ah"] * given(battery, "health", 1)
        self.ohm = battery["module_resistance_ohm"] / modules + given(battery, "dc_path_ohm", 0)
        sharing = given(battery, "sharing", 1.1) if modules >= 2 else 1
        self.most_a = modules / sharing * battery["continuous_charge_a"]
        at = np.linspace(0, 1, FINE + 1)
        lead = chemistry == "lead_acid"
        cells = round(battery["module_v"] / (2.0 if lead else 3.2))
        curve = [(q, v / 6) for q, v in LEAD_ACID_SIX] if lead else LFP_CELL
        self.volts = (cells * np.interp(at, *zip(*curve, strict=True))).tolist()
        self.full_from = TAPER_FROM[chemistry]
        least_a = min(self.most_a, LEAST_TAKEN_C * self.ah)
        self.taper_a = np.interp(at, [self.full_from, 1], [self.most_a, least_a]).tolist()
        keeps = given(battery, "charge_efficiency", 0.97) * np.ones_like(at)
        if lead:
            keeps = keeps * np.interp(at, *zip(*LEAD_ACID_KEEPS, strict=True))
        self.keeps = keeps.tolist()
        self.rated_a = self.ah / given(battery, "rated_hours", 20)
        self.peukert = given(battery, "peukert", 1.2 if lead else 1.0)
        self.takes = given(battery, "charge_factor_by_temp", [] if lead else LFP_TAKES)


def seconds_of(home: Home) -> Any:
    """Mean watts of the house in every second, what cycles at its share of the time."""
    count = home.reading.horizon_ms // SECOND_MS
    watts = np.zeros(count + 1)
    for draw in home.draws:
        mean_w = draw.p * (draw.cycle[0] / draw.cycle[1] if draw.cycle else 1.0)
        first, last = draw.begin_ms // SECOND_MS, draw.end_ms // SECOND_MS
        watts[first:last] += mean_w
        watts[first] -= mean_w * (draw.begin_ms % SECOND_MS) / SECOND_MS
        watts[last] += mean_w * (draw.end_ms % SECOND_MS) / SECOND_MS
    return watts[:count]


def course_of(document: Json, scenario: str | None, sunshine: Sunshine, start: float, begin_ms: int = 0) -> Course:
    """Let the day pass, second by second, from the instant on at which the bank has its first charge."""
    home = Home(document, scenario)
    reading, inverter = home.reading, home.inverter
    bank = Bank(home.battery)
    generator = reading.supply.get("generator")
    load = seconds_of(home)
    instants = (np.arange(len(load)) + 0.5) * SECOND_MS
    step = np.searchsorted(sunshine.edges_ms, instants) - 1
    warmth = reading.ambient_at(instants) + given(home.battery, "room_offset_k", 0)
    takes = np.interp(warmth, *zip(*bank.takes, strict=True)) if bank.takes else np.ones_like(warmth)
    inside = reading.ambient_at(instants) + given(inverter, "room_offset_k", 0)
    through = np.interp(inside, *zip(*inverter["continuous_w"], strict=True))
    each = sunshine.dc_w[:, step].T.tolist() if len(sunshine.dc_w) else [[]] * len(load)
    house = _House(home, bank, generator, sunshine.controller_a)
    return house.pass_day(
        load.tolist(), each, sunshine.ac_w[step].tolist(), (takes * bank.most_a).tolist(), through.tolist(), start,
        begin_ms // SECOND_MS, reading.day_ms // SECOND_MS,
    )  # fmt: skip


class _House:
    def __init__(self, home: Home, bank: Bank, generator: Json | None, controller_a: tuple[float, ...]) -> None:
        self.home, self.bank, self.generator, self.controller_a = home, bank, generator, controller_a
        self.dc_load_w = given(home.battery, "dc_load_w", 0)
        self.cut_off_v = home.inverter["cut_off_v"]
        self.restart_v = given(home.inverter, "restart_v", self.cut_off_v)

    def lost_inside(self, w: float) -> float:
        """The inverter's own losses while it carries so many watts, either way."""
        return float(self.home.no_load_w + self.home.b * w + self.home.c * w * w)

    def pass_day(
        self, load: list[float], sun: list[list[float]], ac_sun: list[float], most: list[float],
        through: list[float], q: float, begin_s: int, day_s: int,
    ) -> Course:  # fmt: skip
        bank, ohm, generator = self.bank, self.bank.ohm, self.generator
        on, runs = True, False
        charge = [q] * (begin_s + 1)
        rows: list[tuple[float, ...]] = []
        dark: list[int] = []
        light: list[int] = []
        spells: list[list[int]] = []
        for second in range(begin_s, len(load)):
            want_w = load[second]
            volts = bank.volts[min(int(q * FINE + 0.5), FINE)]
            dc_w = 0.0
            for watts, amps in zip(sun[second], self.controller_a, strict=True):
                dc_w += min(watts, amps * volts)
            ac_w = ac_sun[second]
            if generator is not None:
                was = runs
                runs = q <= generator["start_below"] or (runs and q < generator["stop_above"])
                if runs and not was:
                    spells.append([second * SECOND_MS, len(load) * SECOND_MS])
                elif was and not runs:
                    spells[-1][1] = second * SECOND_MS
            if not on and q > 0 and (volts >= self.restart_v or q >= bank.full_from):
                on = True
                light.append(second * SECOND_MS)
            # First with the house on; if the bank cannot carry that, without.
            given_w = 0.0
            while True:
                spare = lost = served = 0.0
                charger = 0.0
                if runs and generator is not None:
                    served, spare = want_w, ac_w
                    lost = min(self.lost_inside(generator["charger_w"]), generator["charger_w"])
                    charger = generator["charger_w"] - lost
                    bus = dc_w + charger
                    given_w = want_w + generator["charger_w"]
                elif not on:
                    spare, bus = ac_w, dc_w
                elif want_w >= ac_w:
                    served = want_w
                    lost = self.lost_inside(want_w - ac_w)
                    bus = dc_w - (want_w - ac_w) - lost
                else:
                    served = want_w
                    back = min(ac_w - want_w, through[second])
                    spare = ac_w - want_w - back
                    lost = self.lost_inside(back)
                    bus = dc_w + back - lost
                net = bus - self.dc_load_w
                got_dc = self.dc_load_w
                if net >= 0:
                    amps = (math.sqrt(volts**2 + 4 * ohm * net) - volts) / (2 * ohm) if ohm else net / volts
                    entry = min(int(q * FINE + 0.5), FINE)
                    amps = min(amps, most[second], bank.taper_a[entry])
                    keeps = bank.keeps[entry]
                    gain = amps * keeps / 3600 / bank.ah
                    if q + gain > 1:
                        amps, gain = amps * (1 - q) / gain, 1 - q
                    into, out = (volts + amps * ohm) * amps, 0.0
                    over = net - into
                    if charger > 0 and over > 0:
                        less = min(over, charger)
                        over -= less
                        share = less / charger
                        given_w -= share * generator["charger_w"]  # type: ignore[index]
                        lost -= share * lost
                    spare += over
                    lost += amps**2 * ohm + volts * amps * (1 - keeps)
                    q_then = q + gain
                else:
                    need = -net
                    under_root = volts**2 - 4 * ohm * need
                    if under_root > 0:
                        amps = (volts - math.sqrt(under_root)) / (2 * ohm) if ohm else need / volts
                    carries = under_root > 0 and q > 0
                    if on and not runs and (not carries or volts - amps * ohm < self.cut_off_v):
                        on = False
                        dark.append(second * SECOND_MS)
                        continue
                    if carries:
                        faster = max(amps / bank.rated_a, 1.0) ** (bank.peukert - 1)
                        into, out = 0.0, (volts - amps * ohm) * amps
                        lost += amps**2 * ohm + volts * amps * (faster - 1)
                        q_then = max(q - amps * faster / 3600 / bank.ah, 0.0)
                    else:
                        got_dc = min(bus, self.dc_load_w)
                        into = out = 0.0
                        q_then = q
                break
            rows.append((dc_w + ac_w, spare, into, out, served, got_dc, lost, given_w))
            q = q_then
            charge.append(q)
        names = ("sun", "spare", "into", "out", "served", "dc_served", "lost", "generator")
        energy = dict(zip(names, (np.array(rows[: day_s - begin_s]).sum(axis=0) / 3600).tolist(), strict=True))
        energy["unserved"] = sum(load[begin_s:day_s]) / 3600 - energy["served"]
        return Course(charge, energy, dark, light, [(begin, end) for begin, end in spells])
