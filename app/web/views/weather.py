"""Records of sun on their pages: which are kept, what is in one, and the day that is taken."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from app.charts.sun import day_svg, months_svg
from app.engine.weather import DayTaken, Record
from app.household.day import day_frame
from app.household.household import Household
from app.household.resolve import Day
from app.store.weather import KeptRecord
from app.web import words
from app.web.customs import customs_of
from app.web.fields.customs import Customs
from app.web.figures import MONTHS, number
from app.web.views.plan import Choice
from app.web.words import plans as plan_words
from app.web.words import weather as said


@dataclass(frozen=True, slots=True)
class TakenView:
    """Whose sun the plan has."""

    plan: str  # the plan's name
    sun: str  # of which day it is; empty if none is taken
    action: str  # where taking it out goes


@dataclass(frozen=True, slots=True)
class RecordItem:
    """One record in the list."""

    name: str  # what it is called
    href: str  # its page
    about: str  # what it holds, in a line
    brought: str  # when it was brought in


@dataclass(frozen=True, slots=True)
class WeatherListView:
    """weather/list.html."""

    taken: TakenView  # whose sun the plan has
    records: tuple[RecordItem, ...]  # those kept
    action: str  # where a file goes
    back: str  # the plan's page
    faults: tuple[str, ...]  # what is wrong with the file that was sent
    clock: str  # how its times were said to be meant
    stamps: str  # where its times were said to stand


@dataclass(frozen=True, slots=True)
class DayView:
    """The day that is looked at, before it is taken."""

    on: str  # which day of the record
    sum: str  # what it brings
    warmth: str  # how warm it is; empty where the record does not say
    note: str  # what is not as it was asked for; may be empty
    drawing: Markup  # the day
    hours: tuple[tuple[str, str], ...]  # the drawing as a table: a time, and the mean over the hour after it


@dataclass(frozen=True, slots=True)
class RecordView:
    """weather/record.html."""

    name: str  # what it is called
    back: str  # the list
    facts: tuple[tuple[str, str], ...]  # what was understood, each with its name
    notes: tuple[str, ...]  # what was taken to be so
    caution: str  # that it is of elsewhere; may be empty
    drawing: Markup  # the months
    months: tuple[tuple[str, str], ...]  # the drawing as a table
    taken: TakenView  # whose sun the plan has
    choose: str  # where the choice of a day goes
    take: str  # where taking goes
    remove: str  # where removing goes
    month_options: tuple[Choice, ...]  # the months
    year_options: tuple[Choice, ...]  # the years, where a day of the year comes more than once
    day: str  # the day of the month, as it stands in its field
    fault: str  # why there is no such day; empty if there is
    shown: DayView | None  # the day, if there is one
    month: int  # as it is sent with the day
    year: str  # as it is sent with the day; may be empty


def item_of(kept: KeptRecord, href: str, timezone: str) -> RecordItem:
    """A record in the list."""
    about = f"{kept.summary['days']}; {kept.summary['holds']}"
    brought = day_frame(kept.at_utc.date().isoformat(), timezone).date
    return RecordItem(kept.name, href, about, f"{brought.day}\u00a0{MONTHS[brought.month - 1]}\u00a0{brought.year}")


def summary_of(record: Record) -> dict[str, str]:
    """What the list says of a record, kept beside it."""
    return {"days": said.days_words(record), "holds": said.holds_words(record)}


@dataclass(frozen=True)
class Asked:
    """The day that is asked for. typed: its day of the month as it was typed."""

    month: int
    day: int | None
    year: int | None
    typed: str


def record_view(
    kept: KeptRecord, record: Record, household: Household, asked: Asked, taken: TakenView, addresses: dict[str, str]
) -> RecordView:
    """Lay out a record's page."""
    day, fault, note = _day(record, asked)
    lowest, highest = (f"{number(value / 1000, 1)}" for value in _ends(record))
    plane = "in the plane" if record.in_plane else "on level ground"
    months = tuple(
        (MONTHS[place], said.sum_words(value))
        for place, value in enumerate(record.monthly_wh_m2)
        if value is not None
    )  # fmt: skip
    years = record.years if not record.is_typical and len(record.on) > 366 else ()
    return RecordView(
        name=kept.name,
        back=addresses["list"],
        facts=(
            ("File", said.KINDS[record.kind]),
            ("Place", said.place_words(record.latitude, record.longitude)),
            ("Clock", said.clock_words(record)),
            ("Step", said.step_words(record)),
            ("Columns", said.holds_words(record)),
            ("Days", said.days_words(record)),
            ("Brings", said.yearly_words(record)),
        ),
        notes=record.notes,
        caution=said.elsewhere_words(record, household.site),
        drawing=Markup(months_svg(record.monthly_wh_m2, f"A day's sun {plane} by month, {lowest} to {highest} kWh/m²")),
        months=months,
        taken=taken,
        choose=addresses["here"],
        take=addresses["take"],
        remove=addresses["remove"],
        month_options=tuple(
            Choice(str(place), name, place == asked.month) for place, name in enumerate(said.MONTH_NAMES, 1)
        ),
        year_options=tuple(Choice(str(one), str(one), one == asked.year) for one in years),
        day=asked.typed,
        fault=fault,
        shown=None if day is None else _day_view(record, day, note, customs_of(household)),
        month=asked.month,
        year="" if asked.year is None else str(asked.year),
    )


def _ends(record: Record) -> tuple[float, float]:
    there = [one for one in record.monthly_wh_m2 if one is not None]
    return min(there), max(there)


def _day(record: Record, asked: Asked) -> tuple[DayTaken | None, str, str]:
    """The day, why there is none, and what is not as it was asked for."""
    if asked.day is None or not _is_day(asked.month, asked.day):
        shown = f"\u2018{asked.typed[:30]}\u2019" if asked.typed else "Nothing"
        return None, f"{shown} is not a day of {said.MONTH_NAMES[asked.month - 1]}; give a number, such as 12.", ""
    found = record.day(asked.month, asked.day, asked.year)
    if found is None:
        return None, said.no_day_words(record, asked.month, asked.day), ""
    return found, "", said.another_day_words(found.measured.on, asked.month, asked.day)


def _is_day(month: int, day: int) -> bool:
    try:
        datetime.date(2000, month, day)
    except (ValueError, OverflowError):
        return False
    return True


def _day_view(record: Record, day: DayTaken, note: str, customs: Customs) -> DayView:
    place = record.on.index(day.measured.on)
    sun_w_m2 = record.shown_w_m2[place]
    warmth = "" if day.air_c is None else plan_words.warmth([(0, one) for one in day.air_c], customs)
    per_hour = sun_w_m2.reshape(24, -1).mean(axis=1) if len(sun_w_m2) % 24 == 0 else sun_w_m2
    every_min = 24 * 60 // len(per_hour)
    hours = tuple(
        (f"{place * every_min // 60:02d}:{place * every_min % 60:02d}", f"{number(value, 0)} W/m²")
        for place, value in enumerate(per_hour.tolist())
        if value >= 0.5
    )
    on, total = words.record_day(day.measured.on), said.sum_words(float(record.daily_wh_m2[place]))
    return DayView(on, total, warmth, note, Markup(day_svg(sun_w_m2, f"Sun on {on}, {total}")), hours)


def taken_view(day: Day, action: str) -> TakenView:
    """Whose sun a plan has."""
    return TakenView(day.name, "" if day.measured_day is None else words.sun_taken(day.measured_day), action)


def items(records: Iterable[tuple[KeptRecord, str]], timezone: str) -> tuple[RecordItem, ...]:
    """The list. records: each with the address of its page."""
    return tuple(item_of(kept, href, timezone) for kept, href in records)
