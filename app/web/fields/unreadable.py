"""What is said of a figure that cannot be read: what is wrong with it, and what would be right."""

import re

from app.web.fields.customs import Customs
from app.web.fields.measure import LONGEST, Measure

SHOWN_AT_MOST = 30

_THOUSANDS = re.compile(r"[0-9],[0-9]{3}(?![0-9])")
_NO_FIGURE = re.compile(r"[+\u2212-]?\s*(nan|inf(inity)?|\u221e)\b.*|.*\u221e.*", re.IGNORECASE)
_POWER_OF_TEN = re.compile(r"[+\u2212-]?[0-9.,]+\s*e\s*[+\u2212-]?[0-9]+.*", re.IGNORECASE)
_ENDLESS = re.compile(r"[+\u2212-]?[0-9]{13,}.*")
_SIGN_ALONE = re.compile(r"[+\u2212\u2013-]+\s*[^0-9\s]*")


def unreadable(text: str, measure: Measure, customs: Customs) -> str:
    """A sentence for what was typed into a field of a measure and means nothing there."""
    if unclear := measure.unclear(text, customs):
        return unclear
    typed, such_as = f"\u2018{short(text)}\u2019", measure.examples(customs)
    plain = text.strip() if len(text) <= LONGEST else ""  # nobody means so long a figure
    if _THOUSANDS.search(plain):
        return f"{typed} may be meant in two ways; write it without the comma between thousands."
    if _NO_FIGURE.fullmatch(plain):
        return f"{typed} is nothing that can be reckoned with; give a figure as {such_as}."
    if _POWER_OF_TEN.fullmatch(plain):
        return f"{typed} has a power of ten in it; write the figure out, as {such_as}."
    if _ENDLESS.fullmatch(plain):
        return f"{typed} is more than anything here can be; give it as {such_as}."
    if any(one.isdecimal() and not one.isascii() for one in plain):
        return f"{typed} is in digits that are not read here; write it with the digits 0 to 9, as {such_as}."
    if _SIGN_ALONE.fullmatch(plain):
        return f"{typed} has no figure behind its sign; give it as {such_as}."
    return f"{typed} cannot be read here; give it as {such_as}."


def short(text: str) -> str:
    """What was typed, as a sentence can hold it."""
    text = text.strip()
    return text if len(text) <= SHOWN_AT_MOST else f"{text[: SHOWN_AT_MOST - 1]}\u2026"
