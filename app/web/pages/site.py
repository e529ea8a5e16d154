"""The household as such: its place, its customs, what never runs together."""

from typing import Any

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household.household import Formats, Household, Site
from app.store.commands import ChangePart, apply
from app.store.commands.parts import document_of
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import Routes, may
from app.web.customs import customs_of
from app.web.editing import (
    NOT_FILLED,
    Filled,
    Refused,
    Sent,
    around,
    back_to,
    carry_out,
    envelope,
    one,
    opened,
    refused_form,
)
from app.web.fields.reading import read_form
from app.web.fields.site import INTERLOCKS
from app.web.views.site import fields_of, site_view

routes = Routes()

PAGE = "site/page.html"
_MODELS: dict[str, Any] = {"site": Site, "formats": Formats, INTERLOCKS: Household}


@routes.at("GET", "/h/{household_key}/{scenario_key}/household", "reader")
def site(request: Request, household_key: str, scenario_key: str) -> Response:
    """Where the household is and how it writes its figures."""
    stored, scenario = opened(request, household_key, scenario_key)
    return _show(request, stored, scenario)


@routes.at("POST", "/h/{household_key}/{scenario_key}/household", "helper")
def change_site(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Give the figures of one form."""
    stored, scenario = opened(request, household_key, scenario_key)
    form = one(sent, "form")
    fields = fields_of(stored.household, form)
    if not fields:
        raise HTTPException(404)
    read = read_form(fields, sent, _MODELS[form], customs_of(stored.household))
    changes = read.changes if form == INTERLOCKS else read.apart_from(document_of(stored, "section", form))
    if form == INTERLOCKS and changes:
        changes = [[[], _apart(stored.household, changes[0][1] or [])]]
    if read.messages:
        return _show(request, stored, scenario, Filled(form, sent, read.messages, status=422))
    if not changes:
        return back_to(_address(request, stored, scenario), stored, form)
    command = ChangePart(**envelope(request, stored, sent), kind="section", name=form, changes=changes)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        at = form if form != INTERLOCKS else ""
        return _show(request, done.stored, scenario, refused_form(done, form, sent, fields, at, _WORDS))
    return back_to(_address(request, stored, scenario), done.before, form)


_WORDS = {
    "timezone": "There is no such time zone; give one as Area/City, like Europe/Dublin or America/Denver.",
    INTERLOCKS: "Each line names at least two different appliances that never run together.",
}


def _apart(household: Household, lines: list[list[str]]) -> list[dict[str, Any]] | None:
    """What the file says of lines that name appliances; how many of them may run stays as it was."""
    known = {frozenset(one.of): one.document() for one in household.interlocks}
    found = []
    for line in lines:
        of = list(dict.fromkeys(name for name in line if name))
        found.append(known.get(frozenset(of), {"of": of}))
    return found or None


def _address(request: Request, stored: StoredHousehold, scenario: StoredScenario) -> str:
    return str(request.app.url_path_for("site", household_key=stored.key, scenario_key=scenario.key))


def _show(request: Request, stored: StoredHousehold, scenario: StoredScenario, filled: Filled = NOT_FILLED) -> Response:
    here = _address(request, stored, scenario)
    edit = around(
        request, stored, scenario, "site", "Household", here, faults=filled.faults, wrong=len(filled.messages)
    )
    addresses = {
        "action": here,
        "file": str(request.app.url_path_for("household_file", household_key=stored.key)),
        "bring_in": str(request.app.url_path_for("replace_form", household_key=stored.key))
        if may(request, "owner")
        else "",
        "history": str(request.app.url_path_for("history", household_key=stored.key, scenario_key=scenario.key)),
        "links": str(request.app.url_path_for("links", household_key=stored.key)) if may(request, "owner") else "",
    }
    view = site_view(stored.household, addresses, wrong=filled.form, typed=filled.typed, messages=filled.messages)
    return HTMLResponse(request.app.state.pages.render(PAGE, site=view, edit=edit), filled.status)
