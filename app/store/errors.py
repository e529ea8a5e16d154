"""Why a change was not stored.

    NotThere        the household, plan or run it speaks of does not exist
    Gone            it did exist, and was removed meanwhile; carries the present state and what removed it
    BadBackup       a file is no backup
    NotEmpty        a database that is to be filled has something in it
    Stale           its own page has sent something later since; carries the present state
    Unreadable      what is stored of the household is none that this program takes
    BadValue        something was given that the database cannot keep, such as a text with a NUL in it
    Unwritten       the database could not be written: there is no room, or it may only be read
    Locked          it could not, for somebody else was writing all the time; it can be tried again

A change that would make an impossible household raises the household's own `HouseholdFaults`.
"""

from app.household.errors import Fault
from app.store.history import Change
from app.store.mapping import Piece
from app.store.stored import StoredHousehold


class NotThere(LookupError):
    """What the change speaks of does not exist, or no longer."""


class Gone(NotThere):
    """The plan or run was there and was removed meanwhile.

    current: the household as it stands. part_keys: of what may have been removed: the run in its plan and in
    that plan's parents, or the plan. change: the line of the log that removed it, if it was found.
    """

    def __init__(self, current: StoredHousehold, part_keys: tuple[str, ...]) -> None:
        super().__init__("it was removed meanwhile")
        self.current = current
        self.part_keys = part_keys
        self.change: Change | None = None


class BadBackup(Exception):
    """A file that is no backup, or none that can be had back here; says so in words."""


class NotEmpty(Exception):
    """A database that is to be filled has something in it. names: of the households there; links: how many."""

    def __init__(self, names: list[str], links: int) -> None:
        super().__init__("the database is not empty")
        self.names, self.links = names, links


class Stale(Exception):
    """A later change of the same page was stored already, or what was to be undone is the last one no more."""

    def __init__(self, current: StoredHousehold) -> None:
        super().__init__("something newer was done since")
        self.current = current


class Unreadable(Exception):
    """What is stored of a household is none that this program takes: an older one may have allowed more.

    Not a HouseholdFaults, for nothing that was just sent is wrong. key, name, revision: of the household.
    pieces: what is stored. faults: what is wrong with it, by the fields of its file.
    """

    def __init__(self, key: str, name: str, revision: int, pieces: tuple[Piece, ...], faults: tuple[Fault, ...]):
        super().__init__(f"the household {name!r} cannot be read: {'; '.join(map(str, faults))}")
        self.key, self.name, self.revision, self.pieces, self.faults = key, name, revision, pieces, faults


class BadValue(ValueError):
    """Something that the database cannot keep, which no page sends by itself; nothing was stored."""


class Unwritten(Exception):
    """The database could not be written; nothing was stored. It says why, as the database does."""


class Locked(Unwritten):
    """Somebody else was writing for longer than one waits."""
