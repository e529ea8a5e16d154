"""The page for one plan alone: it opens with a reader's link for that plan, shows it calmly, and changes nothing."""

from dataclasses import dataclass
from typing import ClassVar
from zoneinfo import ZoneInfo

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.store.overlay import taps_by_plan
from app.store.stored import StoredHousehold
from app.web.access import Routes
from app.web.asked import asked_household
from app.web.gone import gone_name
from app.web.night import yesterdays_taps
from app.web.now import now_at
from app.web.reply import VARY, wants_fragment
from app.web.switchboard import MARK, Switchboard
from app.web.tapped import as_it_stands
from app.web.views.partner import GoneView, PartnerAround, partner_view
from app.web.views.switch_rows import Wrong
from app.web.words import gone as words

routes = Routes()

PAGE, GONE = "partner/page.html", "partner/gone.html"
SCREEN = "partner"


@routes.at("GET", "/h/{household_key}/{scenario_key}/partner", "plan")
def partner(request: Request, household_key: str, scenario_key: str, sun: str = "") -> Response:
    """The page. sun: `1` waits for sun and bank, however long they take. `run`, `start`: as in `Switchboard`."""
    stored = asked_household(request, household_key)
    scenario = stored.scenario(scenario_key)
    if scenario is None:
        return _gone(request, stored, scenario_key)
    now = now_at(request, ZoneInfo(stored.household.site.timezone))
    with request.app.state.database.session() as session:
        by_plan = taps_by_plan(session, stored.key, now.date)
        yesterday = yesterdays_taps(session, stored.key, now)
    today = as_it_stands(stored, scenario, by_plan.get(scenario.key, ()), now, with_sun=sun == "1")
    return _Partner(request, stored, scenario, today, now, yesterday, by_plan).answer()


@dataclass(frozen=True)
class _Partner(Switchboard):
    """What is shown: the answers of `Switch on`, for now and nothing else, on a page of this one plan."""

    screen: ClassVar[str] = SCREEN
    looks_at_other_times: ClassVar[bool] = False

    def _show(self, status: int, wrong: Wrong) -> tuple[str, int]:
        now_then = self._answers(self._at_ms)
        ask = self._asked(now_then)
        if status == 200 and (ask.fault_run or ask.fault_start):
            status = 422
        about = PartnerAround(
            household=self.stored.household.name,
            plan=self.scenario.name,
            href=self._href,
            here=self._here,
            mark=self._mark,
            left_on=tuple(one.line for one in self._left_on),
            elsewhere=self._elsewhere,
        )
        view = partner_view(about, self.today, now_then, self.now, ask)
        return self.request.app.state.pages.render(PAGE, page=view), status


def _gone(request: Request, stored: StoredHousehold, scenario_key: str) -> Response:
    """The page of a plan that was deleted; nothing of another one."""
    if stored.nearest(scenario_key) is None:
        raise HTTPException(404)
    mark = f"gone/{stored.revision}"
    if wants_fragment(request) and request.headers.get(MARK) == mark:
        return Response(status_code=204, headers=VARY)
    keys = {"household_key": stored.key, "scenario_key": scenario_key}
    view = GoneView(
        household=stored.household.name,
        href=str(request.app.url_path_for(SCREEN, **keys)),
        mark=mark,
        says=f"{words.PLAN.format(name=gone_name(stored, scenario_key))} {words.MAY_RETURN}",
    )
    html = request.app.state.pages.render(GONE, gone=view)
    return HTMLResponse(html, 410, headers=VARY)
