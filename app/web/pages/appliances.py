"""The household's appliances: the list, and what the built-in library has."""

from typing import Any

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household import library
from app.household.household import Household
from app.store.commands import apply
from app.web.access import Routes
from app.web.edited import Edited, edited, whose_view
from app.web.editing import Refused, Sent, around, back_to, carry_out, envelope, one, sentences
from app.web.planned import planned
from app.web.views.appliances import appliances_view

routes = Routes()

LIST = "appliances/list.html"
# Nobody has measured it: a guess is good to a quarter or so (common practice, no source).
BLANK: dict[str, Any] = {
    "id": "appliance",
    "name": "New appliance",
    "uncertainty": 0.25,
    "stages": [{"duration_s": 3600, "watts": 100}],
}


@routes.at("GET", "/h/{household_key}/{scenario_key}/appliances", "reader")
def appliances(request: Request, household_key: str, scenario_key: str, find: str = "", group: str = "") -> Response:
    """The list; find, group: what of the built-in library is shown below it."""
    return show_list(request, edited(request, household_key, scenario_key), find=find[:100], group=group)


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances", "helper")
def add_appliance(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Add one of the built-in library, with what it sets off, or an empty one; and go to its editor."""
    whose = edited(request, household_key, scenario_key)
    typical = one(sent, "typical")
    try:
        documents = _with_followers(typical, whose.shown.household) if typical else [BLANK]
    except KeyError:
        raise HTTPException(404) from None
    about = envelope(request, whose.stored, sent)
    # One rendering of the page has a button for each: two of them are two additions, one twice is one.
    about["tab"] = f"{about['tab'][:16]} {typical}"[:64]
    command = whose.adding(about, documents)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return show_list(request, whose.after(done.stored), fault=" ".join(sentences(done)), status=done.status)
    then = whose.after(done.applied.household)
    key = then.added_since(done.before)
    if key is None:  # it was added already, when the same form came first
        return back_to(list_address(request, whose), done.before, **whose.asked)
    return back_to(editor_address(request, whose, key), done.before, **whose.asked)


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


def list_address(request: Request, whose: Edited) -> str:
    """Where the list is."""
    keys = {"household_key": whose.stored.key, "scenario_key": whose.scenario.key}
    return str(request.app.url_path_for("appliances", **keys))


def editor_address(request: Request, whose: Edited, key: str) -> str:
    """Where the editor of an appliance is. key: of its part."""
    keys = {"household_key": whose.stored.key, "scenario_key": whose.scenario.key, "appliance_key": key}
    return str(request.app.url_path_for("appliance", **keys))


def show_list(
    request: Request,
    whose: Edited,
    *,
    find: str = "",
    group: str = "",
    fault: str = "",
    notice: str = "",
    status: int = 200,
) -> Response:
    """The list. find, group: what of the built-in library is shown; fault: why nothing was added; notice: news."""
    stored, scenario, here = whose.stored, whose.scenario, list_address(request, whose)
    edit = around(
        request, stored, scenario, "appliances", "Appliances", f"{here}{whose.query}",
        notice=notice, whose=whose_view(request, whose, "appliances"),
    )  # fmt: skip
    resolved = planned(stored, scenario).resolved
    asked = {"here": here, "query": whose.query}
    view = appliances_view(request, whose.shown, scenario, resolved, **asked, find=find, group=group, fault=fault)
    return HTMLResponse(request.app.state.pages.render(LIST, appliances=view, edit=edit), status)
