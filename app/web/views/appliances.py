"""The household's appliances, and what may be added to them."""

from collections.abc import Iterable
from dataclasses import dataclass

from starlette.requests import Request

from app.charts.behaviour import behaviours
from app.household import library
from app.household.appliance import Appliance
from app.household.lookup import rank
from app.household.resolve import Resolved
from app.store.commands.parts import part_named
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.views.entries import beyond, in_a_line
from app.web.words.draws import draws_of

FOUND_AT_MOST = 24


@dataclass(frozen=True, slots=True)
class ApplianceItem:
    """One appliance in the list."""

    name: str  # its name
    href: str  # its editor
    colour: str  # its behaviour
    draws: str  # what it draws and for how long
    rests: str  # what its figures rest on
    runs: str  # how often it runs in the open plan; may be empty
    others: tuple[str, ...]  # what plans have in its place


@dataclass(frozen=True, slots=True)
class TypicalItem:
    """One entry of the built-in library."""

    id: str  # its id, for the form
    name: str  # its name
    draws: str  # what it draws and for how long
    rests: str  # what its figures rest on
    help: str  # where one's own figure is found
    cautions: tuple[str, ...]  # what may hurt


@dataclass(frozen=True, slots=True)
class GroupLink:
    """A group of the built-in library."""

    name: str  # its name
    href: str  # this page with it unfolded
    current: bool  # it is unfolded
    count: int  # how many entries it has


@dataclass(frozen=True, slots=True)
class AppliancesView:
    """appliances/list.html."""

    items: tuple[ApplianceItem, ...]  # the household's own
    beyond: tuple[str, ...]  # what plans alone have
    action: str  # where a new one goes
    here: str  # this page
    alone: bool  # they are one plan's alone
    questions: str  # the page that asks three questions
    find: str  # what is looked for
    found: tuple[TypicalItem, ...]  # what the library has for it
    more: int  # how many more there are
    groups: tuple[GroupLink, ...]  # the library's groups
    searched: bool  # something was looked for, or a group unfolded
    fault: str  # why nothing could be added; may be empty
    total: int  # how many entries the library has


def appliances_view(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    resolved: Resolved,
    *,
    here: str,
    query: str,
    find: str,
    group: str,
    fault: str = "",
) -> AppliancesView:
    """Lay out the list.

    here, query: the page's address, and the end of it that says whose appliances they are. find: what is looked for in
    the library; group: the group of it that is unfolded.
    """
    sockets = library.sockets_of(stored.household.supply.inverter)
    entries = [one for one in library.entries() if sockets & set(one.volts)]
    found: Iterable[library.Entry] = ()
    if find.strip():
        # What bears the name in what it is comes before what bears it in how it is: a pump before a heat-pump dryer.
        found = sorted(
            library.search(find, sockets), key=lambda one: rank(find, one.name.partition(",")[0], ()) is None
        )
    elif group:
        found = [one for one in entries if one.group == group]
    shown = list(found)
    at_most = FOUND_AT_MOST if find.strip() else len(shown)
    keys = {"household_key": stored.key, "scenario_key": scenario.key}
    colours = behaviours(resolved)
    placed = [run.appliance for run in resolved.day.runs if run.on]

    def item(appliance: Appliance) -> ApplianceItem:
        piece = part_named(stored, "appliance", appliance.id)
        assert piece is not None  # it came out of the store
        href = f"{request.app.url_path_for('appliance', **keys, appliance_key=piece.key)}{query}"
        times = placed.count(appliance.id)
        return ApplianceItem(
            name=appliance.name,
            href=href,
            colour=colours.get(appliance.id, "base"),
            draws=draws_of(appliance),
            rests=_BASIS[appliance.basis],
            runs=f"{times} {'run' if times == 1 else 'runs'} in {scenario.name}" if times else "",
            others=in_a_line(stored.household, appliance),
        )

    names = {one.group for one in entries}
    order = [one.group for one in entries]
    return AppliancesView(
        items=tuple(item(one) for one in stored.household.appliances),
        beyond=beyond(stored.household),
        action=f"{here}{query}",
        here=here,
        alone=bool(query),
        questions=f"{request.app.url_path_for('questions', **keys)}{query}",
        find=find,
        found=tuple(_typical(one) for one in shown[:at_most]),
        more=len(shown[at_most:]),
        groups=tuple(
            GroupLink(
                name,
                f"{here}?{query[1:]}{'&' if query else ''}group={name.replace(' ', '+')}#library",
                name == group,
                order.count(name),
            )
            for name in dict.fromkeys(order)
            if name in names
        ),
        searched=bool(find.strip() or group),
        fault=fault,
        total=len(entries),
    )


_BASIS = {"typical": "typical figures", "nameplate": "its label", "measured": "measured"}


def _typical(entry: library.Entry) -> TypicalItem:
    source = entry.appliance.source
    text = source.text if source is not None and source.text else ""
    cautions = tuple(words.hazard(one) for one in entry.cautions)
    return TypicalItem(entry.id, entry.name, draws_of(entry.appliance), text, entry.help, cautions)
