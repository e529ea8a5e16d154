"""A roomy house for tests of one rule at a time, and short ways to read its report."""

from typing import Any

from tests.households import assessed

Document = dict[str, Any]

INVERTER: Document = {
    "rated_va": 5000,
    "continuous_w": [[25, 4000], [40, 3400]],
    "overload": [[6000, 1800], [9000, 5]],
    "peak_efficiency": 0.95,
    "peak_efficiency_at": 0.3,
    "full_load_efficiency": 0.93,
    "no_load_w": 40,
    "cut_off_v": 40,
    "ac_voltage": 230,
}
BATTERY: Document = {
    "chemistry": "lfp",
    "modules": 10,
    "module_ah": 280,
    "module_v": 51.2,
    "continuous_discharge_a": 200,
    "peak_discharge_a": 400,
    "peak_s": 60,
    "continuous_charge_a": 100,
    "module_resistance_ohm": 0.006,
}


def load(name: str, watts: float, duration_s: float | None = 3600, **more: Any) -> Document:
    """An appliance of one stage; `cycle`, `start`, `power_factor` and the like go into the stage."""
    own = {key: more.pop(key) for key in ("always_on", "circuit", "basis", "uncertainty", "after_cut") if key in more}
    stage = {"duration_s": duration_s, "watts": watts, **more}
    return {"id": name, "name": name.capitalize(), "stages": [stage], **own}


def steady(name: str, watts: float, **more: Any) -> Document:
    """An always-on appliance."""
    return load(name, watts, None, always_on=True, **more)


def house(*appliances: Document, runs: dict[str, str] | None = None, **more: Any) -> Document:
    """A household; runs: appliance to start. inverter, battery: fields that differ. day: fields of the plan."""
    supply = {
        "inverter": {**INVERTER, **more.pop("inverter", {})},
        "battery": {**BATTERY, **more.pop("battery", {})},
        **more.pop("supply", {}),
    }
    placed = [{"id": f"run-{name}", "appliance": name, "start": start} for name, start in (runs or {}).items()]
    plan = {"id": "plan", "name": "Plan", "date": "2026-05-12", "runs": placed, **more.pop("day", {})}
    return {
        "format": "loadstead-household",
        "version": 1,
        "name": "Thornbeck Fold",
        "site": {"latitude": 54.5, "longitude": -2.5, "timezone": "Europe/London"},
        "supply": supply,
        "appliances": list(appliances),
        "scenarios": [plan],
        **more,
    }


def limits(document: Document) -> dict[str, Document]:
    """The limits of the first plan, by id."""
    return {limit["id"]: limit for limit in assessed(document)["limits"]}


def clock(moment: str) -> str:
    """HH:MM[:SS] of an ISO moment."""
    return moment[11:19].removesuffix(":00")
