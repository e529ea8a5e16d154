"""Instants of a plan's day as its clock names them."""

from app.household.fields import wall_clock_s
from app.household.resolve import Resolved


def clock_of(resolved: Resolved, at_ms: int) -> str | None:
    """The start, HH:MM:SS, of a run that begins within this second.

    None where a plan has no such start: after its day, and the second time around of an hour that comes twice.
    """
    begin_ms = at_ms // 1000 * 1000
    if not 0 <= begin_ms < resolved.frame.day_ms:
        return None
    clock = resolved.frame.local(begin_ms).strftime("%H:%M:%S")
    return clock if resolved.frame.at_ms(wall_clock_s(clock)) == begin_ms else None
