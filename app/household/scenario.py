"""A plan: the day, its weather, the battery's state, the runs, and what it changes."""

import datetime
import re
from typing import Annotated, Any

from annotated_types import Ge, Le
from pydantic import Field, PlainValidator
from pydantic_core import PydanticCustomError

from app.household.fields import (
    Celsius,
    Fraction,
    Hour,
    Id,
    Number,
    Pair,
    Part,
    PositiveSeconds,
    Rising,
    Seconds,
    Text,
    WallClock,
    such_as,
)
from app.household.measured import MeasuredDay

_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def _date(value: Any) -> str:
    try:
        day = datetime.date.fromisoformat(value) if _DATE.fullmatch(value) else None
    except (TypeError, ValueError):
        day = None
    if day is None or not 1970 <= day.year <= 2200:
        raise PydanticCustomError("date", "give a day as YYYY-MM-DD, from 1970 to 2200")
    return str(value)


Date = Annotated[str, PlainValidator(_date)]
AmbientCurve = Annotated[tuple[Annotated[tuple[Hour, Celsius], Pair], ...], Pair, Field(min_length=1), Rising]
Oktas = Annotated[Number, Ge(0), Le(8)]
# What all panels together are expected to give on the day; the sun's curve is scaled to it.
ExpectedYield = Annotated[Number, Ge(0), Le(1e8)]


class Run(Part):
    """One placing of an appliance on a scenario's day, on or off."""

    id: Id
    appliance: Id
    start: WallClock
    on: bool = True
    window: Annotated[tuple[WallClock, WallClock], Pair] | None = None
    after: Id | None = None
    within_s: Seconds | None = None
    duration_s: PositiveSeconds | None = None


class Interlock(Part):
    """Appliances of which at most so many can be on at once, by a switch or relay."""

    of: Annotated[tuple[Id, ...], Pair, Field(min_length=2, max_length=100)]
    at_most: Annotated[int, Field(ge=1)] = 1


class DayPatch(Part):
    """What a plan with a parent changes about the day."""

    cloud_oktas: Oktas | None = None
    ambient_c: AmbientCurve | None = None
    start_state_of_charge: Fraction | None = None
    state_of_charge_at: WallClock | None = None
    wanted_margin: Fraction | None = None
    expected_yield_wh: ExpectedYield | None = None
    measured_day: MeasuredDay | None = None
    off: Annotated[tuple[Id, ...], Pair, Field(max_length=500)] | None = None


class Changes(Part):
    """What a plan changes: RFC 7396 merge patches, and whole appliances by id.

    `supply`, `runs` and `day` stay as they were written, for a null in a merge patch removes a field.
    """

    supply: dict[str, Any] = Field(default_factory=dict)
    appliances: Annotated[tuple[dict[str, Any], ...], Pair, Field(max_length=500)] = ()
    runs: dict[Id, dict[str, Any] | None] = Field(default_factory=dict)
    day: dict[str, Any] = Field(default_factory=dict)

    def __hash__(self) -> int:
        return hash(self.model_dump_json())


class Scenario(Part):
    """A saved plan.

    The day's sun is that of `cloud_oktas`; or of `measured_day`, if there is one. Either is scaled to
    `expected_yield_wh`, if that is given: what all panels together are expected to give on the local day.
    The battery has `start_state_of_charge` at `state_of_charge_at`; from then on it is followed.
    """

    id: Id
    name: Annotated[Text, such_as("Rainy day")]
    date: Date
    parent: Id | None = None
    cloud_oktas: Oktas = 0
    ambient_c: AmbientCurve = ((0, 20),)
    start_state_of_charge: Fraction = 0.8
    state_of_charge_at: WallClock = "00:00"
    wanted_margin: Fraction = 0.15
    expected_yield_wh: ExpectedYield | None = None
    measured_day: MeasuredDay | None = None
    off: Annotated[tuple[Id, ...], Pair, Field(max_length=500)] = ()
    runs: Annotated[tuple[Run, ...], Pair, Field(max_length=2000)] = ()
    changes: Changes = Changes()
