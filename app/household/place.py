"""Where a household is as far as its time zone tells: roughly, at the place the zone is named after."""

import datetime
from functools import lru_cache
from importlib.resources import files
from typing import Literal, NamedTuple
from zoneinfo import ZoneInfo

from app.household.household import Site

_APART_H = 3.0  # clocks are up to three hours off the sun where people live, not more


class RoughPlace(NamedTuple):
    """The place a time zone is named after: degrees, north and east positive."""

    latitude: float
    longitude: float


def rough_place(timezone: str) -> RoughPlace | None:
    """Where a time zone is named after; None for one that is of no place, as UTC.

    >>> rough_place("America/Denver"), rough_place("US/Mountain") == rough_place("America/Denver"), rough_place("UTC")
    (RoughPlace(latitude=39.74, longitude=-104.98), True, None)
    """
    return _places().get(_zone_with_place(timezone))


def city_of(timezone: str) -> str:
    """What a time zone is named after.

    >>> city_of("America/Argentina/Buenos_Aires"), city_of("US/Mountain")
    ('Buenos Aires', 'Denver')
    """
    return _zone_with_place(timezone).rpartition("/")[2].replace("_", " ")


def place_told(site: Site) -> Literal["told", "rough", "nowhere"]:
    """Whether somebody told where a household is, it is where its time zone is named after, or nobody knows.

    Nobody lives at 0 N 0 E, out at sea: there a household is that was begun without a place.
    """
    here = (site.latitude, site.longitude)
    return "nowhere" if here == (0, 0) else "rough" if here == rough_place(site.timezone) else "told"


def sun_off_h(site: Site) -> float:
    """How many hours after noon by the clock (before: negative) the sun stands highest; 0 up to what clocks do."""
    zone = ZoneInfo(site.timezone)
    both = [datetime.datetime(2026, month, 1, tzinfo=zone).utcoffset() for month in (1, 7)]
    standard_h = min(one for one in both if one is not None).total_seconds() / 3600
    off_h = (standard_h - site.longitude / 15 + 12) % 24 - 12
    return off_h if abs(off_h) > _APART_H else 0.0


def _zone_with_place(timezone: str) -> str:
    """The zone itself, or the one it is another name of; one without a region, as EST, is of no place."""
    return timezone if timezone in _places() or "/" not in timezone else _links().get(timezone, timezone)


@lru_cache(maxsize=1)
def _places() -> dict[str, RoughPlace]:
    """By zone: country, place as +-DDMM[SS]+-DDDMM[SS], zone and what else there is, parted by tabs."""
    lines = (line.split("\t") for line in _table("zone.tab") if not line.startswith("#"))
    return {line[2]: _degrees(line[1]) for line in lines if len(line) > 2}


@lru_cache(maxsize=1)
def _links() -> dict[str, str]:
    """Other names of zones, and whose they are."""
    lines = (line.split() for line in _table("tzdata.zi") if line.startswith("L "))
    return {line[2]: line[1] for line in lines}


def _table(name: str) -> list[str]:
    return (files("tzdata") / "zoneinfo" / name).read_text("utf-8").splitlines()


def _degrees(place: str) -> RoughPlace:
    cut = max(place.rfind("+"), place.rfind("-"))

    def read(text: str, degrees: int) -> float:
        seconds = text[degrees + 3 :]
        value = int(text[1 : degrees + 1]) + int(text[degrees + 1 : degrees + 3]) / 60 + int(seconds or 0) / 3600
        return round(-value if text[0] == "-" else value, 2)

    return RoughPlace(read(place[:cut], 2), read(place[cut:], 3))
