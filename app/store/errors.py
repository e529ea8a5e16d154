"""Why a change was not stored.

    NotThere        the household, plan or run it speaks of does not exist
    Gone            it did exist, and was removed meanwhile; carries the present state and what removed it
    BadBackup       a file is no backup
    NotEmpty        a database that is to be filled has something in it
    Stale           its own page has sent something later since; carries the present state

A change that would make an impossible household raises the household's own `HouseholdFaults`.
"""

from app.store.history import Change
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
