"""Room to grow: what could still be added to a plan's day."""

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household.library import search
from app.web.access import Routes
from app.web.addresses import plan_head
from app.web.answering import present_plan
from app.web.asked import asked_household
from app.web.forms.typed import FIND_AT_MOST
from app.web.gone import plan_gone
from app.web.growth_day import growth_day
from app.web.planned import planned
from app.web.reply import VARY
from app.web.views.growth import Look, growth_view
from app.web.words import growth as words

PAGE = "growth/page.html"
SCREEN = "side_by_side"

routes = Routes()


@routes.at("GET", "/h/{household_key}/{scenario_key}/growth", "reader")
def growth(request: Request, household_key: str, scenario_key: str, find: str = "") -> Response:
    """The page. find: only machines that fit this text. A plan that was deleted: another's page, and what happened."""
    stored = asked_household(request, household_key)
    scenario = present_plan(stored, scenario_key)
    notices: tuple[str, ...] = ()
    status = 200
    if scenario.key != scenario_key:
        notices, status = (plan_gone(request, stored, scenario_key, scenario).line,), 410
    typed, fault = find.strip(), ""
    if len(typed) > FIND_AT_MOST:
        typed, fault, status = typed[:FIND_AT_MOST], words.TOO_LONG.format(most=FIND_AT_MOST), max(status, 422)
    keys = {"household_key": stored.key, "scenario_key": scenario.key}
    look = Look(
        href=str(request.app.url_path_for("growth", **keys)),
        workshop=str(request.app.url_path_for("workshop", **keys)),
        find=typed,
        find_at_most=FIND_AT_MOST,
        fault=fault,
        found=frozenset(one.id for one in search("" if fault else typed)),
    )
    resolved = planned(stored, scenario, with_sun=True).resolved
    view = growth_view(
        plan_head(request, stored, scenario, "growth", screen=SCREEN),
        resolved,
        growth_day(stored, scenario),
        look,
        notices,
    )
    return HTMLResponse(request.app.state.pages.render(PAGE, page=view), status, headers=VARY)
