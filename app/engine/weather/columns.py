"""Which column of a plain table is which, by the names people and measuring services give them."""

import re
from typing import NamedTuple

# Names as they are once units and everything but letters and digits are taken out.
_NAMES = {
    "ghi": (
        "ghi", "gh", "globalhorizontalirradiance", "globalhorizontal", "globalhorizontalradiation", "globalirradiance",
        "globalradiation", "globalhoriz", "irradiance", "solarradiation", "solarirradiance", "global", "swdown",
        "shortwaveradiation", "globalstrahlung", "rayonnementglobal", "radiacionglobal",
    ),
    "dni": (
        "dni", "gbn", "bn", "directnormalirradiance", "directnormal", "directnormalradiation", "beamnormal",
        "beamnormalirradiance", "directirradiance",
    ),
    "dhi": (
        "dhi", "gdh", "dh", "diffusehorizontalirradiance", "diffusehorizontal", "diffusehorizontalradiation",
        "diffuse", "diffuseirradiance", "diffuseradiation",
    ),
    "plane": (
        "poa", "gi", "gti", "planeofarray", "planeofarrayirradiance", "poaglobal", "poairradiance", "planeirradiance",
        "inplaneirradiance", "globaltiltedirradiance", "globalinplane", "tiltedirradiance", "ginplane", "plane",
    ),
    "air": (
        "temp", "temperature", "air", "airtemperature", "airtemp", "tempair", "ambienttemperature", "ambient", "tamb",
        "tair", "t2m", "drybulb", "drybulbtemperature", "outdoortemperature", "temperature2m", "ta",
    ),
    "time": (
        "time", "timestamp", "datetime", "dateandtime", "dateandtimeutc", "date", "periodend", "periodstart",
        "timeutc", "utctime", "utc", "localtime", "timelocal", "valid", "validtime", "zeit", "zeitstempel", "datum",
        "fecha", "heure",
    ),
    "year": ("year", "yyyy", "yr"),
    "month": ("month", "mm", "mo"),
    "day": ("day", "dd", "dom"),
    "hour": ("hour", "hh", "hr", "hours"),
    "minute": ("minute", "min", "minutes"),
}  # fmt: skip
_BY_NAME = {spelling: column for column, spellings in _NAMES.items() for spelling in spellings}
_UNITS = re.compile(
    r"[\[(]?\s*\b(?:k?wh?\s*/?\s*m\s*(?:\^|\*\*)?\s*-?\s*[2²]|k?w\s*m-2|m?j\s*/\s*(?:m|cm)\^?[2²]|deg\s*c|celsius|kelvin)"
    r"\s*[\])]?|[\[(]\s*(?:°?\s*[cfk]|utc|local|lst|gmt)\s*[\])]|°\s*[cf]",
    re.IGNORECASE,
)
_REFUSED_UNIT = re.compile(r"\bm?j\s*/|°\s*f|[\[(]\s*°?f\s*[\])]|fahrenheit|kelvin|[\[(]\s*k\s*[\])]", re.IGNORECASE)
_ENERGY = re.compile(r"wh(?![a-z])", re.IGNORECASE)
SUN = ("ghi", "dni", "dhi", "plane")
LONGEST = 200  # characters of a heading; what goes on for longer is none, and takes long to read


class Column(NamedTuple):
    """A column that is understood.

    factor: what its figures are to be multiplied by, for kW/m2. is_energy: they are Wh/m2 of a step, not W/m2 in it.
    """

    what: str
    place: int
    name: str
    factor: float
    is_energy: bool
    unit_is_refused: bool


def column_of(place: int, name: str) -> Column | None:
    """What a column holds, by its heading; None for one that does not matter here.

    >>> [column_of(0, name).what for name in ("GHI (W/m^2)", "Gb(n)", "Diffuse horizontal [W/m²]", "poa_global")]
    ['ghi', 'dni', 'dhi', 'plane']
    """
    name = " ".join(name.split())
    if len(name) > LONGEST:
        return None
    plain = re.sub(r"[^a-z0-9]+", "", _UNITS.sub(" ", name).lower())
    # `ghi_w_m2`, as the household file writes it, and `temp_c`.
    plain = _BY_NAME.get(plain) or _BY_NAME.get(re.sub(r"(k?wh?m2|wm|degc|c)$", "", plain)) or ""
    if not plain:
        return None
    factor = 1000.0 if plain in SUN and re.search(r"kwh?(?![a-z])", name, re.IGNORECASE) else 1.0
    is_energy = plain in SUN and _ENERGY.search(name) is not None
    return Column(plain, place, name, factor, is_energy, _REFUSED_UNIT.search(name) is not None)
