"""The list of households, an import, and a plain message."""

from dataclasses import dataclass

from app.household.errors import Fault
from app.web.views.day import PlanLink


@dataclass(frozen=True, slots=True)
class HouseholdItem:
    """One household in the list."""

    name: str  # its name
    plans: tuple[PlanLink, ...]  # its plans


@dataclass(frozen=True, slots=True)
class HouseholdsView:
    """households/list.html."""

    households: tuple[HouseholdItem, ...]  # every household the link opens
    may_import: bool  # whether who looks may bring in another


@dataclass(frozen=True, slots=True)
class ImportView:
    """households/import.html."""

    text: str  # what was typed or came in the file
    faults: tuple[Fault, ...]  # why it was refused


@dataclass(frozen=True, slots=True)
class MessageView:
    """message.html."""

    title: str  # the window's title
    lead: str  # what happened
    lines: tuple[str, ...]  # one line each, where there is more than one thing to say
    more: str  # what to do now; may be empty
