"""The oracle's one door: a household file in, every figure of the day out, by brute force."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tests.oracle.any_time import AnyTime
from tests.oracle.grid import Fine
from tests.oracle.heat import Patterns
from tests.oracle.home import Home
from tests.oracle.limits import LADDER, Judged, Limits
from tests.oracle.reading import Json
from tests.oracle.restart import ColdRestart
from tests.oracle.wires import Wires


@dataclass
class Surge:
    """A start as the strip of starts shows it."""

    appliance: str
    scheduled: bool
    at_ms: int
    start_va: float
    total_va: float


@dataclass
class Answer:
    """What the oracle says about one scenario."""

    home: Home
    limits: dict[str, Judged]
    verdict: str
    demand: dict[str, Any]
    trust: dict[str, float]
    surges: list[Surge]
    any_time: dict[str, list[tuple[int, int]]]


def answer(document: Json, scenario: str | None = None, fine: Fine | None = None) -> Answer:
    """Assess a scenario; `fine` is what is cut into small cells; elsewhere cells run from edge to edge."""
    home = Home(document, scenario)
    patterns = Patterns(home, fine)
    limits = Limits(home, patterns)
    Wires(limits)
    found = dict(limits.found)
    found["cold_restart"] = ColdRestart(limits).judged
    demand, trust = day_demand(home, limits)
    return Answer(
        home,
        found,
        max((j.verdict for j in found.values()), key=LADDER.index),
        demand,
        trust,
        surges(home, limits),
        {name: AnyTime(limits, name).never for name in home.reading.any_time} if home.reading.steady else {},
    )


def day_demand(home: Home, limits: Limits) -> tuple[dict[str, Any], dict[str, float]]:
    """Typical energy of the local day, the highest running draws (nominal), and who makes the peak."""
    energy = 0.0
    for draw in home.draws:
        seconds = max(0, min(draw.end_ms, home.reading.day_ms) - draw.begin_ms) / 1000
        part = draw.cycle[0] / draw.cycle[1] if draw.cycle else 1.0
        energy += draw.p * part * seconds / 3600
    worst = [(home.figures(m.on), m) for m in limits.day.running(False)]
    certain = [home.figures(m.on).nominal_w for m in limits.day.running(True)]
    peak_w = max(f.nominal_w for f, _ in worst)
    peak = next(m for f, m in worst if f.nominal_w >= peak_w * (1 - 1e-9))
    trust = dict.fromkeys(("typical", "nameplate", "measured"), 0.0)
    for i in home.counted(peak.on, 0, "house"):
        trust[home.draws[i].basis] += home.draws[i].p / peak_w if peak_w else 0.0
    return {
        "energy_wh": energy,
        "peak_certain_w": max(certain),
        "peak_worst_w": peak_w,
        "peak_worst_va": max(f.nominal_va for f, _ in worst),
        "peak_at": peak.run.begin_ms,
    }, trust


def surges(home: Home, limits: Limits) -> list[Surge]:
    made: list[Surge] = []
    for start in limits.day.starts:
        draw = home.draws[start.draw]
        moment = max(start.worst, key=lambda m: home.figures(m.on, m.starting).va)
        made.append(
            Surge(
                draw.appliance,
                start.scheduled,
                draw.begin_ms if start.scheduled else moment.run.begin_ms,
                draw.start_va,
                home.figures(moment.on, moment.starting).va,
            )
        )
    return made
