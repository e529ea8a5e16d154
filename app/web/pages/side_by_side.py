"""Two to four plans side by side."""

from typing import Any

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from app.web.access import Routes
from app.web.answering import present_plan
from app.web.asked import asked_household
from app.web.gone import plan_gone
from app.web.reply import VARY
from app.web.side_by_side_page import SideBySide

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
        notices, status = (plan_gone(request, stored, scenario_key, scenario).line,), 410
    html = request.app.state.pages.render(PAGE, page=shown.view(notices))
    return HTMLResponse(html, status, headers=VARY)


@routes.at("GET", "/h/{household_key}/{scenario_key}/side-by-side/figure", "reader")
def side_by_side_figure(request: Request, household_key: str, scenario_key: str) -> Response:
    """The same chart as data for looking closer; colours by their names in the style sheet."""
    stored = asked_household(request, household_key)
    scenario = present_plan(stored, scenario_key)
    shown = SideBySide(request, stored, scenario, request.query_params)
    if scenario.key != scenario_key or shown.asked.status != 200:  # a drawing cannot say what is left out of it
        raise HTTPException(410 if scenario.key != scenario_key else shown.asked.status)
    return JSONResponse(shown.figure() | {"config": CONFIG}, headers={"Cache-Control": "no-store"})
