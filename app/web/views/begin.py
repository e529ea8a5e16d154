"""The first page of a new household: a few figures, a few machines, and a first verdict."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.household import library
from app.household.beginning import USUAL, Beginning
from app.household.household import Household
from app.web.customs import customs_of
from app.web.fields.beginning import BEGINNING
from app.web.fields.reading import Typed
from app.web.fields.showing import FieldView, show_fields
from app.web.words.draws import draws_of

FORM = "begin"


@dataclass(frozen=True, slots=True)
class UsualItem:
    """A machine to be ticked."""

    id: str  # of the library's entry, by its first name
    name: str  # its name
    draws: str  # what it draws and for how long
    when: str  # when it would be planned
    ticked: bool  # it is


@dataclass(frozen=True, slots=True)
class BeginView:
    """begin/page.html."""

    action: str  # where it goes
    later: str  # the plan's page, for who wants to do this later
    fields: tuple[FieldView, ...]  # the supply
    items: tuple[UsualItem, ...]  # the machines


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
) -> BeginView:
    """Lay out the page. ticked: what is ticked, by the ids of the machines."""
    items, there = [], begun_with(household)
    for usual in USUAL:
        entry = library.entry(usual.ids[0])
        when = "any time" if usual.any_time else f"at {usual.start}" if usual.start else "always on"
        when = "there already" if entry.id in there else when
        items.append(UsualItem(entry.id, entry.name, draws_of(entry.appliance), when, entry.id in ticked))
    fields = show_fields(BEGINNING, {}, Beginning, customs_of(household), FORM, typed, messages)
    return BeginView(action, later, fields, tuple(items))
