"""The one clock below the web: when something was stored."""

import datetime


def now_utc() -> datetime.datetime:
    """The present moment in UTC, to the millisecond, which is what the store keeps."""
    now = datetime.datetime.now(datetime.UTC)
    return now.replace(microsecond=now.microsecond // 1000 * 1000)
