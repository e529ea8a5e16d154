"""Thornbeck Fold, an invented house: what the stories are told with, as parts of a household document."""

from typing import Any

Document = dict[str, Any]

INVERTER: Document = {
    "rated_va": 5000,
    "continuous_w": [[25, 4000], [40, 3400]],
    "overload": [[5500, 1800], [6500, 60], [9000, 5]],
    "no_load_w": 40,
    "peak_efficiency": 0.95,
    "peak_efficiency_at": 0.3,
    "full_load_efficiency": 0.93,
    "cut_off_v": 30,
    "ac_voltage": 230,
}

# Large enough not to matter in any story.
BATTERY: Document = {
    "chemistry": "lfp",
    "modules": 12,
    "module_ah": 280,
    "module_v": 51.2,
    "continuous_discharge_a": 200,
    "peak_discharge_a": 400,
    "peak_s": 60,
    "continuous_charge_a": 100,
    "module_resistance_ohm": 0.006,
}


def fold(
    appliances: list[Document],
    runs: list[Document] | None = None,
    *,
    supply: Document | None = None,
    inverter: Document | None = None,
    any_time: list[str] | None = None,
    outdoors_c: float = 25,
) -> Document:
    """Thornbeck Fold with these appliances and runs; `supply` and `inverter` add to or replace parts."""
    return {
        "format": "loadstead-household",
        "version": 1,
        "name": "Thornbeck Fold",
        "site": {"latitude": 54.5, "longitude": -2.4, "timezone": "Europe/London"},
        "supply": {"inverter": INVERTER | (inverter or {}), "battery": BATTERY} | (supply or {}),
        "appliances": appliances,
        "any_time": any_time or [],
        "scenarios": [
            {
                "id": "plan",
                "name": "The plan",
                "date": "2026-05-12",
                "ambient_c": [[0, outdoors_c]],
                "runs": runs or [],
            }
        ],
    }


def always(name: str, watts: float, power_factor: float = 1, cycle: Document | None = None) -> Document:
    """What is on all day; with a cycle it comes and goes by itself."""
    stage = {"duration_s": None, "watts": watts, "power_factor": power_factor, "cycle": cycle}
    return {"id": name, "name": name.capitalize(), "always_on": True, "stages": [stage]}


def machine(name: str, *stages: Document, circuit: str | None = None) -> Document:
    """A machine with its programme."""
    return {"id": name, "name": name.capitalize(), "circuit": circuit, "stages": list(stages)}


def stage(name: str, minutes: float | None, watts: float, power_factor: float = 1, **more: Any) -> Document:
    """A stretch of a programme; `more` as in the household file."""
    seconds = None if minutes is None else round(minutes * 60)
    return {"name": name, "duration_s": seconds, "watts": watts, "power_factor": power_factor} | more


def run(appliance: str, start: str, **more: Any) -> Document:
    """A machine on the day's plan."""
    return {"id": f"{appliance}-{start}", "appliance": appliance, "start": start} | more


# The household's own things.
BASE = always("base", 180, 0.95)
FRIDGE = always("fridge", 110, 0.65, {"on_s": 900, "period_s": 2700, "longest_on_s": 3600})
FREEZER = always("freezer", 120, 0.65, {"on_s": 900, "period_s": 3600, "longest_on_s": 3600})
PUMP = machine(
    "well pump",
    stage("pumping", 0.8, 900, 0.78, start={"va": 3800, "power_factor": 0.5, "duration_s": 0.6}),
)
WATER: Document = {
    "pump": "well pump",
    "vessel_l": 24,
    "pump_l_per_min": 30,
    "taps_l_per_day": 200,
    "taps_between": ["06:30", "22:30"],
}
