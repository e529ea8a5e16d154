"""A local day on the clock and in elapsed time."""

import pytest

from app.household.day import day_frame
from app.household.fields import wall_clock_s

HOUR_MS = 3_600_000


@pytest.mark.parametrize(
    ("date", "day_h", "horizon_h"), [("2026-05-12", 24, 36), ("2026-03-29", 23, 35), ("2026-10-25", 25, 37)]
)
def test_days_have_23_24_or_25_hours(date: str, day_h: int, horizon_h: int) -> None:
    """European summer time begins on the last Sunday of March and ends on that of October, at 01:00 UTC."""
    frame = day_frame(date, "Europe/London")

    assert frame.day_ms == day_h * HOUR_MS
    assert frame.horizon_ms == horizon_h * HOUR_MS


def test_a_time_that_does_not_exist_moves_forward_by_the_gap() -> None:
    """01:30 on the day the clocks go forward is 02:30."""
    frame = day_frame("2026-03-29", "Europe/London")

    assert frame.local(frame.at_ms(wall_clock_s("01:30"))).isoformat() == "2026-03-29T02:30:00+01:00"


def test_a_time_that_occurs_twice_means_the_first() -> None:
    """01:30 on the day the clocks go back is still summer time."""
    frame = day_frame("2026-10-25", "Europe/London")

    assert frame.local(frame.at_ms(wall_clock_s("01:30"))).isoformat() == "2026-10-25T01:30:00+01:00"
