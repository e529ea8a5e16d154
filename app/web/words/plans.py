"""A plan's own values in words: how much sky is covered, how warm, how full, which day."""

from collections.abc import Callable, Sequence
from typing import Any

from app.household.day import day_frame
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


def warmth(ambient_c: Sequence[Sequence[float]]) -> str:
    """Coldest to warmest of a day: `8 to 19 °C`."""
    degrees = [point[1] for point in ambient_c]
    low, high = number(min(degrees), 0), number(max(degrees), 0)
    return f"{low}{SPACE}°C" if low == high else f"{low} to {high}{SPACE}°C"


def day_name(day: str, timezone: str) -> str:
    """A day of the file as `Tue 12 May`."""
    return date(day_frame(day, timezone))


def day_value(field: str, value: Any) -> str:
    """A value of a plan's day in words, by its field."""
    return _VALUES[field](value)


_VALUES: dict[str, Callable[[Any], str]] = {
    "cloud_oktas": lambda oktas: f"{sky(oktas)}, {plain_number(oktas)} of 8",
    "ambient_c": warmth,
    "start_state_of_charge": per_cent,
    "wanted_margin": per_cent,
}
