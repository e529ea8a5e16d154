"""What a given set of draws comes to, for the house, a leg or a circuit: watts, VA, bank amps, drop.

A set of draws is an integer with one bit for each draw; a second one says which are just starting.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from tests.oracle.draws import Draw, Expansion
from tests.oracle.reading import LEAD_ACID_SIX, LFP_CELL, LFP_WARMTH, Json, Reading, given, line

HAIR = 1 + 1e-9
Limit = Callable[[Any], Any]  # instants (ms) -> the limit then; a plain number where the weather is steady


def exceeds(value: Any, limit: Any) -> Any:
    """Strictly greater, rounding aside."""
    return value > limit * HAIR


@dataclass(frozen=True)
class Figures:
    """Nominal watts and volt-amperes of a set of draws, and both with the uncertainty on top."""

    nominal_w: float
    nominal_va: float
    w: float
    va: float


def bits(number: int) -> list[int]:
    return [i for i in range(number.bit_length()) if number >> i & 1]


class Home:
    """The household of one scenario: its draws and its limits."""

    def __init__(self, document: Json, scenario: str | None) -> None:
        self.reading = reading = Reading(document, scenario)
        self.draws: list[Draw] = Expansion(reading).draws
        self.circuits: dict[str, Json] = {c["id"]: c for c in given(reading.supply, "circuits", [])}
        self.inverter: Json = reading.supply["inverter"]
        self.battery: Json = reading.supply["battery"]
        self.two_legs = given(self.inverter, "legs", 1) == 2
        self.volts = self.inverter["ac_voltage"]
        self._known: dict[Any, Figures] = {}
        self.unsure = self._unsure()
        self._losses()
        self._bank()

    # -- who draws where ---------------------------------------------------------------------------------

    def share(self, draw: Draw, scope: str) -> float:
        """The part of a draw that a scope carries: 'house', 'leg:A', 'circuit:ID', 'circuit:ID:A', 'lost:ID:A'."""
        kind, *where = scope.split(":")
        if kind == "house":
            return 1.0
        leg = given(self.circuits[draw.circuit], "leg", "AB") if draw.circuit else "AB"
        if kind == "leg":
            return 0.5 if leg == "AB" else float(leg == where[0])
        if draw.circuit is None or where[0] not in self.feed_path(draw.circuit):
            return 0.0
        if len(where) == 1 or not self.two_legs:
            return 1.0
        if kind == "lost":
            # Over both legs: half the current of one with half the volts, and lost of twice the volts.
            return 0.25 if leg == "AB" else float(leg == where[1])
        return 0.5 if leg == "AB" else float(leg == where[1])

    def feed_path(self, circuit: str) -> list[str]:
        """The circuit itself, what feeds it, and so on."""
        path = [circuit]
        while self.circuits[path[-1]].get("fed_from"):
            path.append(self.circuits[path[-1]]["fed_from"])
        return path

    def conductors(self, circuit: str) -> tuple[list[str], float]:
        """The scopes whose current the breaker sees, and the voltage behind that current."""
        leg = given(self.circuits[circuit], "leg", "AB")
        if not self.two_legs:
            return [f"circuit:{circuit}"], self.volts
        if leg != "AB":
            return [f"circuit:{circuit}"], self.volts / 2
        return [f"circuit:{circuit}:A", f"circuit:{circuit}:B"], self.volts / 2

    # -- sums ----------------------------------------------------------------------------------------------

    def counted(self, on: int, starting: int, scope: str) -> list[int]:
        """The draws a scope feels: of an interlock's members only as many as may run, largest first."""
        return self.choices(on, starting, scope)[0]

    def choices(self, on: int, starting: int, scope: str) -> list[list[int]]:
        """Every set of draws that interlocks may let on; the first has the largest in volt-amperes."""
        found = [[i for i in bits(on) if self.share(self.draws[i], scope) > 0]]
        for lock in self.reading.interlocks:
            found = [one for members in found for one in self._let_on(members, lock, starting, scope)]
        return found

    def _let_on(self, members: list[int], lock: Json, starting: int, scope: str) -> list[list[int]]:
        """What starts is on for sure, and any of the others, as many as may be."""
        inside = [i for i in members if self.draws[i].appliance in lock["of"]]
        allowed = max(lock["at_most"], sum(self.draws[i].cycle is None for i in inside))
        inside.sort(key=lambda i: self.rank(i, starting, scope))
        first = [i for i in inside if starting >> i & 1][:allowed]
        rest = [i for i in inside if not starting >> i & 1]
        others = [i for i in members if i not in inside]
        free = min(allowed - len(first), len(rest))
        return [sorted([*others, *first, *some]) for some in combinations(rest, free)]

    def last_counted(self, on: int, starting: int, scope: str) -> int | None:
        """The smallest member of an interlock that is counted without a start."""
        members = self.counted(on, starting, scope)
        for lock in self.reading.interlocks:
            inside = [i for i in members if self.draws[i].appliance in lock["of"] and not starting >> i & 1]
            return max(inside, key=lambda i: self.rank(i, starting, scope), default=None)
        return None

    def more(self, on: int, starting: int, scope: str) -> tuple[float, float, float, float, float]:
        """By how much interlocks' other members draw more than those that are counted, each figure by itself.

        Watts, squares of doubt, distortion, var on the lagging and on the leading side.
        """
        each = [self._sums(some, starting, scope) for some in self.choices(on, starting, scope)]
        p, doubt, d, lag, lead = (max(column) - column[0] for column in zip(*each, strict=True))
        return p, doubt, d, lag, -lead

    def _sums(self, some: list[int], starting: int, scope: str) -> tuple[float, ...]:
        """Watts, squares of doubt, distortion, var, and var the other way, of what runs and does not start."""
        sums = [0.0] * 5
        for i in some:
            draw, share = self.draws[i], self.share(self.draws[i], scope)
            if not (starting >> i & 1 and draw.start):
                own = (draw.p, share * (draw.u * draw.p) ** 2, draw.d, draw.q, -draw.q)
                sums = [total + share * one for total, one in zip(sums, own, strict=True)]
        return tuple(sums)

    def rank(self, i: int, starting: int, scope: str) -> tuple[bool, float]:
        """What starts is on, whoever else may be; of the others the largest counts first."""
        draw = self.draws[i]
        return not starting >> i & 1, -self.share(draw, scope) * math.sqrt(draw.p**2 + draw.q**2 + draw.d**2)

    def figures(self, on: int, starting: int = 0, scope: str = "house") -> Figures:
        """The worst of a set of draws: all of them on, those `starting` with their start instead."""
        key = on, starting, scope
        if key not in self._known:
            self._known[key] = self._figures(on, starting, scope)
        return self._known[key]

    def _figures(self, on: int, starting: int, scope: str) -> Figures:
        """The worst of a set of draws, of which interlocks let on some: of all they may let on the worst for each."""
        each = [self._summed(some, starting, scope) for some in self.choices(on, starting, scope)]
        found = [figures for figures, _ in each]
        if len(found) == 1:
            return found[0]
        nominal_w, w = max(one.nominal_w for one in found), max(one.w for one in found)
        scale = w / nominal_w if nominal_w > 0 else 1.0
        # Distortion is taken from whichever has most of it, the safe side.
        va = max(max(one.va for one in found) / scale, math.hypot(nominal_w, max(d for _, d in each)))
        return Figures(nominal_w, va, w, va * scale)

    def _summed(self, members: list[int], starting: int, scope: str) -> tuple[Figures, float]:
        """The running worst first, which decides the side of Q; then starts in place of running draws.

        Returns its distortion as well.
        """
        p = d = doubt = 0.0
        q = {"certain": 0.0, "lagging": 0.0, "leading": 0.0}
        start_q, replaced_q = 0.0, dict(q)
        for i in members:
            draw = self.draws[i]
            share = self.share(draw, scope)
            kind = "certain" if draw.cycle is None else "lagging" if draw.q > 0 else "leading"
            q[kind] += share * draw.q
            if starting >> i & 1 and draw.start:
                p += share * draw.start[0]
                start_q += share * draw.start[1]
                replaced_q[kind] += share * draw.q
            else:
                p += share * draw.p
                d += share * draw.d
                doubt += (share * draw.u * draw.p) ** 2
        side = max(("lagging", "leading"), key=lambda kind: abs(q["certain"] + q[kind]))
        reactive = start_q + sum(q[kind] - replaced_q[kind] for kind in ("certain", side))
        va = math.sqrt(p * p + reactive**2 + d * d)
        w = p + math.sqrt(doubt)
        return Figures(p, va, w, va * (w / p) if p > 0 else va), d

    # -- direct current ------------------------------------------------------------------------------------

    def _losses(self) -> None:
        full = line(self.inverter["continuous_w"], 25)
        part = self.inverter["peak_efficiency_at"] * full
        self.no_load_w = given(self.inverter, "no_load_w", 0)
        loss_part = part / self.inverter["peak_efficiency"] - part - self.no_load_w
        loss_full = full / self.inverter["full_load_efficiency"] - full - self.no_load_w
        matrix = np.array([[part, part**2], [full, full**2]])
        self.b, self.c = np.linalg.solve(matrix, [loss_part, loss_full])

    def _bank(self) -> None:
        bank = self.battery
        modules, reserve = bank["modules"], given(bank, "reserve", 0.2)
        if bank["chemistry"] == "lfp":
            self.open_circuit_v = round(bank["module_v"] / 3.2) * line(LFP_CELL, reserve)
        else:
            self.open_circuit_v = round(bank["module_v"] / 2.0) * line(LEAD_ACID_SIX, reserve) / 6
        self.ohm = bank["module_resistance_ohm"] / modules + given(bank, "dc_path_ohm", 0)
        self.shared = modules / (given(bank, "sharing", 1.1) if modules >= 2 else 1)

    def dc_watts(self, w: float) -> float:
        return float(w + self.no_load_w + self.b * w + self.c * w * w + given(self.battery, "dc_load_w", 0))

    def can_deliver(self, w: float) -> bool:
        return self.open_circuit_v**2 >= 4 * self.ohm * self.dc_watts(w)

    def amps(self, w: float) -> float:
        """Bank current at w watts of alternating current."""
        v, r, need = self.open_circuit_v, self.ohm, self.dc_watts(w)
        if r == 0:
            return need / v
        if not self.can_deliver(w):
            return v / (2 * r)
        return (v - math.sqrt(v * v - 4 * r * need)) / (2 * r)

    def terminal_v(self, w: float) -> float:
        return self.open_circuit_v - self.amps(w) * self.ohm

    # -- limits that follow the weather ----------------------------------------------------------------------

    def inverter_limit(self, value: float | None, part: float = 1.0) -> Limit:
        """continuous_w (value None), or a rating or level that shrinks with it; `part` for a leg."""
        curve = self.inverter["continuous_w"]
        offset = given(self.inverter, "room_offset_k", 0)

        def then(instants: Any) -> Any:
            degrees = self.reading.ambient_at(instants) + offset
            watts = np.interp(degrees, [p[0] for p in curve], [p[1] for p in curve])
            if value is None:
                return part * watts
            return part * value * np.minimum(1.0, watts / line(curve, 25))

        return self._steady(then)

    def bank_limit(self, amps_each: float) -> Limit:
        curve = given(
            self.battery, "discharge_factor_by_temp", LFP_WARMTH if self.battery["chemistry"] == "lfp" else []
        )
        offset = given(self.battery, "room_offset_k", 0)

        def then(instants: Any) -> Any:
            degrees = self.reading.ambient_at(instants) + offset
            factor = np.interp(degrees, [p[0] for p in curve], [p[1] for p in curve]) if curve else 1.0 + 0 * degrees
            return amps_each * self.shared * factor

        return self._steady(then)

    def _steady(self, then: Limit) -> Limit:
        if self.reading.steady:
            constant = float(then(0.0))
            return lambda instants: constant
        return then

    # -- voltage drop ------------------------------------------------------------------------------------

    def heaviest(self, circuit: str, on: int, starting: int = 0) -> str:
        """The conductor that carries most."""
        return max(self.conductors(circuit)[0], key=lambda scope: self.figures(on, starting, scope).va)

    def drop_percent(self, circuit: str, on: int, starting: int = 0) -> float:
        """Per cent lost along the feed path of a circuit, on the leg of it that loses more."""
        legs = given(self.circuits[circuit], "leg", "AB") if self.two_legs else "A"
        return max(
            sum(
                self.lost_percent_of(name, leg, on, starting)
                for name in self.feed_path(circuit)
                if self.circuits[name].get("cable_m") and self.circuits[name].get("conductor_mm2")
            )
            for leg in legs
        )

    def lost_percent_of(self, name: str, leg: str, on: int, starting: int) -> float:
        """Per cent lost on a leg of a circuit's own cable."""
        cable = self.circuits[name]
        if not self.two_legs:
            return self.lost_percent(cable, self.figures(on, starting, f"circuit:{name}"), self.volts)
        half = self.volts / 2
        if given(cable, "leg", "AB") != "AB":
            return self.lost_percent(cable, self.figures(on, starting, f"circuit:{name}"), half)
        lost = self.lost_percent(cable, self.figures(on, starting, f"lost:{name}:{leg}"), half)
        return max(lost - self.back_percent(name, on, "B" if leg == "A" else "A"), 0.0)

    def lost_percent(self, cable: Json, figures: Figures, volts: float) -> float:
        """Per cent of some volts that a cable loses there and back."""
        if figures.nominal_va == 0:
            return 0.0
        cos_phi = min(1.0, figures.nominal_w / figures.nominal_va)
        per_amp = 0.0225 * cable["cable_m"] / cable["conductor_mm2"] * cos_phi
        per_amp += 0.08e-3 * cable["cable_m"] * math.sqrt(1 - cos_phi**2)
        return 100 * 2 * figures.va / volts * per_amp / volts

    def back_percent(self, name: str, on: int, leg: str) -> float:
        """Per cent of half the volts by which the other leg loses less: what is sure on this one, at its least."""
        p = q = doubt = 0.0
        for draw in (self.draws[i] for i in bits(on)):
            own = draw.circuit is not None and given(self.circuits[draw.circuit], "leg", "AB") == leg
            if own and draw.cycle is None and draw.appliance not in self.unsure:
                share = self.share(draw, f"circuit:{name}")
                p, q, doubt = p + share * draw.p, q + share * draw.q, doubt + (share * draw.u * draw.p) ** 2
        if p <= 0:
            return 0.0
        cable = self.circuits[name]
        volts = 0.0225 * cable["cable_m"] / cable["conductor_mm2"] * p + 0.08e-3 * cable["cable_m"] * q
        return 100 * max(0.0, 1 - math.sqrt(doubt) / p) * volts / (self.volts / 2) ** 2

    def _unsure(self) -> set[str]:
        """What may be off though the plan has it run: for an interlock, or because it runs when somebody likes."""
        reading = self.reading
        unsure = {name for lock in reading.interlocks for name in lock["of"]}
        free = list(reading.any_time)
        while free:
            name = free.pop()
            unsure.add(name)
            for stage in reading.appliances[name]["stages"]:
                free += [call["appliance"] for call in given(stage, "sets_off", []) if call["appliance"] not in unsure]
        water = reading.supply.get("water")
        return unsure | ({water["pump"]} if water else set())
