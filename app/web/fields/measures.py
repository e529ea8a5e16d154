"""Kinds of value in a form: the unit beside the field, what may be typed for it, and how it is shown.

A value is kept as the household file has it: SI units, seconds, fractions. What is typed may carry another unit;
a bare number means the one beside the field.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from app.web.fields.customs import GAUGES, Customs, gauge_mm2, gauge_of
from app.web.forms.run import clock_typed, length_text
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


def plain(value: float) -> str:
    """A number as short as it can be told.

    >>> plain(0.1 + 0.2), plain(5000.0), plain(2.08)
    ('0.3', '5000', '2.08')
    """
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


@dataclass(frozen=True)
class Power(Measure):
    """Watts or volt-amperes; amperes are taken at the household's mains voltage."""

    apparent: bool = False

    def _sizes(self, customs: Customs) -> list[tuple[str, float]]:
        amperes = customs.volts if self.apparent else customs.volts * customs.power_factor
        extra = [("A", amperes), ("amps", amperes), ("amp", amperes)]
        sizes = [*super()._sizes(customs), *extra]
        return sorted(sizes, key=lambda one: -len(one[0]))


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
class Warmth(Measure):
    """A temperature in the household's degrees; difference: of two temperatures."""

    difference: bool = False

    def unit_shown(self, customs: Customs) -> str:
        """The household's degrees."""
        return "\u00b0F" if customs.temperature == "F" else "\u00b0C"

    def read(self, text: str, customs: Customs) -> Value | None:
        """Degrees as typed, in degrees Celsius."""
        text = text.replace("\u00a0", " ").strip()
        if len(text) > LONGEST:
            return None
        letter = text[-1:].upper() if text[-1:].upper() in ("C", "F", "K") else ""
        number = number_typed(text.removesuffix(text[-1:]) if letter else text, "\u00b0", "deg")
        if number is None:
            return None
        fahrenheit = letter == "F" or (not letter and customs.temperature == "F")
        if not fahrenheit:
            return number
        celsius = round((number if self.difference else number - 32) / 1.8, 6)
        return int(celsius) if celsius == int(celsius) else celsius

    def shown(self, value: float, customs: Customs) -> float:
        """In the household's degrees."""
        return value * 1.8 + (0 if self.difference else 32) if customs.temperature == "F" else value

    def show(self, value: Value, customs: Customs) -> str:
        """In the household's degrees, as it is typed."""
        return plain(round(self.shown(float(value), customs), 4))


@dataclass(frozen=True)
class Conductor(Measure):
    """A cross-section, in mm2 or by its American gauge."""

    def unit_shown(self, customs: Customs) -> str:
        """Square millimetres; a gauge stands in the field with its name."""
        return "" if customs.conductor == "awg" else "mm\u00b2"

    def examples(self, customs: Customs) -> str:
        """As the household writes it."""
        return "12, or 2/0" if customs.conductor == "awg" else "2.5, or 12 AWG"

    def read(self, text: str, customs: Customs) -> Value | None:
        """What was typed, in mm2."""
        bare = text.replace("\u00a0", " ").strip().lower().removeprefix("#")
        area = re.fullmatch(r"(.+?)\s*(?:mm2|mm\u00b2|sq\.? ?mm|mm)", bare)
        if area:
            return number_typed(area[1])
        gauge = re.fullmatch(r"(?:awg\s*)?(\d{1,2}(?:/0)?|0{1,4})(?:\s*(?:awg|ga\.?|gauge))?", bare)
        named = "awg" in bare or "ga" in bare or "/0" in bare
        if gauge and (named or customs.conductor == "awg"):
            zeros = {"0": "1/0", "00": "2/0", "000": "3/0", "0000": "4/0"}
            number = GAUGES.get(zeros.get(gauge[1], gauge[1].removeprefix("0") if "/" not in gauge[1] else gauge[1]))
            return None if number is None else round(gauge_mm2(number), 4)
        return None if customs.conductor == "awg" or named else number_typed(bare)

    def show(self, value: Value, customs: Customs) -> str:
        """As the household has it; what is no gauge stays in mm2, and says so."""
        if customs.conductor == "mm2":
            return plain(float(value))
        gauge = gauge_of(float(value))
        return f"{gauge} AWG" if gauge else f"{plain(float(value))} mm\u00b2"


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
class Words(Measure):
    """A text."""

    def read(self, text: str, customs: Customs) -> Value | None:
        """The text without spaces around it."""
        return text.strip() or None

    def show(self, value: Value, customs: Customs) -> str:
        """The text."""
        return str(value)


@dataclass(frozen=True)
class Face(Measure):
    """A time of day."""

    def read(self, text: str, customs: Customs) -> Value | None:
        """HH:MM[:SS]."""
        found = clock_typed(text)
        return found if re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?", found) else None

    def show(self, value: Value, customs: Customs) -> str:
        """As it is."""
        return str(value)


_SPAN = re.compile(
    r"(?:(?P<h>[\d.,]+)\s*(?:h|hr|hrs|hours?))?\s*(?:(?P<m>[\d.,]+)\s*(?:m|min|mins|minutes?))?\s*"
    r"(?:(?P<s>[\d.,]+)\s*(?:s|sec|secs|seconds?))?"
)
_HOURS_AND = re.compile(r"(\d+)\s*h\s*(\d{1,2})")
_CLOCKLIKE = re.compile(r"(\d{1,3}):([0-5]\d)(?::([0-5]\d))?")


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

    >>> [seconds_text(one) for one in (1200, 48, 5400, 0.4, 125)]
    ['20 min', '48 s', '1 h 30 min', '0.4 s', '2 min 5 s']
    """
    if seconds >= 60 and seconds % 60 == 0:
        return length_text(seconds)
    minutes, rest_s = divmod(seconds, 60)
    if minutes and minutes < 60:
        return f"{int(minutes)} min {plain(rest_s)} s"
    return f"{plain(seconds)} s"


WATTS = Power("W", "2000, 2 kW or 8.7 A", others={"kW": 1000.0, "watts": 1.0, "watt": 1.0})
PLAIN_WATTS = Measure("W", "2000 or 2 kW", others={"kW": 1000.0, "watts": 1.0, "watt": 1.0})
VOLT_AMPERES = Power("VA", "5000, 5 kVA or 21 A", others={"kVA": 1000.0, "W": 1.0}, apparent=True)
KILOWATT_HOURS = Measure("kWh", "0.9, or 900 Wh", per_unit=1000, others={"Wh": 1.0})
VOLTS = Measure("V", "46 or 51.2", others={"volts": 1.0})
AMPERES = Measure("A", "50 or 16", others={"amps": 1.0, "mA": 0.001})
AMPERE_HOURS = Measure("Ah", "100")
MILLIOHMS = Measure(
    "m\u03a9", "20", per_unit=0.001, others={"\u03a9": 1.0, "ohm": 1.0, "mohm": 0.001, "milliohm": 0.001}
)
PER_CENT = Share("%", "25 or 92.5", per_unit=0.01, others={"per cent": 0.01, "percent": 0.01})
PER_CENT_PER_KELVIN = Loss("% per \u00b0C", "0.35", per_unit=0.01, others={"%/K": 0.01, "%/\u00b0C": 0.01, "%": 0.01})
FACTOR = Measure("", "0.85 or 1")
COUNT = Measure("", "a whole number, such as 4", whole=True)
DEGREES = Measure("\u00b0", "35", others={"deg": 1.0})
WARMTH = Warmth("\u00b0C", "25 or \u22125")
WARMER = Warmth("\u00b0C", "5 or \u22123", difference=True)
METRES = Measure("m", "45", others={"km": 1000.0, "ft": 0.3048, "feet": 0.3048})
CONDUCTOR = Conductor("mm\u00b2", "2.5, or 12 AWG")
LITRES = Measure("l", "24", others={"L": 1.0, "litres": 1.0, "gal": 3.785411784})
LITRES_A_MINUTE = Measure("l/min", "30", others={"l/h": 1 / 60, "gpm": 3.785411784, "l/s": 60.0})
LITRES_A_DAY = Measure("l a day", "200", others={"l": 1.0, "L": 1.0})
MINUTES = Length("min", "20 min, 1 h 30 or 48 s", per_unit=60)
LASTS = Length("", "30 min, 1 min or 5 s", per_unit=1, named=True)
SECONDS = Length("s", "0.4 s, 5 s or 1 min", per_unit=1)
TEXT = Words("", "a name")
FACE = Face("", "06:30")
