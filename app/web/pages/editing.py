"""Steps back and forward on the editors' pages."""

from starlette.requests import Request
from starlette.responses import Response

from app.store.commands import Pressed, redo, undo
from app.web.access import Routes
from app.web.addresses import plan_page
from app.web.editing import Refused, Sent, back_to, carry_out, number, one, opened

routes = Routes()


@routes.at("POST", "/h/{household_key}/{scenario_key}/editor/step", "helper")
def step_in_editor(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Take back the last change of the open plan or its household, or do it again, and show the same page."""
    stored, scenario = opened(request, household_key, scenario_key)
    pressed = Pressed(
        household_key=household_key,
        scenario_key=scenario.key,
        change_id=one(sent, "change")[:64],
        tab=one(sent, "tab")[:64] or "page",
        sequence=number(sent, "sequence", 1),
        link_key=request.state.link.key,
    )
    way = redo if one(sent, "way") == "redo" else undo
    done = carry_out(request, household_key, lambda session: way(session, pressed))
    here = one(sent, "here")
    # Only a page of this very household is gone back to.
    if not here.startswith(f"/h/{stored.key}/{scenario.key}/") or "//" in here or "\\" in here:
        here = plan_page(request, stored, scenario)
    before = done.stored if isinstance(done, Refused) else done.before
    return back_to(here, before, **({"not": "1"} if isinstance(done, Refused) else {}))
