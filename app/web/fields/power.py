"""Watts and volt-amperes as labels give them: amperes too, which take a voltage."""

import re
from dataclasses import dataclass

from app.web.fields.customs import Customs
from app.web.fields.measure import LONGEST, Measure, Value, plain
from app.web.forms.typed import number_typed

_AMPERES = r"(?P<amperes>.+?)\s*(?:amperes?|amps?|a)"
_ALONE = re.compile(_AMPERES, re.IGNORECASE)
_AT_VOLTS = re.compile(rf"{_AMPERES}\s*(?:at|@|x|\*|\u00d7|,)?\s*(?P<volts>[0-9.,]+)\s*(?:volts?|v)", re.IGNORECASE)
_LOWEST_V, _HIGHEST_V = 0.1, 1500  # as the file has volts


@dataclass(frozen=True)
class Power(Measure):
    """Watts or volt-amperes. Amperes make them at the volts beside them, else at what the household's mains have."""

    apparent: bool = False

    def examples(self, customs: Customs) -> str:
        """What may be typed; amperes with their volts where the mains have two voltages."""
        return f"{self.such_as} at {plain(customs.volts)} V" if customs.other_volts else self.such_as

    def read(self, text: str, customs: Customs) -> Value | None:
        """The value that was typed: `2 kW`, `8.7 A`, `8.7 A at 120 V`."""
        text = text.replace("\u00a0", " ").strip()
        if len(text) > LONGEST:
            return None
        at_volts = _AT_VOLTS.fullmatch(text)
        if at_volts is None:
            return super().read(text, customs)
        current_a, volts = number_typed(at_volts["amperes"]), number_typed(at_volts["volts"])
        if current_a is None or volts is None or not _LOWEST_V <= volts <= _HIGHEST_V:
            return None
        return self._rounded(current_a, self._amperes_at(volts, customs))

    def unclear(self, text: str, customs: Customs) -> str:
        """Amperes that may be at either of two voltages: a guess would be wrong by half."""
        alone = _ALONE.fullmatch(text.replace("\u00a0", " ").strip()) if len(text) <= LONGEST else None
        if customs.other_volts is None or alone is None or number_typed(alone["amperes"]) is None:
            return ""
        given, low, high = alone["amperes"], plain(customs.volts), plain(customs.other_volts)
        return f"Say at how many volts: {given} A at {low} V, or {given} A at {high} V."

    def _amperes_at(self, volts: float, customs: Customs) -> float:
        return volts if self.apparent else volts * customs.power_factor

    def _sizes(self, customs: Customs) -> list[tuple[str, float]]:
        known = super()._sizes(customs)
        if customs.other_volts is not None:
            return known
        amperes = self._amperes_at(customs.volts, customs)
        return sorted([*known, *((unit, amperes) for unit in ("A", "amps", "amp"))], key=lambda one: -len(one[0]))
