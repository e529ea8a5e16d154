"""What every command is: from whom it comes, what it is about, and what it makes of a household."""

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, ClassVar

from app.store.errors import Gone, NotThere, Unreadable
from app.store.keys import run_key
from app.store.mapping import Piece
from app.store.stored import StoredHousehold, StoredScenario


@dataclass(frozen=True, kw_only=True)
class Command(ABC):
    """A change to one thing in a household, as an open page sends it.

    revision: of the household, as the page showed it that the change was made on. Nothing is refused for it:
        of two changes to the same thing from two pages the later one stands.
    tab: the open page, by a name it gave itself; sequence: its own count of what it sent.
    link_key: the link it was done with; None at the machine itself.
    """

    household_key: str
    revision: int = 0
    tab: str
    sequence: int
    link_key: str | None

    # Whether it overwrites nothing, so that it may arrive after a later one of its own page.
    may_come_late: ClassVar[bool] = False

    def overtaken_by(self, sequence: int, done: Mapping[str, Any]) -> bool:
        """Whether something else that its own page said of its subject, under its number or a later one, stands.

        sequence: of that. done: the log's line about it.
        """
        return not self.may_come_late

    @abstractmethod
    def subject(self) -> tuple[str, str | None]:
        """Key of the part it is about, and the field of it; sequence numbers are compared within these."""

    @abstractmethod
    def on(self, current: StoredHousehold) -> "Outcome":
        """What it makes of a household.

        Raises NotThere, Gone for what it is about; HouseholdFaults when the household would not be possible.
        """

    def instead_of(self, broken: Unreadable) -> StoredHousehold:
        """What stands for a household that cannot be read, where the command replaces all of it.

        Raises Unreadable where it does not.
        """
        raise broken

    def next_envelope(self) -> dict[str, Any]:
        """From whom the command comes that undoes it: the same page, as the next thing it sends."""
        return {name: getattr(self, name) for name in ENVELOPE} | {"sequence": self.sequence + 1}


ENVELOPE = tuple(field.name for field in fields(Command))


@dataclass(frozen=True)
class Outcome:
    """What a command makes of a household.

    household: the next state. changed: the pieces to be written.
    command: as it was carried out, with what it left open; inverse: what undoes it.
    words, inverse_words: what the log's reader needs beside each, to say it in words.
    scenario_key: the plan it changed; None for what concerns the household.
    """

    household: StoredHousehold
    changed: tuple[Piece, ...]
    command: Command
    inverse: Command
    words: dict[str, Any]
    inverse_words: dict[str, Any]
    scenario_key: str | None


def plan_of(current: StoredHousehold, scenario_key: str) -> StoredScenario:
    """The plan of a key.

    Raises Gone when it was removed, NotThere when there never was one.
    """
    scenario = current.scenario(scenario_key)
    if scenario is None:
        if scenario_key in current.pieces:
            raise Gone(current, (scenario_key,))
        raise NotThere("there is no such plan")
    return scenario


def run_of(current: StoredHousehold, scenario: StoredScenario, key: str) -> str:
    """The id of the run of a key on a plan's day.

    Raises Gone when it was removed from the plan or from a parent of it, NotThere when there never was one.
    """
    run_id = current.run_id(scenario, key)
    if run_id is None:
        line = current.lineage(scenario)
        for name in {piece.name for one in line for piece in current.runs_of(one)}:
            if run_key(scenario.key, name) == key:
                raise Gone(current, tuple(run_key(one.key, name) for one in line))
        raise NotThere("there is no such run in this plan")
    return run_id
