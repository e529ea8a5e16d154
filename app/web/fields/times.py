"""Kinds of value that are times: how long, and at what time of day."""

import re
from dataclasses import dataclass

from app.web.fields.customs import Customs
from app.web.fields.measure import LONGEST, Measure, Value, plain
from app.web.forms.run import clock_typed, length_text
from app.web.forms.typed import number_typed


@dataclass(frozen=True)
class Length(Measure):
    """A length of time: `20 min`, `1 h 30`, `1:30`, `90 s`.

    named: a bare number is none, where seconds and minutes are both usual.
    """

    named: bool = False

    def read(self, text: str, customs: Customs) -> Value | None:
        """Seconds; a bare number is of the field's unit."""
        text = text.replace("\u00a0", " ").strip().lower()
        if len(text) > LONGEST or (self.named and number_typed(text) is not None):
            return None
        return seconds_typed(text, self.per_unit)

    def show(self, value: Value, customs: Customs) -> str:
        """With its unit, for that is what people read; seconds where minutes do not come out even."""
        return seconds_text(float(value))

    def unit_shown(self, customs: Customs) -> str:
        """None: it stands in the field."""
        return ""


@dataclass(frozen=True)
class Face(Measure):
    """A time of day."""

    def read(self, text: str, customs: Customs) -> Value | None:
        """HH:MM[:SS]."""
        found = clock_typed(text)
        return found if _FACE.fullmatch(found) else None

    def show(self, value: Value, customs: Customs) -> str:
        """As it is."""
        return str(value)


_FACE = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?")
_SPAN = re.compile(
    r"(?:(?P<h>[0-9.,]+)\s*(?:h|hr|hrs|hours?))?\s*(?:(?P<m>[0-9.,]+)\s*(?:m|min|mins|minutes?))?\s*"
    r"(?:(?P<s>[0-9.,]+)\s*(?:s|sec|secs|seconds?))?"
)
_HOURS_AND = re.compile(r"([0-9]+)\s*h\s*([0-9]{1,2})")
_CLOCKLIKE = re.compile(r"([0-9]{1,3}):([0-5][0-9])(?::([0-5][0-9]))?")


def seconds_typed(text: str, bare_s: float = 60) -> float | None:
    """A length of time in seconds; None for what is none. bare_s: what a bare number counts.

    >>> [seconds_typed(text) for text in ("20", "20 min", "1 h 30", "1:30", "0.4 s", "2 min 5 s", "soon", "")]
    [1200, 1200, 5400, 5400, 0.4, 125, None, None]
    """
    seconds: float | None = None
    if found := _CLOCKLIKE.fullmatch(text):
        seconds = int(found[1]) * 3600 + int(found[2]) * 60 + int(found[3] or 0)
    elif found := _HOURS_AND.fullmatch(text):
        seconds = int(found[1]) * 3600 + int(found[2]) * 60
    elif (number := number_typed(text)) is not None:
        seconds = number * bare_s
    elif text and (found := _SPAN.fullmatch(text)):
        parts = [(number_typed(found[name]), size) for name, size in (("h", 3600), ("m", 60), ("s", 1)) if found[name]]
        if not parts or any(part is None for part, _ in parts):
            return None
        seconds = sum((part or 0) * size for part, size in parts)
    if seconds is None:
        return None
    seconds = round(seconds, 6)
    return int(seconds) if seconds == int(seconds) else seconds


def seconds_text(seconds: float) -> str:
    """A length of time so that it is read back as the same.

    >>> [seconds_text(one) for one in (1200, 48, 5400, 0.4, 125, 5156)]
    ['20 min', '48 s', '1 h 30 min', '0.4 s', '2 min 5 s', '1 h 25 min 56 s']
    """
    if seconds >= 60 and seconds % 60 == 0:
        return length_text(seconds)
    minutes, rest_s = divmod(seconds, 60)
    rest = f"{plain(rest_s)} s"
    return f"{length_text(minutes * 60)} {rest}" if minutes else rest
