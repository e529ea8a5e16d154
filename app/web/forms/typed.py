"""Numbers as people type them, the same in every form: comma or point, either minus sign, the unit beside them.

What is typed is taken at any length: what is wrong with it is said beside its field, where it stays as it was typed.
A field that holds a time, a day or a number takes no more than `SHORT_AT_MOST` characters in the browser.
"""

import re

SHORT_AT_MOST = 40
FIND_AT_MOST = 100

# `2,400` is 2400 to some and 2.4 to others: a thousand times too small is worse than asked once more.
_EITHER = re.compile(r"[+-]?[1-9][0-9]{0,2}(,[0-9]{3})+(?![0-9])")
_NUMBER = re.compile(r"[+-]?([0-9]{1,12}(\.[0-9]{0,12})?|\.[0-9]{1,12})")


def number_typed(text: str, *units: str) -> int | float | None:
    """A number, whole where it is written whole; None for what is none.

    units: what may stand behind it.

    >>> [number_typed(text, "%") for text in ("75", " 67,5 % ", "\u22123", "1.2.3", "a few", "2,400")]
    [75, 67.5, -3, None, None, None]
    """
    text = text.strip().replace("\u2212", "-")
    if _EITHER.match(text):
        return None
    text = text.replace(",", ".")
    for unit in units:
        text = text.removesuffix(unit).rstrip()
    if not _NUMBER.fullmatch(text):
        return None
    value = float(text) + 0.0  # nothing has no sign
    return int(value) if "." not in text else value


def per_cent_typed(text: str) -> float | None:
    """A share from 0 to 1 out of per cent; None for what is none, or lies outside.

    A bare figure below 1 is taken for none: whoever types 0.75 means 75 per cent and would get less than one.

    >>> [per_cent_typed(text) for text in ("75", "67,5 %", "0", "0.75", "0.75 %", "120")]
    [0.75, 0.675, 0.0, None, 0.0075, None]
    """
    value = number_typed(text, "%")
    if value is None or not 0 <= value <= 100:
        return None
    if 0 < value < 1 and "%" not in text:
        return None
    return round(value / 100, 8)
