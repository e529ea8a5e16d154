"""Direct and diffuse light where a record gives only some of global, direct and diffuse."""

import numpy as np

from app.engine.results import Floats
from app.engine.weather.rows import Rows
from app.household.measured import BRIGHTEST_W_M2

_SPLIT = "It gives global light alone; direct and diffuse were parted by the formula of Erbs, Klein and Duffie 1982."
_BOTH_TOO = "It gives the panels' plane beside level ground; level ground is taken."


def complete(rows: Rows, latitude: float, longitude: float) -> None:
    """Give a record all three of global, direct normal and diffuse, or the plane alone.

    Where the sun is low the direct part is left out rather than blown up: below 2 degrees it is nothing.
    """
    sun = rows.sun_w_m2
    if "plane" in sun:
        if "ghi" not in sun and not {"dni", "dhi"} <= sun.keys():
            rows.sun_w_m2 = {"plane": sun["plane"]}
            return
        rows.notes.append(_BOTH_TOO)
        del sun["plane"]
    if {"ghi", "dni", "dhi"} <= sun.keys():
        return
    from pvlib import irradiance

    zenith_deg, day_of_year = _middle(rows, latitude, longitude)
    up = np.maximum(np.cos(np.radians(zenith_deg)), 0.0)
    if "ghi" not in sun:
        sun["ghi"] = np.minimum(sun["dhi"] + sun["dni"] * up, BRIGHTEST_W_M2)
    elif "dni" in sun:
        sun["dhi"] = np.clip(sun["ghi"] - sun["dni"] * up, 0.0, sun["ghi"])
    elif "dhi" in sun:
        sun["dhi"] = np.minimum(sun["dhi"], sun["ghi"])
        direct = irradiance.dni(sun["ghi"], sun["dhi"], zenith_deg, zenith_threshold_for_zero_dni=88.0)
        sun["dni"] = np.clip(np.nan_to_num(direct), 0.0, BRIGHTEST_W_M2)
    else:
        with np.errstate(all="ignore"):
            parted = irradiance.erbs(sun["ghi"], zenith_deg, day_of_year)
        sun["dhi"] = np.clip(np.nan_to_num(np.asarray(parted["dhi"])), 0.0, sun["ghi"])
        sun["dni"] = np.clip(np.nan_to_num(np.asarray(parted["dni"])), 0.0, BRIGHTEST_W_M2)
        rows.notes.append(_SPLIT)


def _middle(rows: Rows, latitude: float, longitude: float) -> tuple[Floats, Floats]:
    """Zenith of the sun in the middle of each step, and the day of the year."""
    import pandas as pd
    from pvlib import solarposition

    at_s = rows.clock_s - round(rows.utc_offset_h * 3600) + rows.step_s // 2
    times = pd.DatetimeIndex(pd.to_datetime(at_s, unit="s", utc=True))
    found = solarposition.get_solarposition(times, latitude, longitude, method="ephemeris")
    return np.asarray(found["zenith"].to_numpy(), dtype=np.float64), np.asarray(times.day_of_year)
