"""Figures as they stand on a board, a compass and the back of a panel."""

import re
from dataclasses import dataclass

from app.web.fields.customs import Customs
from app.web.fields.measure import LONGEST, Measure, Value
from app.web.forms.typed import number_typed

_POINTS = ("n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw")
_TIMES = re.compile(r"(?P<count>[0-9]{1,4})\s*[x\u00d7*]\s*(?P<each>.+)", re.IGNORECASE)
_LETTERED = re.compile(r"(?P<letter>[A-Z])\s*-?\s*(?P<number>[0-9]+)\s*A?", re.IGNORECASE)


@dataclass(frozen=True)
class Compass(Measure):
    """A direction: degrees, or a point of the compass in letters or words."""

    def read(self, text: str, customs: Customs) -> Value | None:
        """Degrees from north by east: `180`, `south`, `SW`, `south-south-east`."""
        found = super().read(text, customs)
        return point_typed(text) if found is None and len(text) <= LONGEST else found


@dataclass(frozen=True)
class Panels(Measure):
    """Watts of panels: together, or as so many of so much."""

    def read(self, text: str, customs: Customs) -> Value | None:
        """Watts: `1200`, `1,2 kW`, `4 x 300`."""
        several = _TIMES.fullmatch(text.replace("\u00a0", " ").strip()) if len(text) <= LONGEST else None
        each = super().read(several["each"] if several else text, customs)
        return each * int(several["count"]) if several and isinstance(each, int | float) else each


@dataclass(frozen=True)
class Breaker(Measure):
    """The amperes of a breaker. Its letter is asked for by itself, and is nothing to be dropped unsaid."""

    def unclear(self, text: str, customs: Customs) -> str:
        """`B16` is a letter and a number."""
        found = _LETTERED.fullmatch(text.strip()) if len(text) <= LONGEST else None
        if found is None or number_typed(found["number"]) is None:
            return ""
        letter, number = found["letter"].upper(), found["number"]
        return f"Give the number alone here: {number}. Its letter, {letter}, has a field of its own, beside it."


def point_typed(text: str) -> float | None:
    """A point of the compass in degrees; None for what is none.

    >>> [point_typed(text) for text in ("east", "SW", "South-South-East", "north west", "up", "sn")]
    [90, 225, 157.5, 315, None, None]
    """
    letters = re.sub(r"[\s.-]", "", text.lower())
    for word in ("north", "south", "east", "west"):
        letters = letters.replace(word, word[0])
    if letters not in _POINTS:
        return None
    degrees = _POINTS.index(letters) * 22.5
    return int(degrees) if degrees == int(degrees) else degrees
