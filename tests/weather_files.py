"""Weather files for tests: written by the formats' public descriptions, out of a sun that is easy to reckon with."""

import datetime
import math
from collections.abc import Callable, Iterable

LATITUDE, LONGITUDE = 53.31, -9.82  # of the demo household
HEADINGS = (
    "DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,made for a test", "COMMENTS 2,",
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
)  # fmt: skip

Sun = Callable[[datetime.datetime], float]


def high_sun(utc: datetime.datetime) -> float:
    """A plain bow of sun around noon of the demo household, W/m2; it is day then all year round."""
    hours = utc.hour + utc.minute / 60 - 12.65
    return 600 * math.cos(hours / 3 * math.pi / 2) if abs(hours) < 3 else 0.0


def epw(
    steps: Iterable[tuple[datetime.datetime, float, float, float, float]],
    city: str = "Test Quay",
    latitude: float = LATITUDE,
    longitude: float = LONGITUDE,
    offset_h: float = 0,
) -> str:
    """An EPW file. steps: when each hour begins, its GHI, DNI, DHI in W/m2, and the temperature at its end in degC."""
    lines = [f"LOCATION,{city},CO,IRL,test,999999,{latitude},{longitude},{offset_h},10", *HEADINGS]
    for begin, ghi, dni, dhi, air_c in steps:
        cells = ["0"] * 35
        cells[:7] = [str(begin.year), str(begin.month), str(begin.day), str(begin.hour + 1), "0", "?9", f"{air_c:g}"]
        cells[13:16] = [f"{ghi:g}", f"{dni:g}", f"{dhi:g}"]
        lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def typical_year(sun: Sun = high_sun, years: tuple[int, ...] = (1997, 1999, 2003)) -> str:
    """An EPW file of a year whose months come out of several years, none of them a leap year."""
    steps = []
    for number in range(8760):
        laid = datetime.datetime(2001, 1, 1) + datetime.timedelta(hours=number)
        ghi = round(sun(laid + datetime.timedelta(minutes=30)))
        begin = laid.replace(year=years[laid.month % len(years)])
        steps.append((begin, ghi, 0.0, ghi, 10 + laid.hour / 10))
    return epw(steps)


def table(
    start: datetime.datetime,
    count: int,
    step_s: int = 3600,
    *,
    heading: str = "time,GHI (W/m2),Temperature (°C)",
    written: str = "%Y-%m-%d %H:%M",
    zone: datetime.tzinfo | None = None,
    separator: str = ",",
    sun: Sun = high_sun,
) -> list[str]:
    """The lines of a plain table. start: in UTC; zone: whose clock its times are on, UTC's if none."""
    lines = [heading]
    for number in range(count):
        utc = start + datetime.timedelta(seconds=number * step_s)
        shown = utc if zone is None else utc.replace(tzinfo=datetime.UTC).astimezone(zone)
        figures = [f"{sun(utc):.1f}", "12.5"]
        if separator != ",":
            figures = [figure.replace(".", ",") for figure in figures]
        lines.append(separator.join([shown.strftime(written), *figures]))
    return lines
