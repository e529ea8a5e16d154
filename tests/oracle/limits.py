"""Every limit of the day, read in the most literal way."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.oracle.heat import Heat, Patterns, Rule, rules_of
from tests.oracle.home import Figures, Home, Limit, bits, exceeds
from tests.oracle.reading import given, ms
from tests.oracle.starts import Day, Moment

LADDER = ["fits", "tight", "short_time", "chance", "over"]


@dataclass
class Tightest:
    """The smallest margin of a limit, and every instant at which it begins to be reached."""

    limit: float = math.inf
    use: float = 0.0
    margin: float = math.inf
    ats: list[int] = field(default_factory=list)
    moment: Moment | None = None
    tied: list[Moment] = field(default_factory=list)  # every moment that reaches it, in the order of `ats`

    @property
    def left(self) -> float:
        return self.margin / self.limit


@dataclass
class Judged:
    """One limit as the oracle sees it."""

    worst: Tightest
    certain: Tightest
    verdict: str
    verdict_certain: str
    nominal: list[Figures]  # at every worst moment that begins at the first worst instant
    extra: dict[str, Any] = field(default_factory=dict)


def ladder(over: bool, chance: bool, short_time: bool, tight: bool) -> str:
    return "over" if over else "chance" if chance else "short_time" if short_time else "tight" if tight else "fits"


class Limits:
    """All limits of one home on one day."""

    def __init__(self, home: Home, patterns: Patterns) -> None:
        self.home, self.patterns, self.day = home, patterns, Day(home, patterns)
        self.rules = {rule.name: rule for rule in rules_of(home)}
        self.heats: dict[str, list[Heat]] = {n: patterns.worst_heat(r) for n, r in self.rules.items()}
        self.certain_heats: dict[str, Heat] = {n: h[0] for n, h in self.heats.items()}
        self.found: dict[str, Judged] = {}
        self.inverter()
        self.bank()
        for leg in "AB" if home.two_legs else "":
            self.leg(f"leg:{leg}")

    # -- tools -------------------------------------------------------------------------------------------

    def tightest(self, limit: Limit, uses: Iterable[tuple[Moment, float]], floor: bool = False) -> Tightest:
        """The smallest margin over moments, cell by cell where the limit follows the weather."""
        best = Tightest()
        steady = self.home.reading.steady
        values = limit(0.0 if steady else self.patterns.grid.middles)
        for moment, use in uses:
            first = moment.run.first
            cell = first
            if np.ndim(values):
                cell = first + int(np.argmin(values[first : moment.run.last] * (-1 if floor else 1)))
            value = float(values[cell]) if np.ndim(values) else float(values)
            margin = use - value if floor else value - use
            at = moment.run.begin_ms if cell == first else int(self.patterns.grid.edges[cell])
            hair = 1e-9 * abs(value)
            if margin < best.margin - hair:
                best = Tightest(value, use, margin, [at], moment, [moment])
            elif margin <= best.margin + hair:
                best.ats.append(at)
                best.tied.append(moment)
        order = sorted(range(len(best.ats)), key=lambda i: best.ats[i])
        best.ats, best.tied = [best.ats[i] for i in order], [best.tied[i] for i in order]
        return best

    def figures(self, moment: Moment, scope: str = "house") -> Figures:
        return self.home.figures(moment.on, moment.starting, scope)

    def starting(self, scope: str, certain: bool) -> list[Moment]:
        """Every moment at which a start is in progress that this scope feels."""
        moments = []
        for start in self.day.starts:
            if self.home.share(self.home.draws[start.draw], scope) > 0:
                moments += start.certain if certain else start.worst
        return moments

    def few_starts(self, moment: Moment | None) -> float:
        """The share of a limit on starts that must be left: a quarter, or a tenth where all is measured."""
        starting = bits(moment.starting) if moment else []
        return 0.10 if all(self.home.draws[i].basis == "measured" for i in starting) else 0.25

    def keep(self, name: str, worst: Tightest, certain: Tightest, verdicts: tuple[str, str], **extra: Any) -> None:
        scope = extra.pop("scope", "house")
        nominal = [self.figures(m, scope) for at, m in zip(worst.ats, worst.tied, strict=True) if at == worst.ats[0]]
        self.found[name] = Judged(worst, certain, *verdicts, nominal, extra)

    def below(self, tightest: Tightest, wanted: float) -> bool:
        return tightest.left < wanted * (1 - 1e-9)

    def is_over(self, tightest: Tightest) -> bool:
        return bool(exceeds(tightest.use, tightest.limit))

    # -- inverter, bank and legs ----------------------------------------------------------------------------

    def steady(self, name: str, limit: Limit, value: Any, rule: str, broken: str) -> None:
        """A continuous limit: broken when store 1 is above its time while this is above its limit."""
        both = []
        for certain in (False, True):
            found = self.tightest(limit, ((m, value(self.figures(m))) for m in self.day.running(certain)))
            both.append(found)
        worst, sure = both
        wanted = self.home.reading.wanted_margin
        surely = getattr(self.certain_heats[rule], broken)
        maybe = any(getattr(heat, broken) for heat in self.heats[rule])
        verdict = ladder(surely, maybe, self.is_over(worst), self.below(worst, wanted))
        verdict_certain = ladder(surely, False, self.is_over(sure), self.below(sure, wanted))
        self.keep(name, worst, sure, (verdict, verdict_certain))

    def top(self, name: str, limit: Limit, value: Any, rule: Rule, unable: tuple[bool, bool], **extra: Any) -> None:
        """The limit on the largest total with starts."""
        both = []
        for certain in (False, True):
            profile = self.day.certain if certain else self.day.worst
            moments = profile + self.starting(rule.scope, certain)
            both.append(self.tightest(limit, ((m, value(self.figures(m))) for m in moments)))
        worst, sure = both
        maybe, surely = self.broken(rule, False) or unable[0], self.broken(rule, True) or unable[1]
        warm = any(max(heat.largest_ms) > 0 for heat in self.heats[rule.name])
        warm_certain = max(self.certain_heats[rule.name].largest_ms) > 0
        verdict = ladder(surely, maybe, warm, self.below(worst, self.few_starts(worst.moment)))
        verdict_certain = ladder(surely, False, warm_certain, self.below(sure, self.few_starts(sure.moment)))
        self.keep(name, worst, sure, (verdict, verdict_certain), **extra)

    def broken(self, rule: Rule, certain: bool) -> bool:
        heats = [self.certain_heats[rule.name]] if certain else self.heats[rule.name]
        return any(h.broken for h in heats) or any(self.day.breaks(s, rule, certain) for s in self.day.starts)

    def inverter(self) -> None:
        rule = self.rules["inverter"]
        watts = self.home.inverter_limit(None)
        self.steady("inverter_continuous", watts, lambda f: f.w, "inverter", "watts_broken")
        self.steady("inverter_apparent", rule.steady, lambda f: f.va, "inverter", "va_broken")
        fullest = (0.0, 0, 0.0)
        for heat in self.heats["inverter"]:
            for k, largest in enumerate(heat.largest_ms):
                if largest / rule.allowed_ms[k] > fullest[0] * (1 + 1e-9):
                    fullest = largest / rule.allowed_ms[k], k, largest
        extra: dict[str, Any] = {}
        if fullest[0] > 0:
            k = fullest[1]
            extra = {"level_va": rule.above(k + 1)(0.0), "lasts_s": fullest[2] / 1000}
            extra["allowed_s"] = rule.allowed_ms[k] / 1000
        self.top("inverter_overload", rule.levels[-1], lambda f: f.va, rule, (False, False), **extra)

    def bank(self) -> None:
        home, rule = self.home, self.rules["bank"]
        self.steady("battery_continuous", rule.steady, lambda f: home.amps(f.w), "bank", "va_broken")
        unable = []
        for certain in (False, True):
            moments = self.day.running(certain) + self.starting("house", certain)
            unable.append(any(not home.can_deliver(self.figures(m).w) for m in moments))
        self.top("battery_peak", rule.levels[-1], lambda f: home.amps(f.w), rule, (unable[0], unable[1]))
        fuse = home.battery.get("dc_fuse_a")
        if fuse:
            both = []
            for certain in (False, True):
                uses = ((m, home.amps(self.figures(m).w)) for m in self.day.running(certain))
                both.append(self.tightest(lambda _: fuse, uses))
            verdicts = [self.fixed(t, self.home.reading.wanted_margin) for t in both]
            self.keep("dc_fuse", both[0], both[1], (verdicts[0], verdicts[1]))
        self.voltage(unable)

    def fixed(self, tightest: Tightest, wanted: float) -> str:
        return ladder(self.is_over(tightest), False, False, self.below(tightest, wanted))

    def voltage(self, unable: list[bool]) -> None:
        """Terminal voltage with starts; a dip shorter than the delay passes."""
        home = self.home
        cut_off, delay = home.inverter["cut_off_v"], ms(given(home.inverter, "cut_off_delay_s", 0))
        both, verdicts = [], []
        for certain in (False, True):
            profile = self.day.certain if certain else self.day.worst
            dips: list[int] = []
            last_end = -1
            for moment in profile:
                if not exceeds(cut_off, home.terminal_v(self.figures(moment).w)):
                    continue
                if moment.run.begin_ms == last_end:
                    dips[-1] += moment.run.end_ms - moment.run.begin_ms
                else:
                    dips.append(moment.run.end_ms - moment.run.begin_ms)
                last_end = moment.run.end_ms
            by_chance = [m for s in self.day.starts if not s.scheduled and not certain for m in s.worst]
            for start in self.day.starts:
                if start.scheduled or certain:
                    continue
                for moment in start.worst:
                    running = home.terminal_v(home.figures(moment.on).w)
                    low = exceeds(cut_off, home.terminal_v(self.figures(moment).w))
                    if low and not exceeds(cut_off, running):
                        dips.append(start.lasts_ms)
            uses = ((m, home.terminal_v(self.figures(m).w)) for m in [*profile, *by_chance])
            found = self.tightest(lambda _: cut_off, uses, floor=True)
            both.append(found)
            over = unable[certain] or any(dip >= delay for dip in dips)
            verdicts.append(ladder(over, False, False, bool(dips) or self.below(found, 0.02)))
        extra = {"open_circuit_v": home.open_circuit_v}
        self.keep("battery_voltage", both[0], both[1], (verdicts[0], verdicts[1]), **extra)

    def leg(self, name: str) -> None:
        """Half the rating, half the watts, half the levels, all in one reading."""
        rule = self.rules[name]
        assert rule.steady_w is not None
        both, verdicts = [], []
        for certain in (True, False):
            moments = self.day.running(certain)
            found = self.tightest(rule.steady, ((m, self.figures(m, name).va) for m in moments))
            watts = self.tightest(rule.steady_w, ((m, self.figures(m, name).w) for m in moments))
            both.append(found)
            surely = self.broken(rule, True)
            heats = [self.certain_heats[name]] if certain else self.heats[name]
            warm = any(max(heat.largest_ms) > 0 for heat in heats)
            wanted = self.home.reading.wanted_margin
            few = self.below(found, wanted) or self.below(watts, wanted)
            verdicts.append(ladder(surely, not certain and self.broken(rule, False), warm, few))
        self.keep(name, both[1], both[0], (verdicts[1], verdicts[0]), scope=name)
