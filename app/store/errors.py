"""Why a change was not stored.

    NotThere        the household, plan or run it speaks of does not exist
    Stale           somebody changed the same thing since; carries the present state

A change that would make an impossible household raises the household's own `HouseholdFaults`.
"""

from app.store.stored import StoredHousehold


class NotThere(LookupError):
    """What the change speaks of does not exist, or no longer."""


class Stale(Exception):
    """The change was made on an older state of the same field, or overtaken by a newer one of its own tab."""

    def __init__(self, current: StoredHousehold) -> None:
        super().__init__("the same field was changed since")
        self.current = current
