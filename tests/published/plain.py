"""A household of nothing in particular, so large that only what a test asks about can be tight."""

from typing import Any

import pytest

from tests.households import assessed

Document = dict[str, Any]

BATTERY: Document = {
    "chemistry": "lfp",
    "modules": 100,
    "module_ah": 1000,
    "module_v": 51.2,
    "continuous_discharge_a": 1000,
    "peak_discharge_a": 2000,
    "peak_s": 60,
    "continuous_charge_a": 100,
    "module_resistance_ohm": 0.001,
}


def inverter(rated_va: float = 500_000, **more: Any) -> Document:
    """An inverter that carries its rating at any temperature and without losses worth a word."""
    return {
        "rated_va": rated_va,
        "continuous_w": [[25, rated_va]],
        "overload": [[2 * rated_va, 60]],
        "peak_efficiency": 0.98,
        "peak_efficiency_at": 0.5,
        "full_load_efficiency": 0.97,
        "cut_off_v": 1,
        "ac_voltage": 230,
    } | more


def household(
    *appliances: Document, supply: Document | None = None, more: Document | None = None, **day: Any
) -> Document:
    """A household with these appliances; what is not always on runs from 08:00, unless `day` gives runs."""
    runs = [
        {"id": one["id"], "appliance": one["id"], "start": "08:00"} for one in appliances if not one.get("always_on")
    ]
    scenario = {"id": "plan", "name": "Plan", "date": "2026-05-12", "ambient_c": [[0, 25]], "runs": runs}
    return {
        "format": "loadstead-household",
        "version": 1,
        "name": "Nothing in particular",
        "site": {"latitude": 0, "longitude": 0, "timezone": "UTC"},
        "supply": {"inverter": inverter(), "battery": BATTERY} | (supply or {}),
        "appliances": list(appliances),
        "scenarios": [scenario | day],
    } | (more or {})


def appliance(
    name: str, watts: float, seconds: float | None = 3600, *, circuit: str | None = None, **stage: Any
) -> Document:
    """An appliance of one stage; without a length it is always on."""
    return {
        "id": name,
        "name": name,
        "circuit": circuit,
        "always_on": seconds is None,
        "stages": [{"name": "on", "duration_s": seconds, "watts": watts} | stage],
    }


def limit(document: Document, limit_id: str) -> dict[str, Any]:
    """The reading of one limit of a household's plan."""
    (reading,) = [one for one in assessed(document)["limits"] if one["id"] == limit_id]
    return dict(reading)


def printed(figure: str) -> Any:
    """Equal as far as it is printed: within half of the last digit."""
    decimals = len(figure.partition(".")[2])
    return pytest.approx(float(figure), rel=0, abs=0.5 * 10**-decimals + 1e-9)
