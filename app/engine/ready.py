"""Making ready before anybody waits: what takes long to load is loaded beside the first pages."""

from typing import Any

import numpy as np

from app.engine.bankday import plant_of
from app.engine.day import lay_day
from app.engine.flows import State, Steps, flows
from app.engine.odds.odds import OddsOfDay
from app.household import library
from app.household.file import household_from
from app.household.resolve import resolve


def get_ready() -> None:
    """Load what works out the sun, then the loops, which are compiled where they are not kept yet: some seconds.

    One after the other, for while it compiles the compiler has the filters of warnings to itself, and a library that is
    loaded meanwhile loses what it asked of them. (Python's documentation of `warnings.catch_warnings`.)
    """
    from pvlib import clearsky, pvsystem  # noqa: F401  # with all that is asked of it elsewhere

    resolved = resolve(household_from(_that_needs_every_loop()))
    one = np.ones(1)
    flows(plant_of(resolved), Steps(np.arange(2.0), one, np.ones((1, 1)), (1.0,), one, one, one), State(0.5))
    library.entries()  # asked whether somebody's health hangs on what draws
    day = lay_day(resolved)
    _ = OddsOfDay(day, frozenset({"inverter_overload"})).per_day  # is worked out as it is asked for


def _that_needs_every_loop() -> dict[str, Any]:
    """A household whose pumps are too much together, at once or when they stay on, or when one of them starts."""
    kick = {"va": 3000, "power_factor": 0.5, "duration_s": 0.5}
    pump = {"duration_s": None, "watts": 900, "cycle": {"on_s": 600, "period_s": 4000}, "start": kick}
    heater = {"duration_s": 600, "watts": 600}
    inverter = {
        "rated_va": 1500, "continuous_w": [[25, 1500]], "overload": [[1800, 300], [2000, 60], [3500, 5]],
        "peak_efficiency": 0.95, "peak_efficiency_at": 0.3, "full_load_efficiency": 0.9, "cut_off_v": 44,
        "ac_voltage": 230,
    }  # fmt: skip
    battery = {
        "chemistry": "lfp", "modules": 4, "module_ah": 100, "module_v": 51.2, "continuous_discharge_a": 50,
        "peak_discharge_a": 100, "peak_s": 10, "continuous_charge_a": 50, "module_resistance_ohm": 0.02,
    }  # fmt: skip
    appliances = [
        *({"id": name, "name": name, "always_on": True, "stages": [pump]} for name in ("a", "b")),
        {"id": "heater", "name": "heater", "stages": [heater]},
    ]
    run = {"id": "run", "appliance": "heater", "start": "12:00:00"}
    day = {"id": "day", "name": "day", "date": "2026-05-12", "ambient_c": [[0, 25]], "runs": [run]}
    return {
        "format": "loadstead-household", "version": 1, "name": "Two pumps",
        "site": {"latitude": 0, "longitude": 0, "timezone": "UTC"},
        "supply": {"inverter": inverter, "battery": battery}, "appliances": appliances, "scenarios": [day],
    }  # fmt: skip
