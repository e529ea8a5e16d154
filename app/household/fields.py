"""The kinds of value a household file holds, each with its bounds and its words.

Numbers keep the form they were written in (5000 stays 5000, 0.5 stays 0.5), so that a file goes out as it
came in. A bound is part of the type; what is written beside a refused field is made here and in `file`.
"""

import math
import re
import unicodedata
from collections.abc import Mapping
from itertools import pairwise
from typing import Annotated, Any

from annotated_types import Ge, Gt, Le, Lt
from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    model_validator,
)
from pydantic_core import PydanticCustomError

from app.household.names import LONGEST_ID, LONGEST_NAME, LONGEST_NOTE


class Part(BaseModel):
    """A part of the household file: frozen, unknown fields refused, null the same as absent."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    def document(self) -> dict[str, Any]:
        """The part as JSON values: what was given, in the form it was given, nothing that was left out."""
        given: dict[str, Any] = _listed(self.model_dump(exclude_unset=True))
        return given

    @model_validator(mode="before")
    @classmethod
    def _null_is_absent(cls, given: Any) -> Any:
        if isinstance(given, Mapping):
            # An unknown field stays, null or not, to be refused by its name.
            return {name: value for name, value in given.items() if value is not None or name not in cls.model_fields}
        return given


def _listed(value: Any) -> Any:
    """Tuples as the lists they were in the file."""
    if isinstance(value, dict):
        return {name: _listed(inner) for name, inner in value.items()}
    return [_listed(inner) for inner in value] if isinstance(value, tuple | list) else value


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise PydanticCustomError("number", "give a number")
    try:
        finite = math.isfinite(value)
    except OverflowError:
        finite = False
    if not finite:
        raise PydanticCustomError("number", "give an ordinary number; nothing is as large as this one")
    return value


def _wall_clock(value: Any) -> str:
    if not isinstance(value, str) or not _CLOCK.fullmatch(value):
        raise PydanticCustomError("clock", "give a time of day from 00:00 to 23:59, as HH:MM or HH:MM:SS")
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise PydanticCustomError("text", "give a text")
    if not value.strip():
        raise PydanticCustomError("text", "give a text that is not empty")
    if any(unicodedata.category(sign) in ("Cc", "Cs") for sign in value):
        raise PydanticCustomError("text", "leave out line breaks, control characters and half characters")
    return value


def such_as(example: str) -> BeforeValidator:
    """What is said of a name that is empty: that one is needed, with an example."""

    def named(value: Any) -> Any:
        if isinstance(value, str) and not value.strip():
            raise PydanticCustomError("text", "give it a name, such as {example}", {"example": example})
        return value

    return BeforeValidator(named)


_CLOCK = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?")

Number = Annotated[float, PlainValidator(_number)]
# Lower bounds a thousandth of what anybody has: below them figures overflow rather than mean something.
Positive = Annotated[Number, Gt(0), Ge(0.001), Le(1e7)]
NotNegative = Annotated[Number, Ge(0), Le(1e7)]
Fraction = Annotated[Number, Ge(0), Le(1)]
PositiveFraction = Annotated[Number, Gt(0), Ge(0.001), Le(1)]
OpenFraction = Annotated[Number, Gt(0), Ge(0.001), Lt(1)]
Watts = Annotated[Number, Ge(0), Le(1e6)]
VoltAmperes = Annotated[Number, Gt(0), Ge(0.001), Le(1e7)]
PositiveWatts = Annotated[Number, Gt(0), Ge(0.001), Le(1e6)]
Seconds = Annotated[Number, Ge(0), Le(7 * 86400)]
PositiveSeconds = Annotated[Number, Gt(0), Ge(0.001), Le(7 * 86400)]
Celsius = Annotated[Number, Ge(-80), Le(120)]
Kelvin = Annotated[Number, Ge(-80), Le(80)]
Volts = Annotated[Number, Gt(0), Ge(0.1), Le(1500)]
Degrees = Annotated[Number, Ge(0), Le(360)]
CycleSeconds = Annotated[Number, Gt(0), Ge(0.01), Le(7 * 86400)]
Hour = Annotated[Number, Ge(0), Lt(24)]
Whole = Annotated[int, Field(ge=1, le=1000)]

WallClock = Annotated[str, PlainValidator(_wall_clock)]
Text = Annotated[str, PlainValidator(_text), AfterValidator(lambda text: _no_longer(text, LONGEST_NAME))]
Note = Annotated[str, PlainValidator(_text), AfterValidator(lambda text: _no_longer(text, LONGEST_NOTE))]
Id = Annotated[str, PlainValidator(_text), AfterValidator(lambda text: _no_longer(text, LONGEST_ID))]


def _no_longer(text: str, longest: int) -> str:
    if len(text) > longest:
        found = {"longest": longest, "given": len(text)}
        raise PydanticCustomError("text", "at most {longest} characters, please; here are {given}", found)
    return text


def _pair(value: Any) -> Any:
    """JSON has lists where Python has tuples; strict models want the tuple."""
    return tuple(value) if isinstance(value, list) else value


def rising(points: tuple[tuple[float, ...], ...]) -> tuple[tuple[float, ...], ...]:
    """A curve's first numbers must rise from point to point."""
    for before, after in pairwise(points):
        if after[0] <= before[0]:
            raise PydanticCustomError(
                "rising",
                "the first number of each point must be larger than the one before: {after} follows {before}",
                {"before": before[0], "after": after[0]},
            )
    return points


Pair = BeforeValidator(_pair)
Rising = AfterValidator(rising)


def wall_clock_s(text: str) -> int:
    """Seconds since midnight on the clock's face of `HH:MM[:SS]`.

    >>> wall_clock_s("10:06")
    36360
    """
    parts = [int(part) for part in text.split(":")]
    return parts[0] * 3600 + parts[1] * 60 + (parts[2] if len(parts) == 3 else 0)
