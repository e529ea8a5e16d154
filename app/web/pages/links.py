"""Links: opened, which the browser keeps in a cookie and the address bar forgets; made, and revoked."""

import ipaddress
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Annotated

from fastapi import Form, HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.household.errors import HouseholdFaults
from app.store.errors import NotThere, Unreadable
from app.store.households import claim, list_households, load
from app.store.keys import new_key
from app.store.links import (
    Link,
    find_link,
    link_made,
    links_of,
    look_up,
    make_link,
    refuse_last_owner,
    refuse_link,
    revoke_link,
)
from app.store.stored import StoredHousehold
from app.web.access import COOKIE, STRENGTH, WRONG_LINK, Routes, note, strength_of
from app.web.addresses import plan_links
from app.web.answering import sentence_of
from app.web.asked import asked_household
from app.web.forms.links import DAYS, LinkForm
from app.web.qr import qr_svg
from app.web.reply import reply, reply_elsewhere
from app.web.views.links import LinksAround, MadeView, links_view, what_it_opens
from app.web.words import links as words

routes = Routes()

PAGE = "links/page.html"
YEAR_S = 365 * 86_400


@routes.at("GET", "/link/{token}", "public")
def open_link(request: Request, token: str) -> Response:
    """Keep the link and go to the plan or household it opens, if that is one; else to the list."""
    at_utc = request.app.state.clock()
    with request.app.state.database.session() as session:
        link = look_up(session, token, at_utc)
        if link is None:
            raise HTTPException(404, WRONG_LINK)
        if not isinstance(link, Link):
            raise HTTPException(403, link)
        keys = [row.key for row in list_households(session) if link.household_key in (None, row.key)]
        stored = None
        if len(keys) == 1:
            with suppress(Unreadable):  # the list says what is wrong with it
                stored = load(session, keys[0])
        held = find_link(session, request.cookies.get(COOKIE, ""), at_utc)
    note(request, link, at_utc)
    answer = RedirectResponse(_place_of(request, link, stored), 303)
    # Whoever tries out a link made for somebody else keeps the own one, which opens that place too.
    if held is None or not _covers(held, link):
        answer.set_cookie(
            COOKIE, token, max_age=YEAR_S, httponly=True, samesite="lax", secure=request.url.scheme == "https"
        )
    answer.headers["Cache-Control"] = "no-store"
    answer.headers["Referrer-Policy"] = "no-referrer"
    return answer


def _covers(held: Link, link: Link) -> bool:
    """Whether a link opens all that another does, and more."""
    wider = held.household_key is None or held.household_key == link.household_key
    return wider and STRENGTH[strength_of(held)] > STRENGTH[strength_of(link)]


def _place_of(request: Request, link: Link, stored: StoredHousehold | None) -> str:
    if link.scenario_key is not None:
        keys = {"household_key": link.household_key, "scenario_key": link.scenario_key}
        return str(request.app.url_path_for("partner", **keys))
    plans = plan_links(request, stored) if stored else ()
    return plans[0].href if plans else str(request.app.url_path_for("households"))


@dataclass(frozen=True)
class _Shown:
    """What the page of links shows beside the links. Fields as in `links_view`. asked: key of a link to be revoked."""

    form: LinkForm | None = None
    messages: dict[str, tuple[str, ...]] = field(default_factory=dict)
    made: MadeView | None = None
    notice: str = ""
    faults: tuple[str, ...] = ()
    asked: str = ""


@routes.at("GET", "/households/{household_key}/links", "owner")
def links(request: Request, household_key: str, revoke: str = "") -> Response:
    """Every link of a household, and a form for a new one. revoke: key of one that is asked about."""
    return _show(request, asked_household(request, household_key), _Shown(asked=revoke))


@routes.at("POST", "/households/{household_key}/links", "owner")
def make(request: Request, household_key: str, form: Annotated[LinkForm, Form()]) -> Response:
    """Make a link and show its address, this once."""
    stored = asked_household(request, household_key)
    at_utc = request.app.state.clock()
    name = form.name.strip()
    messages = _wrong(stored, form)
    with request.app.state.database.session() as session:
        try:
            claim(session, stored.key)  # one link after the other: no form makes two, no two get one name
        except NotThere as gone:
            raise HTTPException(404) from gone
        before = link_made(session, form.key)
        if before is not None:
            if before.household_key != stored.key:
                raise HTTPException(422)
            return _show(request, stored, _Shown(notice=words.SENT_TWICE.format(name=before.name)), 409)
        try:
            refuse_link(session, stored.key, name, at_utc)
        except HouseholdFaults as refused:
            messages["name"] = tuple(sentence_of(fault.why) for fault in refused.faults)
        if messages:
            return _show(request, stored, _Shown(form=form, messages=messages), 422)
        token = make_link(
            session,
            name,
            form.scope,  # type: ignore[arg-type]  # one of the list, or it would be wrong
            stored.key,
            form.plan or None,
            key=form.key,
            expires_at=form.expires_at(at_utc),
            by=request.state.link.key,
        )
        session.commit()
    base, only_here = _base(request)
    address = f"{base}{request.app.url_path_for('open_link', token=token)}"
    opens = what_it_opens(stored, form.scope, stored.key, form.plan or None)
    made = MadeView(name, opens, address, qr_svg(address), words.ONLY_HERE if only_here else "")
    return _show(request, stored, _Shown(made=made))


@routes.at("POST", "/households/{household_key}/links/{link_key}/revoke", "owner")
def revoke(request: Request, household_key: str, link_key: str) -> Response:
    """Let a link open nothing any more, from this moment on."""
    stored = asked_household(request, household_key)
    with request.app.state.database.session() as session:
        link = link_made(session, link_key)
        # A household's owner takes away what opens that household, not what opens others too.
        for_all = link is not None and link.household_key is None and request.state.link.household_key is None
        if link is None or (link.household_key != stored.key and not for_all):
            raise HTTPException(404)
        try:
            revoke_link(session, link_key, request.state.link.key)
            refuse_last_owner(session)
            session.commit()
        except NotThere:
            return _show(request, stored, _Shown(faults=(words.GONE,)), 410)
        except HouseholdFaults as refused:
            session.rollback()
            return _show(request, stored, _Shown(faults=tuple(sentence_of(one.why) for one in refused.faults)), 422)
    return reply_elsewhere(request, _address(request, stored))


def _wrong(stored: StoredHousehold, form: LinkForm) -> dict[str, tuple[str, ...]]:
    """What cannot be of what was chosen, by field."""
    messages: dict[str, tuple[str, ...]] = {}
    if form.scope not in words.SCOPES:
        messages["scope"] = (words.NO_SCOPE,)
    if form.plan and stored.scenario(form.plan) is None:
        messages["plan"] = (words.NO_PLAN,)
    elif form.plan and form.scope != "reader":
        messages["plan"] = (words.ONLY_READERS,)
    if form.days not in DAYS:
        messages["days"] = (words.NO_LENGTH,)
    return messages


def _base(request: Request) -> tuple[str, bool]:
    """What a link's address begins with, and whether it is one of this machine alone."""
    base = f"{request.url.scheme}://{request.headers['host']}"
    name = request.url.hostname or ""
    try:
        is_here = ipaddress.ip_address(name).is_loopback
    except ValueError:
        is_here = name == "localhost"
    if is_here and request.app.state.reachable_at:
        return request.app.state.reachable_at, False
    return base, is_here


def _address(request: Request, stored: StoredHousehold) -> str:
    return str(request.app.url_path_for("links", household_key=stored.key))


def _show(request: Request, stored: StoredHousehold, shown: _Shown, status: int = 200) -> Response:
    with request.app.state.database.session() as session:
        rows = links_of(session, stored.key, request.app.state.clock())
    about = LinksAround(
        href=_address(request, stored),
        revoke={
            row.link.key: str(request.app.url_path_for("revoke", household_key=stored.key, link_key=row.link.key))
            for row in rows
        },
        see={
            plan.key: str(request.app.url_path_for("partner", household_key=stored.key, scenario_key=plan.key))
            for plan in stored.scenarios
        },
        asked=shown.asked,
        yours=request.state.link.key,
        all_too=request.state.link.household_key is None,
    )
    view = links_view(
        stored,
        rows,
        about,
        shown.form or LinkForm(key=new_key()),
        messages=shown.messages,
        made=shown.made,
        notice=shown.notice,
        faults=shown.faults,
    )
    answer = reply(request, PAGE, (PAGE,), {"page": view}, status)
    answer.headers["Cache-Control"] = "no-store"
    return answer
