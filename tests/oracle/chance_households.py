"""Households whose odds are worth counting: a handful of loads that come and go, and limits among their sums.

What is always on stays below the limits by itself in most of them, so that the time in which anything can happen
is short and many days can be simulated.
"""

from __future__ import annotations

import random
from typing import Any

Json = dict[str, Any]

KINDS = (
    "plain", "legs", "interlock", "leading", "weather", "follow-on", "pump", "midnight", "always", "bank",
)  # fmt: skip


class Maker:
    """Makes the household of a number; its kind says what it has for sure."""

    def __init__(self, number: int) -> None:
        self.kind = KINDS[number % len(KINDS)]
        self.random = random.Random(number)
        self.rated = self.random.choice([3000, 4000, 5000])
        self.appliances: list[Json] = []
        self.runs: list[Json] = []
        self.water: Json | None = None
        self.hour = 22 if self.kind == "midnight" else self.random.choice([9, 10, 14])

    def household(self) -> Json:
        self.loads()
        if self.kind == "follow-on":
            self.follow_ons()
        if self.kind == "pump":
            self.pump()
        if self.kind == "always":
            self.always_on()
        names = [one["id"] for one in self.appliances if one["id"] != "base"]
        interlocks = [{"of": names[:3], "at_most": self.random.choice([1, 1, 2])}] if self.kind == "interlock" else []
        warms = self.kind == "weather" or (self.kind == "always" and self.random.random() < 0.5)
        warm = [[0, 39], [8, 31], [11, 38], [14, 24], [20, 30]] if warms else [[0, 25]]
        day = {"id": "day", "name": "Day", "date": "2026-05-12", "ambient_c": warm, "runs": self.runs}
        return {
            "format": "loadstead-household", "version": 1, "name": "Hazel Bank",
            "site": {"latitude": 54.0, "longitude": -2.0, "timezone": "Europe/London"},
            "supply": self.supply(), "appliances": self.appliances, "interlocks": interlocks, "scenarios": [day],
        }  # fmt: skip

    # -- what draws ----------------------------------------------------------------------------------------

    def loads(self) -> None:
        """Something certain, and two to five that cycle, at times that overlap."""
        base: Json = {"name": "on", "duration_s": 60 * self.random.randint(30, 120), "watts": self.watts(0.1, 0.5)}
        rest: Json = {"name": "more", "duration_s": 60 * self.random.randint(5, 50), "watts": self.watts(0.2, 0.6)}
        if self.random.random() < 0.6:
            rest["start"] = self.start(rest["watts"])
        self.add("base", [base, rest], 0)
        for number in range(self.random.randint(2, 4)):
            stage = self.cycling(60 * self.random.randint(20, 110))
            self.add(f"load {number}", [stage], 60 * self.random.randint(0, 60))

    def follow_ons(self) -> None:
        """One that shares its parent's cycle and one with a stage that does not cycle; both may start."""
        for number in (0, 1):
            stage: Json = {"name": "along", "duration_s": None, "watts": self.watts(0.05, 0.3)}
            if self.random.random() < 0.6:
                stage["start"] = self.start(stage["watts"])
            self.appliances.append({"id": f"along {number}", "name": f"Along {number}", "stages": [stage]})
            parent = self.appliances[number]["stages"][0]
            parent["sets_off"] = [{"appliance": f"along {number}", "after_s": self.random.choice([0, 0, 30])}]

    def pump(self) -> None:
        """A pump behind taps and behind a stage that fills."""
        stage: Json = {"name": "pump", "duration_s": 10, "watts": self.watts(0.2, 0.4)}
        stage["start"] = self.start(stage["watts"])
        self.appliances.append({"id": "pump", "name": "Pump", "stages": [stage]})
        fills = self.appliances[0]["stages"][0]
        fills["water_l"] = round(fills["duration_s"] * 0.5 * self.random.choice([0.1, 0.3, 0.6]), 3)
        self.water = {"pump": "pump", "vessel_l": self.random.choice([24, 60]), "pump_l_per_min": 30}
        if self.random.random() < 0.7:
            self.water.update(taps_l_per_day=300, taps_between=[f"{self.hour:02}:00", f"{self.hour + 2:02}:00"])

    def always_on(self) -> None:
        """Something in the kitchen that is there all day, and what else begins as the day does."""
        for number in (0, 1):
            stage = self.cycling(None)
            stage["cycle"] = {"on_s": self.random.randint(200, 900), "period_s": self.random.randint(1500, 4000)}
            stage.update(watts=self.watts(0.5, 0.65), start=None)
            self.appliances.append(
                {"id": f"cold {number}", "name": f"Cold {number}", "always_on": True, "stages": [stage]}
            )
        self.appliances.append(
            {
                "id": "night",
                "name": "Night",
                "stages": [{"name": "on", "duration_s": 1800, "watts": self.watts(0.3, 0.5)}],
            }
        )
        self.runs.append({"id": "night", "appliance": "night", "start": self.random.choice(["00:00", "00:10"])})

    def add(self, name: str, stages: list[Json], after_s: int) -> None:
        entry: Json = {"id": name, "name": name.capitalize(), "stages": stages}
        if self.kind != "plain":
            entry["uncertainty"] = self.random.choice([0, 0.1, 0.2])
        if self.kind == "legs":
            entry["circuit"] = self.random.choice(["left", "right", "both", "both"])
        self.appliances.append(entry)
        clock = f"{self.hour + after_s // 3600:02}:{after_s // 60 % 60:02}"
        self.runs.append({"id": name, "appliance": name, "start": clock})

    def cycling(self, duration_s: float | None) -> Json:
        on_s = self.random.choice([30, 90, 200, 600])
        on_s += self.random.randint(0, on_s)
        stage: Json = {"name": "cycles", "duration_s": duration_s, "watts": self.watts(0.15, 0.55)}
        stage["cycle"] = {"on_s": on_s, "period_s": on_s + round(on_s * self.random.choice([0.3, 1, 2, 5])) + 7}
        if self.random.random() < 0.1:
            stage["cycle"]["period_s"] = on_s
        stage["power_factor"] = self.random.choice([1.0, 1.0, 0.9, 0.75])
        if self.kind == "leading":
            stage["power_factor_kind"] = self.random.choice(["lagging", "leading", "distortion"])
        if self.random.random() < 0.6:
            stage["start"] = self.start(stage["watts"] / stage["power_factor"])
        return stage

    def start(self, running_va: float) -> Json:
        va = round(running_va * self.random.choice([1.1, 1.6, 2.5, 4]) + 1)
        lasts = self.random.choice([0.01, 0.4, 0.8, 2.0])
        return {"va": va, "power_factor": self.random.choice([0.4, 0.6, 0.9]), "duration_s": lasts}

    def watts(self, low: float, high: float) -> int:
        more = 1.4 if self.kind == "interlock" else 1.0  # for some of it is always off
        return round(more * self.random.uniform(low, high) * self.rated)

    # -- what carries it -----------------------------------------------------------------------------------

    def supply(self) -> Json:
        full = self.random.choice([0.85, 1.0]) * self.rated
        times = sorted((self.random.choice([1, 20, 90, 300]) + n / 2 for n in range(2)), reverse=True)
        first = self.random.uniform(1.1, 1.3)
        overload = [[round(self.rated * x), t] for x, t in zip((first, first + 0.3), times, strict=True)]
        amps = self.rated / 51.2 * self.random.choice([0.8, 1.0, 1.2] if self.kind == "bank" else [1.2, 3.0])
        two_legs = self.kind == "legs"
        supply: Json = {
            "inverter": {
                "rated_va": self.rated, "continuous_w": [[25, full], [40, 0.7 * full]], "overload": overload,
                "peak_efficiency": 0.95, "peak_efficiency_at": 0.3, "full_load_efficiency": 0.91,
                "no_load_w": 20, "cut_off_v": 30, "ac_voltage": 240 if two_legs else 230, "legs": 2 if two_legs else 1,
            },
            "battery": {
                "chemistry": "lfp", "modules": 1, "module_ah": 200, "module_v": 51.2, "module_resistance_ohm": 0.003,
                "continuous_discharge_a": round(amps, 1), "peak_discharge_a": round(1.5 * amps, 1),
                "peak_s": self.random.choice([5, 15, 60]), "continuous_charge_a": 50,
            },
        }  # fmt: skip
        if two_legs:
            legs = {"left": "A", "right": "B", "both": "AB"}
            supply["circuits"] = [{"id": name, "name": name, "leg": leg} for name, leg in legs.items()]
        if self.water:
            supply["water"] = self.water
        return supply


def household_of(number: int) -> Json:
    """The household of a number."""
    return Maker(number).household()
