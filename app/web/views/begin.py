"""The first page of a new household: a few figures, a few machines, and a first verdict."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.household import library
from app.household.beginning import MAINS, USUAL, Beginning, Mains, Usual, fitting
from app.household.household import Household
from app.web.customs import customs_of
from app.web.fields.beginning import BEGINNING
from app.web.fields.reading import Typed
from app.web.fields.showing import FieldView, show_fields
from app.web.words.draws import draws_of
from app.web.words.plain import listed

FORM = "begin"


@dataclass(frozen=True, slots=True)
class MainsItem:
    """A machine as it is usual on some mains."""

    mains: str  # on which, as the choice has them; empty for all
    name: str  # its name
    draws: str  # what it draws and for how long, and what comes with it


@dataclass(frozen=True, slots=True)
class UsualItem:
    """A machine to be ticked."""

    id: str  # of the library's entry, by its first name
    mains: str  # on which there is one, as the choice has them; empty for all
    kinds: tuple[MainsItem, ...]  # what it is, by the mains
    when: str  # when it would be planned
    ticked: bool  # it is


@dataclass(frozen=True, slots=True)
class BeginView:
    """begin/page.html."""

    action: str  # where it goes
    later: str  # the plan's page, for who wants to do this later
    fields: tuple[FieldView, ...]  # the supply
    items: tuple[UsualItem, ...]  # the machines
    doubted: str  # volts that are asked about; empty for none


def begun_with(household: Household) -> set[str]:
    """Which of the usual machines a household has, by their first ids: under the library's id or name."""
    ids, names = {one.id for one in household.appliances}, {one.name for one in household.appliances}
    found = set()
    for usual in USUAL:
        entries = [library.entry(one) for one in usual.ids]
        if any(one.id in ids or one.appliance.name in names for one in entries):
            found.add(usual.ids[0])
    return found


def begin_view(
    household: Household,
    action: str,
    later: str,
    ticked: Sequence[str],
    typed: Typed,
    messages: Mapping[str, tuple[str, ...]],
    doubted: str = "",
) -> BeginView:
    """Lay out the page. ticked: what is ticked, by the ids of the machines. doubted: volts that are asked about."""
    items, there = [], begun_with(household)
    for usual in USUAL:
        when = "any time" if usual.any_time else f"at {usual.start}" if usual.start else "always on"
        when = "there already" if usual.ids[0] in there else when
        items.append(_item(usual, when, usual.ids[0] in ticked))
    fields = show_fields(BEGINNING, {}, Beginning, customs_of(household), FORM, typed, messages)
    return BeginView(action, later, fields, tuple(items), doubted)


def _item(usual: Usual, when: str, ticked: bool) -> UsualItem:
    """A machine with all it can be: the page shows what goes with the mains that are chosen there."""
    on: dict[library.Entry, list[Mains]] = {}
    for mains in MAINS:
        if (entry := fitting(usual, mains)) is not None:
            on.setdefault(entry, []).append(mains)
    kinds = tuple(MainsItem(_named(mains), entry.name, _draws(entry)) for entry, mains in on.items())
    return UsualItem(usual.ids[0], _named([one for mains in on.values() for one in mains]), kinds, when, ticked)


def _named(mains: Sequence[Mains]) -> str:
    return "" if len(mains) == len(MAINS) else " ".join(mains)


def _draws(entry: library.Entry) -> str:
    brings = [library.entry(one).name for one in entry.brings]
    return f"{draws_of(entry.appliance)}{f', with {listed(brings)}' if brings else ''}"
