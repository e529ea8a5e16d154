"""Breakers, cables and the volts lost on the way."""

from __future__ import annotations

from tests.oracle.home import exceeds
from tests.oracle.limits import Limits, ladder
from tests.oracle.reading import given
from tests.oracle.starts import Moment

DROP = {"drop_running": 0.05, "drop_starting": 0.10}
TRIP = {"B": 3, "C": 5, "D": 10}
THREE_HOURS_MS = 3 * 3600 * 1000


class Wires:
    """The limits of every circuit, added to those already found."""

    def __init__(self, limits: Limits) -> None:
        self.limits, self.home, self.day = limits, limits.home, limits.day
        for name, circuit in self.home.circuits.items():
            if circuit.get("breaker_a"):
                self.circuit(name)
            if circuit.get("cable_m") and circuit.get("conductor_mm2"):
                self.voltage_drop(name)

    def circuit(self, name: str) -> None:
        """Breaker: running at once, starts by the magnetic trip, and the cable behind it."""
        circuit, rules = self.home.circuits[name], given(self.home.reading.supply, "rules", {})
        breaker, cable = circuit["breaker_a"], circuit.get("cable_a")
        curve = given(circuit, "curve", "C")
        trip = {**TRIP, **given(rules, "trip_multiple", {})}[curve] * breaker
        scopes, volts = self.home.conductors(name)
        both, verdicts, largest = [], [], []
        for certain in (False, True):
            choices, start_a, hours = [], None, False
            for scope in scopes:
                amps = [(m, self.limits.figures(m, scope).va / volts) for m in self.day.running(certain)]
                choices.append((self.limits.tightest(lambda _: breaker, amps), scope))
                hours |= self.three_hours(amps, 0.8 * breaker)
                for moment in self.limits.starting(scope, certain):
                    start_a = max(start_a or 0.0, self.limits.figures(moment, scope).va / volts)
            found, scope = min(choices, key=lambda c: c[0].margin)
            both.append((found, scope))
            largest.append(start_a)
            over = self.limits.is_over(found) or bool(cable and breaker > cable)
            over = over or (start_a is not None and bool(exceeds(start_a, trip)))
            verdicts.append(
                ladder(over, False, False, hours or self.limits.below(found, self.home.reading.wanted_margin))
            )
        extra = {"start_a": largest[0], "trip_a": trip, "cable_a": cable, "scope": both[0][1]}
        self.limits.keep(f"circuit:{name}", both[0][0], both[1][0], (verdicts[0], verdicts[1]), **extra)

    @staticmethod
    def three_hours(amps: list[tuple[Moment, float]], level: float) -> bool:
        lasts, longest = 0, 0
        for moment, value in amps:
            lasts = lasts + moment.run.end_ms - moment.run.begin_ms if exceeds(value, level) else 0
            longest = max(longest, lasts)
        return longest >= THREE_HOURS_MS

    def voltage_drop(self, name: str) -> None:
        """Running, and with the worst start behind it; the pair with fewer points left is the reading."""
        rules = {**DROP, **given(self.home.reading.supply, "rules", {})}
        home, both, verdicts, shown = self.home, [], [], []
        for certain in (False, True):
            running = ((m, home.drop_percent(name, m.on)) for m in self.day.running(certain))
            pairs = [self.limits.tightest(lambda _: 100 * rules["drop_running"], running)]
            behind = self.limits.starting(f"circuit:{name}", certain)
            starting = [(m, home.drop_percent(name, m.on, m.starting)) for m in behind]
            if starting:
                pairs.append(self.limits.tightest(lambda _: 100 * rules["drop_starting"], starting))
            found = min(pairs, key=lambda t: t.margin)
            both.append(found)
            shown.append((pairs[0].use, pairs[1].use if starting else None))
            verdicts.append(ladder(self.limits.is_over(found), False, False, found.margin < 0.5 - 1e-9))
        at = both[0].moment
        scope = home.heaviest(name, at.on, at.starting) if at else "house"
        extra = {"running_percent": shown[0][0], "starting_percent": shown[0][1], "scope": scope}
        self.limits.keep(f"voltage_drop:{name}", both[0], both[1], (verdicts[0], verdicts[1]), **extra)
