"""How well a name fits what somebody types: accents, capitals and a plural s make no difference."""

import re
import unicodedata
from collections.abc import Iterable

BEGINS, WORD_BEGINS, OTHER_WORD_BEGINS, CONTAINS = range(4)


def rank(typed: str, name: str, words: Iterable[str]) -> int | None:
    """How well something fits, best first; None if it does not.

    Its name begins so; each typed word begins a word of its name; or of its other words; or stands somewhere
    in them. Nothing typed fits everything.

    >>> rank("hobs", "Induction hob, two zones", ["cooker"]) == WORD_BEGINS
    True
    """
    asked, named = _words(typed), _words(name)
    if " ".join(named).startswith(" ".join(asked)):
        return BEGINS
    if _each_begins(asked, named):
        return WORD_BEGINS
    everything = [*named, *(word for other in words for word in _words(other))]
    if _each_begins(asked, everything):
        return OTHER_WORD_BEGINS
    return CONTAINS if all(any(one in word for word in everything) for one in asked) else None


def _each_begins(asked: list[str], words: list[str]) -> bool:
    return all(any(word.startswith(one) for word in words) for one in asked)


def _words(text: str) -> list[str]:
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return [_singular(word) for word in re.findall(r"\w+", bare.casefold())]


def _singular(word: str) -> str:
    """Both sides lose their s, so what is no plural does no harm."""
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    return word[:-1] if word.endswith("s") and len(word) > 3 else word
