"""An instant of a plan, as an address or a time field gives it."""

import datetime
import re

from app.household.day import DAY_S, DayFrame
from app.web.figures import WEEKDAYS

_TYPED = re.compile(
    r"(\+|[A-Za-z]{3}\s)?\s*([0-9]{1,2})[:.h ]?([0-9]{2})(?:[:.]([0-9]{2})(?:[.,]([0-9]{1,3}))?)?(\s*\(second\))?"
)


def instant_of(frame: DayFrame, typed: str, at: str) -> int | None:
    """Milliseconds since midnight; None for none, and for what lies outside the day and the next morning.

    typed: a time on the clock, `15:04` or `15:04:30`; after `+` or the next weekday it is the next morning's; with
    `(second)` behind it, as the page writes it, the second passing of an hour that comes twice.
    at: milliseconds, as the page itself writes them.

    >>> frame = day_frame("2026-05-16", "Europe/London")
    >>> [instant_of(frame, text, "") for text in ("00:01", "+00:01", "Sun 00:01", "25:00", "+13:00")]
    [60000, 86460000, 86460000, None, None]
    """
    if not typed.strip():
        at_ms = int(at) if at.isdecimal() and len(at) < 10 else None
        return at_ms if at_ms is not None and at_ms < frame.horizon_ms else None
    found = _TYPED.fullmatch(typed.replace("\u00a0", " ").strip())
    if found is None:
        return None
    day, hour, minute, second, part, again = found.groups()
    face_s = int(hour) * 3600 + int(minute) * 60 + int(second or 0)
    if int(hour) > 23 or int(minute) > 59 or int(second or 0) > 59:
        return None
    next_day = WEEKDAYS[(frame.date.weekday() + 1) % 7]
    later = day is not None and (day == "+" or day.strip().capitalize() == next_day)
    if day is not None and not later and day.strip().capitalize() != WEEKDAYS[frame.date.weekday()]:
        return None
    first_ms = frame.at_ms(face_s + DAY_S * later) + int((part or "0").ljust(3, "0"))
    meant_ms = _second_passing(frame, first_ms) if again else first_ms
    return meant_ms if meant_ms is not None and meant_ms < frame.horizon_ms else None


def _second_passing(frame: DayFrame, first_ms: int) -> int | None:
    """When the clock shows the same time again; None where it does not."""
    moment = frame.local(first_ms).replace(fold=1)
    again_ms = (moment.astimezone(datetime.UTC) - frame.t0_utc) // datetime.timedelta(milliseconds=1)
    return again_ms if again_ms > first_ms else None
