"""A local day on the clock and in elapsed milliseconds: the two conversions, and where the horizon ends."""

import datetime
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import accumulate
from zoneinfo import ZoneInfo

DAY_S = 86_400


@dataclass(frozen=True)
class DayFrame:
    """One local day in its time zone. Instants are whole milliseconds elapsed since local midnight."""

    date: datetime.date
    zone: ZoneInfo

    @cached_property
    def t0_utc(self) -> datetime.datetime:
        """The day's first instant, in UTC."""
        return _utc(datetime.datetime.combine(self.date, datetime.time(), self.zone))

    @cached_property
    def day_ms(self) -> int:
        """Length of the local day: 23, 24 or 25 h where clocks change."""
        return self.at_ms(DAY_S)

    @cached_property
    def horizon_ms(self) -> int:
        """Local noon of the next day: 35, 36 or 37 h after midnight."""
        return self.at_ms(DAY_S + DAY_S // 2)

    def at_ms(self, clock_s: int) -> int:
        """Elapsed time of a clock's reading in seconds since 00:00; 24 h and more lie on the next day.

        A local time that does not exist moves forward by the gap; one that occurs twice means the first.
        """
        return _at_ms(self, clock_s)

    def hours_ms(self, count: int) -> tuple[int, ...]:
        """When each of so many hours by the clock begins, and when the last of them ends: count + 1 instants, rising.

        An hour that the clock leaves out begins and ends where the next one begins.
        """
        # A gap of more than an hour moves the hours in it past the one that follows them; none begins later than that.
        begins_ms = [self.at_ms(hour * 3600) for hour in range(count + 1)]
        return tuple(accumulate(reversed(begins_ms), min))[::-1]

    def local(self, ms: float) -> datetime.datetime:
        """The local date and time, with its offset, of an instant."""
        return (self.t0_utc + datetime.timedelta(milliseconds=round(ms))).astimezone(self.zone)


@lru_cache(maxsize=64)
def day_frame(date: str, timezone: str) -> DayFrame:
    """The frame of `YYYY-MM-DD` in `Area/City`."""
    return DayFrame(datetime.date.fromisoformat(date), ZoneInfo(timezone))


@lru_cache(maxsize=4096)
def _at_ms(frame: DayFrame, clock_s: int) -> int:
    """A day's runs and taps ask for the same readings again and again."""
    days, rest_s = divmod(clock_s, DAY_S)
    face = datetime.datetime.combine(frame.date, datetime.time(), frame.zone) + datetime.timedelta(
        days=days, seconds=rest_s
    )
    # fold 0 is what zoneinfo takes: the offset before the change, so a missing time lands after the gap
    # and a doubled one on its first passing.
    return round((_utc(face) - frame.t0_utc).total_seconds() * 1000)


def _utc(moment: datetime.datetime) -> datetime.datetime:
    return moment.astimezone(datetime.UTC)
