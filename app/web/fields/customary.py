"""Kinds of value that a household writes by its own customs: degrees, and the sizes of wires."""

import re
from dataclasses import dataclass

from app.web.fields.customs import GAUGES, Customs, gauge_mm2, gauge_of
from app.web.fields.measure import LONGEST, Measure, Value, plain
from app.web.forms.typed import number_typed

_CELSIUS = re.compile("([\u2212-]?[0-9]+(?:\\.[0-9]+)?)([ \u00a0])\u00b0C")


def in_degrees(text: str, customs: Customs) -> str:
    """A sentence of ours in the household's degrees, which says them in degrees Celsius, each with its unit.

    >>> in_degrees("None at \u221210 \u00b0C, all from 15 \u00b0C.", Customs(temperature="F"))
    'None at 14 \u00b0F, all from 59 \u00b0F.'
    """
    if customs.temperature == "C":
        return text

    def turned(found: re.Match[str]) -> str:
        fahrenheit = plain(round(float(found[1].replace("\u2212", "-")) * 1.8 + 32, 4)).replace("-", "\u2212")
        return f"{fahrenheit}{found[2]}\u00b0F"

    return _CELSIUS.sub(turned, text)


@dataclass(frozen=True)
class Warmth(Measure):
    """A temperature in the household's degrees; difference: of two temperatures."""

    difference: bool = False

    def examples(self, customs: Customs) -> str:
        """As the household has them."""
        if customs.temperature == "C":
            return self.such_as
        return "9 or \u22125" if self.difference else "77 or 23"

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
        gauge = re.fullmatch(r"(?:awg\s*)?([0-9]{1,2}(?:/0)?|0{1,4})(?:\s*(?:awg|ga\.?|gauge))?", bare)
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
