"""The day every benchmark measures: twelve programmes of twelve stages, runs spread over the day.

Synthetic on purpose; sizes as the foundations fix them: stages of 60 to 1,100 s, a start of 0.2 to 3 s at
each motor stage, starts uniform over the day.
"""

from typing import Any

import numpy as np

from app.household.demo import demo_text
from app.household.file import read_document

SEEDS = (1, 2, 3, 4, 5)
PROGRAMMES, STAGES = 12, 12
MOTOR_SHARE = 0.5  # so that a run makes about nineteen steps


def programmes(seed: int) -> list[list[dict[str, Any]]]:
    """Twelve programmes as the household file writes stages."""
    rng = np.random.default_rng(seed)
    found = []
    for _ in range(PROGRAMMES):
        stages = []
        for number in range(STAGES):
            watts = float(rng.integers(20, 2200))
            stage: dict[str, Any] = {
                "name": f"stage {number + 1}",
                "duration_s": float(rng.integers(60, 1101)),
                "watts": watts,
                "power_factor": float(rng.integers(55, 101)) / 100,
            }
            if rng.random() < MOTOR_SHARE:
                stage["start"] = {
                    "va": round(watts / stage["power_factor"] * float(rng.uniform(2, 6)), 1),
                    "power_factor": 0.5,
                    "duration_s": float(rng.integers(2, 31)) / 10,
                }
            stages.append(stage)
        found.append(stages)
    return found


def placed_runs(seed: int, runs: int) -> list[tuple[int, int]]:
    """(programme, start in whole seconds) of each run."""
    rng = np.random.default_rng(1000 + seed)
    return [(int(rng.integers(PROGRAMMES)), int(rng.integers(86_400))) for _ in range(runs)]


def household(seed: int, runs: int) -> dict[str, Any]:
    """The mix as a household file; each run is a machine of its own, so that none overlaps itself."""
    shapes = programmes(seed)
    appliances, placed = [], []
    for number, (programme, start_s) in enumerate(placed_runs(seed, runs)):
        name = f"machine {number + 1}"
        appliances.append({"id": f"m{number}", "name": name, "stages": shapes[programme]})
        clock = f"{start_s // 3600:02}:{start_s // 60 % 60:02}:{start_s % 60:02}"
        placed.append({"id": f"r{number}", "appliance": f"m{number}", "start": clock})
    return {
        "format": "loadstead-household",
        "version": 1,
        "name": "Benchmark mix",
        "site": {"latitude": 53.0, "longitude": -9.0, "timezone": "UTC"},
        "supply": {
            "inverter": {
                "rated_va": 15000,
                "continuous_w": [[25, 13000], [40, 11000]],
                "overload": [[18000, 1800], [22000, 60], [30000, 5]],
                "no_load_w": 60,
                "peak_efficiency": 0.95,
                "peak_efficiency_at": 0.3,
                "full_load_efficiency": 0.92,
                "cut_off_v": 44,
                "ac_voltage": 230,
            },
            "battery": {
                "chemistry": "lfp",
                "modules": 12,
                "module_ah": 100,
                "module_v": 51.2,
                "continuous_discharge_a": 50,
                "peak_discharge_a": 90,
                "peak_s": 15,
                "continuous_charge_a": 50,
                "module_resistance_ohm": 0.02,
            },
        },
        "appliances": appliances,
        "scenarios": [{"id": "mix", "name": "Mix", "date": "2026-05-12", "runs": placed}],
    }


def demo_mix(runs: int) -> dict[str, Any]:
    """The mix at a twentieth of its watts in the demo household, in place of its first plan's runs."""
    document = read_document(demo_text())
    mix = household(1, runs)
    for appliance in mix["appliances"]:
        appliance["stages"] = [{**stage, "watts": stage["watts"] / 20} for stage in appliance["stages"]]
        for stage in appliance["stages"]:
            if "start" in stage:
                stage["start"] = {**stage["start"], "va": stage["start"]["va"] / 20}
    document["appliances"] += mix["appliances"]
    document["scenarios"] = [{**document["scenarios"][0], "runs": mix["scenarios"][0]["runs"]}]
    return document
