"""When an any-time appliance may not be on: tried in every stretch of the schedule."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace

from tests.oracle.draws import Draw, stage_draw
from tests.oracle.grid import Run
from tests.oracle.heat import Rule, Stretch, levels_exceeded, step
from tests.oracle.home import bits, exceeds
from tests.oracle.limits import Limits
from tests.oracle.reading import given, ms
from tests.oracle.starts import Moment
from tests.oracle.wires import DROP, TRIP


class AnyTime:
    """One any-time appliance added to one constant set of draws after another."""

    def __init__(self, limits: Limits, name: str) -> None:
        self.limits, self.home, self.name = limits, limits.home, name
        self.own: list[int] = []
        begin = 0
        for stage in self.home.reading.appliances[name]["stages"]:
            draw = stage_draw(self.home.reading, name, stage)
            end = begin + ms(stage["duration_s"])
            self.own.append(len(self.home.draws))
            self.home.draws.append(replace(draw, begin_ms=begin, end_ms=end, group=-len(self.own)))
            begin = end
        self.lasts_ms = begin
        mine = sum(1 << i for i, d in enumerate(self.home.draws[: self.own[0]]) if d.appliance == name)
        verdicts: dict[int, bool] = {}
        self.never: list[tuple[int, int]] = []
        for run in limits.patterns.worst:
            on = run.on & ~mine
            if on not in verdicts:
                verdicts[on] = any(self.refusals(on))
            if not verdicts[on]:
                continue
            if self.never and self.never[-1][1] == run.begin_ms:
                self.never[-1] = self.never[-1][0], run.end_ms
            else:
                self.never.append((run.begin_ms, run.end_ms))

    def refusals(self, on: int) -> Iterator[bool]:
        """Everything that could be broken by adding the appliance to what is on."""
        for rule in self.limits.rules.values():
            if rule.scope != "house" and all(self.home.share(self.home.draws[i], rule.scope) == 0 for i in self.own):
                continue
            heat = step(rule, self.along(rule, on))
            yield heat.broken
            yield any(exceeds(v, t / 2) for v, t in zip(heat.largest_ms, rule.allowed_ms, strict=True))
            yield any(self.start_breaks(rule, on | 1 << i, k, i) for i in self.own for k in self.starters(on, i))
        yield from self.bank(on)
        for name in self.sharing():
            yield from self.circuit(name, on)

    def starters(self, on: int, own: int) -> list[int]:
        """Whose start may come while this stage runs: its own, and that of all that cycles."""
        draws = self.home.draws
        mine = [own] if draws[own].has_start else []
        return mine + [i for i in bits(on) if draws[i].cycle is not None and draws[i].has_start]

    def along(self, rule: Rule, on: int) -> Iterator[Stretch]:
        """The appliance's whole run, with all that cycles coming on at its beginning."""
        painted: list[tuple[int, int, int]] = []
        for i in [*bits(on), *self.own]:
            draw: Draw = self.home.draws[i]
            begin, end = (draw.begin_ms, draw.end_ms) if i in self.own else (0, self.lasts_ms)
            if draw.cycle is None:
                painted.append((begin, end, i))
                continue
            on_ms, period, longest = draw.cycle
            first, last = begin, begin + longest
            while first < end:
                painted.append((first, min(last, end), i))
                first = last + period - on_ms
                last = first + on_ms
        edges = sorted({e for p in painted for e in p[:2]})
        for left, right in itertools.pairwise(edges):
            here = sum(1 << i for a, b, i in painted if a <= left and right <= b)
            yield levels_exceeded(self.home, rule, Run(left, right, 0, 0, here))

    def start_breaks(self, rule: Rule, on: int, starter: int, own: int) -> bool:
        moment = Moment(Run(0, 0, 0, 0, on), on, 1 << starter)
        return self.limits.day.total_breaks(rule, [moment], self.start_lasts(starter, own))

    def start_lasts(self, starter: int, own: int) -> int:
        draw = self.home.draws[starter]
        return min(draw.start_ms, draw.end_ms - draw.begin_ms) if starter == own else draw.start_ms

    def bank(self, on: int) -> Iterator[bool]:
        home = self.home
        cut_off, delay = home.inverter["cut_off_v"], ms(given(home.inverter, "cut_off_delay_s", 0))
        fuse = home.battery.get("dc_fuse_a")
        dip = 0
        for i in self.own:
            here, draw = on | 1 << i, home.draws[i]
            running = home.figures(here).w
            yield bool(fuse and exceeds(home.amps(running), fuse))
            yield not home.can_deliver(running)
            low = exceeds(cut_off, home.terminal_v(running))
            for k in self.starters(on, i):
                with_start = home.figures(here, 1 << k).w
                yield not home.can_deliver(with_start)
                yield bool(exceeds(cut_off, home.terminal_v(with_start))) and self.start_lasts(k, i) >= delay
            dip = dip + draw.end_ms - draw.begin_ms if low else 0
            yield low and dip >= delay

    def path(self) -> list[str]:
        circuit = self.home.draws[self.own[0]].circuit
        return self.home.feed_path(circuit) if circuit else []

    def sharing(self) -> list[str]:
        """Circuits on whose way it lies: what it draws on a shared feeder is lost to them too."""
        mine = set(self.path())
        return [name for name in self.home.circuits if mine & set(self.home.feed_path(name))]

    def circuit(self, name: str, on: int) -> Iterator[bool]:
        home = self.home
        circuit, rules = home.circuits[name], given(home.reading.supply, "rules", {})
        drops = {**DROP, **rules}
        breaker = circuit.get("breaker_a")
        trip = {**TRIP, **given(rules, "trip_multiple", {})}[given(circuit, "curve", "C")]
        scopes, volts = home.conductors(name)
        for i in self.own:
            here = on | 1 << i
            behind = [k for k in self.starters(on, i) if home.share(home.draws[k], f"circuit:{name}") > 0]
            if breaker and name in self.path():
                for scope in scopes:
                    yield bool(exceeds(home.figures(here, 0, scope).va / volts, breaker))
                    for k in behind:
                        yield bool(exceeds(home.figures(here, 1 << k, scope).va / volts, trip * breaker))
            if circuit.get("cable_m") and circuit.get("conductor_mm2"):
                yield bool(exceeds(home.drop_percent(name, here), 100 * drops["drop_running"]))
                for k in behind:
                    yield bool(exceeds(home.drop_percent(name, here, 1 << k), 100 * drops["drop_starting"]))
