"""The formats in which typical years are published, by the columns their descriptions give: EPW, TMY3 and TMY2.

EPW: EnergyPlus, Auxiliary Programs, "Weather Converter Program", data dictionary. TMY3: Wilcox and Marion 2008,
NREL/TP-581-43156, tables 1-2 and 1-3. TMY2: Marion and Urban 1995, User's Manual for TMY2s, tables 3-1 and 3-2. In
all three irradiance is the mean over the hour before the time, and a temperature holds at the time; the clock keeps
local standard time, and hour 24 ends the day.
"""

import datetime
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from app.engine.weather.rows import DAY_S, HOUR_S, Findings, Kind, Rows, Whole, figure_of, refused

# EPW: what is given where nothing was measured.
MISSING_SUN, MISSING_AIR_C = 9999.0, 99.9
_ANY_YEAR, _ANY_LEAP_YEAR = 2001, 2000


class _Cells(NamedTuple):
    """One line, as texts. end_s: seconds of its day at which its step ends."""

    line: int
    date: tuple[str, str, str]  # year, month, day
    end_s: int | None
    ghi: str
    dni: str
    dhi: str
    air: str


class _Header(NamedTuple):
    source: str
    latitude: str
    longitude: str
    offset_h: str
    step_s: int = HOUR_S


def is_epw(lines: list[str]) -> bool:
    """Whether a file begins as an EPW file does."""
    return lines[0].upper().startswith("LOCATION,")


def is_tmy3(lines: list[str]) -> bool:
    """Whether a file's second line names the columns of a TMY3 file."""
    return len(lines) > 1 and lines[1].upper().startswith("DATE (MM/DD/YYYY),TIME (HH:MM)")


def is_tmy2(lines: list[str]) -> bool:
    """Whether a file's second line looks like one of a TMY2 file: no separators, 142 characters."""
    return len(lines) > 1 and len(lines[1].rstrip()) in range(138, 146) and lines[1].strip()[:8].isdigit()


def read_epw(lines: list[str]) -> Rows:
    """Read an EPW file.

    Raises HouseholdFaults.
    """
    place = lines[0].split(",")
    if len(place) < 10:
        raise refused("line 1: an EPW file names the place, its latitude, longitude and time zone here")
    starts = next((number for number, line in enumerate(lines) if _is_data(line)), None)
    if starts is None:
        raise refused("this EPW file has no hours; nothing follows its headings")
    periods = next((line.split(",") for line in lines[:starts] if line.upper().startswith("DATA PERIODS")), [])
    per_hour = int(periods[2]) if len(periods) > 2 and periods[2].strip() in _STEPS_AN_HOUR else 1
    source = ", ".join(part.strip() for part in (place[1], place[2], place[3]) if part.strip(" -"))
    header = _Header(source, place[6], place[7], place[8], HOUR_S // per_hour)

    def cells(number: int, line: str) -> _Cells | None:
        given = line.split(",")
        if len(given) < 16:
            return None
        end_s = _whole(given[3])
        if end_s is not None:
            end_s = end_s * HOUR_S
            minute = _whole(given[4])
            if per_hour > 1 and minute is not None:
                end_s += minute * 60 - HOUR_S
        return _Cells(number, (given[0], given[1], given[2]), end_s, given[13], given[14], given[15], given[6])

    return _rows("EPW", header, lines, starts, cells, "35 values, the irradiance 14th to 16th")


def read_tmy3(lines: list[str]) -> Rows:
    """Read a TMY3 file.

    Raises HouseholdFaults.
    """
    place = [part.strip().strip('"') for part in lines[0].split(",")]
    if len(place) < 7:
        raise refused("line 1: a TMY3 file names the place, its time zone, latitude and longitude here")
    header = _Header(f"{place[1].title()}, {place[2]}", place[4], place[5], place[3])
    names = [name.strip().upper() for name in lines[1].split(",")]
    wanted = ("GHI (W/M^2)", "DNI (W/M^2)", "DHI (W/M^2)", "DRY-BULB (C)")
    if lacking := [name for name in wanted if name not in names]:
        raise refused(f"line 2: this TMY3 file lacks the column {lacking[0].replace('W/M', 'W/m')}")
    ghi, dni, dhi, air = (names.index(name) for name in wanted)

    def cells(number: int, line: str) -> _Cells | None:
        given = line.split(",")
        if len(given) <= max(ghi, dni, dhi, air):
            return None
        month, day, year = (*given[0].split("/"), "", "", "")[:3]
        hour, _, minute = given[1].partition(":")
        end_h, past = _whole(hour), _whole(minute)
        end_s = None if end_h is None or past is None else end_h * HOUR_S + past * 60
        return _Cells(number, (year, month, day), end_s, given[ghi], given[dni], given[dhi], given[air])

    return _rows("TMY3", header, lines, 2, cells, "as many values as line 2 has names")


def read_tmy2(lines: list[str]) -> Rows:
    """Read a TMY2 file.

    Raises HouseholdFaults.
    """
    head = lines[0].split()
    if len(head) < 11:
        raise refused("line 1: a TMY2 file names the place, its time zone, latitude and longitude here")
    # The place may have several words; what follows it is counted from the end.
    state, zone, north, north_deg, north_min, east, east_deg, east_min, _ = head[-9:]
    source = f"{' '.join(head[1:-9]).title()}, {state}"
    latitude = _degrees(north_deg, north_min, north.upper() == "N")
    longitude = _degrees(east_deg, east_min, east.upper() == "E")

    def cells(number: int, line: str) -> _Cells | None:
        if len(line) < 71:
            return None
        tenths = figure_of(line[67:71])
        air = str(MISSING_AIR_C if tenths is None or tenths == 9999 else tenths / 10)
        hour = _whole(line[7:9])
        end_s = None if hour is None else hour * HOUR_S
        date = (f"19{line[1:3].strip()}", line[3:5], line[5:7])
        return _Cells(number, date, end_s, line[17:21], line[23:27], line[29:33], air)

    return _rows("TMY2", _Header(source, latitude, longitude, zone), lines, 1, cells, "142 characters")


_STEPS_AN_HOUR = {"1", "2", "3", "4", "6", "12"}


def _is_data(line: str) -> bool:
    return line[:4].isdigit() and line.count(",") > 5


def _degrees(whole: str, minutes: str, positive: bool) -> str:
    try:
        return str((float(whole) + float(minutes) / 60) * (1 if positive else -1))
    except ValueError:
        return ""


def _whole(text: str) -> int | None:
    text = text.strip()
    return int(text) if text.isdecimal() and len(text) < 5 else None


def _rows(
    kind: Kind, header: _Header, lines: list[str], starts: int, cells: Callable[[int, str], _Cells | None], shape: str
) -> Rows:
    """The steps of a file. starts: its first line of figures. cells: takes one apart; None for one that is too short.

    Raises HouseholdFaults with everything that cannot be read.
    """
    findings = Findings()
    latitude, longitude, offset_h = (figure_of(text) for text in (header.latitude, header.longitude, header.offset_h))
    if latitude is None or longitude is None or not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        findings.add("latitude and longitude must be degrees", 1)
    if offset_h is None or not -14 <= offset_h <= 14:
        findings.add(f"{header.offset_h.strip()!r} is no time zone; it is in hours from UTC, such as -5 or 1", 1)
    given: list[_Cells] = []
    days: list[datetime.date] = []
    for number, line in enumerate(lines[starts:], starts + 1):
        if not line.strip():
            continue
        found = cells(number, line)
        if found is None:
            findings.add(f"too short; a line of an {kind} file has {shape}", number)
            continue
        day = _day(found.date)
        if day is None:
            findings.add(f"{'-'.join(part.strip() for part in found.date)!r} is no day", number)
        elif found.end_s is None or not header.step_s <= found.end_s <= DAY_S:
            findings.add("the hour must be from 1 to 24", number)
        else:
            given.append(found)
            days.append(day)
    sun = {
        name: np.array(list(_numbers(given, name, findings)), dtype=np.float64) for name in ("ghi", "dni", "dhi")
    }  # fmt: skip
    air_c = np.array([_air_c(one.air) for one in given], dtype=np.float64)
    findings.raise_if_any()
    if not given:
        raise refused(f"this {kind} file has no hours; nothing follows its headings")
    assert latitude is not None and longitude is not None and offset_h is not None
    begin_s = np.array([(one.end_s or 0) - header.step_s for one in given], dtype=np.int64)
    return Rows(
        kind=kind,
        source=header.source,
        utc_offset_h=offset_h,
        step_s=header.step_s,
        lines=np.array([one.line for one in given], dtype=np.int64),
        clock_s=epoch_s(days) + begin_s,
        laid_s=epoch_s(in_one_year(days)) + begin_s,
        sun_w_m2=sun,
        air_c=air_c,
        air_at=1.0,
        latitude=latitude,
        longitude=longitude,
        is_typical=True,
    )


def _numbers(given: list[_Cells], name: str, findings: Findings) -> Iterator[float]:
    for one in given:
        text = getattr(one, name)
        value = figure_of(text)
        if value is None:
            findings.add(f"{name.upper()}: {text.strip()!r} is no number", one.line)
        elif value >= MISSING_SUN:
            findings.add(f"{name.upper()} is missing ({text.strip()} says that nothing was measured)", one.line)
        yield 0.0 if value is None else value


def _air_c(text: str) -> float:
    value = figure_of(text)
    return np.nan if value is None or not -80 <= value < MISSING_AIR_C else value


def _day(date: tuple[str, str, str]) -> datetime.date | None:
    year, month, day = (_whole(part) for part in date)
    try:
        return datetime.date(year or 0, month or 0, day or 0)
    except ValueError:
        return None


def in_one_year(days: list[datetime.date]) -> list[datetime.date]:
    """The months of a typical year, which come out of many years, in one; a file of several years stays as it is."""
    if not days:
        return days
    months = [days[0], *(now for before, now in pairwise(days) if now != before)]
    if all((now - before).days == 1 for before, now in pairwise(months)):
        return days  # nothing is put together: days as they were measured
    if len({(one.month, one.day) for one in months}) < len(months):
        return days  # a day of the year that comes again: real years, one after the other
    has_leap_day = any((one.month, one.day) == (2, 29) for one in months)
    year = _ANY_LEAP_YEAR if has_leap_day else _ANY_YEAR
    return [one.replace(year=year) for one in days]


def epoch_s(days: list[datetime.date]) -> Whole:
    """When days begin, seconds since 1970."""
    epoch = datetime.date(1970, 1, 1).toordinal()
    return np.array([(one.toordinal() - epoch) * DAY_S for one in days], dtype=np.int64)
