"""A plan's own values in words: how much sky is covered, how warm, how full, which day."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from app.household.day import day_frame
from app.household.measured import MeasuredDay
from app.web.fields.customs import Customs
from app.web.fields.measures import WARMTH
from app.web.figures import MINUS, MONTHS, SPACE, date, number

# In eighths of the sky (WMO: 0 is a clear sky, 8 one covered without breaks; worldweather.wmo.int/oktas.htm), grouped
# as weather reports for flying group them: few 1 to 2, scattered 3 to 4, broken 5 to 7, overcast 8. Plain words.
_SKY = ((0.5, "clear sky"), (2.5, "a few clouds"), (4.5, "half cloudy"), (7.5, "mostly cloudy"), (8.0, "overcast"))


def sky(cloud_oktas: float) -> str:
    """How much of the sky is covered: `half cloudy`."""
    return next(words for most, words in _SKY if cloud_oktas <= most)


def plain_number(value: float) -> str:
    """A number as it would be typed, with the decimals it has and a true minus sign."""
    text = f"{abs(value):.10g}"
    return f"{MINUS}{text}" if value < 0 and text != "0" else text


def per_cent(share: float) -> str:
    """A share as `75 %`."""
    return f"{plain_number(round(100 * share, 6))}{SPACE}%"


def warmth(ambient_c: Sequence[Sequence[float]], customs: Customs) -> str:
    """Coldest to warmest of a day, in the household's degrees: `8 to 19 °C`."""
    degrees = [WARMTH.shown(point[1], customs) for point in ambient_c]
    low, high, unit = number(min(degrees), 0), number(max(degrees), 0), WARMTH.unit_shown(customs)
    return f"{low}{SPACE}{unit}" if low == high else f"{low} to {high}{SPACE}{unit}"


def day_name(day: str, timezone: str) -> str:
    """A day of the file as `Tue 12 May`."""
    return date(day_frame(day, timezone))


def kilowatt_hours(energy_wh: float) -> str:
    """An amount of energy as it would be typed: `5.2 kWh`."""
    return f"{plain_number(round(energy_wh / 1000, 6))}{SPACE}kWh"


def expected_yield(energy_wh: float | None) -> str:
    """What the panels are expected to give; by the sky, where nothing is told."""
    return "as the sky lets" if energy_wh is None else kilowatt_hours(energy_wh)


def sun_taken(value: MeasuredDay | Mapping[str, Any] | None) -> str:
    """Of which day the sun is: `Sand Point, AK, 12 May 1999`."""
    if value is None:
        return "none taken"
    source, on = (value.source, value.on) if isinstance(value, MeasuredDay) else (value["source"], value["on"])
    return f"{source}, {record_day(on)}"


def record_day(on: str) -> str:
    """A day of a record: `12 May 1999`."""
    year, month, day = on.split("-")
    return f"{int(day)}{SPACE}{MONTHS[int(month) - 1]}{SPACE}{int(year)}"


def charge(value: float | Mapping[str, Any]) -> str:
    """The battery's charge, and when it is so: `70 % at midnight`; a bare share is the charge alone."""
    if not isinstance(value, Mapping):
        return per_cent(value)
    at = "midnight" if value["at"] == "00:00" else value["at"]
    return f"{per_cent(value['charge'])} at {at}"


def day_value(field: str, value: Any, customs: Customs) -> str:
    """A value of a plan's day in words, by its field."""
    return warmth(value, customs) if field == "ambient_c" else _VALUES[field](value)


_VALUES: dict[str, Callable[[Any], str]] = {
    "cloud_oktas": lambda oktas: f"{sky(oktas)}, {plain_number(oktas)} of 8",
    "start_state_of_charge": charge,
    "state_of_charge_at": lambda at: "midnight" if at == "00:00" else str(at),
    "wanted_margin": per_cent,
    "expected_yield_wh": expected_yield,
    "measured_day": sun_taken,
}
