"""A small household in a file that is awkward on purpose: odd order, explicit nulls, plans of plans."""

from dataclasses import dataclass
from typing import Any

from app.store.commands import SetRunField
from app.store.households import export_document, load
from app.store.session import Database
from app.store.stored import StoredHousehold

MILL: dict[str, Any] = {
    "name": "Alder Mill",
    "version": 1,
    "format": "loadstead-household",
    "interlocks": None,
    "scenarios": [
        {
            "name": "Wash day",
            "id": "wash",
            "date": "2026-05-12",
            "parent": None,
            "runs": [
                {"start": "14:00:00", "id": "second", "appliance": "washer", "window": None},
                {"id": "first", "appliance": "washer", "start": "09:00", "on": True},
                {"id": "pump", "appliance": "pump", "start": "09:30", "on": None, "duration_s": 600},
            ],
            "changes": {},
        },
        {
            "id": "wet",
            "name": "Wash day, wet <b>&amp;</b> wild",
            "parent": "wash",
            "date": "2026-05-13",
            "changes": {
                "day": {"cloud_oktas": 8},
                "runs": {"pump": None, "second": {}, "late": {"appliance": "washer", "start": "20:00"}},
            },
        },
        {"id": "plain", "name": "As the wet one", "parent": "wet", "date": "2026-05-14", "changes": None},
        {"id": "bare", "name": "Nothing yet", "date": "2026-05-15"},
    ],
    "appliances": [
        {
            "id": "washer",
            "name": "Wäsche 🧺",
            "circuit": None,
            "stages": [
                {"duration_s": 1800.0, "watts": 2000, "start": None},
                {"duration_s": 600, "watts": 1e2},
            ],
        },
        {"id": "pump", "name": "Pump", "stages": [{"watts": 550, "duration_s": 60, "power_factor": 0.7}]},
    ],
    "supply": {
        "battery": {
            "chemistry": "lfp",
            "modules": 4,
            "module_ah": 100,
            "module_v": 51.2,
            "continuous_discharge_a": 50,
            "peak_discharge_a": 90,
            "peak_s": 15,
            "continuous_charge_a": 50,
            "module_resistance_ohm": 0.02,
        },
        "generator": None,
        "inverter": {
            "rated_va": 5000,
            "continuous_w": [[25, 4500], [40, 3900]],
            "overload": [[6000, 1800], [7500, 60], [10000, 5]],
            "no_load_w": 30,
            "peak_efficiency": 0.95,
            "peak_efficiency_at": 0.3,
            "full_load_efficiency": 0.92,
            "cut_off_v": 46.0,
            "ac_voltage": 230,
        },
        "circuits": [],
    },
    "any_time": ["pump"],
    "site": {"timezone": "Europe/Dublin", "latitude": 53.5, "longitude": -8, "altitude_m": None},
}


@dataclass(frozen=True)
class Mill:
    """The sample household in a database."""

    database: Database
    key: str
    link_key: str

    def stored(self) -> StoredHousehold:
        """Its present state."""
        with self.database.session() as session:
            stored = load(session, self.key)
        assert stored is not None
        return stored

    def exported(self) -> dict[str, Any]:
        """Its household file."""
        with self.database.session() as session:
            return export_document(session, self.key)

    def switch(self, plan: str, run: str, **fields: Any) -> SetRunField:
        """A command on one of its runs, made on the present state: off, from a tab's first tap."""
        stored = self.stored()
        target = stored.run_keys[plan, run]
        given: dict[str, Any] = {
            "household_key": self.key,
            "scenario_key": next(one.key for one in stored.scenarios if one.id == plan),
            "run_key": target.key,
            "field": "on",
            "value": False,
            "revision": target.revision,
            "tab": "kitchen",
            "sequence": 1,
            "link_key": self.link_key,
        }
        return SetRunField(**(given | fields))
