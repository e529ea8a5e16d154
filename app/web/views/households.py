"""The list of households, an import, and a plain message."""

import datetime
from collections.abc import Collection
from dataclasses import dataclass

from app.engine.results import Verdict
from app.household.errors import Fault
from app.household.file import LARGEST_BYTES
from app.household.names import LONGEST_NAME, copy_name
from app.store.errors import Unreadable
from app.store.removed import RemovedRow, gone_for_good_at
from app.web.figures import MONTHS
from app.web.forms.typed import SHORT_AT_MOST


@dataclass(frozen=True, slots=True)
class PlanItem:
    """A plan in the list."""

    name: str  # its name
    date: str  # its day
    href: str  # its page
    verdict: Verdict | None  # its verdict, for the colour; None where it was not worked out
    word: str  # the verdict in words; empty where it was not worked out


@dataclass(frozen=True, slots=True)
class Entry:
    """A field to be filled in."""

    name: str  # its name in the form
    label: str  # its name on the page
    typed: str  # what stands in it
    help: str  # how it can be written, and what holds where it is left empty; may be empty
    messages: tuple[str, ...]  # why what was typed could not be
    at_most: int  # how many characters it takes


@dataclass(frozen=True, slots=True)
class HouseholdItem:
    """One household in the list."""

    key: str  # its key
    name: str  # its name
    plans: tuple[PlanItem, ...]  # its plans
    open: bool  # what can be done with it is unfolded
    rename: Entry | None  # another name for it; None where who looks may change nothing
    copy: Entry | None  # a name for a copy; None where who looks may make none
    may_delete: bool  # who looks may delete it
    history: str  # where its changes are; empty where it has no plan
    links: str  # where its links are; empty where who looks may make none


@dataclass(frozen=True, slots=True)
class UnreadableItem:
    """A household whose stored state is none that this program takes: in the list, and households/unreadable.html."""

    key: str  # its key
    name: str  # its name
    said: str  # what that means
    faults: tuple[Fault, ...]  # what is wrong, by the fields of its file
    way: str  # what can be done, as far as who looks may
    may_delete: bool  # who looks may delete it, and bring in a file for it


@dataclass(frozen=True, slots=True)
class RemovedItem:
    """A deleted household that can be had back."""

    key: str  # its key
    name: str  # its name
    date: str  # when it was deleted
    until: str  # when it goes for good


@dataclass(frozen=True, slots=True)
class BeginView:
    """The form for a new household."""

    open: bool  # it is unfolded
    entries: tuple[Entry, ...]  # what must be given
    place: tuple[Entry, ...]  # what may be left out
    place_open: bool  # what may be left out is unfolded
    zone_help: str  # what is said of the time zone where it is the browser's own; empty where one was typed


@dataclass(frozen=True, slots=True)
class HouseholdsView:
    """households/list.html."""

    households: tuple[HouseholdItem, ...]  # every household the link opens
    unreadable: tuple[UnreadableItem, ...]  # but those that cannot be read as they are stored
    may_import: bool  # whether who looks may bring in another
    begin: BeginView | None  # the form for a new one; None where who looks may make none
    deleted: RemovedItem | None  # the one that was deleted just now
    removed: tuple[RemovedItem, ...]  # every deleted one, the last first
    may_purge: bool  # who looks may let them go for good
    tab: str  # a name for this page


@dataclass(frozen=True, slots=True)
class ImportView:
    """households/import.html."""

    text: str  # what was typed or came in the file
    faults: tuple[Fault, ...]  # why it was refused
    at_most: int = LARGEST_BYTES  # how many characters the text may have


@dataclass(frozen=True, slots=True)
class MessageView:
    """message.html."""

    title: str  # the window's title
    lead: str  # what happened
    lines: tuple[str, ...]  # one line each, where there is more than one thing to say
    more: str  # what to do now; may be empty
    href: str = ""  # where that can be done; empty where it is not known
    way: str = ""  # what that leads to
    again: "AgainView | None" = None  # what was sent, to be sent again; None where it cannot be


@dataclass(frozen=True, slots=True)
class AgainView:
    """A form as it was sent."""

    action: str  # where to
    fields: tuple[tuple[str, str], ...]  # each field's name and what it held


@dataclass(frozen=True, slots=True)
class ListAttempt:
    """A change in the list that could not be done.

    what: `rename`, `copy` or `begin`. household_key: of which household, or empty.
    typed: what was typed, by field. messages: why it could not be, by field, a sentence each.
    """

    what: str
    household_key: str
    typed: dict[str, str]
    messages: dict[str, tuple[str, ...]]

    def entry(self, name: str, label: str, help: str = "") -> Entry:
        """A field as it was filled in, with what is wrong with it."""
        at_most = LONGEST_NAME if name == "name" else SHORT_AT_MOST
        return Entry(name, label, self.typed.get(name, ""), help, self.messages.get(name, ()), at_most)


CANNOT_BE_READ = "As it is stored this Loadstead cannot read it, so none of its pages opens. All of it is kept."
PUT_RIGHT = "Save it as a file, put right there what is named here, and bring that file in for it: its links stay."
ASK_FOR_IT = "Whoever owns it can put it right; its file can be saved."


def unreadable_item(broken: Unreadable, *, may_delete: bool) -> UnreadableItem:
    """A household that cannot be read, with what can be done."""
    way = PUT_RIGHT if may_delete else ASK_FOR_IT
    return UnreadableItem(broken.key, broken.name, CANNOT_BE_READ, broken.faults, way, may_delete)


def removed_item(row: RemovedRow) -> RemovedItem:
    """A deleted household, with its days in words."""
    return RemovedItem(row.key, row.name, _day(row.removed_at), _day(gone_for_good_at(row.removed_at)))


def _day(at_utc: datetime.datetime) -> str:
    return f"{at_utc.day}\u00a0{MONTHS[at_utc.month - 1]} {at_utc.year}"


def household_item(
    key: str,
    name: str,
    plans: tuple[PlanItem, ...],
    attempt: ListAttempt | None,
    *,
    taken: Collection[str],
    may_edit: bool,
    may_copy: bool,
    may_delete: bool,
    history: str,
    links: str,
) -> HouseholdItem:
    """A household in the list, with what could not be done with it. taken: the names of all of them."""
    mine = attempt if attempt and attempt.household_key == key else None

    def named(what: str, label: str, typed: str) -> Entry:
        if mine and mine.what == what:
            return mine.entry("name", label)
        return Entry("name", label, typed, "", (), LONGEST_NAME)

    return HouseholdItem(
        key=key,
        name=name,
        plans=plans,
        open=mine is not None,
        rename=named("rename", "Name", name) if may_edit else None,
        copy=named("copy", "Name of the copy", copy_name(name, taken)) if may_copy else None,
        may_delete=may_delete,
        history=history,
        links=links,
    )


_ZONE = "as Area/City; empty for UTC"


def begin_view(attempt: ListAttempt | None, timezone: str, like: str, *, first: bool) -> BeginView:
    """The form for a new household.

    timezone: what stands in its field at first, where the page's script does not ask the browser: that of the
    household `like`. first: there is no household yet.
    """
    mine = attempt if attempt and attempt.what == "begin" else None
    given = mine or ListAttempt("begin", "", {"timezone": timezone}, {})
    place = (
        given.entry("timezone", "Time zone", f"that of {like}; another {_ZONE}" if like and mine is None else _ZONE),
        given.entry("latitude", "Latitude", "degrees, minus in the south; with both empty the time zone tells roughly"),
        given.entry("longitude", "Longitude", "degrees, minus in the west; both or neither"),
    )
    return BeginView(
        open=first or mine is not None,
        entries=(given.entry("name", "Name"),),
        place=place,
        place_open=mine is None or any(one.messages for one in place),
        zone_help="" if mine else _ZONE,
    )
