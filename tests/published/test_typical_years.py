"""Typical years against the files that come with pvlib: sums as pvlib reads them, and each format read as itself.

The sums are values S28 to S30: TMY3 of Greensboro NC and Sand Point AK (NREL, Wilcox and Marion 2008), TMY2 of Miami FL
(NREL, Marion and Urban 1995), computed from the very files with pvlib 0.16.1.
"""

import datetime
import importlib.util
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pvlib import iotools

from app.engine.weather import Record, from_bytes, read_record, to_bytes
from app.household.household import Site
from tests.weather_files import epw

GREENSBORO = Site(latitude=36.1, longitude=-79.95, timezone="America/New_York")
SITES = {
    "723170TYA.CSV": GREENSBORO,
    "703165TY.csv": Site(latitude=55.317, longitude=-160.517, timezone="America/Anchorage"),
    "12839.tm2": Site(latitude=25.8, longitude=-80.27, timezone="America/New_York"),
}
# A year's sum in kWh/m2, the mean day of each month in kWh/m2, and mean, lowest and highest temperature in degC.
YEARS = {
    "723170TYA.CSV": (
        1566.2, (2.41, 3.06, 4.25, 5.41, 5.64, 6.25, 6.08, 5.61, 4.43, 3.59, 2.43, 2.24), (14.42, -16.7, 35.6),
    ),
    "703165TY.csv": (
        829.2, (0.58, 1.05, 1.85, 3.06, 3.28, 3.81, 5.00, 2.70, 3.04, 1.61, 0.74, 0.46), (4.42, -10.6, 19.4),
    ),
    "12839.tm2": (
        1792.6, (3.49, 4.43, 5.16, 6.16, 6.03, 5.76, 5.99, 5.67, 4.91, 4.37, 3.57, 3.36), (24.31, 3.3, 33.9),
    ),
}  # fmt: skip


def path_of(name: str) -> Path:
    spec = importlib.util.find_spec("pvlib")
    assert spec is not None
    assert spec.submodule_search_locations is not None
    return Path(next(iter(spec.submodule_search_locations)), "data", name)


@cache
def read(name: str) -> Record:
    return read_record(path_of(name).read_bytes(), name, SITES[name])


@pytest.mark.parametrize("name", YEARS)
def test_a_year_and_its_months(name: str) -> None:
    year_kwh, months_kwh, (mean_c, low_c, high_c) = YEARS[name]
    record = read(name)

    assert record.daily_wh_m2.sum() / 1000 == pytest.approx(year_kwh, abs=0.1)
    assert [round((one or 0) / 1000, 2) for one in record.monthly_wh_m2] == pytest.approx(months_kwh, abs=0.0051)
    assert record.air_c is not None
    assert record.air_c.mean() == pytest.approx(mean_c, abs=0.006)
    assert (record.air_c.min(), record.air_c.max()) == (low_c, high_c)
    assert len(record.on) == 365
    assert record.is_typical
    assert record.notes == ()


@pytest.mark.parametrize("name", YEARS)
def test_every_hour_as_pvlib_reads_it(name: str) -> None:
    """The same 8760 values of each component, in the same order, and the same place and clock."""
    reader = iotools.read_tmy2 if name.endswith(".tm2") else iotools.read_tmy3
    data, about = reader(path_of(name))
    names = {"ghi": "GHI", "dni": "DNI", "dhi": "DHI"} if name.endswith(".tm2") else {one: one for one in SUN}
    record = read(name)

    for ours, theirs in names.items():
        assert np.array_equal(record.sun_w_m2[ours].ravel(), data[theirs].to_numpy())
    assert record.utc_offset_h == about["TZ"]
    assert record.latitude == pytest.approx(about["latitude"])
    assert record.longitude == pytest.approx(about["longitude"])


SUN = ("ghi", "dni", "dhi")


@cache
def as_epw() -> str:
    """The TMY3 year of Greensboro, written as EPW."""
    record = read("723170TYA.CSV")
    assert record.air_c is not None
    steps: list[Any] = []
    for place, on in enumerate(record.on):
        begin = datetime.datetime.fromisoformat(on)
        ends_c = np.roll(record.air_c[place], -1)  # at whole hours from 00:00; EPW has them at the hours' ends
        for hour in range(24):
            sun = (float(record.sun_w_m2[name][place, hour]) for name in SUN)
            steps.append((begin + datetime.timedelta(hours=hour), *sun, float(ends_c[hour])))
    return epw(steps, "Greensboro", 36.1, -79.95, -5)


def test_a_year_written_as_epw_reads_the_same(tmp_path: Path) -> None:
    """By us as the TMY3 file did, and by pvlib as by us."""
    written = as_epw()
    record, first = read_record(written.encode(), "any.epw", GREENSBORO), read("723170TYA.CSV")
    (tmp_path / "any.epw").write_text(written)
    data, about = iotools.read_epw(tmp_path / "any.epw")

    assert (record.kind, record.source, record.utc_offset_h) == ("EPW", "Greensboro, CO, IRL", -5)
    assert record.on == first.on
    assert record.air_c is not None
    assert first.air_c is not None
    assert np.allclose(record.air_c, first.air_c)
    for name in SUN:
        assert np.array_equal(record.sun_w_m2[name], first.sun_w_m2[name])
        assert np.array_equal(record.sun_w_m2[name].ravel(), data[name].to_numpy())
    assert about["latitude"] == record.latitude


@pytest.mark.parametrize("stamp_h", [0, 1])
def test_a_year_in_one_plain_table_reads_the_same(stamp_h: int) -> None:
    """In UTC, every month out of another year, as services give typical years; times at the begin or end of an hour."""
    first = read("723170TYA.CSV")
    year = datetime.datetime(2001, 1, 1)
    lines = ["time(UTC),G(h),Gb(n),Gd(h)"]
    ours = np.stack([np.roll(first.sun_w_m2[name].ravel(), 5) for name in SUN], axis=1)
    for hour, figures in enumerate(ours.tolist()):
        begin = year + datetime.timedelta(hours=hour)
        own = begin.replace(year=1990 + 7 * begin.month % 11) + datetime.timedelta(hours=stamp_h)
        lines.append(",".join([f"{own:%Y%m%d:%H%M}", *(f"{one:g}" for one in figures)]))
    record = read_record("\n".join(lines).encode(), "plain.csv", GREENSBORO, stamps="end" if stamp_h else "begin")

    assert record.is_typical
    assert [on[5:] for on in record.on] == [on[5:] for on in first.on]
    for name in SUN:
        assert np.array_equal(record.sun_w_m2[name], first.sun_w_m2[name])


def test_a_record_comes_out_of_the_store_as_it_went_in() -> None:
    record = read("703165TY.csv")
    content = to_bytes(record)
    again = from_bytes(content)

    assert len(content) < 60_000
    assert vars(record).keys() - vars(again).keys() <= {"daily_wh_m2", "monthly_wh_m2"}
    assert (again.source, again.on, again.years, again.notes) == (record.source, record.on, record.years, record.notes)
    for name in SUN:
        assert np.array_equal(again.sun_w_m2[name], record.sun_w_m2[name])


def test_a_day_is_that_hour_for_hour_and_goes_on_into_the_next() -> None:
    """Across the seam of two months too, where a typical year changes its years; the last day has none after it."""
    record = read("723170TYA.CSV")
    seam, last = record.day(1, 31), record.day(12, 31)
    assert seam is not None
    assert last is not None

    assert seam.measured.ghi_w_m2 is not None
    assert np.array_equal(seam.measured.ghi_w_m2, record.sun_w_m2["ghi"][30:32].ravel())
    assert record.on[30][:4] != record.on[31][:4]
    assert last.measured.ghi_w_m2 is not None
    assert len(last.measured.ghi_w_m2) == 24


def test_29_february_is_28_february_where_a_year_has_none() -> None:
    day = read("12839.tm2").day(2, 29)
    assert day is not None
    assert day.measured.on.endswith("-02-28")
    assert day.measured.ghi_w_m2 is not None
    assert len(day.measured.ghi_w_m2) == 48


def test_a_temperature_that_is_no_number_is_left_out() -> None:
    """The sun of its hour is none the worse for it."""
    lines = path_of("12839.tm2").read_text("ascii").splitlines()
    lines[30] = f"{lines[30][:67]} --1{lines[30][71:]}"
    record = read_record("\n".join(lines).encode(), "12839.tm2", SITES["12839.tm2"])

    assert np.array_equal(record.sun_w_m2["ghi"], read("12839.tm2").sun_w_m2["ghi"])


@pytest.mark.parametrize("shift_h", [-7, 6, 12])
def test_a_wrong_clock_is_found_and_the_right_one_named(shift_h: int) -> None:
    """A heading with another time zone: sun at night, and the zone that fits."""
    lines = as_epw().splitlines()
    cells = lines[0].split(",")
    cells[8] = str(-5 + shift_h)
    lines[0] = ",".join(cells)
    with pytest.raises(Exception, match=r"sun at night.* would fit a clock of UTC−5"):
        read_record("\n".join(lines).encode(), "any.epw", GREENSBORO)
