"""Numbers and times as people read them, and places along the axis."""

import datetime
import doctest
from zoneinfo import ZoneInfo

import pytest

import app.web.figures
import app.web.forms.run
import app.web.places
from app.household.day import DayFrame
from app.web.figures import against, clock, date, duration, quantity
from app.web.places import place, placing_rules

MAY = DayFrame(datetime.date(2026, 5, 12), ZoneInfo("Europe/Dublin"))
AUTUMN = DayFrame(datetime.date(2026, 10, 25), ZoneInfo("Europe/Dublin"))
HOUR_MS = 3_600_000


def plain(text: str) -> str:
    assert " " not in text, "number and unit may not be torn apart"
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize("module", [app.web.figures, app.web.forms.run, app.web.places])
def test_the_examples_in_the_docstrings_hold(module: object) -> None:
    """Each example in these modules gives what it says."""
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0, "W", "0 W"),
        (180.4, "W", "180 W"),
        (999.4, "W", "999 W"),
        (999.6, "W", "1.0 kW"),
        (4360, "W", "4.4 kW"),
        (12_000, "VA", "12.0 kVA"),
        (1742, "Wh", "1.7 kWh"),
        (12.34, "A", "12.3 A"),
        (131.6, "A", "132 A"),
        (49.84, "V", "49.8 V"),
        (6.37, "%", "6.4 %"),
        (42.3, "%", "42 %"),
        (-300, "W", "\u2212300 W"),
        (-0.2, "W", "0 W"),
    ],
)
def test_a_quantity_has_the_decimals_that_matter(value: float, unit: str, text: str) -> None:
    """Kilowatts with one decimal, small draws in watts, and a true minus sign."""
    assert plain(quantity(value, unit)) == text


def test_use_and_limit_stand_on_one_scale() -> None:
    """Both get the same unit, and as many decimals as show which is larger."""
    assert [plain(text) for text in against(900, 4360, "W")] == ["0.9 kW", "4.4 kW"]
    assert [plain(text) for text in against(4364, 4360, "W")] == ["4.364 kW", "4.360 kW"]
    assert [plain(text) for text in against(4360, 4360, "W")] == ["4.4 kW", "4.4 kW"]


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0.4, "0.4 s"),
        (5, "5 s"),
        (59.6, "1 min"),
        (90, "1 min 30 s"),
        (600, "10 min"),
        (1830, "30 min"),
        (5400, "1 h 30 min"),
    ],
)
def test_a_length_of_time_has_the_units_that_matter(seconds: float, text: str) -> None:
    """Seconds while they matter, then minutes, then hours."""
    assert plain(duration(seconds)) == text


def test_an_instant_after_midnight_names_its_day() -> None:
    """Times of the plan's own day stand alone; the next morning's carry the weekday."""
    assert clock(MAY, 13.07 * HOUR_MS) == "13:04"
    assert plain(clock(MAY, 30 * HOUR_MS)) == "Wed 06:00"
    assert plain(date(MAY)) == "Tue 12 May"


def test_an_instant_on_a_day_of_25_hours_is_told_by_the_clock() -> None:
    """Six elapsed hours after midnight, on the night clocks go back, it is five."""
    assert clock(AUTUMN, 6 * HOUR_MS) == "05:00"


def test_every_place_the_classes_can_spell_has_its_rule() -> None:
    """Whatever share is placed, each class it is spelled with is in the stylesheet."""
    rules = placing_rules()
    for hundredths in range(0, 10_001, 7):
        for name in place(hundredths / 10_000, 1 - hundredths / 10_000).split():
            assert f".{name}{{" in rules
    assert place(-0.1, 1.2) == place(0, 1)
