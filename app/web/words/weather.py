"""Records of sun in words: what was understood of a file, and what to know before a day of it is taken."""

from app.engine.weather import Record
from app.engine.weather.checks import NEAR_DEG, away_deg, distance_m
from app.engine.weather.rows import offset_words
from app.household.household import Site
from app.web.figures import SPACE, duration, number
from app.web.words.plans import record_day

KINDS = {
    "EPW": "EPW, a year of weather",
    "TMY3": "TMY3, a typical year",
    "TMY2": "TMY2, a typical year",
    "CSV": "a table of times and sun",
}


def place_words(latitude: float | None, longitude: float | None) -> str:
    """Where it was measured: `55.32° N, 160.52° W`."""
    if latitude is None or longitude is None:
        return "not told; taken as yours"
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    return f"{abs(latitude):.2f}°{SPACE}{north}, {abs(longitude):.2f}°{SPACE}{east}"


def clock_words(record: Record) -> str:
    """Its clock: `UTC−5, standard time all year`."""
    return f"{offset_words(record.utc_offset_h)}, standard time all year"


def step_words(record: Record) -> str:
    """Its step."""
    return f"a value every {duration(record.step_s)}" if record.step_s != 3600 else "a value every hour"


def holds_words(record: Record) -> str:
    """Which columns were understood."""
    sun = "what falls into the panels' plane" if record.in_plane else "global, direct and diffuse sun"
    return sun if record.air_c is None else f"{sun}; outdoor temperatures"


def days_words(record: Record) -> str:
    """Which days it has: `365 days, of the years 1991 to 2005`."""
    count = f"{len(record.on)} days" if len(record.on) > 1 else "1 day"
    years = record.years
    if record.is_typical:
        return f"{count}, months out of the years {years[0]} to {years[-1]}"
    if len(record.on) == 1:
        return f"{count}, {record_day(record.on[0])}"
    return f"{count}, {record_day(record.on[0])} to {record_day(record.on[-1])}"


def yearly_words(record: Record) -> str:
    """What it brings: a year's sum where it has one, else a day's mean."""
    plane = "in the plane" if record.in_plane else "on level ground"
    total = float(record.daily_wh_m2.sum()) / 1000
    if len(record.on) in (365, 366):
        return f"{number(total, 0)}{SPACE}kWh/m² in the year {plane}"
    return f"{number(total / len(record.on), 2)}{SPACE}kWh/m² a day {plane}"


def sum_words(energy_wh_m2: float) -> str:
    """What a day brings."""
    return f"{number(energy_wh_m2 / 1000, 2)}{SPACE}kWh/m²"


def elsewhere_words(record: Record, site: Site) -> str:
    """A caution where the record is of some way off; empty where it is of here, or says nothing of its place."""
    if record.latitude is None or record.longitude is None:
        return ""
    if away_deg(record.latitude, record.longitude, site) <= NEAR_DEG:
        return ""
    away_km = 10 * round(distance_m(record.latitude, record.longitude, site) / 10_000)
    return (
        f"This was measured elsewhere: about {number(away_km, 0)}{SPACE}km from your household. Clouds and "
        "temperatures there may differ from yours, and the sun rises at somewhat other times."
    )


def another_day_words(on: str, month: int, day: int) -> str:
    """What is said where the record has not the very day."""
    return f"This record has no {day} {_MONTHS[month - 1]}; {record_day(on)} is taken instead." if (
        int(on[5:7]), int(on[8:10])) != (month, day) else ""  # fmt: skip


def no_day_words(record: Record, month: int, day: int) -> str:
    """What is said of a day the record does not have."""
    first, last = record_day(record.on[0]), record_day(record.on[-1])
    has = f"it has {first}" if len(record.on) == 1 else f"it has {first} to {last}"
    return f"This record has no {day} {_MONTHS[month - 1]}; {has}. Choose one of these."


_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
MONTH_NAMES = _MONTHS
