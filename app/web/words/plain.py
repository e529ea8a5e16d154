"""Small helpers of every sentence."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Headline:
    """The verdict in words: `lead` in strong type, `rest` who and when, `why` what it means and what to do."""

    lead: str
    rest: str
    why: str

    @property
    def sentence(self) -> str:
        """All of it in one line."""
        return " ".join(part for part in (self.lead, self.rest, self.why) if part)


def listed(names: Sequence[str]) -> str:
    """`a, b and c`."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def sentence_case(text: str) -> str:
    """The first letter large."""
    return text[:1].upper() + text[1:]


# Each behaviour that has a colour, in words.
BEHAVIOURS = {
    "base": "always there",
    "follow": "comes with something else",
    "prog1": "a programme",
    "prog2": "a programme",
    "prog3": "a programme",
    "hand1": "switched by hand",
    "hand2": "switched by hand",
    "hand3": "switched by hand",
}
