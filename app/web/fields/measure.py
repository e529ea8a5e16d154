"""A kind of value in a form: the unit beside the field, what may be typed for it, and how it is shown.

A value is kept as the household file has it: SI units, seconds, fractions. What is typed may carry another unit;
a bare number means the one beside the field.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from app.web.fields.customs import Customs
from app.web.forms.typed import number_typed

Value = float | str
LONGEST = 60  # nobody means so long a figure


@dataclass(frozen=True)
class Measure:
    """A number with a unit.

    unit: beside the field. per_unit: how much one of them is, as the file has it.
    others: other units people write, and how much one of each is. such_as: examples for who typed something else.
    whole: only whole numbers are meant.
    """

    unit: str
    such_as: str
    per_unit: float = 1
    others: Mapping[str, float] = field(default_factory=dict)
    whole: bool = False

    def unit_shown(self, customs: Customs) -> str:
        """The unit beside the field."""
        return self.unit

    def examples(self, customs: Customs) -> str:
        """What may be typed."""
        return self.such_as

    def read(self, text: str, customs: Customs) -> Value | None:
        """The value that was typed, as the file has it; None for what is none."""
        text = text.replace("\u00a0", " ").strip()
        if len(text) > LONGEST:
            return None
        for unit, size in self._sizes(customs):
            if text.lower().endswith(unit.lower()):
                number = number_typed(text[: len(text) - len(unit)].rstrip())
                if number is not None:
                    return self._rounded(number, size)
        number = number_typed(text)
        return None if number is None else self._rounded(number, self.per_unit)

    def unclear(self, text: str, customs: Customs) -> str:
        """Why what was typed cannot be taken though it can be read, a sentence; mostly empty."""
        return ""

    def show(self, value: Value, customs: Customs) -> str:
        """A value in the unit beside the field, so that it is read back as the same."""
        return plain(float(value) / self.per_unit)

    def _sizes(self, customs: Customs) -> list[tuple[str, float]]:
        """Units that may be typed, the longest first, for `W` ends `kW` too."""
        known = {self.unit: self.per_unit} | dict(self.others)
        return sorted(((unit, size) for unit, size in known.items() if unit), key=lambda one: -len(one[0]))

    def _rounded(self, number: float, size: float) -> float | None:
        value = number if size == 1 else round(number * size, 9)
        if self.whole and value != int(value):
            return None
        return int(value) if value == int(value) and (self.whole or isinstance(number, int)) else value


@dataclass(frozen=True)
class Share(Measure):
    """A share in per cent. A bare figure below 1 is none: whoever types 0.75 means 75 per cent and would get less."""

    def read(self, text: str, customs: Customs) -> Value | None:
        """A fraction."""
        bare = number_typed(text)
        return None if bare is not None and 0 < bare < 1 else super().read(text, customs)


@dataclass(frozen=True)
class Loss(Measure):
    """What is lost, kept as a negative figure: labels give it with a minus sign, people say it without."""

    def read(self, text: str, customs: Customs) -> Value | None:
        """The figure below nothing, whichever sign was typed."""
        found = super().read(text, customs)
        return -abs(found) if isinstance(found, int | float) else None

    def show(self, value: Value, customs: Customs) -> str:
        """Without its sign."""
        return plain(abs(float(value)) / self.per_unit)


@dataclass(frozen=True)
class Words(Measure):
    """A text."""

    def read(self, text: str, customs: Customs) -> Value | None:
        """The text without spaces around it."""
        return text.strip() or None

    def show(self, value: Value, customs: Customs) -> str:
        """The text."""
        return str(value)


def plain(value: float) -> str:
    """A number as short as it can be told.

    >>> plain(0.1 + 0.2), plain(5000.0), plain(2.08)
    ('0.3', '5000', '2.08')
    """
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
