"""Twelve whole days on a grid of 0.1 s, clock changes and nights included."""

from __future__ import annotations

import random
from typing import Any

import pytest

from tests.households import report_without_odds
from tests.oracle.compare import differences
from tests.oracle.grid import Fine
from tests.oracle.reading import Json, Reading

SPRING, AUTUMN, USUAL = "2026-03-29", "2026-10-25", "2026-05-12"
DAYS = [SPRING, AUTUMN, SPRING, AUTUMN, *[USUAL] * 8]


def whole_day(seed: int) -> Json:
    """A seeded household whose instants are all whole tenths of a second."""
    chance = random.Random(seed)
    rated = chance.choice([3000, 4000, 5000])
    two_legs = seed % 4 == 3

    def stage(most_w: int, seconds: float | None, may_cycle: bool = True) -> Json:
        made: Json = {
            "watts": 10 * chance.randint(5, most_w // 10), "duration_s": seconds,
            "power_factor": chance.choice([1.0, 0.95, 0.8, 0.65]),
            "power_factor_kind": chance.choice(["lagging", "lagging", "leading", "distortion"]),
        }  # fmt: skip
        if may_cycle and chance.random() < 0.3:
            on_s = chance.randint(50, 6000) / 10
            made["cycle"] = {"on_s": on_s, "period_s": round(on_s * chance.choice([1.5, 2, 4]), 1)}
            made["cycle"]["longest_on_s"] = round(on_s * chance.choice([1, 1, 3]), 1)
        if chance.random() < 0.5:
            va = round(made["watts"] / made["power_factor"] * chance.uniform(1.2, 4)) + 1
            lasts = chance.choice([0.1, 0.6, 1.5])
            made["start"] = {"va": va, "power_factor": 0.5, "duration_s": lasts}
        return made

    circuits: list[Json] = [
        {
            "id": "board",
            "name": "Board",
            "breaker_a": 32,
            "cable_m": 10,
            "conductor_mm2": 10.0,
            "cable_a": 60,
        },
        {
            "id": "shed",
            "name": "Shed",
            "fed_from": "board",
            "breaker_a": 16,
            "cable_m": 45,
            "conductor_mm2": 2.5,
        },
    ]
    if two_legs:
        circuits[1]["leg"] = "A"
    appliances: list[Json] = []

    def appliance(name: str, stages: list[Json], **more: Any) -> None:
        where = chance.choice([{}, {"circuit": "board"}, {"circuit": "shed"}])
        basis = chance.choice(["typical", "measured", "nameplate"])
        uncertainty = chance.choice([0, 0.1])
        entry = {"id": name, "name": name, "stages": stages, "uncertainty": uncertainty, "basis": basis}
        appliances.append({**entry, **where, **more})

    appliance("base", [stage(400, None, may_cycle=False)], always_on=True)
    cold = stage(200, None, may_cycle=False)
    cold["cycle"] = {"on_s": chance.choice([600.0, 900.0]), "period_s": 2700.0}
    appliance("fridge", [cold], always_on=True)
    appliance("pump", [stage(900, 48, may_cycle=False)])
    appliance("extractor", [stage(700, None, may_cycle=False)])
    runs: list[Json] = []
    for number in range(7):
        stages = []
        for _ in range(chance.randint(1, 4)):
            part = stage(rated // 2, chance.randint(100, 36000) / 10)
            if chance.random() < 0.3:
                part["sets_off"] = [{"appliance": "extractor", "after_s": chance.choice([0, 2.5])}]
            elif "cycle" not in part and chance.random() < 0.3:
                part["water_l"] = part["duration_s"] * 0.5 * chance.choice([0.2, 0.5, 0.8])
            stages.append(part)
        name = f"machine {number}"
        appliance(name, stages)
        hour = 23 if number == 0 else chance.choice([0, 1, 2, 3, 7, 9, 9, 10, 10, 18, 19, 19])
        minute, second = chance.randint(0, 59), chance.randint(0, 59)
        runs.append({"id": name, "appliance": name, "start": f"{hour:02}:{minute:02}:{second:02}"})
    appliance("kettle", [stage(2200, 180, may_cycle=False)])
    inverter: Json = {
        "rated_va": rated, "continuous_w": [[25, 0.85 * rated], [40, 0.7 * rated]],
        "overload": [[1.2 * rated, 1800], [1.5 * rated, 120, 600], [2.2 * rated, 5]],
        "no_load_w": 30, "peak_efficiency": 0.95, "peak_efficiency_at": 0.3, "full_load_efficiency": 0.92,
        "cut_off_v": 46.0, "cut_off_delay_s": chance.choice([0, 1.0]), "ac_voltage": 240 if two_legs else 230,
        "legs": 2 if two_legs else 1,
    }  # fmt: skip
    battery: Json = {
        "chemistry": "lfp", "modules": 4, "module_ah": 100, "module_v": 51.2,
        "continuous_discharge_a": rated / 200,
        "peak_discharge_a": rated / 120, "peak_s": 15, "continuous_charge_a": 50,
        "module_resistance_ohm": 0.1,
        "reserve": 0.25, "dc_fuse_a": 150,
    }  # fmt: skip
    # On at 24 l and 30 l/min: 48 s; a day of taps long enough for periods in whole tenths of a second.
    water = {"pump": "pump", "vessel_l": 24, "pump_l_per_min": 30, "taps_l_per_day": 200}
    water["taps_between"] = ["06:30", "22:30"]
    return {
        "format": "loadstead-household", "version": 1, "name": "Thornbeck Fold",
        "site": {"latitude": 54.0, "longitude": -2.0, "timezone": "Europe/London"},
        "supply": {"inverter": inverter, "battery": battery, "circuits": circuits, "water": water},
        "appliances": appliances, "any_time": ["kettle"],
        "interlocks": [{"of": ["machine 1", "machine 2"], "at_most": 1}] if seed % 3 == 0 else [],
        "scenarios": [{
            "id": "day", "name": "Day", "date": DAYS[seed], "runs": runs,
            "ambient_c": [[0, chance.choice([20, 30])]],
        }],
    }  # fmt: skip


@pytest.mark.parametrize("seed", range(12))
def test_a_whole_day_agrees_with_the_oracle(seed: int) -> None:
    """From midnight to noon of the next day, in cells of a tenth of a second."""
    household = whole_day(seed)
    fine = Fine(0, Reading(household).horizon_ms, 100)
    assert differences(household, report_without_odds(household), None, fine) == []
