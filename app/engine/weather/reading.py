"""A weather file becomes a record, or is refused with everything that is wrong with it."""

import datetime
from pathlib import PurePath

import numpy as np

from app.engine.results import Floats
from app.engine.weather.checks import check_place, check_times, check_values
from app.engine.weather.completing import complete
from app.engine.weather.night import refuse_sun_at_night
from app.engine.weather.plain import read_plain
from app.engine.weather.record import HOURS, Record
from app.engine.weather.rows import DAY_S, HOUR_S, Clock, Findings, Rows, Stamps, refused
from app.engine.weather.typical import is_epw, is_tmy2, is_tmy3, read_epw, read_tmy2, read_tmy3
from app.household.household import Site
from app.household.measured import SHORTEST_STEP_S
from app.household.names import shortened

LARGEST_BYTES = 5_000_000  # three typical years; a year of five-minute steps
LONGEST_SOURCE = 80
_PACKED = (b"PK\x03\x04", b"\x1f\x8b", b"7z\xbc\xaf", b"Rar!", b"BZh", b"\xfd7zXZ")


def read_record(data: bytes, filename: str, site: Site, *, clock: Clock = "auto", stamps: Stamps = "auto") -> Record:
    """Read an EPW, TMY3 or TMY2 file, or a plain table of time with GHI, DNI, DHI or plane of array.

    site: where the household is. clock, stamps: how the times of a plain table are meant.
    Raises HouseholdFaults, with the number of every line in which something is wrong.
    """
    lines = _text(data).splitlines()
    while lines and not lines[0].strip():
        del lines[0]
    if not lines:
        raise refused("this file is empty")
    name = shortened(PurePath(filename.replace("\\", "/")).stem.strip() or "a weather file", LONGEST_SOURCE)
    if is_epw(lines):
        rows = read_epw(lines)
    elif is_tmy3(lines):
        rows = read_tmy3(lines)
    elif is_tmy2(lines):
        rows = read_tmy2(lines)
    else:
        rows = read_plain(lines, name, site, clock, stamps)
    rows.source = shortened(rows.source.strip() or name, LONGEST_SOURCE)
    findings = Findings()
    check_place(rows, site, findings)
    findings.raise_if_any()
    check_values(rows, findings)
    values_hold = not findings.found
    check_times(rows, findings)
    latitude = site.latitude if rows.latitude is None else rows.latitude
    longitude = site.longitude if rows.longitude is None else rows.longitude
    if values_hold:
        refuse_sun_at_night(rows, latitude, longitude, findings)
    findings.raise_if_any()
    complete(rows, latitude, longitude)
    return _whole_days(rows)


def _text(data: bytes) -> str:
    """The file as text, whatever wrote it.

    Raises HouseholdFaults for what is none.
    """
    if not data.strip(b"\x00 \r\n\t"):
        raise refused("this file is empty")
    if data.startswith(_PACKED):
        raise refused("this file is packed; unpack it first and give the file inside")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", "replace")
    if b"\x00" in data:
        raise refused("this is no text file; give the EPW, TMY3 or CSV file itself, not a spreadsheet or a picture")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        # Older programs write so. Only the signs for degrees and squares differ, and both are left out of names.
        text = data.decode("latin-1")
    odd = sum(not one.isprintable() and one not in "\r\n\t\x0c" for one in text[:20_000])
    if odd > 20:
        raise refused("this is no text file; give the EPW, TMY3 or CSV file itself, not a spreadsheet or a picture")
    return text


def _whole_days(rows: Rows) -> Record:
    """The days a record holds whole, its steps of five minutes at least.

    Raises HouseholdFaults where there is none.
    """
    first = -(rows.laid_s[0] // -DAY_S) * DAY_S
    last = (rows.laid_s[-1] + rows.step_s) // DAY_S * DAY_S
    kept = (rows.laid_s >= first) & (rows.laid_s < last)
    if not kept.any():
        raise refused("it holds no whole day, from midnight to midnight on its own clock; a plan takes a whole day")
    notes = list(rows.notes)
    if not kept.all():
        notes.append("Days it has only a part of, at its beginning or end, are left out.")
    step_s = _step_kept_s(rows.step_s)
    if step_s != rows.step_s:
        notes.append(f"Its steps of {rows.step_s} s were put together to {step_s // 60} minutes.")
    days = (last - first) // DAY_S

    def by_day(values: Floats) -> Floats:
        return np.asarray(values[kept].reshape(days, DAY_S // step_s, step_s // rows.step_s).mean(axis=2))

    begins = rows.clock_s[kept][:: DAY_S // rows.step_s]
    return Record(
        source=rows.source,
        kind=rows.kind,
        utc_offset_h=rows.utc_offset_h,
        step_s=step_s,
        on=tuple(_date(int(one)) for one in begins),
        sun_w_m2={name: by_day(values) for name, values in rows.sun_w_m2.items()},
        air_c=_hourly(rows, kept, int(days)),
        latitude=rows.latitude,
        longitude=rows.longitude,
        is_typical=rows.is_typical and not np.array_equal(rows.laid_s, rows.clock_s),
        notes=tuple(notes),
    )


def _step_kept_s(step_s: int) -> int:
    """The shortest step of whole fives of minutes that is made of whole steps and divides a day."""
    return next(long for long in range(step_s, DAY_S, step_s) if long % SHORTEST_STEP_S == 0 and DAY_S % long == 0)


def _hourly(rows: Rows, kept: "np.ndarray[tuple[int], np.dtype[np.bool_]]", days: int) -> Floats | None:
    """Temperatures at the whole hours, shape (days, 24): linear between those that are told."""
    if rows.air_c is None:
        return None
    told = rows.air_c[kept].reshape(days, -1)
    at_h = (np.arange(told.shape[1]) + rows.air_at) * rows.step_s / HOUR_S
    return np.array([np.interp(np.arange(HOURS), at_h, day, period=HOURS) for day in told])


def _date(seconds: int) -> str:
    return (datetime.date(1970, 1, 1) + datetime.timedelta(seconds=seconds)).isoformat()
