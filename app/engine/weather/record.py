"""A record of sun: days of irradiance as a weather file has them, and one of them as a plan takes it."""

import datetime
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from app.engine.results import Floats
from app.engine.weather.rows import DAY_S, HOUR_S, Kind
from app.household.day import DayFrame
from app.household.measured import MeasuredDay

HOURS = 24


@dataclass(frozen=True, eq=False)
class DayTaken:
    """A day out of a record.

    measured: as a plan keeps it. air_c: at the whole hours of the record's clock, 24 of them; None where the record
    does not say how warm it was.
    """

    measured: MeasuredDay
    air_c: tuple[float, ...] | None


@dataclass(frozen=True, eq=False)
class Record:
    """Whole days of sun, one after the other.

    source: the place, as the file names it. latitude, longitude: where the file says it is; else None.
    utc_offset_h: of its clock, which keeps standard time all year. is_typical: its months come out of many years.
    on: each day, YYYY-MM-DD. sun_w_m2: means over steps of `step_s`, shape (days, steps a day), by `ghi`, `dni` and
    `dhi`, or `plane` alone. air_c: at whole hours, shape (days, 24), NaN where it is not told.
    notes: what was taken to be so while it was read, a sentence each.
    """

    source: str
    kind: Kind
    utc_offset_h: float
    step_s: int
    on: tuple[str, ...]
    sun_w_m2: dict[str, Floats]
    air_c: Floats | None
    latitude: float | None
    longitude: float | None
    is_typical: bool
    notes: tuple[str, ...]

    @property
    def in_plane(self) -> bool:
        """Whether it holds what fell into the panels' plane, and not onto level ground."""
        return "plane" in self.sun_w_m2

    @property
    def shown_w_m2(self) -> Floats:
        """What a drawing shows of it: onto level ground, or into the plane."""
        return self.sun_w_m2["plane" if self.in_plane else "ghi"]

    @cached_property
    def daily_wh_m2(self) -> Floats:
        """What each day brought, Wh/m2, shape (days,)."""
        return np.asarray(self.shown_w_m2.sum(axis=1) * self.step_s / HOUR_S)

    @cached_property
    def monthly_wh_m2(self) -> tuple[float | None, ...]:
        """Mean of a day's sum in each month, January first, Wh/m2; None for a month the record does not have."""
        months = np.array([int(on[5:7]) for on in self.on])
        return tuple(
            float(self.daily_wh_m2[months == month].mean()) if (months == month).any() else None
            for month in range(1, 13)
        )

    @property
    def years(self) -> tuple[int, ...]:
        """The years its days are of, each once."""
        return tuple(sorted({int(on[:4]) for on in self.on}))

    def place(self, month: int, day: int, year: int | None = None) -> int | None:
        """Which day of the record that is; of several years the first, unless one is told. None if it has none.

        29 February is taken to be 28 February in a record without it.
        """
        wanted = f"-{month:02d}-{day:02d}"
        found = [
            place for place, on in enumerate(self.on) if on.endswith(wanted) and year in (None, int(on[:4]))
        ]  # fmt: skip
        if not found and (month, day) == (2, 29):
            return self.place(2, 28, year)
        return found[0] if found else None

    def day(self, month: int, day: int, year: int | None = None) -> DayTaken | None:
        """A day out of it, with the day after it where the record goes on; None if it has none. As `place`."""
        place = self.place(month, day, year)
        if place is None:
            return None
        days = [place, *([place + 1] if self._goes_on(place) else [])]

        def figures(name: str) -> tuple[float, ...] | None:
            if name not in self.sun_w_m2:
                return None
            return tuple(float(value) for value in np.round(self.sun_w_m2[name][days].ravel(), 2))

        measured = MeasuredDay(
            source=self.source,
            on=self.on[place],
            utc_offset_h=self.utc_offset_h,
            step_s=self.step_s,
            ghi_w_m2=figures("ghi"),
            dni_w_m2=figures("dni"),
            dhi_w_m2=figures("dhi"),
            plane_w_m2=figures("plane"),
            latitude=self.latitude,
            longitude=self.longitude,
        )
        air_c = None if self.air_c is None else self.air_c[place]
        if air_c is None or not np.isfinite(air_c).all():
            return DayTaken(measured, None)
        return DayTaken(measured, tuple(float(value) for value in np.round(air_c, 1)))

    def _goes_on(self, place: int) -> bool:
        """Whether the next day of the record comes after this one in the calendar; a typical year changes years."""
        if place + 1 >= len(self.on):
            return False
        first, second = (datetime.date.fromisoformat(on) for on in self.on[place : place + 2])
        after = first + datetime.timedelta(days=1)
        if not self.is_typical:
            return second == after
        return (second.month, second.day) in {(after.month, after.day), (3, 1) if after.month == 2 else (0, 0)}


def ambient_points(air_c: tuple[float, ...], utc_offset_h: float, frame: DayFrame) -> list[list[float]]:
    """A day's temperatures as a plan has them: pairs of an hour on the wall clock of the plan's day, and degC.

    air_c: at whole hours of a clock of that offset, which keeps standard time, shape (24,).
    """
    noon = frame.local(frame.at_ms(DAY_S // 2)).utcoffset() or datetime.timedelta()
    ahead_h = noon.total_seconds() / HOUR_S - utc_offset_h
    points = sorted(((hour + ahead_h) % HOURS, degrees) for hour, degrees in enumerate(air_c))
    return [[int(hour) if hour == int(hour) else round(hour, 6), degrees] for hour, degrees in points]
