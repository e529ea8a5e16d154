"""Plain tables of time and irradiance, as measuring services and loggers write them: CSV, whatever its separator."""

import csv
import datetime
import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from app.engine.results import Floats
from app.engine.weather.checks import note_values
from app.engine.weather.columns import SUN, Column, column_of
from app.engine.weather.rows import DAY_S, HOUR_S, Clock, Findings, Rows, Stamps, Whole, figure_of, refused
from app.engine.weather.times import Times, begins, on_standard_time, read_times
from app.engine.weather.typical import epoch_s, in_one_year
from app.household.household import Site
from app.household.measured import LONGEST_STEP_S, SHORTEST_STEP_S

_EPOCH = datetime.date(1970, 1, 1)
_SEPARATORS = (";", "\t", ",")
_HEADINGS_WITHIN = 100  # lines
_PLACE = re.compile(r"(latitude|longitude)[^\d\-+]{0,40}([-+]?\d+(?:[.,]\d+)?)", re.IGNORECASE)
_DIGITS = re.compile(r"\d")
_THOUSANDS = re.compile(r"[-+]?\d{1,3}(,\d{3})+")
HOW = (
    "it needs one column of times and, in W/m², GHI, DNI and DHI (or GHI alone), or POA for the plane of the panels; "
    "name the columns so in the first line"
)


def read_plain(lines: list[str], name: str, site: Site, clock: Clock, stamps: Stamps) -> Rows:
    """Read a table. name: what it is called where it does not say. site: where the household is.

    Raises HouseholdFaults with everything that cannot be read.
    """
    starts, separator, columns = _headings(lines)
    by_what = _by_what(columns, starts + 1)
    findings = Findings()
    named = len(_parted(lines[starts], separator))
    cells = list(_cells(lines, starts + 1, separator, max(one.place for one in columns), named, findings))
    if not cells:
        findings.raise_if_any()
        raise refused("nothing follows its headings; it needs a line for each hour at least")
    numbers = [number for number, _ in cells]
    times = read_times([_time_text(row, by_what) for _, row in cells], numbers, findings)
    values = {
        one.what: np.array(list(_figures(cells, one, separator, findings)), dtype=np.float64) * one.factor
        for one in columns
        if one.what in (*SUN, "air")
    }
    if findings.found:
        # What else is wrong is told at once, so that a file need not be sent line by line.
        for what in values.keys() & set(SUN):
            note_values(what, values[what], np.array(numbers), findings)
    findings.raise_if_any()
    air_c = values.pop("air", None)
    step_s = _step_s(times)
    for one in columns:
        if one.is_energy:
            values[one.what] *= HOUR_S / step_s
    in_utc = re.search(r"\b(utc|gmt)\b", " ".join(one.name for one in columns), re.IGNORECASE) is not None
    laid = on_standard_time(times, step_s, site.timezone, clock, in_utc)
    first_s = times.face_s[0] or 0
    has_24 = any(re.search(r"[T ]24", _time_text(row, by_what)) for _, row in cells[: DAY_S // step_s + 1])
    begin_s, told = begins(laid.clock_s, step_s, first_s, has_24, stamps)
    latitude, longitude = _place(lines[:starts])
    rows = Rows(
        kind="CSV",
        source=name,
        utc_offset_h=laid.utc_offset_s / 3600,
        read_as_h=None if laid.read_as_s is None else laid.read_as_s / 3600,
        step_s=step_s,
        lines=np.array(numbers, dtype=np.int64),
        clock_s=begin_s,
        laid_s=begin_s,
        sun_w_m2={what: values[what] for what in SUN if what in values},
        air_c=air_c,
        latitude=latitude,
        longitude=longitude,
        notes=[*laid.notes, *told],
    )
    _put_in_one_year(rows, np.array(times.face_s, dtype=np.int64), laid.clock_s)
    return rows


def _put_in_one_year(rows: Rows, face_s: Whole, clock_s: Whole) -> None:
    """Lay the months of a typical year, which come out of many years, into one; a record that is none stays as it is.

    face_s: the times as they are written, by which the years change. clock_s: the same on the record's clock.
    """
    begins_s = face_s + rows.clock_s - clock_s
    days, second_s = np.divmod(begins_s, DAY_S)
    written = [_EPOCH + datetime.timedelta(days=int(day)) for day in days]
    laid_s = epoch_s(in_one_year(written)) + second_s
    if np.array_equal(laid_s, begins_s) or (np.diff(laid_s) != rows.step_s).any():
        return
    year = (_EPOCH + datetime.timedelta(days=int(laid_s[0] // DAY_S))).year
    whole_s = (datetime.date(year + 1, 1, 1) - datetime.date(year, 1, 1)).days * DAY_S
    begin_s = int(laid_s[0]) // DAY_S * DAY_S
    # On the record's clock some hours of the last day may be the first of the year, and the other way round.
    laid_s = (laid_s + clock_s - face_s - begin_s) % whole_s + begin_s
    order = np.argsort(laid_s, kind="stable")
    rows.lines, rows.clock_s, rows.laid_s = rows.lines[order], rows.clock_s[order], laid_s[order]
    rows.sun_w_m2 = {what: values[order] for what, values in rows.sun_w_m2.items()}
    rows.air_c = None if rows.air_c is None else rows.air_c[order]
    rows.is_typical = True


def _headings(lines: list[str]) -> tuple[int, str, list[Column]]:
    """Where the names of the columns stand, what parts them, and those that are understood."""
    best: tuple[int, int, str, list[Column]] | None = None
    for number, line in enumerate(lines[:_HEADINGS_WITHIN]):
        for separator in _SEPARATORS:
            names = _parted(line.lstrip("#"), separator)
            columns = [one for place, cell in enumerate(names) if (one := column_of(place, cell))]
            whats = {one.what for one in columns}
            understood = whats & {"time", "year"} and whats & set(SUN)
            if understood and (best is None or len(columns) > best[0]):
                best = (len(columns), number, separator, columns)
    if best is None:
        raise refused(f"no line names columns of time and sun; {HOW}")
    return best[1], best[2], best[3]


def _parted(line: str, separator: str) -> list[str]:
    """The cells of a line; within quotes nothing parts them."""
    if '"' not in line:
        return [cell.strip() for cell in line.split(separator)]
    try:
        cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    except csv.Error:  # more in one cell than anybody means
        cells = line.split(separator)
    return [cell.strip().strip('"').strip() for cell in cells]


def _by_what(columns: Sequence[Column], line: int) -> dict[str, Column]:
    """The columns by what they hold.

    Raises HouseholdFaults where one is lacking, or there twice, or in a unit that is no use.
    """
    findings = Findings()
    found: dict[str, Column] = {}
    for one in columns:
        if one.what == "time" and "time" in found:
            continue  # a day and, beside it, a time of day; or the same in another zone
        if other := found.get(one.what):
            findings.add(f"{other.name!r} and {one.name!r} hold the same; leave one of them out", line)
        found[one.what] = one
        if one.unit_is_refused:
            right = "°C" if one.what == "air" else "W/m²"
            findings.add(f"{one.name!r} is in a unit that is not understood; give it in {right}", line)
    if "time" not in found and not {"year", "month", "hour"} <= found.keys():
        findings.add(f"no column holds the time; {HOW}", line)
    if not found.keys() & set(SUN):
        findings.add(f"no column holds the sun; {HOW}", line)
    elif not found.keys() & {"ghi", "plane"} and not {"dni", "dhi"} <= found.keys():
        only = next(found[what].name for what in SUN if what in found)
        findings.add(f"{only!r} alone is not enough; give GHI, or DNI and DHI, or POA", line)
    findings.raise_if_any()
    return found


def _cells(
    lines: list[str], starts: int, separator: str, last: int, named: int, findings: Findings
) -> Iterator[tuple[int, list[str]]]:
    """The lines of figures with their numbers.

    starts: the first. last: place of the last column that is needed. named: how many columns have a heading.

    What follows the figures without any in it, such as a legend, is left out, and so is a line of units before them.
    """
    ends = len(lines)
    while ends > starts and not _looks_like_figures(lines[ends - 1], separator):
        ends -= 1
    for number, line in enumerate(lines[starts:ends], starts + 1):
        if not line.strip():
            continue
        row = _parted(line, separator)
        if number == starts + 1 and not any(_DIGITS.search(cell) and cell[:1].isdigit() for cell in row):
            continue
        if len(row) <= last:
            values = "1 value" if len(row) == 1 else f"{len(row)} values"
            findings.add(f"has {values}; it needs {last + 1}, as the line of headings has", number)
        elif any(row[named:]):
            findings.add(f"has {len(row)} values; the line of headings names {named}", number)
        else:
            yield number, row


def _looks_like_figures(line: str, separator: str) -> bool:
    return separator in line and _DIGITS.match(line.strip().strip('"')) is not None


def _time_text(row: list[str], by_what: dict[str, Column]) -> str:
    """A line's time in one text, wherever its parts stand."""
    if "time" in by_what:
        place = by_what["time"].place
        text = row[place]
        after = row[place + 1] if place + 1 < len(row) else ""
        # A day with its time of day in the column beside it.
        if ":" not in text and len(text) < 11 and re.fullmatch(r"\d\d?:\d\d(:\d\d)?(\s*[AaPp][Mm])?", after):
            return f"{text} {after}"
        if "hour" in by_what and ":" not in text:
            minute = row[by_what["minute"].place] if "minute" in by_what else "00"
            return f"{text} {row[by_what['hour'].place]}:{minute.zfill(2)}"
        return text
    day = row[by_what["day"].place] if "day" in by_what else "1"
    year, month, hour = (row[by_what[part].place] for part in ("year", "month", "hour"))
    minute = row[by_what["minute"].place] if "minute" in by_what else "0"
    return f"{year}-{month.zfill(2)}-{day.zfill(2)} {hour.zfill(2)}:{minute.zfill(2)}"


def _figures(cells: list[tuple[int, list[str]]], column: Column, separator: str, findings: Findings) -> Iterator[float]:
    for number, row in cells:
        text = row[column.place]
        value = figure_of(text.replace(",", "."))
        if separator == "," and _THOUSANDS.fullmatch(text):
            value = None  # who parts cells by commas may part thousands by them too
        if value is None and column.what != "air":
            shown = f"{text[:30]!r} is no number" if text else "nothing is given"
            findings.add(f"{column.name}: {shown}", number)
        yield np.nan if value is None else value


def _step_s(times: Times) -> int:
    """The usual time from one line to the next.

    Raises HouseholdFaults where there is none a day can be made of.
    """
    faces: Floats = np.array(times.face_s, dtype=np.int64)
    apart = Counter(np.diff(faces).tolist())
    step_s, _ = apart.most_common(1)[0] if apart else (0, 0)
    if step_s <= 0:
        raise refused("its times do not rise from line to line; put the lines in the order of time")
    if step_s > 3600:
        raise refused(f"it has a line every {step_s / 3600:g} hours; it takes one an hour at least to see a day")
    if DAY_S % step_s:
        raise refused(f"it has a line every {step_s} seconds, which does not divide a day evenly")
    if math.lcm(step_s, SHORTEST_STEP_S) > LONGEST_STEP_S:
        raise refused(f"it has a line every {step_s} seconds; whole minutes that divide an hour can be taken")
    return int(step_s)


def _place(lines: Sequence[str]) -> tuple[float | None, float | None]:
    """Latitude and longitude, where a line before the table tells them."""
    found = {what.lower(): float(text.replace(",", ".")) for line in lines for what, text in _PLACE.findall(line)}
    latitude, longitude = found.get("latitude"), found.get("longitude")
    if latitude is None or longitude is None or abs(latitude) > 90 or abs(longitude) > 180:
        return None, None
    return latitude, longitude
