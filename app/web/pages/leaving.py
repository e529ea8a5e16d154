"""Before a household is deleted: asked twice, with its file offered first."""

from starlette.requests import Request
from starlette.responses import Response

from app.store.links import links_of
from app.web.access import Routes
from app.web.asked import asked_household
from app.web.reply import reply
from app.web.views.leaving import LeaveView
from app.web.words.history import count
from app.web.words.plain import listed

routes = Routes()

PAGE = "households/leave.html"


@routes.at("GET", "/households/{household_key}/delete", "owner")
def ask_delete(request: Request, household_key: str, sure: str = "") -> Response:
    """What would go, and whether it is to. sure: `1` asks for the second time."""
    stored = asked_household(request, household_key)
    with request.app.state.database.session() as session:
        rows = links_of(session, stored.key, request.app.state.clock())
    own = [row for row in rows if row.ended is None and row.link.household_key == stored.key]
    goes = [
        count(len(stored.scenarios), "plan"),
        count(len(stored.household.appliances), "appliance"),
        count(stored.revision, "change"),
        *([count(len(own), "link")] if own else []),
    ]
    view = LeaveView(stored.household.name, stored.key, listed(goes), sure == "1")
    return reply(request, PAGE, (PAGE,), {"page": view})
