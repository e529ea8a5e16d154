"""Weather files as people have them: understood, or refused with what is wrong in which line."""

import datetime
import io
import zipfile
from collections.abc import Sequence
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.engine.weather import Clock, Record, Stamps, ambient_points, read_record
from app.household.day import day_frame
from app.household.errors import HouseholdFaults
from app.household.household import Site
from tests.oracle.profiles import examples
from tests.weather_files import LATITUDE, LONGITUDE, epw, high_sun, table, typical_year

DUBLIN = ZoneInfo("Europe/Dublin")
HOME = Site(latitude=LATITUDE, longitude=LONGITUDE, timezone="Europe/Dublin")
MAY = datetime.datetime(2026, 5, 1)


def read(lines: Sequence[str] | str | bytes, site: Site = HOME, **meant: str) -> Record:
    content = lines if isinstance(lines, bytes) else ("".join(f"{one}\n" for one in lines)).encode()
    clock: Clock = meant.get("clock", "auto")  # type: ignore[assignment]
    stamps: Stamps = meant.get("stamps", "auto")  # type: ignore[assignment]
    return read_record(content, "C:\\data\\Roof of 2026.csv", site, clock=clock, stamps=stamps)


def faults(lines: Sequence[str] | str | bytes, site: Site = HOME) -> list[str]:
    with pytest.raises(HouseholdFaults) as refused:
        read(lines, site)
    return [fault.why for fault in refused.value.faults]


def changed(lines: list[str], **by_line: str) -> list[str]:
    """Some lines written otherwise, by their numbers as an editor shows them: `line_21="..."`."""
    lines = list(lines)
    for name, text in by_line.items():
        lines[int(name.removeprefix("line_")) - 1] = text
    return lines


def daily_wh_m2() -> float:
    return sum(high_sun(MAY + datetime.timedelta(hours=hour)) for hour in range(24))


@pytest.mark.parametrize(
    ("heading", "written", "separator"),
    [
        ("time,GHI (W/m2),Temperature (°C)", "%Y-%m-%d %H:%M", ","),
        ("Timestamp\tglobal horizontal irradiance\ttemp_air", "%Y-%m-%dT%H:%M:%SZ", "\t"),
        ("Zeit;G(h) [W/m²];T2m (°C)", "%d.%m.%Y %H:%M", ";"),
        ("time;ghi_w_m2;Air temperature", "%Y%m%d:%H%M", ";"),
        ("Date Time;GHI;Tamb", "%Y/%m/%d %I:%M %p", ";"),
    ],
)
def test_the_usual_ways_to_write_a_table(heading: str, written: str, separator: str) -> None:
    """Names of columns, separators, decimal comma and dates: the same day comes out of each."""
    record = read(table(MAY, 48, heading=heading, written=written, separator=separator))

    assert record.on == ("2026-05-01", "2026-05-02")
    assert record.daily_wh_m2 == pytest.approx([daily_wh_m2()] * 2, abs=1)
    assert record.air_c is not None
    assert (record.air_c == 12.5).all()
    assert (record.source, record.utc_offset_h, record.step_s) == ("Roof of 2026", 0, 3600)


def test_what_stands_in_quotes_is_one_cell() -> None:
    """Figures with a decimal comma among commas, and a comma in a heading."""
    lines = table(MAY, 48, heading='time,"Temperature, °C",GHI (W/m2)')
    for number, line in enumerate(lines[1:], 1):
        time, ghi, _ = line.split(",")
        lines[number] = f'{time},"12,5","{ghi.replace(".", ",")}"'
    record = read(lines)

    assert record.daily_wh_m2 == pytest.approx([daily_wh_m2()] * 2, abs=1)
    assert record.air_c is None or (record.air_c == 12.5).all()


@pytest.mark.parametrize(
    ("unit", "per_step", "step_min"), [("kWh/m2", 0.001, 60), ("Wh/m²", 1, 60), ("Wh/m2", 0.25, 15)]
)
def test_energy_of_a_step_becomes_its_mean_power(unit: str, per_step: float, step_min: int) -> None:
    begin = MAY
    times = [begin + datetime.timedelta(minutes=step_min * number) for number in range(48 * 60 // step_min)]
    rows = [f"{at:%Y-%m-%d %H:%M},{high_sun(at.replace(minute=0)) * per_step}" for at in times]
    record = read([f"time,GHI ({unit})", *rows])

    assert record.daily_wh_m2 == pytest.approx([daily_wh_m2()] * 2, abs=1)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_whatever_program_wrote_it(encoding: str) -> None:
    text = "\r\n".join(table(MAY, 24, heading="Time,Global radiation [W/m²],Température (°C)"))

    assert read(text.encode(encoding)).daily_wh_m2[0] == pytest.approx(daily_wh_m2(), abs=1)


def test_days_and_hours_in_columns_of_their_own_and_headings_above() -> None:
    lines = ["Latitude: 53.0", "Longitude: -9.5", "", "date,time,GHI,DNI,DHI"]
    lines += [f"2026-05-01,{hour:02d}:00,{high_sun(MAY.replace(hour=hour)):.1f},1,2" for hour in range(24)]
    apart = ["year,month,day,hour,minute,GHI"]
    apart += [f"2026,5,1,{hour},0,{high_sun(MAY.replace(hour=hour)):.1f}" for hour in range(24)]

    record = read([*lines, "", "GHI: W/m2, a legend"])
    assert (record.latitude, record.longitude) == (53.0, -9.5)
    assert (record.sun_w_m2["dni"] == 1).all()
    assert read(apart).daily_wh_m2 == pytest.approx(record.daily_wh_m2)


def test_hours_that_end_at_24() -> None:
    """A time then stands at the end of its hour, and the sun is not an hour late."""
    lines = ["time,GHI"]
    lines += [f"2026-05-01 {hour + 1:02d}:00,{high_sun(MAY.replace(hour=hour)):.1f}" for hour in range(24)]

    ended = read(lines)
    assert "A time stands at the end of its step." in ended.notes
    assert np.argmax(ended.sun_w_m2["ghi"][0]) == np.argmax([high_sun(MAY.replace(hour=hour)) for hour in range(24)])


def test_what_was_taken_wrong_can_be_told() -> None:
    """The same times, at the end of their steps, and on the clock on the wall of a summer."""
    lines = table(MAY, 72)
    first = int(np.argmax(read(lines).sun_w_m2["ghi"][1]))

    assert int(np.argmax(read(lines, stamps="end").sun_w_m2["ghi"][1])) == first - 1
    assert int(np.argmax(read(lines, clock="wall").sun_w_m2["ghi"][1])) == first - 1
    assert read(lines, clock="utc").utc_offset_h == 0


@pytest.mark.parametrize("change", [datetime.datetime(2026, 3, 28), datetime.datetime(2026, 10, 24)])
def test_a_clock_on_the_wall_is_recognised_by_its_change(change: datetime.datetime) -> None:
    """An hour that is missing, or there twice, on the very night: put on standard time, and said so."""
    start = change - (DUBLIN.utcoffset(change) or datetime.timedelta())
    record = read(table(start, 96, zone=DUBLIN))

    assert any("follow the clock on the wall in Europe/Dublin" in note for note in record.notes)
    noons = {int(np.argmax(day)) for day in record.sun_w_m2["ghi"]}
    assert len(noons) == 1
    # The same times on a household without summer time are a gap, or a time twice.
    assert faults(table(start, 96, zone=DUBLIN), Site(latitude=LATITUDE, longitude=LONGITUDE, timezone="UTC"))


@pytest.mark.parametrize("written", ["%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M%z"])
@pytest.mark.parametrize(("timezone", "offset_h"), [("Asia/Kolkata", 5.5), ("Asia/Kathmandu", 5.75)])
def test_a_clock_half_an_hour_off_keeps_it(written: str, timezone: str, offset_h: float) -> None:
    """Hours on the clock of the place, which no hour of UTC begins with; with the offset in every line, and without."""
    zone = ZoneInfo(timezone)
    start = datetime.datetime(2026, 5, 1, tzinfo=zone).astimezone(datetime.UTC).replace(tzinfo=None)
    lines = table(start, 48, zone=zone, written=written, sun=lambda utc: high_sun(MAY + (utc - start)))
    record = read(lines, Site(latitude=27, longitude=15 * offset_h, timezone=timezone))

    assert record.utc_offset_h == offset_h
    assert record.daily_wh_m2 == pytest.approx([daily_wh_m2()] * 2, rel=0.01)
    assert record.sun_w_m2["ghi"][0] == pytest.approx([high_sun(MAY.replace(hour=h)) for h in range(24)], abs=0.06)


def test_offsets_are_taken_at_their_word() -> None:
    """Through a clock change too: nothing is taken to be so."""
    start = datetime.datetime(2026, 10, 23, 23)
    record = read(table(start, 97, written="%Y-%m-%dT%H:%M%z", zone=DUBLIN))

    assert not any("clock" in note or "offset" in note for note in record.notes)
    assert len({int(np.argmax(day)) for day in record.sun_w_m2["ghi"]}) == 1


@pytest.mark.parametrize(
    ("by_line", "says"),
    [
        ({"line_21": "2026-05-01 19:00,bright,9"}, "line 21: GHI (W/m2): 'bright' is no number"),
        ({"line_21": "2026-05-01 19:00,,9"}, "line 21: GHI (W/m2): nothing is given"),
        ({"line_21": '2026-05-01 19:00,"1,012",9'}, "line 21: GHI (W/m2): '1,012' is no number"),
        ({"line_21": "2026-05-01 19:00,812,5,9"}, "line 21: has 4 values; the line of headings names 3"),
        ({"line_21": "2026-05-01 19:00"}, "line 21: has 1 value; it needs 3, as the line of headings has"),
        ({"line_21": "2026-02-30 19:00,0,9"}, "line 21: '2026-02-30 19:00' is not a day and time; write it as"),
        ({"line_21": "0226-05-01 19:00,0,9"}, "line 21: '0226-05-01 19:00' is not a year anybody measured in"),
        ({"line_21": "2026-05-01 18:00,0,9"}, "line 21: the same time as in line 20, 2026-05-01 18:00; give each"),
        ({"line_21": "2026-05-01 12:00,0,9"}, "line 21: goes back in time, behind 2026-05-01 18:00 in line 20"),
        ({"line_21": "2026-05-01 19:20,0,9"}, "line 21: comes 80 min after 2026-05-01 18:00, where the lines before"),
        ({"line_21": "2026-05-01 19:00,-11,9"}, "line 21: GHI is -11 W/m²; light cannot be less than nothing"),
        ({"line_14": "2026-05-01 12:00,2001,9"}, "line 14: GHI is 2001 W/m²; the sun gives at most 2000"),
    ],
)
def test_a_line_that_is_wrong_is_named(by_line: dict[str, str], says: str) -> None:
    found = faults(changed(table(MAY, 72), **by_line))

    assert any(why.startswith(says) for why in found), found


def test_everything_wrong_is_told_at_once_in_the_order_of_lines() -> None:
    lines = changed(table(MAY, 72), line_30="x,1,2", line_12="2026-05-01 10:00,y,9", line_40="2026-05-02 14:00,-99,9")
    found = faults(lines)

    assert [why.partition(":")[0] for why in found] == ["line 12", "line 30", "line 40"]


def test_of_much_that_is_wrong_the_first_is_told_and_how_much_there_is() -> None:
    found = faults([line.replace(",0.0,", ",-99,") for line in table(MAY, 72)])

    assert found[-1] == "and 46 more like these"
    assert len(found) == 9


def test_a_gap_says_what_is_missing() -> None:
    lines = table(MAY, 72)

    assert faults(lines[:20] + lines[23:]) == [
        "line 21: 3 lines are missing between 2026-05-01 18:00 and here; a record goes on without gaps"
    ]


@pytest.mark.parametrize(
    ("heading", "says"),
    [
        ("when,brightness,warmth", "no line names columns of time and sun"),
        ("time,brightness,warmth", "no line names columns of time and sun"),
        ("day,GHI,temperature", "no line names columns of time and sun"),
        ("time,DNI,temperature", "line 1: 'DNI' alone is not enough; give GHI, or DNI and DHI, or POA"),
        ("time,GHI,global radiation", "line 1: 'GHI' and 'global radiation' hold the same; leave one of them out"),
        ("time,GHI (MJ/m2),temperature", "line 1: 'GHI (MJ/m2)' is in a unit that is not understood; give it in W/m²"),
        ("time,GHI,temperature (°F)", "line 1: 'temperature (°F)' is in a unit that is not understood; give it in °C"),
    ],
)
def test_columns_that_are_wrong_or_missing(heading: str, says: str) -> None:
    assert faults(table(MAY, 48, heading=heading))[0].startswith(says)


TMY3 = "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),Dry-bulb (C)"


def zipped() -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        archive.writestr("roof.csv", "time,GHI\n")
    return held.getvalue()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "this file is empty"),
        (b"\n \n", "this file is empty"),
        (zipped(), "this file is packed; unpack it first"),
        (np.random.default_rng(1).bytes(1_000_000), "this is no text file"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(1, 32)) * 10, "this is no text file"),
        (b"time,GHI\n", "nothing follows its headings"),
        ("\n".join(table(MAY, 12)).encode(), "it holds no whole day"),
        ("\n".join(table(MAY, 9, 86_400)).encode(), "it has a line every 24 hours"),
        (
            "\n".join(table(MAY, 90, 1420, written="%Y-%m-%d %H:%M:%S")).encode(),
            "it has a line every 1420 seconds, which does not divide a day",
        ),
        ("\n".join(table(MAY, 48, written="%d/%m/%Y %H:%M")).encode(), "'01/05/2026' can be one day or another"),
        (b"LOCATION,a,b\n", "line 1: an EPW file names the place"),
        (b"LOCATION,a,b,c,d,e,53,-9,0,4\n", "this EPW file has no hours"),
        (b"time,GHI\n" + (b"2026-06-11 " + b" " * 200_000 + b"x,1\n") * 5, "line 2: "),
        (b"latitude " * 100_000 + b"\n" + b"GHI " * 100_000, "no line names columns"),
        (f"724,Town,NC,-5,36,-79,270\n{TMY3}\n".encode(), "this TMY3 file has no hours"),
    ],
)
def test_what_is_no_record_is_refused_in_words(content: bytes, says: str) -> None:
    assert faults(content)[0].startswith(says)


def test_days_of_a_year_may_be_written_month_first_where_one_tells() -> None:
    assert read(table(datetime.datetime(2026, 5, 12), 48, written="%m/%d/%Y %H:%M")).on[0] == "2026-05-12"


def test_a_little_below_nothing_at_night_is_nothing() -> None:
    record = read([line.replace(",0.0,", ",-9.5,") for line in table(MAY, 48)])

    assert record.daily_wh_m2[0] == pytest.approx(daily_wh_m2(), abs=1)
    assert "Small values below zero, as sensors give at night, count as nothing." in record.notes


def test_sun_at_night_is_a_wrong_clock() -> None:
    """The clock that would fit is named; a lamp's 20 W/m2 is none."""
    (found,) = faults(table(MAY, 72, zone=datetime.timezone(datetime.timedelta(hours=9))))

    assert "has sun at night" in found
    assert "would fit a clock of UTC+9" in found
    assert read([line.replace(",0.0,", ",20,") for line in table(MAY, 48)])


@pytest.mark.parametrize(("written", "clock"), [("%Y-%m-%dT%H:%M:%SZ", "auto"), ("%Y-%m-%d %H:%M", "utc")])
def test_the_clock_that_would_fit_is_said_of_the_times_as_the_file_has_them(written: str, clock: str) -> None:
    """Times of UTC+9 with a Z behind them, or told to be in UTC, would fit UTC+9, whatever clock the record keeps."""
    lines = table(MAY, 72, zone=datetime.timezone(datetime.timedelta(hours=9)), written=written)
    with pytest.raises(HouseholdFaults, match=r"would fit a clock of UTC\+9(:30)?, and were read as UTC\+0"):
        read(lines, HOME.model_copy(update={"timezone": "America/New_York"}), clock=clock)


def test_epw_lines_that_are_wrong_are_named() -> None:
    lines = typical_year().splitlines()
    lines[20] = lines[20].replace("?9,", "?9,", 1).replace(",0,0,0,", ",9999,0,0,", 1)
    cells = lines[30].split(",")
    cells[13], cells[14] = "9999", "much"
    lines[30] = ",".join(cells)
    cells = lines[40].split(",")
    cells[1:4] = ["2", "30", "25"]
    lines[40] = ",".join(cells)
    lines[50] = "1999,1,2"
    found = faults(lines)

    assert "line 31: GHI is missing (9999 says that nothing was measured)" in found
    assert "line 31: DNI: 'much' is no number" in found
    assert any(why.startswith("line 41: '1999-2-30' is no day") for why in found)
    assert any(why.startswith("line 51: too short; a line of an EPW file has 35 values") for why in found)


def test_a_typical_year_with_an_hour_missing_or_twice() -> None:
    lines = typical_year().splitlines()

    assert faults(lines[:1000] + lines[1001:])[0].startswith("line 1001: 1 line is missing between")
    assert faults([*lines[:1000], lines[999], *lines[1000:]])[0].startswith("line 1001: the same time as in line 1000")


def test_a_record_with_a_leap_day_keeps_it() -> None:
    """A year that was measured, not put together: 29 February is there, and years meet at New Year."""
    first = datetime.datetime(2023, 7, 1)
    steps = [
        (begin, round(high_sun(begin)), 0.0, round(high_sun(begin)), 8.0)
        for begin in (first + datetime.timedelta(hours=number) for number in range(366 * 24))
    ]
    record = read(epw(steps).splitlines())
    leap = record.day(2, 29)

    assert leap is not None
    assert leap.measured.on == "2024-02-29"
    assert not record.is_typical
    new_year = record.day(12, 31)
    assert new_year is not None
    assert new_year.measured.ghi_w_m2 is not None
    assert len(new_year.measured.ghi_w_m2) == 48


@pytest.mark.parametrize(("month", "brightest"), [(6, 1), (12, 0)])
def test_polar_day_and_polar_night(month: int, brightest: int) -> None:
    """Sun at midnight where it does not set is no wrong clock; a night of a whole day is a day like any other."""
    north = Site(latitude=78.2, longitude=15.6, timezone="UTC")
    lines = table(datetime.datetime(2026, month, 15), 48, sun=lambda _: 150.0 * brightest)
    record = read(lines, north)

    assert record.daily_wh_m2 == pytest.approx([3600.0 * brightest] * 2)
    assert all(np.isfinite(values).all() for values in record.sun_w_m2.values())
    if month == 12:
        assert "has sun at night" in faults(table(datetime.datetime(2026, 12, 15), 48, sun=lambda _: 150.0), north)[0]


@pytest.mark.parametrize("names", ["GHI,DNI", "GHI,DHI", "DNI,DHI", "GHI"])
def test_what_is_left_out_of_the_three_is_made_of_the_others(names: str) -> None:
    """Global is direct times the sine of the sun's height, and diffuse; each within its bounds."""
    columns = {"GHI": 500.0, "DNI": 400.0, "DHI": 200.0}
    lines = [f"time,{names}"]
    for hour in range(24):
        up = 10 <= hour < 16
        figures = ",".join(str(columns[name] if up else 0) for name in names.split(","))
        lines.append(f"2026-05-01 {hour:02d}:00,{figures}")
    record = read(lines)
    ghi, dni, dhi = (record.sun_w_m2[name][0, 12] for name in ("ghi", "dni", "dhi"))
    sine = 0.8075  # of the sun's height at 12:30 UTC there on 1 May, near noon: its declination is 15.1 degrees

    assert ghi == pytest.approx(dhi + dni * sine, rel=0.02)
    assert (record.sun_w_m2["dhi"] <= record.sun_w_m2["ghi"] + 1e-9).all()


@examples(40)
@given(
    values=st.lists(st.floats(0, 1200), min_size=96, max_size=96),
    step_s=st.sampled_from([60, 90, 120, 150, 225, 300, 450, 900]),
)
def test_averaging_keeps_the_energy_of_the_day(values: list[float], step_s: int) -> None:
    """Whatever the step, the day that is taken brings what the file says, to a rounding of its figures."""
    count = 86_400 // step_s
    sun = [values[number % 96] if 0.4 < number / count < 0.6 else 0.0 for number in range(count)]
    lines = ["time,POA"]
    for number, value in enumerate(sun):
        at = MAY + datetime.timedelta(seconds=number * step_s)
        lines.append(f"{at:%Y-%m-%d %H:%M:%S},{value!r}")
    taken = read(lines).day(5, 1)
    assert taken is not None
    plane = taken.measured.plane_w_m2
    assert plane is not None

    assert taken.measured.step_s >= 300
    assert sum(plane) * taken.measured.step_s == pytest.approx(sum(sun) * step_s, abs=0.005 * 86_400)


def test_temperatures_go_onto_the_clock_of_the_plans_day() -> None:
    """A record keeps standard time; on a summer's day the plan's clock is an hour ahead."""
    air_c = tuple(float(hour) for hour in range(24))

    assert ambient_points(air_c, 0.0, day_frame("2026-07-01", "Europe/Dublin"))[:3] == [[0, 23.0], [1, 0.0], [2, 1.0]]
    assert ambient_points(air_c, 0.0, day_frame("2026-01-01", "Europe/Dublin"))[0] == [0, 0.0]
    assert ambient_points(air_c, 5.0, day_frame("2026-07-01", "Asia/Kolkata"))[0] == [0.5, 0.0]
