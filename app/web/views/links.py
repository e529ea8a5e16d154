"""Links of a household: those there are, a form for a new one, and a new one's address, shown once."""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from markupsafe import Markup

from app.household.names import LONGEST_NAME
from app.store.links import LinkRow
from app.store.stored import StoredHousehold
from app.web.forms.links import LinkForm
from app.web.views.households import Entry
from app.web.words import links as words


@dataclass(frozen=True, slots=True)
class LinkItem:
    """One link in the list."""

    key: str  # its key
    name: str  # what people call it
    opens: str  # what it may do
    used: str  # when it was used last
    lasts: str  # until when it opens something; empty for one without end
    yours: bool  # it is the one who looks came with
    asks: tuple[str, ...]  # what is said before it is revoked; empty where that was not asked for
    see_href: str  # the page it opens; empty where that is every page
    ask_href: str  # where the question is asked; empty for one that may not be revoked here
    action: str  # where it is revoked


@dataclass(frozen=True, slots=True)
class EndedItem:
    """A link that opens nothing any more."""

    name: str  # what people called it
    opens: str  # what it was for
    says: str  # how it ended, and when


@dataclass(frozen=True, slots=True)
class Option:
    """One thing to choose."""

    value: str  # what the form sends
    name: str  # what it is called
    means: str  # what that is; may be empty
    chosen: bool  # it is chosen


@dataclass(frozen=True, slots=True)
class Choice:
    """A field with some things to choose from."""

    options: tuple[Option, ...]  # what there is
    messages: tuple[str, ...]  # why what was chosen could not be


@dataclass(frozen=True, slots=True)
class MadeView:
    """A link that was made just now."""

    name: str  # what it is called
    opens: str  # what it may do
    address: str  # its address, with the token
    qr: Markup  # the same to be photographed
    only_here: str  # that it works on this machine alone; empty where it does not


@dataclass(frozen=True, slots=True)
class LinksView:
    """links/page.html."""

    household: str  # the household's name
    href: str  # this page
    made: MadeView | None  # what was made just now
    notice: str  # one line of news; may be empty
    faults: tuple[str, ...]  # why something about a link in the list was refused
    links: tuple[LinkItem, ...]  # those that open something
    ended: tuple[EndedItem, ...]  # those that do not any more
    key: str  # of the link that the form would make
    name: Entry  # its name
    scopes: Choice  # what it may do
    plans: Choice  # for which plans
    lengths: Choice  # for how long


@dataclass(frozen=True, slots=True)
class LinksAround:
    """What the page is told of its surroundings.

    revoke: a link's key to where it is revoked. see: a plan's key to its page for readers. asked: key of the link
    that is about to be revoked, or empty. yours: of the one who looks came with. all_too: who looks may revoke links
    for every household.
    """

    href: str
    revoke: Mapping[str, str]
    see: Mapping[str, str]
    asked: str
    yours: str
    all_too: bool


def links_view(
    stored: StoredHousehold,
    rows: Iterable[LinkRow],
    about: LinksAround,
    form: LinkForm,
    *,
    messages: Mapping[str, tuple[str, ...]],
    made: MadeView | None,
    notice: str,
    faults: tuple[str, ...],
) -> LinksView:
    """Lay out the page. form: what was typed, or a fresh one. messages: what is wrong with it, by field."""
    zone = ZoneInfo(stored.household.site.timezone)
    rows = list(rows)
    return LinksView(
        household=stored.household.name,
        href=about.href,
        made=made,
        notice=notice,
        faults=faults,
        links=tuple(_item(stored, row, about, zone) for row in rows if row.ended is None),
        ended=tuple(_ended(stored, row, zone) for row in rows if row.ended is not None),
        key=form.key,
        name=Entry(
            "name",
            "Name",
            form.name,
            "Whose it is, or where it hangs: Kitchen tablet, Ada’s phone.",
            messages.get("name", ()),
            LONGEST_NAME,
        ),
        scopes=_choice(
            ((value, name, words.SCOPE_MEANS[value]) for value, name in words.SCOPES.items()),
            form.scope,
            messages.get("scope", ()),
        ),
        plans=_choice(
            [("", words.ALL_PLANS, ""), *((one.key, one.name, "") for one in stored.scenarios)],
            form.plan,
            messages.get("plan", ()),
        ),
        lengths=_choice(
            ((value, name, "") for value, name in words.LENGTHS.items()), form.days, messages.get("days", ())
        ),
    )


def what_it_opens(stored: StoredHousehold, scope: str, household_key: str | None, scenario_key: str | None) -> str:
    """What a link opens, in words."""
    piece = stored.pieces.get(scenario_key or "")
    plan = str(piece.document["name"]) if piece is not None else ""
    return words.opens(scope, plan, everywhere=household_key is None)


def _choice(given: Iterable[tuple[str, str, str]], chosen: str, messages: tuple[str, ...]) -> Choice:
    return Choice(tuple(Option(value, name, means, value == chosen) for value, name, means in given), messages)


def _item(stored: StoredHousehold, row: LinkRow, about: LinksAround, zone: ZoneInfo) -> LinkItem:
    link = row.link
    yours = link.key == about.yours
    may = link.household_key is not None or about.all_too
    asks = (words.ASKS.format(name=link.name), *((words.YOURS,) if yours else ()))
    return LinkItem(
        key=link.key,
        name=link.name,
        opens=what_it_opens(stored, link.scope, link.household_key, link.scenario_key),
        used=words.used(_local(link.last_used_at, zone)),
        lasts=words.lasts(_local(link.expires_at, zone)),
        yours=yours,
        asks=asks if may and link.key == about.asked else (),
        see_href=about.see.get(link.scenario_key or "", ""),
        ask_href=f"{about.href}?revoke={link.key}#link-{link.key}" if may else "",
        action=about.revoke[link.key],
    )


def _ended(stored: StoredHousehold, row: LinkRow, zone: ZoneInfo) -> EndedItem:
    link, at_utc = row.link, row.ended_at
    assert at_utc is not None  # of one that has ended
    assert row.ended is not None
    opened = what_it_opens(stored, link.scope, link.household_key, link.scenario_key)
    return EndedItem(link.name, opened, words.ended(row.ended, at_utc.astimezone(zone)))


def _local(at_utc: datetime.datetime | None, zone: ZoneInfo) -> datetime.datetime | None:
    return None if at_utc is None else at_utc.astimezone(zone)
