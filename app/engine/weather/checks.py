"""What a record's figures and times must be, whatever format they came in."""

import datetime
import math

import numpy as np

from app.engine.results import Floats
from app.engine.weather.rows import DAY_S, Findings, Rows, Whole
from app.household.household import Site
from app.household.measured import BRIGHTEST_W_M2

# Sensors lose warmth to the sky at night and show a little less than nothing; this little counts as nothing.
# Common practice: measuring networks let it pass down to some -10 W/m2.
NIGHT_W_M2 = -10.0
FAR_DEG, NEAR_DEG = 10.0, 1.0
EARTH_M = 6_371_000.0  # mean radius
_NAMES = {"ghi": "GHI", "dni": "DNI", "dhi": "DHI", "plane": "POA"}
_BELOW = "Small values below zero, as sensors give at night, count as nothing."


def check_values(rows: Rows, findings: Findings) -> None:
    """Every irradiance from nothing to 2000 W/m2; small negative ones become nothing."""
    for name, values in rows.sun_w_m2.items():
        note_values(name, values, rows.lines, findings)
        if ((values < 0) & (values >= NIGHT_W_M2)).any():
            rows.sun_w_m2[name] = np.maximum(values, 0.0)
            if _BELOW not in rows.notes:
                rows.notes.append(_BELOW)
    if rows.air_c is not None and ((rows.air_c < -80) | (rows.air_c > 120)).any():
        rows.air_c = np.where((rows.air_c < -80) | (rows.air_c > 120), np.nan, rows.air_c)


def note_values(name: str, values_w_m2: Floats, lines: Whole, findings: Findings) -> None:
    """Note every value that no light has. values_w_m2, lines: shape (steps,); NaN for what could not be read."""
    for place in np.flatnonzero((values_w_m2 < NIGHT_W_M2) | (values_w_m2 > BRIGHTEST_W_M2)).tolist():
        value, line = float(values_w_m2[place]), int(lines[place])
        why = "light cannot be less than nothing" if value < 0 else f"the sun gives at most {BRIGHTEST_W_M2}"
        findings.add(f"{_NAMES[name]} is {value:g} W/m²; {why}", line)


def check_times(rows: Rows, findings: Findings) -> None:
    """Step after step without a gap, none twice, none back in time."""
    apart_s = np.diff(rows.laid_s)
    for place in (np.flatnonzero(apart_s != rows.step_s) + 1).tolist():
        line, before = int(rows.lines[place]), int(rows.lines[place - 1])
        gap_s = int(apart_s[place - 1])
        after = _written(rows, place - 1)
        if gap_s == 0:
            findings.add(f"the same time as in line {before}, {after}; give each time once", line)
        elif gap_s < 0:
            findings.add(
                f"goes back in time, behind {after} in line {before}; put the lines in the order of time", line
            )
        elif gap_s % rows.step_s:
            findings.add(f"comes {_length(gap_s)} after {after}, where the lines before come every "
                         f"{_length(rows.step_s)}", line)  # fmt: skip
        else:
            missing = gap_s // rows.step_s - 1
            lacking = "1 line is" if missing == 1 else f"{missing} lines are"
            findings.add(f"{lacking} missing between {after} and here; a record goes on without gaps", line)


def _written(rows: Rows, place: int) -> str:
    """A step's beginning as it would be written."""
    moment = datetime.datetime(1970, 1, 1) + datetime.timedelta(seconds=int(rows.clock_s[place]))
    return f"{moment:%Y-%m-%d %H:%M}"


def _length(seconds: int) -> str:
    if seconds % DAY_S == 0:
        return f"{seconds // DAY_S} days"
    return f"{seconds / 3600:g} h" if seconds % 1800 == 0 else f"{seconds / 60:g} min"


def check_place(rows: Rows, site: Site, findings: Findings) -> None:
    """Refuse a record of so far away that its sun is another one; what is merely elsewhere is told beside it.

    Ten degrees along a parallel are forty minutes of sun time, and ten along a meridian change the height of the noon
    sun as a month does: hours and yield of such a day would be of no use here.
    """
    if rows.latitude is None or rows.longitude is None:
        return
    if away_deg(rows.latitude, rows.longitude, site) > FAR_DEG:
        findings.add(
            f"it is of {rows.source}, at {_at(rows.latitude, rows.longitude)}; the household is at "
            f"{_at(site.latitude, site.longitude)}. So far away the sun rises at other hours and stands at another "
            f"height. Take a record from within {FAR_DEG:g} degrees, or put the household's place right"
        )


def away_deg(latitude: float, longitude: float, site: Site) -> float:
    """How far a place is from the household's: the larger of the differences in latitude and longitude, degrees."""
    around = abs(longitude - site.longitude) % 360
    return max(abs(latitude - site.latitude), min(around, 360 - around))


def distance_m(latitude: float, longitude: float, site: Site) -> float:
    """How far a place is from the household's along the ground, by the haversine formula."""
    here, there = math.radians(site.latitude), math.radians(latitude)
    across = math.sin((there - here) / 2) ** 2
    along = math.cos(here) * math.cos(there) * math.sin(math.radians(longitude - site.longitude) / 2) ** 2
    return 2 * EARTH_M * math.asin(math.sqrt(min(across + along, 1.0)))


def _at(latitude: float, longitude: float) -> str:
    north = f"{abs(latitude):.1f}° {'N' if latitude >= 0 else 'S'}"
    return f"{north}, {abs(longitude):.1f}° {'E' if longitude >= 0 else 'W'}"
