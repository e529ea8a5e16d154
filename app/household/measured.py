"""A day of sun as it was measured, or as it is typical of a place: figures out of somebody's record."""

import datetime
import re
from typing import Annotated, Self

from annotated_types import Ge, Le
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from app.household.fields import Number, Pair, Part, Text

# Above the sun itself (1361 W/m2 outside the air) no hour's mean can be; edges of clouds add some for minutes.
BRIGHTEST_W_M2 = 2000
DAY_S = 86_400
SHORTEST_STEP_S, LONGEST_STEP_S = 300, 3600

Irradiances = Annotated[
    tuple[Annotated[Number, Ge(0), Le(BRIGHTEST_W_M2)], ...],
    Pair,
    Field(min_length=DAY_S // LONGEST_STEP_S, max_length=2 * DAY_S // SHORTEST_STEP_S),
]
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
SUN_FIELDS = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")


class MeasuredDay(Part):
    """Irradiance over a day, and where the record goes on over the day after it.

    Every list holds means over steps of `step_s`, in W/m2, from 00:00 on the record's clock (`utc_offset_h`, which
    keeps standard time all year): one or two days of them. Either global, direct normal and diffuse (`ghi_w_m2`,
    `dni_w_m2`, `dhi_w_m2`), or what fell into the panels' plane (`plane_w_m2`).
    source: where it comes from. on: the day of the record, YYYY-MM-DD; a typical year has days of many years.
    latitude, longitude: where it was measured, if the record says.
    """

    source: Text
    on: Text
    utc_offset_h: Annotated[Number, Ge(-14), Le(14)]
    step_s: Annotated[int, Field(ge=SHORTEST_STEP_S, le=LONGEST_STEP_S)]
    ghi_w_m2: Irradiances | None = None
    dni_w_m2: Irradiances | None = None
    dhi_w_m2: Irradiances | None = None
    plane_w_m2: Irradiances | None = None
    latitude: Annotated[Number, Ge(-90), Le(90)] | None = None
    longitude: Annotated[Number, Ge(-180), Le(180)] | None = None

    @model_validator(mode="after")
    def _whole_days(self) -> Self:
        try:
            if not _DAY.fullmatch(self.on):
                raise ValueError
            datetime.date.fromisoformat(self.on)
        except ValueError as error:
            raise PydanticCustomError("on", "on is no day; give the day of the record as YYYY-MM-DD") from error
        if DAY_S % self.step_s or self.step_s % SHORTEST_STEP_S:
            raise PydanticCustomError(
                "step_s", "step_s must be whole fives of minutes that divide a day, such as 300, 900 or 3600"
            )
        given = [name for name in SUN_FIELDS if getattr(self, name) is not None]
        if self.plane_w_m2 is None and len(given) < len(SUN_FIELDS):
            raise PydanticCustomError("sun", "give ghi_w_m2, dni_w_m2 and dhi_w_m2, or plane_w_m2 alone")
        if self.plane_w_m2 is not None and given:
            raise PydanticCustomError("sun", "give plane_w_m2 alone, without {given}", {"given": given[0]})
        a_day = DAY_S // self.step_s
        for name in (*SUN_FIELDS, "plane_w_m2"):
            values = getattr(self, name)
            if values is not None and len(values) not in (a_day, 2 * a_day):
                raise PydanticCustomError(
                    "steps",
                    "{name} has {given} values; with steps of {step} s a day has {a_day}, two days {two}",
                    {"name": name, "given": len(values), "step": self.step_s, "a_day": a_day, "two": 2 * a_day},
                )
        if len({len(values) for name in SUN_FIELDS if (values := getattr(self, name)) is not None}) > 1:
            raise PydanticCustomError("steps", "ghi_w_m2, dni_w_m2 and dhi_w_m2 must have as many values each")
        return self
