"""The day page."""

from starlette.requests import Request
from starlette.responses import Response

from app.web.access import Routes
from app.web.answering import show_without_plan
from app.web.asked import asked_household
from app.web.showing import PARTS, Showing, show_plan

routes = Routes()


@routes.at("GET", "/h/{household_key}/{scenario_key}", "reader")
def day(request: Request, household_key: str, scenario_key: str, run: str = "", part: str = "rows") -> Response:
    """The day page.

    run: key of the run that is opened to be moved. part: what the page's script asks for; `ways` is sought only then,
    and `sun` is waited for only then.
    """
    stored = asked_household(request, household_key)
    scenario = stored.scenario(scenario_key)
    if scenario is None:
        return show_without_plan(request, stored, scenario_key)
    showing = Showing(open_run=run, ways=part == "ways", sun=part == "sun")
    return show_plan(request, stored, scenario, showing, PARTS.get(part, PARTS["rows"]))
