"""Addresses of plans and of the screens beside them, and the links to them."""

from dataclasses import replace
from urllib.parse import urlencode

from starlette.requests import Request

from app.household.day import day_frame
from app.store.stored import StoredHousehold, StoredScenario
from app.web.figures import date
from app.web.views.editing import SCREENS, Tab
from app.web.views.head import PlanLink
from app.web.views.plan_head import PlanHead


def plan_page(
    request: Request, stored: StoredHousehold, scenario: StoredScenario, place: str = "", **asked: str
) -> str:
    """The address of a plan's page. place: id of what it is opened at. asked: what its query says, where it says it."""
    path = request.app.url_path_for("day", household_key=stored.key, scenario_key=scenario.key)
    said = {name: value for name, value in asked.items() if value}
    return f"{path}{'?' if said else ''}{urlencode(said, safe=',')}{f'#{place}' if place else ''}"


def plan_links(
    request: Request, stored: StoredHousehold, current: StoredScenario | None = None
) -> tuple[PlanLink, ...]:
    """A link to each plan of a household."""
    zone = stored.household.site.timezone
    days = {scenario.id: day_frame(scenario.date, zone) for scenario in stored.household.scenarios}
    return tuple(
        PlanLink(plan.name, date(days[plan.id]), plan_page(request, stored, plan), plan is current)
        for plan in stored.scenarios
    )


def screen_tabs(request: Request, stored: StoredHousehold, scenario: StoredScenario, screen: str) -> tuple[Tab, ...]:
    """The row of screens of a plan. screen: the name of the one shown, as in `SCREENS`."""
    keys = {"household_key": stored.key, "scenario_key": scenario.key}
    return tuple(Tab(name, str(request.app.url_path_for(one, **keys)), one == screen) for one, name in SCREENS.items())


def plan_head(
    request: Request, stored: StoredHousehold, scenario: StoredScenario, route: str, screen: str = ""
) -> PlanHead:
    """The head of a screen beside a plan's day, whose other plans lead to the same screen of theirs.

    route: the name of the screen's address. screen: the tab that is shown as the present one; the route's own, if none.
    """

    def there(plan: StoredScenario) -> str:
        return str(request.app.url_path_for(route, household_key=stored.key, scenario_key=plan.key))

    links = plan_links(request, stored, scenario)
    return PlanHead(
        household=stored.household.name,
        plan=scenario.name,
        plans=tuple(replace(link, href=there(plan)) for link, plan in zip(links, stored.scenarios, strict=True)),
        tabs=screen_tabs(request, stored, scenario, screen or route),
        revision=stored.revision,
    )
