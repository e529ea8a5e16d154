"""What a new household starts with: round figures of a small house, to be replaced by one's own.

Every value here is a plain default, common practice, no source; none is any maker's.
"""

from typing import Any

from app.household.household import FORMAT, VERSION


def starting_document(
    name: str, date: str, timezone: str = "UTC", latitude: float = 0, longitude: float = 0
) -> dict[str, Any]:
    """The file of a household with a supply, no appliance yet, and one empty plan.

    date: of the plan, YYYY-MM-DD. timezone: as Area/City. latitude, longitude: degrees, north and east positive.
    What cannot be is refused where the file is read.
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "name": name,
        "site": {"latitude": latitude, "longitude": longitude, "timezone": timezone},
        "supply": {
            "inverter": {
                "rated_va": 5000,
                "continuous_w": [[25, 4500], [40, 3900]],
                "overload": [[6000, 1800], [7500, 60], [10000, 5]],
                "no_load_w": 30,
                "peak_efficiency": 0.95,
                "peak_efficiency_at": 0.3,
                "full_load_efficiency": 0.92,
                "cut_off_v": 46,
                "restart_v": 50,
                "ac_voltage": 230,
            },
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
        },
        "appliances": [],
        "scenarios": [{"id": "first", "name": "First day", "date": date, "runs": []}],
    }
