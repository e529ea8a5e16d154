"""A plan's page, or the parts of it that its script asks for: what there is, and how it is to be shown."""

import secrets
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response

from app.planner.ways import RED
from app.store.steps import Steps, steps
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import may
from app.web.addresses import plan_links, plan_page, screen_tabs
from app.web.forms.instant import instant_of
from app.web.forms.typed import FIND_AT_MOST
from app.web.planned import planned
from app.web.reply import reply, wants_fragment
from app.web.views.about import About, Adding, Attempt
from app.web.views.day import Around, Changing, day_context
from app.web.views.plan import PlanAttempt
from app.web.views.ways import Sought

PAGE = "day/page.html"
ROWS = ("day/_rows.html",)
STEPS = "day/_steps.html"
ADD = ("day/_add.html",)
# Parts of the page that its script asks for by name.
PARTS: dict[str, tuple[str, ...]] = {
    "rows": ROWS,
    "ways": ("day/_ways.html",),
    "chart": ("day/_chart.html",),
    "tables": ("day/_tables.html",),
    "limits": ("day/_limits.html",),
    "add": ADD,
    "moment": ("day/_moment.html",),
}
# What a change may touch: the rows, for which the answer is, then everything else an assessment shows.
CHANGED = (
    *ROWS,
    "day/_verdict.html",
    "day/_ways.html",
    "day/_moment.html",
    "day/_limits.html",
    "day/_chart.html",
    "day/_cautions.html",
    *ADD,
    "day/_tables.html",
    STEPS,
)
# Sun and bank, once they are worked out, may decide, and so change all of that; but nothing was done.
PARTS["sun"] = tuple(part for part in CHANGED if part != STEPS)
# What a change of the plan itself may touch beside that, and a step back.
PLAN_CHANGED = (*CHANGED, "day/_plan.html", "day/_head.html")
STEPPED = PLAN_CHANGED

NO_TIME = "That is no time of this day. Give one as 15:04, or +09:30 for the next morning, up to +11:59."
REVISION = "Loadstead-Revision"


@dataclass(frozen=True, slots=True)
class Showing:
    """How a plan's page is to be shown.

    open_run: key of the run whose adjust row is open, or empty. attempt: what was tried and refused.
    notice: one line of news, may be empty.
    ways: look for changes that would make the plan fit. sun: wait for sun and bank, however long they take.
    touched: the plan's own field the answer is about. appliance: id of the one whose row it is about, or empty.
    why_not: why a step back could not be done.
    go_to: key of the plan to be shown instead, or empty.
    """

    open_run: str = ""
    attempt: Attempt | Adding | PlanAttempt | None = None
    notice: str = ""
    ways: bool = False
    sun: bool = False
    touched: str = ""
    appliance: str = ""
    why_not: tuple[str, ...] = ()
    go_to: str = ""


def show_plan(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    showing: Showing = Showing(),
    fragments: tuple[str, ...] = CHANGED,
    status: int = 200,
) -> Response:
    """The plan's page; for its own script, some fragments of it."""
    context = page_context(request, stored, scenario, showing, fragments)
    if status == 200 and context["moment"].fault:
        status = 422
    answer = reply(request, PAGE, fragments, context, status)
    answer.headers[REVISION] = str(stored.revision)
    return answer


def page_context(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    showing: Showing,
    fragments: tuple[str, ...],
) -> dict[str, Any]:
    """Everything the templates of a plan's page ask for.

    fragments: the templates that are asked for, when not the page itself is.
    """
    locked = not may(request, "helper")
    page = plan_page(request, stored, scenario)
    worked_out = planned(stored, scenario, with_sun=showing.sun)
    looked = looked_at(request)
    typed = looked.get("clock", "")
    frame, at = worked_out.resolved.frame, looked.get("at") or request.headers.get("Loadstead-At", "")
    if looked.get("clock") == "":
        at = ""  # emptied: what decides is looked at again
    meant_ms = instant_of(frame, typed, at)
    # What is no time changes nothing: the instant stays that was looked at.
    at_ms = instant_of(frame, "", at) if meant_ms is None else meant_ms
    about = About(
        stored=stored,
        scenario=scenario,
        resolved=worked_out.resolved,
        page=page,
        runs=f"{page}/runs/",
        open_run="" if locked else showing.open_run,
        tab=secrets.token_hex(8),
        locked=locked,
        notice=showing.notice,
        unfolded=frozenset(f"{request.headers.get('Loadstead-Unfold', '')},{looked.get('unfold', '')}".split(",")),
        at_ms=at_ms,
        find=looked.get("find", "")[:FIND_AT_MOST],
        typed_at=typed if meant_ms is None else "",
        fault_at=NO_TIME if meant_ms is None and typed else "",
        carries=not wants_fragment(request),
    )
    ways = worked_out.ways if showing.ways else None
    shows_steps = not locked and (STEPS in fragments or not wants_fragment(request))
    taken_back = _steps(request, stored, scenario) if shows_steps else Steps(None, None)
    changing = Changing(showing.touched, taken_back, showing.why_not)
    around = Around(plan_links(request, stored, scenario), screen_tabs(request, stored, scenario, "day"))
    # Rows that the page's script says it shows are left out.
    has = frozenset(request.headers.get("Loadstead-Has", "").split(",") if wants_fragment(request) else ()) - {""}
    # The answer to a form has the form's address, so its own forms say how the page is looked at.
    keeps = about.looked_at if request.method == "POST" else ""
    by_itself = worked_out.by_itself if ways == () and worked_out.assessment.verdict in RED else None
    context = day_context(about, worked_out.inspection, around, changing, showing.attempt, Sought(ways, by_itself))
    return context | {"has": has, "keeps": keeps}


def _steps(request: Request, stored: StoredHousehold, scenario: StoredScenario) -> Steps:
    with request.app.state.database.session() as session:
        return steps(session, stored.key, scenario.key)


def looked_at(request: Request) -> QueryParams:
    """How the page is looked at, as its address says: an instant, what is unfolded, what is looked for.

    A form that is sent without a script says it in its address where it stood on the answer to another form; else it
    is read from the address of the page it stood on.
    """
    if request.method == "POST" and not wants_fragment(request) and not request.query_params:
        return QueryParams(urlsplit(request.headers.get("referer", "")).query)
    return request.query_params
