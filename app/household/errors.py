"""What can be wrong with a household file.

HouseholdFaults        one or more faults, each naming its field
Fault                  one line: the field's path, and what would be right
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that cannot be right.

    path: the field, as `appliances[2].stages[0].watts`; empty for the file as a whole.
    why: what is wrong and what would be right, in the user's words, without a final stop.
    plan: name of the plan that alone makes it impossible, where that is not what was to be changed; `why` names it too.
    """

    path: str
    why: str
    plan: str = ""

    @property
    def sentence(self) -> str:
        """Why, as a sentence of its own."""
        return f"{self.why[:1].upper()}{self.why[1:]}."

    def __str__(self) -> str:
        return f"{self.path}: {self.why}" if self.path else self.why


class HouseholdFaults(ValueError):
    """A household, or a change to one, that cannot be computed; carries every fault found."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("; ".join(map(str, self.faults)))


class Faults:
    """Collects faults while a household is checked, so that all are said at once."""

    def __init__(self) -> None:
        self._found: dict[Fault, None] = {}

    def add(self, path: str, why: str) -> None:
        """Note one fault; the same line is kept once."""
        self._found[Fault(path, why)] = None

    def take(self, faults: Iterable[Fault]) -> None:
        """Note what was found elsewhere."""
        self._found |= dict.fromkeys(faults)

    def raise_if_any(self) -> None:
        """Raise what was collected, if anything."""
        if self._found:
            raise HouseholdFaults(self._found)
