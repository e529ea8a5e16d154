"""A solar array in a line: how large it is and which way it looks."""

from app.household.supply import SolarArray
from app.web.figures import number, quantity

_TOWARDS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
# Within so few degrees nobody would call it tilted.
_NEARLY_DEG = 3


def array_words(array: SolarArray) -> str:
    """`4.0 kW, facing south, tilted 35°`.

    >>> array_words(SolarArray(peak_w=4000, tilt_deg=35, azimuth_deg=182)).replace("\\u00a0", " ")
    '4.0 kW, facing south, tilted 35°'
    >>> array_words(SolarArray(peak_w=800, tilt_deg=0, azimuth_deg=90, coupling="ac")).replace("\\u00a0", " ")
    '800 W, lying flat, with an inverter of its own'
    """
    parts = [quantity(array.peak_w, "W")]
    if array.tilt_deg <= _NEARLY_DEG:
        parts.append("lying flat")
    else:
        upright = array.tilt_deg >= 90 - _NEARLY_DEG
        parts.append(f"facing {_TOWARDS[round(array.azimuth_deg / 45) % 8]}")
        parts.append("upright" if upright else f"tilted {number(array.tilt_deg, 0)}\u00b0")
    if array.coupling == "ac":
        parts.append("with an inverter of its own")
    return ", ".join(parts)
