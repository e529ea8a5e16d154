"""Addresses of plans, and the links to them."""

from urllib.parse import urlencode

from starlette.requests import Request

from app.household.day import day_frame
from app.store.stored import StoredHousehold, StoredScenario
from app.web.figures import date
from app.web.views.head import PlanLink


def plan_page(
    request: Request, stored: StoredHousehold, scenario: StoredScenario, open_run: str = "", unfold: str = ""
) -> str:
    """The address of a plan's page, with a run opened if one is named, and at something unfolded."""
    path = request.app.url_path_for("day", household_key=stored.key, scenario_key=scenario.key)
    asked = {name: value for name, value in (("run", open_run), ("unfold", unfold)) if value}
    return f"{path}{'?' if asked else ''}{urlencode(asked)}{f'#{unfold}' if unfold else ''}"


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
