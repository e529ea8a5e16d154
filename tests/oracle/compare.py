"""The report of the product beside the oracle's answer, figure by figure."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from tests.oracle.dense import Answer, answer
from tests.oracle.grid import Fine
from tests.oracle.heat import COARSE_MS
from tests.oracle.limits import LADDER, Judged
from tests.oracle.reading import Json, Reading

WINDOW_MS = 15 * 60 * 1000
UNITS = {"inverter_continuous": "W", "battery_voltage": "V", "reserve": "%", "voltage_drop": "%"}
AMPS = {"battery_continuous", "battery_peak", "dc_fuse", "circuit"}
LATER = {"reserve", "generator"}  # these follow the energy, which tests/oracle/energy.py repeats


def fine_of(document: Json, scenario: str | None = None) -> Fine:
    """The quarter of an hour in which the runs of a generated household begin, in cells of 10 ms."""
    reading = Reading(document, scenario)
    begin = min((reading.clock_ms(run["start"]) for run in reading.runs), default=0)
    return Fine(begin, begin + WINDOW_MS, 10)


class Comparison:
    """Collects every disagreement; close means to rounding, or to a cell of the grid in changing weather."""

    def __init__(self, document: Json, report: Json, found: Answer) -> None:
        self.report, self.found = report, found
        self.steady = found.home.reading.steady
        self.hair = 1e-7 if self.steady else 2e-4
        self.differences: list[str] = []
        self.compare()

    def note(self, what: str, ours: Any, theirs: Any) -> None:
        self.differences.append(f"{what}: oracle {ours!r}, product {theirs!r}")

    def near(self, what: str, ours: float | None, theirs: float | None, scale: float = 1.0) -> None:
        if ours is None and theirs is None:
            return
        if ours is None or theirs is None or abs(ours - theirs) > self.hair * max(abs(ours), scale):
            self.note(what, ours, theirs)

    def same(self, what: str, ours: Any, theirs: Any) -> None:
        if ours != theirs:
            self.note(what, ours, theirs)

    def compare(self) -> None:
        report, found = self.report, self.found
        limits = {limit["id"]: limit for limit in report["limits"] if limit["id"] not in LATER}
        self.same("limit ids", sorted(found.limits), sorted(limits))
        for name in sorted(set(found.limits) & set(limits)):
            self.limit(name, found.limits[name], limits[name])
        if set(found.limits) == set(limits):
            later = [limit["verdict"] for limit in report["limits"] if limit["id"] in LATER]
            pairs = [(one["verdict"], found.limits[name].verdict) for name, one in limits.items()]
            later += [theirs for theirs, ours in pairs if theirs != ours]
            self.same("verdict", max((found.verdict, *later), key=LADDER.index), report["verdict"])
        for key in ("energy_wh", "peak_certain_w", "peak_worst_w", "peak_worst_va"):
            self.near(f"demand.{key}", found.demand[key], report["demand"][key])
        self.same("demand.peak_at", found.demand["peak_at"], self.ms(report["demand"]["peak_at"]))
        for basis, share in found.trust.items():
            self.near(f"trust.{basis}", share, report["trust"][basis])
        self.surges()
        if self.steady:
            ours = dict(found.any_time.items())
            theirs = {entry["appliance"]: joined(self.spans(entry["not"])) for entry in report["any_time"]}
            self.same("any_time", ours, theirs)

    def ms(self, text: str) -> int:
        return self.found.home.reading.iso_ms(text)

    def spans(self, entries: list[Json]) -> Iterator[tuple[int, int]]:
        for entry in entries:
            yield self.ms(entry["from"]), self.ms(entry["to"])

    def limit(self, name: str, ours: Judged, theirs: Json) -> None:
        kind = name.split(":")[0]
        self.same(f"{name} direction", "floor" if kind == "battery_voltage" else "ceiling", theirs["direction"])
        self.same(f"{name} unit", UNITS.get(kind, "A" if kind in AMPS else "VA"), theirs["unit"])
        self.near(f"{name} limit", ours.worst.limit, theirs["limit"])
        self.near(f"{name} use", ours.worst.use, theirs["use"])
        self.near(f"{name} margin", ours.worst.margin, theirs["margin"], abs(ours.worst.limit))
        self.near(f"{name} use_certain", ours.certain.use, theirs["use_certain"])
        # What none of the patterns breaks is left to the odds; they have an oracle of their own.
        if ours.verdict != "short_time" or theirs.get("broken_per_day") is None:
            self.same(f"{name} verdict", ours.verdict, without_odds(theirs))
        self.same(f"{name} verdict_certain", ours.verdict_certain, theirs["verdict_certain"])
        at = self.ms(theirs["at"])
        if self.steady and at != ours.worst.ats[0]:
            self.note(f"{name} at", ours.worst.ats, at)
        if at in ours.worst.ats[:1]:
            by_w = kind in (
                "inverter_continuous",
                "battery_continuous",
                "battery_peak",
                "battery_voltage",
                "dc_fuse",
            )
            key = "w" if by_w else "va"
            total = sum(c[key] for c in theirs["contributors"])
            sums = [f.nominal_w if by_w else f.nominal_va for f in ours.nominal]
            if not any(abs(total - nominal) <= 1e-6 * max(nominal, 1.0) for nominal in sums):
                self.note(f"{name} contributors", sums, total)
        for key, value in ours.extra.items():
            if key in ("start_a", "starting_percent"):
                # Where nothing starts, or running is more, the product may give the running figure.
                running = ours.worst.use if key == "start_a" else ours.extra["running_percent"]
                value = max(value or 0.0, min(running, theirs[key]))
            if key in ("lasts_s", "allowed_s") and value and as_full(ours.extra, theirs):
                continue  # of two levels that are passed for the same part of their time either may be told
            if key == "lasts_s" and not self.steady:
                # Crossings lie inside cells; what lasts longer than the fine stretch ends in a coarse one.
                cell_s = 0.01 if value <= WINDOW_MS / 1000 else COARSE_MS / 1000
                if abs(value - theirs.get(key, 0.0)) <= 3 * cell_s:
                    continue
            if key == "switch_off":
                self.same(f"{name} switch_off", value, theirs["switch_off"])
            elif key in (
                "lasts_s",
                "allowed_s",
                "running_percent",
                "starting_percent",
                "start_a",
                "trip_a",
            ) or key in ("cable_a", "open_circuit_v"):
                self.near(f"{name} {key}", value, theirs.get(key))
        if kind == "inverter_overload" and "lasts_s" not in ours.extra:
            self.same(f"{name} lasts_s", None, theirs.get("lasts_s"))

    def surges(self) -> None:
        ours, theirs = self.found.surges, self.report["surges"]
        for appliance in sorted({s.appliance for s in ours} | {s["appliance"] for s in theirs}):
            mine = [s.total_va for s in ours if s.appliance == appliance]
            other = [s["total_va"] for s in theirs if s["appliance"] == appliance]
            if not mine or not other:
                self.note(f"surges of {appliance}", mine, other)
                continue
            if not self.steady:
                continue
            self.near(f"largest total of {appliance}'s starts", max(mine), max(other))
            starts = sorted((s.at_ms, s.total_va) for s in ours if s.appliance == appliance and s.scheduled)
            others = {(self.ms(s["at"]), s["total_va"]) for s in theirs if s["appliance"] == appliance}
            for at, total in starts:
                if not any(at == a and abs(t - total) <= self.hair * total for a, t in others):
                    self.note(f"scheduled start of {appliance}", (at, total), sorted(others))


def as_full(one: Json, other: Json) -> bool:
    """Whether two levels are passed for the same part of what is allowed."""
    if not other.get("lasts_s") or not other.get("allowed_s"):
        return False
    return math.isclose(one["lasts_s"] / one["allowed_s"], other["lasts_s"] / other["allowed_s"])


def joined(spans: Iterator[tuple[int, int]]) -> list[tuple[int, int]]:
    """Touching stretches as one: which limit says so is not compared."""
    whole: list[tuple[int, int]] = []
    for begin, end in sorted(spans):
        if whole and whole[-1][1] >= begin:
            whole[-1] = whole[-1][0], max(end, whole[-1][1])
        else:
            whole.append((begin, end))
    return whole


def differences(document: Json, report: Json, scenario: str | None = None, fine: Fine | None = None) -> list[str]:
    """Everything in which the product and the oracle differ."""
    found = answer(document, scenario, fine or fine_of(document, scenario))
    return Comparison(document, report, found).differences


def without_odds(limit: Json) -> str:
    """The verdict of the worst case: a limit that odds expect to be broken daily could cut out, before that."""
    return "chance" if limit.get("broken_per_day") is not None else str(limit["verdict"])
