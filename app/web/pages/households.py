"""The list of households: to open, begin, rename, copy, delete and have back."""

import secrets
from functools import partial
from typing import Annotated, Any

from fastapi import Form, HTTPException
from starlette.requests import Request
from starlette.responses import Response

from app.household.errors import HouseholdFaults
from app.household.place import rough_place
from app.store.commands import SetHouseholdName, apply
from app.store.errors import NotThere, Stale, Unreadable
from app.store.households import create_household, duplicate_household, list_households, load, refuse_taken_name
from app.store.removed import purge_due, remove_household, removed_households, restore_household
from app.store.stored import StoredHousehold
from app.web import words
from app.web.access import Routes, may
from app.web.addresses import plan_links
from app.web.answering import OVERTAKEN, sentence_of
from app.web.asked import asked_household
from app.web.forms.site import CopyForm, NameForm, SiteForm, degrees_of
from app.web.planned import planned
from app.web.reply import reply, reply_elsewhere
from app.web.today import today
from app.web.views.head import PlanLink
from app.web.views.households import (
    HouseholdItem,
    HouseholdsView,
    ListAttempt,
    PlanItem,
    begin_view,
    household_item,
    removed_item,
    unreadable_item,
)

routes = Routes()

LIST = "households/list.html"
# A verdict takes some hundredths of a second; a list must not take seconds.
VERDICTS_AT_MOST = 20


@routes.at("GET", "/", "reader")
def households(request: Request, deleted: str = "") -> Response:
    """Every household the link opens, each with its plans; deleted: key of one that was deleted just now."""
    return _show(request, deleted=deleted)


@routes.at("POST", "/households", "owner")
def begin_household(request: Request, form: Annotated[SiteForm, Form()]) -> Response:
    """A new household with a plain supply and one empty plan; its first figures are asked for next."""
    timezone = form.timezone.strip() or "UTC"
    rough = rough_place(timezone)
    with request.app.state.database.session() as session:
        try:
            key = create_household(
                session,
                form.name.strip(),
                request.state.link.key,
                date=today(timezone),
                timezone=timezone,
                **(degrees_of(form) or ({} if rough is None else rough._asdict())),
            )
            session.commit()
        except HouseholdFaults as refused:
            return _refuse(request, "begin", "", form.model_dump(), refused)
        stored = load(session, key)
    if stored is None:
        return reply_elsewhere(request, request.app.url_path_for("households"))
    keys = {"household_key": key, "scenario_key": stored.scenarios[0].key}
    return reply_elsewhere(request, request.app.url_path_for("begin", **keys))


@routes.at("POST", "/copies", "owner")
def copy_household(request: Request, form: Annotated[CopyForm, Form()]) -> Response:
    """A copy of a household as it stands, under another name."""
    with request.app.state.database.session() as session:
        try:
            key = duplicate_household(session, form.of, form.name.strip(), request.state.link.key)
            session.commit()
        except NotThere as gone:
            raise HTTPException(404) from gone
        except HouseholdFaults as refused:
            return _refuse(request, "copy", form.of, {"name": form.name}, refused)
    return reply_elsewhere(request, _place_of(request, key))


@routes.at("POST", "/households/{household_key}/name", "helper")
def rename_household(request: Request, household_key: str, form: Annotated[NameForm, Form()]) -> Response:
    """Give a household another name; that can be undone on the pages of its plans."""
    stored = asked_household(request, household_key)
    if stored.household.name == form.name.strip():
        return reply_elsewhere(request, _place_of(request, household_key))
    command = SetHouseholdName(
        household_key=household_key,
        revision=stored.revision,
        tab=form.tab,
        sequence=form.sequence,
        link_key=request.state.link.key,
        value=form.name.strip(),
    )
    with request.app.state.database.session() as session:
        try:
            if request.state.link.household_key is None:  # others' names are not for whoever has a link for this one
                refuse_taken_name(session, form.name, household_key)
            apply(session, command)
            session.commit()
        except NotThere as gone:
            raise HTTPException(404) from gone
        except Stale:
            attempt = ListAttempt("rename", household_key, {"name": form.name}, {"name": (OVERTAKEN,)})
            return _show(request, attempt, status=409)
        except HouseholdFaults as refused:
            return _refuse(request, "rename", household_key, {"name": form.name}, refused)
    return reply_elsewhere(request, _place_of(request, household_key))


@routes.at("POST", "/households/{household_key}/delete", "owner")
def delete_household(request: Request, household_key: str) -> Response:
    """Delete a household; the list offers to undo that at once, and to have it back later."""
    with request.app.state.database.session() as session:
        try:
            remove_household(session, household_key, request.state.link.key)
            session.commit()
        except NotThere as gone:
            raise HTTPException(404) from gone
    return reply_elsewhere(request, f"{request.app.url_path_for('households')}?deleted={household_key}")


@routes.at("POST", "/households/{household_key}/restore", "owner")
def bring_back_household(request: Request, household_key: str) -> Response:
    """Have a deleted household back, with all its plans, unless it has gone for good."""
    with request.app.state.database.session() as session:
        if purge_due(session, request.app.state.clock()):
            session.commit()
        try:
            restore_household(session, household_key, request.state.link.key)
            session.commit()
        except NotThere as gone:
            raise HTTPException(404) from gone
    return reply_elsewhere(request, _place_of(request, household_key))


def _show(request: Request, attempt: ListAttempt | None = None, status: int = 200, deleted: str = "") -> Response:
    only = request.state.link.household_key
    owner = may(request, "owner")
    if owner:  # nothing of Loadstead keeps the time
        request.app.state.database.if_free(partial(purge_due, at_utc=request.app.state.clock()))
    with request.app.state.database.session() as session:
        keys = [row.key for row in list_households(session) if only in (None, row.key)]
        found = [stored for key in keys if (stored := _read(session, key)) is not None]
        removed = [row for row in removed_households(session) if only in (None, row.key)] if owner else []
    read = [stored for stored in found if isinstance(stored, StoredHousehold)]
    broken = [stored for stored in found if isinstance(stored, Unreadable)]
    plenty = sum(len(stored.scenarios) for stored in read) > VERDICTS_AT_MOST
    taken = [*(stored.household.name for stored in read), *(one.name for one in broken)]
    timezone, like = (read[0].household.site.timezone, read[0].household.name) if read else ("UTC", "")
    gone = tuple(removed_item(row) for row in removed)
    view = HouseholdsView(
        households=tuple(_item(request, stored, attempt, taken, verdicts=not plenty) for stored in read),
        unreadable=tuple(unreadable_item(one, may_delete=owner) for one in broken),
        may_import=only is None and owner,
        begin=begin_view(attempt, timezone, like, first=not found) if only is None and owner else None,
        deleted=next((one for one in gone if one.key == deleted), None),
        removed=gone,
        may_purge=only is None and owner,
        tab=secrets.token_hex(8),
    )
    return reply(request, LIST, (LIST,), {"households": view}, status)


def _read(session: Any, household_key: str) -> StoredHousehold | Unreadable | None:
    """A household; what is wrong where it cannot be read, for that is no reason to show none of the others."""
    try:
        return load(session, household_key)
    except Unreadable as broken:
        return broken


def _item(
    request: Request, stored: StoredHousehold, attempt: ListAttempt | None, taken: list[str], *, verdicts: bool
) -> HouseholdItem:
    links = plan_links(request, stored)
    return household_item(
        stored.key,
        stored.household.name,
        tuple(_plan(stored, number, link, verdict=verdicts) for number, link in enumerate(links)),
        attempt,
        taken=taken,
        may_edit=may(request, "helper"),
        may_copy=may(request, "owner") and request.state.link.household_key is None,
        may_delete=may(request, "owner"),
        history=_history(request, stored),
        links=str(request.app.url_path_for("links", household_key=stored.key)) if may(request, "owner") else "",
    )


def _history(request: Request, stored: StoredHousehold) -> str:
    if not stored.scenarios:
        return ""  # an earlier version let files without plans in; it can still be deleted, or replaced by a file
    keys = {"household_key": stored.key, "scenario_key": stored.scenarios[0].key}
    return str(request.app.url_path_for("history", **keys))


def _plan(stored: StoredHousehold, number: int, link: PlanLink, *, verdict: bool) -> PlanItem:
    if not verdict:
        return PlanItem(link.name, link.date, link.href, None, "")
    try:
        found = planned(stored, stored.scenarios[number], with_sun=True).assessment.verdict
    except HouseholdFaults:
        return PlanItem(link.name, link.date, link.href, None, "")
    return PlanItem(link.name, link.date, link.href, found, words.verdict_word(found))


def _refuse(
    request: Request, what: str, household_key: str, typed: dict[str, str], refused: HouseholdFaults
) -> Response:
    """The list again, with what was typed and what is wrong beside each field."""
    messages: dict[str, tuple[str, ...]] = {}
    for fault in refused.faults:
        field = fault.path.rpartition(".")[2] if fault.path else "name"
        messages[field] = (*messages.get(field, ()), sentence_of(fault.why))
    return _show(request, ListAttempt(what, household_key, typed, messages), 422)


def _place_of(request: Request, household_key: str) -> str:
    return f"{request.app.url_path_for('households')}#house-{household_key}"
