"""Two to four plans side by side."""

from typing import Any

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from app.web.access import Routes
from app.web.answering import present_plan
from app.web.asked import asked_household
from app.web.reply import VARY
from app.web.side_by_side_page import SideBySide
from app.web.words import side_by_side as words

routes = Routes()

PAGE = "side_by_side/page.html"
CONFIG: dict[str, Any] = {
    "displayModeBar": False, "responsive": True, "scrollZoom": False, "doubleClick": False, "showTips": False,
}  # fmt: skip


@routes.at("GET", "/h/{household_key}/{scenario_key}/side-by-side", "reader")
def side_by_side(request: Request, household_key: str, scenario_key: str) -> Response:
    """The page.

    `with` names plans to stand beside this one, `from` the one differences are counted from, `to` the one a phone shows
    next to it; `needs` and `ways` ask for what takes a while.
    """
    stored = asked_household(request, household_key)
    scenario = present_plan(stored, scenario_key)
    shown = SideBySide(request, stored, scenario, request.query_params)
    notices: tuple[str, ...] = ()
    status = shown.asked.status
    if scenario.key != scenario_key:
        name = str(stored.pieces[scenario_key].document["name"])
        notices, status = (words.GONE.format(name=f"“{name}”"),), 410
    html = request.app.state.pages.render(PAGE, page=shown.view(notices))
    return HTMLResponse(html, status, headers=VARY)


@routes.at("GET", "/h/{household_key}/{scenario_key}/side-by-side/figure", "reader")
def side_by_side_figure(request: Request, household_key: str, scenario_key: str) -> Response:
    """The same chart as data for looking closer; colours by their names in the style sheet."""
    stored = asked_household(request, household_key)
    shown = SideBySide(request, stored, present_plan(stored, scenario_key), request.query_params)
    return JSONResponse(shown.figure() | {"config": CONFIG}, headers={"Cache-Control": "no-store"})
