"""Cloudy laundry days drawn at random, on which runs compete for the sun. All figures in them are invented."""

import random
from typing import Any

Stages = list[tuple[int, int, float]]  # seconds, watts, power factor

ORDER = (
    "washer", "dryer", "dishwasher", "washer", "dryer", "boiler", "oven", "iron", "charger", "mill", "washer", "dryer",
    "saw", "cleaner",
)  # fmt: skip


def cloudy_day(seed: int, runs: int) -> dict[str, Any]:
    """A household file with one plan, whose runs r0, r1, ... are all to be placed between 07:00 and 20:00."""
    draw = random.Random(seed)
    kinds: dict[str, Stages] = {
        "washer": [(360, 120, 1), (1200, 2050, 1), (1800, 220, 1), (600, 450, 1)],
        "dryer": [(3000, draw.choice([750, 1900]), 1), (600, 150, 1)],
        "dishwasher": [(600, 80, 1), (900, 1900, 1), (1500, 90, 1), (900, 1900, 1), (1200, 60, 1)],
        "oven": [(900, 2200, 1), (2400, 1100, 1)],
        "iron": [(2400, 1000, 1)],
        "boiler": [(draw.choice([3600, 5400, 7200]), 1500, 1)],
        "charger": [(7200, 600, 0.95)],
        "mill": [(1800, 900, 0.8)],
        "saw": [(2700, 700, 0.8)],
        "cleaner": [(1500, 1300, 0.95)],
    }
    fridge = {"watts": 110, "power_factor": 0.65, "cycle": {"on_s": 900, "period_s": 2700}}
    appliances: list[dict[str, Any]] = [
        _appliance("base", [{"watts": draw.randint(100, 250), "power_factor": 0.95}], always_on=True),
        _appliance("fridge", [fridge], always_on=True),
    ]
    for name, stages in kinds.items():
        of_kind = [{"duration_s": seconds, "watts": w, "power_factor": factor} for seconds, w, factor in stages]
        appliances.append(_appliance(name, of_kind))
    placed: list[dict[str, Any]] = []
    washed = ""
    for number, name in enumerate(ORDER[:runs]):
        run = {"id": f"r{number}", "appliance": name, "start": "10:00", "on": False, "window": ["07:00", "20:00"]}
        if name == "dryer":
            run |= {"after": washed, "within_s": 7200}
        if name == "washer":
            washed = f"r{number}"
        placed.append(run)
    inverter = {
        "rated_va": 5000, "continuous_w": [[25, 4500], [40, 3900]],
        "overload": [[6000, 1800], [7500, 60], [10000, 5]], "no_load_w": 30, "peak_efficiency": 0.95,
        "peak_efficiency_at": 0.3, "full_load_efficiency": 0.92, "cut_off_v": 46.0, "ac_voltage": 230,
    }  # fmt: skip
    battery = {
        "chemistry": "lfp", "modules": 4, "module_ah": 200, "module_v": 51.2, "continuous_discharge_a": 50,
        "peak_discharge_a": 90, "peak_s": 15, "continuous_charge_a": 50, "module_resistance_ohm": 0.02,
        "reserve": 0.1,
    }  # fmt: skip
    site = {"latitude": draw.uniform(-45, 55), "longitude": draw.uniform(-10, 20), "timezone": "Europe/Lisbon"}
    peak_w, azimuth = draw.choice([3500, 4500, 6000]), draw.choice([150, 180, 220])
    array = {"name": "roof", "peak_w": peak_w, "tilt_deg": 35, "azimuth_deg": azimuth}
    date = f"2026-{draw.randint(4, 9):02d}-{draw.randint(1, 28):02d}"
    plan = {
        "id": "day", "name": "Day", "date": date, "cloud_oktas": draw.choice([5, 6, 7]),
        "start_state_of_charge": 0.8, "runs": placed,
    }  # fmt: skip
    return {
        "format": "loadstead-household", "version": 1, "name": "Cloudy", "site": site,
        "supply": {"inverter": inverter, "battery": battery, "arrays": [array]}, "appliances": appliances,
        "scenarios": [plan],
    }  # fmt: skip


def _appliance(name: str, stages: list[dict[str, Any]], *, always_on: bool = False) -> dict[str, Any]:
    whole = [{"duration_s": None} | stage for stage in stages]
    return {"id": name, "name": name, "always_on": always_on, "after_cut": "starts" if always_on else "waits",
            "stages": whole}  # fmt: skip
