"""Days for the energy oracle: banks, suns and houses of every kind, named after what happens."""

from __future__ import annotations

import copy
import json
import random
from typing import Any

from app.household.demo import demo_text
from tests.oracle.reading import Json

SUMMER, WINTER, SPRING, AUTUMN = "2026-06-20", "2026-01-14", "2026-03-29", "2026-10-25"


def demo(**more: Any) -> Json:
    """The demo household; more: its first plan's fields that differ."""
    document: Json = json.loads(demo_text())
    document["scenarios"][0].update(more)
    return document


def small(
    battery: Json | None = None, inverter: Json | None = None, arrays: list[Json] | None = None,
    generator: Json | None = None, **day: Any,
) -> Json:  # fmt: skip
    """A cabin: 3 kVA, one bank, one array, a fridge, a pump of an evening and a heater at noon."""
    supply: Json = {
        "inverter": {
            "rated_va": 3000, "continuous_w": [[25, 2600], [40, 2200]], "overload": [[3600, 600], [6000, 5]],
            "no_load_w": 20, "peak_efficiency": 0.94, "peak_efficiency_at": 0.3, "full_load_efficiency": 0.9,
            "cut_off_v": 44.0, "restart_v": 48.0, "ac_voltage": 230, **(inverter or {}),
        },
        "battery": {
            "chemistry": "lfp", "modules": 2, "module_ah": 100, "module_v": 51.2, "continuous_discharge_a": 50,
            "peak_discharge_a": 100, "peak_s": 15, "continuous_charge_a": 50, "module_resistance_ohm": 0.03,
            "dc_path_ohm": 0.004, "dc_load_w": 10, "reserve": 0.2, **(battery or {}),
        },
        "arrays": arrays if arrays is not None else [{"peak_w": 2000, "tilt_deg": 35, "azimuth_deg": 180}],
    }  # fmt: skip
    if generator is not None:
        supply["generator"] = generator
    appliances = [
        {"id": "base", "name": "Base", "always_on": True, "stages": [{"duration_s": None, "watts": 60}]},
        {
            "id": "fridge", "name": "Fridge", "always_on": True,
            "stages": [{"duration_s": None, "watts": 110, "cycle": {"on_s": 900, "period_s": 2700}}],
        },
        {"id": "heater", "name": "Heater", "stages": [{"duration_s": 4000, "watts": 1400}]},
        {
            "id": "evening", "name": "Evening",
            "stages": [{"duration_s": 333, "watts": 1800}, {"duration_s": 9000, "watts": 350}],
        },
    ]  # fmt: skip
    runs = [
        {"id": "r1", "appliance": "heater", "start": "11:07"},
        {"id": "r2", "appliance": "evening", "start": "18:41:30"},
    ]
    return {
        "format": "loadstead-household", "version": 1, "name": "Thornbeck Fold",
        "site": {"latitude": 53.3, "longitude": -2.4, "altitude_m": 90, "timezone": "Europe/London"},
        "supply": supply, "appliances": appliances,
        "scenarios": [{
            "id": "day", "name": "Day", "date": "2026-05-12", "cloud_oktas": 2, "ambient_c": [[5, 8], [15, 19]],
            "start_state_of_charge": 0.6, "runs": runs, **day,
        }],
    }  # fmt: skip


LEAD = {
    "chemistry": "lead_acid", "modules": 1, "module_ah": 225, "module_v": 48.0, "continuous_discharge_a": 60,
    "peak_discharge_a": 150, "continuous_charge_a": 40, "module_resistance_ohm": 0.03, "charge_efficiency": 0.98,
    "reserve": 0.5,
}  # fmt: skip
WIDE = [{"peak_w": 5000, "tilt_deg": 30, "azimuth_deg": 150}, {"peak_w": 2500, "tilt_deg": 60, "azimuth_deg": 250}]
GENERATOR = {"rated_w": 2500, "charger_w": 1200, "start_below": 0.3, "stop_above": 0.55}


def energy_days() -> dict[str, tuple[Json, str | None]]:
    """A household and the plan to look at, by what the day is about."""
    on_ac: Json = {"peak_w": 4000, "tilt_deg": 35, "azimuth_deg": 180, "coupling": "ac"}
    limited = [{**one, "controller_a": amps} for one, amps in zip(WIDE, (45, 60), strict=True)]
    days: dict[str, Json] = {
        "lead acid": small(LEAD, start_state_of_charge=0.7),
        "lead acid emptied fast": small(
            {**LEAD, "module_ah": 120, "peukert": 1.3}, {"cut_off_v": 42.0, "restart_v": None},
            start_state_of_charge=0.9, cloud_oktas=7,
        ),
        "cold winter": small(
            date=WINTER, ambient_c=[[6, -9], [14, 4]], cloud_oktas=0, start_state_of_charge=0.5,
            arrays=[{"peak_w": 3000, "tilt_deg": 60, "azimuth_deg": 170}],
        ),
        "dark in the evening, light again by day": small(
            {"modules": 1, "module_ah": 60}, {"restart_v": 50.5}, start_state_of_charge=0.12, cloud_oktas=5,
        ),
        "lead acid dark and light again": small(
            {**LEAD, "module_ah": 100}, {"cut_off_v": 48.0, "restart_v": 49.0}, start_state_of_charge=0.25,
        ),
        "generator": small(generator=GENERATOR, cloud_oktas=8, start_state_of_charge=0.42, date=WINTER),
        "generator and lead acid": small(
            LEAD, generator={**GENERATOR, "start_below": 0.5, "stop_above": 0.85}, cloud_oktas=6, date=WINTER,
            start_state_of_charge=0.55,
        ),
        "AC side, bank full": small(arrays=[on_ac], start_state_of_charge=0.97, date=SUMMER, cloud_oktas=0),
        "AC and DC side, cold": small(
            arrays=[on_ac, {"peak_w": 1500, "tilt_deg": 60, "azimuth_deg": 180, "controller_a": 25}],
            date=SPRING, ambient_c=[[6, -3], [15, 9]], start_state_of_charge=0.3,
        ),
        "much sun, small bank": small({"module_ah": 60}, arrays=WIDE, date=SUMMER, cloud_oktas=0),
        "known at noon only": small(state_of_charge_at="12:02:30", start_state_of_charge=0.4),
        "controllers at their limit": small({"modules": 8}, arrays=limited, date=AUTUMN, start_state_of_charge=0.2),
    }  # fmt: skip
    found: dict[str, tuple[Json, str | None]] = {
        f"demo: {plan}": (copy.deepcopy(demo()), plan) for plan in ("ordinary", "laundry", "shed")
    }
    return found | {name: (document, None) for name, document in days.items()}


def drawn(seed: int) -> Json:
    """A day at random; suns are few, for they cost more than the rest."""
    chance = random.Random(seed)
    lead = chance.random() < 0.4
    bank = dict(LEAD) if lead else {"continuous_charge_a": chance.choice([20, 50, 100])}
    bank |= {
        "module_ah": chance.choice([40, 100, 200, 600]), "modules": chance.choice([1, 2, 5]),
        "module_resistance_ohm": chance.choice([0, 0.01, 0.08]), "health": chance.choice([1, 0.8]),
        "dc_load_w": chance.choice([0, 15, 80]), "charge_efficiency": chance.choice([1, 0.95]), "reserve": 0.2,
    }  # fmt: skip
    if lead:
        bank |= {"peukert": chance.choice([1, 1.15, 1.4]), "rated_hours": chance.choice([5, 20, 100])}
    inverter = {"cut_off_v": chance.choice([40, 46, 47.8]), "restart_v": chance.choice([None, 49, 56])}
    array = {"peak_w": chance.choice([500, 3000, 8000]), "tilt_deg": 40, "azimuth_deg": 170}
    side = chance.choice([{}, {"controller_a": 30}, {"coupling": "ac"}])
    arrays = chance.choice([[], [array | side], [array | side, {**array, "coupling": "ac"}]])
    generator = chance.choice([None, None, GENERATOR, {**GENERATOR, "charger_w": 0}, {**GENERATOR, "stop_above": 0.8}])
    document = small(
        bank, inverter, arrays, generator, date=chance.choice([SUMMER, WINTER]), cloud_oktas=chance.choice([0, 6]),
        start_state_of_charge=chance.choice([0, 0.05, 0.3, 0.6, 0.95, 1]),
        ambient_c=chance.choice([[[0, 20]], [[6, -6], [15, 8]]]),
    )  # fmt: skip
    for appliance in document["appliances"]:
        for stage in appliance["stages"]:
            stage["watts"] *= chance.choice([0.3, 1, 1.8])
    return document
