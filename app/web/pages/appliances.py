"""The household's appliances: the list, and what the built-in library has."""

from typing import Any

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household import library
from app.household.household import Household
from app.store.commands import AddAppliance, apply
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import Routes
from app.web.editing import Done, Refused, Sent, around, back_to, carry_out, envelope, one, opened
from app.web.planned import planned
from app.web.views.appliances import appliances_view

routes = Routes()

LIST = "appliances/list.html"
BLANK: dict[str, Any] = {"id": "appliance", "name": "New appliance", "stages": [{"duration_s": 3600, "watts": 100}]}


@routes.at("GET", "/h/{household_key}/{scenario_key}/appliances", "reader")
def appliances(request: Request, household_key: str, scenario_key: str, find: str = "", group: str = "") -> Response:
    """The list; find, group: what of the built-in library is shown below it."""
    stored, scenario = opened(request, household_key, scenario_key)
    return show_list(request, stored, scenario, find=find[:100], group=group)


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances", "helper")
def add_appliance(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Add one of the built-in library, with what it sets off, or an empty one; and go to its editor."""
    stored, scenario = opened(request, household_key, scenario_key)
    typical = one(sent, "typical")
    try:
        documents = _with_followers(typical, stored.household) if typical else [BLANK]
    except KeyError:
        raise HTTPException(404) from None
    about = envelope(request, stored, sent)
    # One rendering of the page has a button for each: two of them are two additions, one twice is one.
    about["tab"] = f"{about['tab'][:16]} {typical}"[:64]
    command = AddAppliance(**about, documents=documents)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return show_list(request, done.stored, scenario, fault=" ".join(sentences(done)), status=done.status)
    key = _added(done)
    if key is None:  # it was added already, when the same form came first
        return back_to(list_address(request, stored, scenario), done.before)
    return back_to(editor_address(request, done.applied.household, scenario, key), done.before)


def _with_followers(typical: str, household: Household) -> list[dict[str, Any]]:
    """An entry of the built-in library with everything it sets off, each once.

    Raises KeyError for an entry that is none.
    """
    wanted, found = [typical], {}
    while wanted:
        entry = library.entry(wanted.pop())
        if entry.id not in found:
            found[entry.id] = entry.appliance.document()
            wanted += entry.brings
    return list(found.values())


def sentences(refused: Refused) -> tuple[str, ...]:
    """Why a change was refused, a sentence each."""
    return tuple(f"{fault.why[:1].upper()}{fault.why[1:]}." for fault in refused.faults)


def _added(done: Done) -> str | None:
    """The key of the appliance that was added, first of those that came with it; None if none was."""
    known = done.before.pieces
    fresh = [one for one in done.applied.household.pieces.values() if one.kind == "appliance" and one.key not in known]
    return min(fresh, key=lambda piece: piece.position).key if fresh else None


def list_address(request: Request, stored: StoredHousehold, scenario: StoredScenario) -> str:
    """Where the list is."""
    return str(request.app.url_path_for("appliances", household_key=stored.key, scenario_key=scenario.key))


def editor_address(request: Request, stored: StoredHousehold, scenario: StoredScenario, key: str) -> str:
    """Where the editor of an appliance is. key: of its part."""
    keys = {"household_key": stored.key, "scenario_key": scenario.key, "appliance_key": key}
    return str(request.app.url_path_for("appliance", **keys))


def show_list(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    *,
    find: str = "",
    group: str = "",
    fault: str = "",
    notice: str = "",
    status: int = 200,
) -> Response:
    """The list. find, group: what of the built-in library is shown; fault: why nothing was added; notice: news."""
    here = list_address(request, stored, scenario)
    edit = around(request, stored, scenario, "appliances", "Appliances", here, notice=notice)
    resolved = planned(stored, scenario).resolved
    view = appliances_view(request, stored, scenario, resolved, here=here, find=find, group=group, fault=fault)
    return HTMLResponse(request.app.state.pages.render(LIST, appliances=view, edit=edit), status)
