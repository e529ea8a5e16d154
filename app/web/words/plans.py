"""A plan's own values in words: how much sky is covered, how warm, how full, which day."""

from collections.abc import Callable, Sequence
from typing import Any

from app.household.day import day_frame
from app.web.fields.customs import Customs
from app.web.fields.measures import WARMTH
from app.web.figures import MINUS, SPACE, date, number

# In eighths of the sky, grouped as weather reports for flying group them (few, scattered, broken, overcast);
# from memory. The words are plain ones.
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


def day_value(field: str, value: Any, customs: Customs) -> str:
    """A value of a plan's day in words, by its field."""
    return warmth(value, customs) if field == "ambient_c" else _VALUES[field](value)


_VALUES: dict[str, Callable[[Any], str]] = {
    "cloud_oktas": lambda oktas: f"{sky(oktas)}, {plain_number(oktas)} of 8",
    "start_state_of_charge": per_cent,
    "wanted_margin": per_cent,
}
