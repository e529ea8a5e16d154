"""The present day, where a household is."""

import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError


def today(timezone: str) -> str:
    """The date there, YYYY-MM-DD; of a place nobody knows, which is refused elsewhere, the universal one."""
    try:
        zone = ZoneInfo(timezone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        zone = ZoneInfo("UTC")
    return datetime.datetime.now(zone).date().isoformat()
