"""The present moment where a household is, and where that is on a plan's day."""

import datetime
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from starlette.requests import Request

from app.household.day import DayFrame

_NONE = datetime.timedelta()


@dataclass(frozen=True, slots=True)
class Now:
    """A moment on the clock of a place.

    local: aware of its zone.
    """

    local: datetime.datetime

    @property
    def utc(self) -> datetime.datetime:
        """The same moment, to the millisecond, which is what the store keeps."""
        moment = self.local.astimezone(datetime.UTC)
        return moment.replace(microsecond=moment.microsecond // 1000 * 1000)

    @property
    def date(self) -> str:
        """The day there, YYYY-MM-DD."""
        return self.local.date().isoformat()

    @property
    def clock_s(self) -> int:
        """Seconds on the clock since 00:00."""
        return clock_s(self.local)

    @property
    def comes_again(self) -> bool:
        """It lies in the second passing of an hour that comes twice."""
        return self.local.fold == 1

    def on(self, frame: DayFrame) -> int:
        """Where it is on a plan's day, in milliseconds since its midnight: as the clock has it, on whatever date."""
        if self.local.date() == frame.date:
            return (self.utc - frame.t0_utc) // datetime.timedelta(milliseconds=1)
        return frame.at_ms(self.clock_s)

    def clock_of(self, at_utc: datetime.datetime, frame: DayFrame) -> int:
        """Where an earlier moment of today is on the clock of a plan's day, in seconds since 00:00.

        A plan of another date knows nothing of an hour that is left out or comes twice today: there it is as long ago
        as it was, but no earlier than its midnight.
        """
        zone = frame.zone if self.local.date() == frame.date else datetime.timezone(self.local.utcoffset() or _NONE)
        then = at_utc.astimezone(zone)
        return clock_s(then) if then.date() >= self.local.date() else 0


def now_at(request: Request, zone: ZoneInfo) -> Now:
    """The present moment in a zone, by the application's clock."""
    moment: datetime.datetime = request.app.state.clock()
    return Now(moment.astimezone(zone))


def clock_s(local: datetime.datetime) -> int:
    """A local time in seconds on the clock since 00:00."""
    return local.hour * 3600 + local.minute * 60 + local.second
