"""Before a household is deleted, with its file offered first, and before a deleted one goes for good: asked twice."""

from contextlib import suppress
from typing import Annotated

from fastapi import Form, HTTPException, Query
from starlette.requests import Request
from starlette.responses import Response

from app.store.errors import NotThere, Unreadable
from app.store.links import links_of
from app.store.removed import KEPT_DAYS, RemovedRow, purge_household, removed_households
from app.web.access import Routes
from app.web.asked import asked_household
from app.web.forms.site import PurgeForm
from app.web.reply import reply, reply_elsewhere
from app.web.views.households import removed_item
from app.web.views.leaving import LeaveView, PurgeView
from app.web.words.history import count
from app.web.words.plain import listed

routes = Routes()

PAGE, PURGE = "households/leave.html", "households/purge.html"

Key = Annotated[str, Query(max_length=64)]


@routes.at("GET", "/households/{household_key}/delete", "owner")
def ask_delete(request: Request, household_key: str, sure: str = "") -> Response:
    """What would go, and whether it is to. sure: `1` asks for the second time."""
    try:
        stored = asked_household(request, household_key)
        name, parts = stored.household.name, {"plan": stored.scenarios, "appliance": stored.household.appliances}
        goes = [*(count(len(ones), what) for what, ones in parts.items()), count(stored.revision, "change")]
    except Unreadable as broken:
        name, goes = broken.name, [count(broken.revision, "change")]
    with request.app.state.database.session() as session:
        rows = links_of(session, household_key, request.app.state.clock())
    own = [row for row in rows if row.ended is None and row.link.household_key == household_key]
    goes += [count(len(own), "link")] if own else []
    view = LeaveView(name, household_key, listed(goes), sure == "1", KEPT_DAYS)
    return reply(request, PAGE, (PAGE,), {"page": view})


# These name no household in their addresses, so that only a link that owns everything opens them: with its household a
# link of its own goes too, and whoever held it would stand before a shut door.
@routes.at("GET", "/purge", "owner")
def ask_purge(request: Request, of: Key = "", sure: str = "") -> Response:
    """Whether a deleted household is to go for good. of: its key. sure: `1` asks for the second time."""
    with request.app.state.database.session() as session:
        row = _removed(removed_households(session), of)
    view = PurgeView(removed_item(row), sure == "1")
    return reply(request, PURGE, (PURGE,), {"page": view})


@routes.at("POST", "/purge", "owner")
def purge(request: Request, form: Annotated[PurgeForm, Form()]) -> Response:
    """Delete a household for good that was deleted before."""
    with request.app.state.database.session() as session:
        try:
            purge_household(session, form.of, request.state.link.key)
            session.commit()
        except NotThere as gone:
            raise HTTPException(404) from gone
    # Searches hold the household as it was; old ones go when somebody searches next, as do those out of reach now.
    with suppress(OSError):
        request.app.state.jobs.forget(form.of)
    return reply_elsewhere(request, request.app.url_path_for("households"))


def _removed(rows: list[RemovedRow], key: str) -> RemovedRow:
    found = next((row for row in rows if row.key == key), None)
    if found is None:
        raise HTTPException(404)
    return found
