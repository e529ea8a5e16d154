"""The household file, read as a plain JSON dict: effective scenario, wall clock, temperature, curves.

Nothing here is checked: the oracle is only given good households. Times are integer milliseconds since local
midnight of the scenario's day, elapsed.
"""

from __future__ import annotations

import copy
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

Json = dict[str, Any]
Points = list[tuple[float, float]]

# Reference value B12: open-circuit volts of one LFP cell over the state of charge.
LFP_CELL = [(0.1, 2.978), (0.2, 3.169), (0.3, 3.206), (0.5, 3.266), (0.7, 3.274), (0.8, 3.310), (0.9, 3.314)]
LEAD_ACID_SIX = [(0.0, 11.89), (0.25, 12.06), (0.5, 12.24), (0.75, 12.45), (1.0, 12.65)]
LFP_WARMTH = [(-10.0, 0.5), (10.0, 1.0)]


def ms(seconds: float) -> int:
    return round(seconds * 1000)


def given(entry: Json, key: str, otherwise: Any = None) -> Any:
    """The field, or the default where it is absent or null."""
    value = entry.get(key)
    return otherwise if value is None else value


def line(points: Any, x: float) -> float:
    """Linear between the points, flat outside."""
    return float(np.interp(x, [p[0] for p in points], [p[1] for p in points]))


def merged(target: Any, patch: Any) -> Any:
    """RFC 7396."""
    if not isinstance(patch, dict):
        return copy.deepcopy(patch)
    result = copy.deepcopy(target) if isinstance(target, dict) else {}
    for key, value in patch.items():
        if value is None:
            result.pop(key, None)
        else:
            result[key] = merged(result.get(key), value)
    return result


class Reading:
    """One scenario of a household, with everything that was inherited or patched in its place."""

    def __init__(self, document: Json, scenario_id: str | None = None) -> None:
        scenarios = {s["id"]: s for s in document["scenarios"]}
        scenario = scenarios[scenario_id] if scenario_id else document["scenarios"][0]
        chain = [scenario]
        while chain[0].get("parent"):
            chain.insert(0, scenarios[chain[0]["parent"]])
        self.supply: Json = document["supply"]
        appliances = {a["id"]: a for a in document["appliances"]}
        runs: Json = {}
        day: Json = {}
        for link in chain:
            changes = given(link, "changes", {})
            self.supply = merged(self.supply, given(changes, "supply", {}))
            appliances.update({a["id"]: a for a in given(changes, "appliances", [])})
            runs.update({r["id"]: r for r in given(link, "runs", [])})
            for run_id, patch in given(changes, "runs", {}).items():
                if patch is None:
                    runs.pop(run_id, None)
                else:
                    runs[run_id] = merged(runs.get(run_id, {"id": run_id}), patch)
            fields = ("ambient_c", "wanted_margin")
            day = merged(day, {k: link[k] for k in fields if link.get(k) is not None})
            day = merged(day, given(changes, "day", {}))
            day["off"] = given(day, "off", []) + given(link, "off", [])
        self.any_time = [a for a in given(document, "any_time", []) if a not in day["off"]]
        self.interlocks: list[Json] = given(document, "interlocks", [])
        self.runs = [r for r in runs.values() if given(r, "on", True) and r["appliance"] not in day["off"]]
        self.appliances = {key: a for key, a in appliances.items() if key not in day["off"]}
        self.wanted_margin = given(day, "wanted_margin", 0.15)
        self.ambient: Points = [(p[0], p[1]) for p in given(day, "ambient_c", [[0, 20]])]
        self._clock(date.fromisoformat(scenario["date"]), ZoneInfo(document["site"]["timezone"]))
        self._warmth = self._temperature()

    def _clock(self, day: date, zone: ZoneInfo) -> None:
        self.day, self.zone = day, zone
        midnight = datetime(day.year, day.month, day.day, tzinfo=zone)
        self.t0 = midnight.astimezone(UTC)
        following = day + timedelta(days=1)
        self.day_ms = self._elapsed(datetime(following.year, following.month, following.day, tzinfo=zone))
        self.horizon_ms = self._elapsed(datetime(following.year, following.month, following.day, 12, tzinfo=zone))

    def _elapsed(self, moment: datetime) -> int:
        return round((moment.astimezone(UTC) - self.t0).total_seconds() * 1000)

    def clock_ms(self, text: str) -> int:
        """Elapsed ms of a wall-clock time HH:MM[:SS] of the scenario's day (gap: later; twice: the first)."""
        hour, minute, *second = (int(part) for part in text.split(":"))
        moment = datetime(self.day.year, self.day.month, self.day.day, hour, minute, *second, tzinfo=self.zone)
        return self._elapsed(moment)

    def iso_ms(self, text: str) -> int:
        """Elapsed ms of an ISO 8601 instant with offset."""
        return self._elapsed(datetime.fromisoformat(text))

    def _temperature(self) -> Points:
        """Breakpoints (elapsed ms, degC) of the weather over the horizon, a quarter of an hour at a time."""
        if len({degrees for _, degrees in self.ambient}) == 1:
            return [(0.0, self.ambient[0][1])]
        first, last = self.ambient[0], self.ambient[-1]
        ring = [(last[0] - 24, last[1]), *self.ambient, (first[0] + 24, first[1])]
        points: Points = []
        for quarter in range(self.horizon_ms // 900_000):
            begin = quarter * 900_000
            wall = (self.t0 + timedelta(milliseconds=begin)).astimezone(self.zone)
            hour = wall.hour + wall.minute / 60
            hours = sorted({hour, hour + 0.25 - 1e-9, *(h for h, _ in self.ambient if hour < h < hour + 0.25)})
            points += [(begin + (h - hour) * 3_600_000, line(ring, h)) for h in hours]
        return points

    @property
    def steady(self) -> bool:
        """True where the weather never changes."""
        return len(self._warmth) == 1

    def ambient_at(self, instants_ms: Any) -> Any:
        """Outdoor degC at each instant."""
        return np.interp(instants_ms, [p[0] for p in self._warmth], [p[1] for p in self._warmth])
