"""Households as files: brought in, put in the place of one that is there, and taken along."""

import json
import re
import secrets
from collections.abc import Iterable
from typing import Annotated, Any, NamedTuple
from urllib.parse import quote

from fastapi import Depends, HTTPException
from starlette.requests import Request
from starlette.responses import Response

from app.engine.day import lay_day
from app.household.errors import HouseholdFaults
from app.household.file import household_from
from app.household.resolve import resolve
from app.store.commands import ReplaceHousehold, apply
from app.store.errors import NotThere, Stale, Unreadable
from app.store.history import Change, recent
from app.store.households import existing, export_document, list_households, load
from app.store.households import import_household as store_household
from app.store.stored import StoredHousehold
from app.web import words
from app.web.access import Routes
from app.web.addresses import plan_links, plan_page
from app.web.answering import OVERTAKEN
from app.web.asked import asked_household
from app.web.forms.household import Incoming, incoming
from app.web.forms.transfer import Replacing, replacing
from app.web.planned import planned
from app.web.reply import reply, reply_elsewhere
from app.web.storing import try_and_do
from app.web.views.households import ImportView
from app.web.views.transfer import WayItem, WayView, preview_view, readable

routes = Routes()

IMPORT = "households/import.html"
PREVIEW = "households/preview.html"
# What happened since a preview is told this far back.
TOLD_AT_MOST = 20


@routes.at("GET", "/import", "owner")
def import_form(request: Request) -> Response:
    """The form for a household file."""
    return _show_form(request, None)


@routes.at("POST", "/import", "owner")
def import_household(request: Request, given: Annotated[Incoming, Depends(incoming)]) -> Response:
    """Store a household file as a new household; what is wrong with it is said field by field."""
    with request.app.state.database.session() as session:
        try:
            document = given.document()
            household = household_from(document)
            for scenario in household.scenarios:
                # What the engine refuses is refused here, where the file can still be put right.
                lay_day(resolve(household, scenario.id))
            key = store_household(session, document, request.state.link.key)
            session.commit()
        except HouseholdFaults as refused:
            session.rollback()
            return _show_form(request, None, given, refused)
        stored = load(session, key)
    plans = plan_links(request, stored) if stored else ()
    return reply_elsewhere(request, plans[0].href if plans else request.app.url_path_for("households"))


@routes.at("GET", "/households/{household_key}/import", "owner")
def replace_form(request: Request, household_key: str) -> Response:
    """The form for a household file that is to take the place of a household."""
    return _show_form(request, _place(request, household_key))


@routes.at("POST", "/households/{household_key}/import", "owner")
def preview_replacing(
    request: Request, household_key: str, given: Annotated[Replacing, Depends(replacing)]
) -> Response:
    """What a file would change in a household; nothing is stored."""
    try:
        stored = asked_household(request, household_key)
    except Unreadable as broken:
        return _mend(request, broken, given)
    try:
        return _show_preview(request, stored, given)
    except HouseholdFaults as refused:
        return _show_form(request, _place_of(stored), given, refused)


@routes.at("POST", "/households/{household_key}/file", "owner")
def replace_household(
    request: Request, household_key: str, given: Annotated[Replacing, Depends(replacing)]
) -> Response:
    """Put a file in the place of a household, if that is still as the preview showed it."""
    with request.app.state.database.session() as session:
        try:
            before = existing(session, household_key)
            command = _command(request, household_key, given)
            applied = try_and_do(session, before, lambda session: apply(session, command))
            if applied.inverse is not None and applied.household.revision != given.revision + 1:
                raise Stale(before)
            session.commit()
        except NotThere as nothing:
            raise HTTPException(404) from nothing
        except Stale:
            session.rollback()
            stored = existing(session, household_key)
            last = recent(session, household_key, TOLD_AT_MOST)
            return _show_preview(request, stored, given, _since(stored, last, given))
        except HouseholdFaults as refused:
            session.rollback()
            return _show_form(request, _place_of(existing(session, household_key)), given, refused)
    return reply_elsewhere(request, plan_page(request, applied.household, applied.household.scenarios[0]))


class _Place(NamedTuple):
    """A household that a file is to go into. is_broken: it cannot be read as it is stored."""

    key: str
    name: str
    is_broken: bool = False


def _place(request: Request, household_key: str) -> _Place:
    try:
        return _place_of(asked_household(request, household_key))
    except Unreadable as broken:
        return _Place(broken.key, broken.name, is_broken=True)


def _place_of(stored: StoredHousehold) -> _Place:
    return _Place(stored.key, stored.household.name)


def _mend(request: Request, broken: Unreadable, given: Replacing) -> Response:
    """Put a file in the place of a household that cannot be read: there is nothing to show a difference from."""
    with request.app.state.database.session() as session:
        try:
            command = _command(request, broken.key, given, secrets.token_hex(8))
            applied = try_and_do(session, None, lambda session: apply(session, command))
            session.commit()
        except NotThere as nothing:
            raise HTTPException(404) from nothing
        except HouseholdFaults as refused:
            return _show_form(request, _Place(broken.key, broken.name, is_broken=True), given, refused)
    return reply_elsewhere(request, plan_page(request, applied.household, applied.household.scenarios[0]))


def _command(request: Request, household_key: str, given: Replacing, tab: str = "page") -> ReplaceHousehold:
    return ReplaceHousehold(
        household_key=household_key,
        revision=given.revision,
        tab=given.tab or tab,
        sequence=1,
        link_key=request.state.link.key,
        document=given.document(),
    )


def _show_preview(request: Request, stored: StoredHousehold, given: Replacing, since: tuple[str, ...] = ()) -> Response:
    """What the file would change, with what happened meanwhile if it was to be done already.

    Raises HouseholdFaults for a file that cannot be.
    """
    command = _command(request, stored.key, given)
    keys = {"household_key": stored.key}
    view = preview_view(
        stored,
        command.on(stored).household,
        notice=since,
        action=str(request.app.url_path_for("replace_household", **keys)),
        leave=f"{request.app.url_path_for('households')}#house-{stored.key}",
        # In one line, for a form would make every line's end longer; half characters as JSON writes them.
        text=_text(command.document, None),
        tab=secrets.token_hex(8),
    )
    return reply(request, PREVIEW, (PREVIEW,), {"preview": view}, 409 if since else 200)


def _since(stored: StoredHousehold, last: Iterable[Change], given: Replacing) -> tuple[str, ...]:
    """What happened to a household after a preview was made, a sentence each, the first one first.

    last: its last changes, newest first.
    """
    later = [one for one in last if one.revision > given.revision]
    told = [f"Meanwhile: {_told(stored, change)}." for change in reversed(later)]
    return (*map(readable, told), OVERTAKEN)


def _told(stored: StoredHousehold, change: Change) -> str:
    scenario = stored.scenario(change.scenario_key or "") or stored.scenarios[0]
    return words.what_it_did(change, stored, scenario, planned(stored, scenario).resolved)


def _show_form(
    request: Request,
    into: _Place | None,
    given: Incoming | None = None,
    refused: HouseholdFaults | None = None,
) -> Response:
    """The form, for a new household or one that is there; with what was typed and every fault, if it was refused."""
    status, text = 200, ""
    if given and refused:
        status = 413 if given.is_too_large else 422
        text = "" if given.is_too_large else given.text
    view = ImportView(text, refused.faults if refused else ())
    return reply(request, IMPORT, (IMPORT,), {"incoming": view, "way": _way(request, into)}, status)


def _way(request: Request, into: _Place | None) -> WayView:
    """Where a file can go to, as far as the link opens that."""
    only = request.state.link.household_key
    address = request.app.url_path_for
    with request.app.state.database.session() as session:
        rows = [row for row in list_households(session) if only in (None, row.key)]
    here = into.key if into else ""
    as_new = () if only else (WayItem("As a new household", str(address("import_form")), not here),)
    others = (
        WayItem(f"Into {row.name}", str(address("replace_form", household_key=row.key)), row.key == here)
        for row in rows
    )
    action = address("preview_replacing", household_key=here) if here else address("import_household")
    return WayView((*as_new, *others), into.name if into else "", into is not None and into.is_broken, str(action))


@routes.at("GET", "/households/{household_key}/file", "reader")
def household_file(request: Request, household_key: str) -> Response:
    """A household as a file, to be kept or brought in elsewhere."""
    with request.app.state.database.session() as session:
        try:
            document = export_document(session, household_key)
        except NotThere as gone:
            raise HTTPException(404) from gone
    name = document["name"]
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "household"
    known_as = f"attachment; filename=\"{plain}.json\"; filename*=UTF-8''{quote(name, safe='')}.json"
    return Response(
        _text(document, 1) + "\n",
        media_type="application/json",
        headers={"Content-Disposition": known_as, "Cache-Control": "no-store"},
    )


def _text(document: dict[str, Any], indent: int | None) -> str:
    """A household file's text; half characters, which no page or file can hold, as JSON writes them."""
    separators = (",", ":") if indent is None else None
    text = json.dumps(document, ensure_ascii=False, indent=indent, separators=separators)
    return text.encode("utf-8", "backslashreplace").decode("utf-8")
