"""Days on which clocks are put forward or back, where the demo's house stands."""

import datetime
import re
from zoneinfo import ZoneInfo

import pytest

from app.charts.day import day_chart
from app.charts.svg import axis_svg
from app.household.day import DayFrame
from app.household.household import Household
from app.household.resolve import resolve
from app.web.figures import clock, face, instant
from app.web.views.clocks import Change, changes_of_clocks, clock_shifts, said_of_clocks
from tests.charts.conftest import HOUR_MS, made, piece

AUTUMN, SPRING, MAY = "2026-10-25", "2026-03-29", "2026-05-12"


def frame(date: str) -> DayFrame:
    return DayFrame(datetime.date.fromisoformat(date), ZoneInfo("Europe/Dublin"))


@pytest.mark.parametrize(
    ("hours", "told", "exact"),
    [
        (1.5, "01:30", "01:30:20.250"),
        (2, "01:00 (second)", "01:00:20.250 (second)"),
        (2.5, "01:30 (second)", "01:30:20.250 (second)"),
        (3, "02:00", "02:00:20.250"),
        (25.5, "Mon\u00a000:30", "Mon\u00a000:30:20.250"),
    ],
)
def test_the_second_passing_of_an_hour_says_so(hours: float, told: str, exact: str) -> None:
    """On the night clocks go back a time that comes twice is told apart, and no other is marked."""
    at_ms = hours * HOUR_MS

    assert clock(frame(AUTUMN), at_ms) == told
    assert instant(frame(AUTUMN), at_ms + 20_250) == exact
    assert face(frame(AUTUMN), at_ms) == told.removeprefix("Mon\u00a0")


@pytest.mark.parametrize("date", [AUTUMN, SPRING, MAY])
def test_no_two_minutes_of_a_day_are_told_alike(date: str) -> None:
    """Every minute from midnight to noon of the next day has words of its own, however long the day."""
    day = frame(date)
    told = [clock(day, at_ms) for at_ms in range(0, day.horizon_ms, 60_000)]

    assert len(set(told)) == len(told)


def test_the_page_is_told_where_the_clock_changes() -> None:
    """From which instant on how many minutes are added, and what follows a time from then on."""
    assert clock_shifts(frame(AUTUMN)) == ((0, 0, ""), (2 * HOUR_MS, -60, " (second)"), (3 * HOUR_MS, -60, ""))
    assert clock_shifts(frame(SPRING)) == ((0, 0, ""), (HOUR_MS, 60, ""))
    assert clock_shifts(frame(MAY)) == ((0, 0, ""),)


def test_a_change_is_said_in_words() -> None:
    """What the clock does, and what becomes of a run that is set to such a time; nothing on other days."""
    back, forward = (changes_of_clocks(clock_shifts(frame(date))) for date in (AUTUMN, SPRING))

    assert back == [Change(2 * HOUR_MS, 120, 60)]
    assert said_of_clocks(back).startswith(
        "At 02:00 the clock goes back to 01:00. Times from 01:00 to 02:00 come twice"
    )
    assert forward == [Change(HOUR_MS, 60, 120)]
    assert said_of_clocks(forward).endswith("A run set to 01:20, which is not there, begins at 02:20.")
    assert clock(frame(SPRING), frame(SPRING).at_ms(80 * 60)) == "02:20"
    assert said_of_clocks([]) == ""


def test_the_axis_marks_where_the_clock_changes(demo: Household) -> None:
    """A line stands on the axis at that instant of the longer day."""
    plan = demo.scenarios[0].model_copy(update={"date": AUTUMN})
    changed = resolve(demo.model_copy(update={"scenarios": (plan,)}))
    chart = day_chart(changed, made([piece("washer", 2, 3, 500)]))
    drawn = axis_svg(chart, "Mon", [2 * HOUR_MS])

    assert re.findall(r'class="change" x1="([\d.]+)%"', drawn) == [f"{2 / 36 * 100:.2f}"]
    assert "change" not in axis_svg(chart, "Mon")
