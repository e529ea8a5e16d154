"""The times of a plain table: how they are written, on which clock they are, and where in its step one stands."""

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np

from app.engine.weather.rows import DAY_S, HOUR_S, Clock, Findings, Stamps, Whole, offset_words

_OFFSET = r"\s*(Z|UTC|GMT|[+-]\d\d:?\d\d)?"
_TIME = r"(?:[T :,]+(\d\d?)[:hH]?(\d\d)?(?::?(\d\d)(?:[.,]\d+)?)?\s*([AaPp][Mm])?)?"
_YEAR_FIRST = re.compile(r"(\d{4})([-/.]?)(\d\d?)\2(\d\d?)" + _TIME + _OFFSET)
_YEAR_LAST = re.compile(r"(\d\d?)([-/.])(\d\d?)\2(\d{4})" + _TIME + _OFFSET)
_EPOCH = datetime.date(1970, 1, 1).toordinal()
_FIRST_YEAR, _LAST_YEAR = 1900, 2200


@dataclass
class Times:
    """Times as they are written. face_s: seconds since 1970 on the clock they are on. offset_s: where each says it."""

    face_s: list[int | None]
    offset_s: list[int | None]


def read_times(texts: Sequence[str], lines: Sequence[int], findings: Findings) -> Times:
    """Read times: year first, or day or month first, with or without an offset. What is none is noted and None."""
    found = [_YEAR_FIRST.fullmatch(text) or _YEAR_LAST.fullmatch(text) for text in texts]
    month_first = _month_first([one for one in found if one and len(one[1]) < 3], findings)
    days: dict[tuple[str, ...], int | None] = {}
    times = Times([], [])
    for text, line, one in zip(texts, lines, found, strict=True):
        face_s = None if one is None else _face_s(one, month_first, days)
        if face_s is None:
            findings.add(_no_time(text), line)
        times.face_s.append(face_s)
        times.offset_s.append(_offset_s(one[9]) if one and face_s is not None else None)
    return times


def _no_time(text: str) -> str:
    if not text:
        return "the time is missing"
    shown = text if len(text) < 31 else text[:28] + "..."
    if re.match(r"\d{4}", text) and not _FIRST_YEAR <= int(text[:4]) <= _LAST_YEAR:
        return f"{shown!r} is not a year anybody measured in; give years from {_FIRST_YEAR} to {_LAST_YEAR}"
    return f"{shown!r} is not a day and time; write it as 2026-05-12 14:00"


def _month_first(found: Sequence[re.Match[str]], findings: Findings) -> bool:
    """Whether days are written month first, as the whole file tells: no month is above 12."""
    if not found or any(one[2] == "." for one in found):
        return False
    day_first = any(int(one[1]) > 12 for one in found)
    month_first = any(int(one[3]) > 12 for one in found)
    if day_first == month_first and not day_first:
        findings.add(
            f"{found[0][0].split()[0]!r} can be one day or another, and no line of the file tells which; "
            "write days as 2026-05-12"
        )
    return month_first and not day_first


def _face_s(one: re.Match[str], month_first: bool, days: dict[tuple[str, ...], int | None]) -> int | None:
    date = (one[1], one[3], one[4])
    if date not in days:
        days[date] = _ordinal(one, month_first)
    day = days[date]
    hour, minute, second = (int(part or 0) for part in (one[5], one[6], one[7]))
    if one[8]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if one[8].lower() == "pm" else 0)
    if day is None or minute > 59 or second > 59 or hour > 24 or (hour == 24 and (minute or second)):
        return None
    return day * DAY_S + hour * HOUR_S + minute * 60 + second


def _ordinal(one: re.Match[str], month_first: bool) -> int | None:
    first, second, third = int(one[1]), int(one[3]), int(one[4])
    if len(one[1]) == 4:
        year, month, day = first, second, third
    else:
        year, month, day = (third, first, second) if month_first else (third, second, first)
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        return None
    try:
        return datetime.date(year, month, day).toordinal() - _EPOCH
    except ValueError:
        return None


def _offset_s(text: str | None) -> int | None:
    if text is None:
        return None
    if text[0] not in "+-":
        return 0
    hours, minutes = int(text[1:3]), int(text[-2:])
    return (hours * HOUR_S + minutes * 60) * (-1 if text[0] == "-" else 1)


def standard_offset_s(zone: ZoneInfo, year: int) -> int:
    """How far a zone's standard time is ahead of UTC in a year: the smaller of January's and July's."""
    both = (datetime.datetime(year, month, 1, tzinfo=zone).utcoffset() for month in (1, 7))
    return int(min((one or datetime.timedelta()).total_seconds() for one in both))


@dataclass(frozen=True)
class Laid:
    """Times on the record's own clock, which keeps standard time. clock_s: shape (steps,). notes: a sentence each.

    read_as_s: how far the clock they were read on is ahead of UTC, where that is another one.
    """

    clock_s: Whole
    utc_offset_s: int
    notes: tuple[str, ...]
    read_as_s: int | None = None


def on_standard_time(times: Times, step_s: int, timezone: str, clock: Clock, in_utc: bool) -> Laid:
    """Times that are all read, put on standard time.

    timezone: of the household, for times that say nothing. in_utc: a heading says that they are in UTC.
    """
    face_s = np.array(times.face_s, dtype=np.int64)
    zone = ZoneInfo(timezone)
    year = datetime.date.fromordinal(int(face_s[0]) // DAY_S + _EPOCH).year
    here_s = standard_offset_s(zone, year)
    # What is put on another clock is put on one whose midnight parts two steps.
    standard_s = round(here_s / step_s) * step_s
    given = [one for one in times.offset_s if one is not None]
    if len(given) == len(face_s):
        utc_s = face_s - np.array(given, dtype=np.int64)
        if len(set(given)) == 1 and given[0]:
            return Laid(face_s, given[0], ())
        return Laid(utc_s + standard_s, standard_s, (), given[0] if len(set(given)) == 1 else None)
    if clock == "utc" or (clock == "auto" and in_utc):
        return Laid(face_s + standard_s, standard_s, ("Its times are in UTC.",), 0)
    wall_utc_s = _from_wall(face_s, zone)
    if wall_utc_s is not None and clock in ("auto", "wall"):
        as_wall, as_standard = (int((np.diff(one) != step_s).sum()) for one in (wall_utc_s, face_s))
        if clock == "wall" or as_wall < as_standard:
            note = f"Its times follow the clock on the wall in {timezone}, with summer time."
            return Laid(wall_utc_s + standard_s, standard_s, (f"{note} They were put on standard time.",))
    shown = offset_words(here_s / HOUR_S)
    note = f"Its times say no offset from UTC; they were taken as standard time here, {shown}, all year."
    return Laid(face_s, here_s, (note,) if clock == "auto" else ())


def _from_wall(face_s: Whole, zone: ZoneInfo) -> Whole | None:
    """UTC of a wall clock's times; of a time that comes twice the second is later. None where clocks never change."""
    days = sorted({int(one) // DAY_S for one in face_s})
    first, last = (datetime.date.fromordinal(days[end] + _EPOCH) for end in (0, -1))
    offsets = {
        datetime.datetime(year, month, 1, tzinfo=zone).utcoffset()
        for year in range(first.year, last.year + 1)
        for month in range(1, 13)
    }
    if len(offsets) < 2:
        return None
    utc_s = np.empty_like(face_s)
    for place, face in enumerate(face_s.tolist()):
        naive = datetime.datetime(1970, 1, 1) + datetime.timedelta(seconds=face)
        offset = naive.replace(tzinfo=zone).utcoffset() or datetime.timedelta()
        utc_s[place] = face - offset.total_seconds()
        if place and utc_s[place] <= utc_s[place - 1]:
            offset = naive.replace(tzinfo=zone, fold=1).utcoffset() or datetime.timedelta()
            utc_s[place] = face - offset.total_seconds()
    return utc_s


def begins(
    clock_s: Whole, step_s: int, first_face_s: int, has_24: bool, stamps: Stamps
) -> tuple[Whole, tuple[str, ...]]:
    """When steps begin, out of the times they are given by, and what was taken to be so.

    first_face_s: the first time as it is written. has_24: some time is written as 24:00.
    """
    past_s = int(first_face_s % step_s)
    if past_s:
        minutes = past_s // 60
        return clock_s - past_s, (f"Its times stand {minutes} minutes into their steps.",)
    at_end = has_24 or first_face_s % DAY_S == step_s
    if stamps == "end" or (stamps == "auto" and at_end):
        return clock_s - step_s, ("A time stands at the end of its step.",)
    return clock_s, ("A time stands at the beginning of its step.",)
