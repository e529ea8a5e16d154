"""A small household everyone here knows, and a way to spoil it."""

import copy
from collections.abc import Callable
from typing import Any

from app.household.errors import HouseholdFaults
from app.household.file import household_from

Document = dict[str, Any]


def sample() -> Document:
    """A kettle, a saw that sets off an extractor, a washer that draws water from a pump; two plans."""
    return {
        "format": "loadstead-household",
        "version": 1,
        "name": "Thornbeck Fold",
        "site": {"latitude": 54.5, "longitude": -2.5, "timezone": "Europe/London"},
        "supply": {
            "inverter": {
                "rated_va": 5000,
                "continuous_w": [[25, 4000], [40, 3400]],
                "overload": [[5500, 1800], [6500, 60], [9000, 5]],
                "no_load_w": 40,
                "peak_efficiency": 0.95,
                "peak_efficiency_at": 0.3,
                "full_load_efficiency": 0.93,
                "cut_off_v": 46,
                "ac_voltage": 230,
            },
            "battery": {
                "chemistry": "lfp",
                "modules": 8,
                "module_ah": 100,
                "module_v": 51.2,
                "continuous_discharge_a": 50,
                "peak_discharge_a": 90,
                "peak_s": 15,
                "continuous_charge_a": 50,
                "module_resistance_ohm": 0.02,
            },
            "circuits": [
                {"id": "yard", "breaker_a": 32},
                {"id": "shed", "fed_from": "yard", "breaker_a": 20, "cable_m": 45, "conductor_mm2": 2.5},
            ],
            "water": {
                "pump": "pump",
                "vessel_l": 24,
                "pump_l_per_min": 30,
                "taps_l_per_day": 200,
                "taps_between": ["06:30", "22:30"],
            },
        },
        "appliances": [
            {"id": "kettle", "name": "Kettle", "stages": [{"duration_s": 180, "watts": 2200}]},
            {
                "id": "saw",
                "name": "Bandsaw",
                "circuit": "shed",
                "stages": [{"watts": 1100, "power_factor": 0.75, "sets_off": [{"appliance": "extractor"}]}],
            },
            {
                "id": "extractor",
                "name": "Extractor",
                "circuit": "shed",
                "stages": [{"watts": 900, "power_factor": 0.8}],
            },
            {
                "id": "washer",
                "name": "Washer",
                "stages": [
                    {"name": "fill", "duration_s": 120, "watts": 20, "water_l": 12},
                    {"name": "heat", "duration_s": 1200, "watts": 2050},
                ],
            },
            {
                "id": "pump",
                "name": "Pump",
                "stages": [
                    {"watts": 900, "power_factor": 0.78, "start": {"va": 3800, "power_factor": 0.5, "duration_s": 0.6}}
                ],
            },
            {
                "id": "fridge",
                "name": "Fridge",
                "always_on": True,
                "stages": [{"watts": 110, "power_factor": 0.65, "cycle": {"on_s": 900, "period_s": 2700}}],
            },
        ],
        "any_time": ["kettle"],
        "scenarios": [
            {
                "id": "day",
                "name": "A day",
                "date": "2026-05-12",
                "runs": [
                    {"id": "k", "appliance": "kettle", "start": "08:00"},
                    {"id": "s", "appliance": "saw", "start": "14:00", "duration_s": 3600},
                    {"id": "w", "appliance": "washer", "start": "10:00"},
                ],
            },
            {
                "id": "what-if",
                "name": "What if",
                "date": "2026-05-13",
                "parent": "day",
                "changes": {"runs": {"k": {"start": "09:00"}, "w": None}, "supply": {"circuits": None}, "appliances": [
                    {"id": "saw", "name": "Bandsaw", "stages": [{"watts": 1500}]},
                    {"id": "extractor", "name": "Extractor", "stages": [{"watts": 900}]},
                ]},
            },
        ],
    }  # fmt: skip


def spoiled(change: Callable[[Document], object]) -> tuple[str, ...]:
    """The faults of the sample after a change to it, one line each; none if it is still possible."""
    document = copy.deepcopy(sample())
    change(document)
    try:
        household_from(document)
    except HouseholdFaults as refused:
        return tuple(map(str, refused.faults))
    return ()


def put(path: str, value: object) -> Callable[[Document], None]:
    """A change that puts a value at `appliances.0.stages.0.watts`."""

    def change(document: Document) -> None:
        target: Any = document
        *way, last = path.split(".")
        for step in way:
            target = target[int(step)] if isinstance(target, list) else target.setdefault(step, {})
        if isinstance(target, list):
            target[int(last)] = value
        else:
            target[last] = value

    return change
