"""What a plan's page answers: the whole page, or the parts a change touches; and how a change is carried out.

Every command a page sends goes through `carry_out`, so that what is refused, gone or overtaken is answered in one way
everywhere: nothing typed is lost, and what is shown is what is stored.
"""

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from app.household.errors import HouseholdFaults
from app.store.commands import Applied
from app.store.errors import Gone, NotThere, Stale
from app.store.households import load
from app.store.steps import Steps, steps
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.access import may
from app.web.addresses import plan_links, plan_page
from app.web.forms.instant import instant_of
from app.web.planned import planned
from app.web.reply import reply, reply_done, reply_elsewhere, reply_instead, wants_fragment
from app.web.views.about import About, Adding, Attempt
from app.web.views.day import Changing, day_context
from app.web.views.plan import SHEET, PlanAttempt
from app.web.views.steps import without_plan

PAGE = "day/page.html"
ROWS = ("day/_rows.html",)
STEPS = "day/_steps.html"
ADD = ("day/_add.html",)
# Parts of the page that its script asks for by name.
PARTS = {
    "rows": ROWS,
    "ways": ("day/_ways.html",),
    "chart": ("day/_chart.html",),
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
    STEPS,
)
# What a change of the plan itself may touch beside that, and a step back.
PLAN_CHANGED = (*CHANGED, "day/_plan.html", "day/_head.html")
STEPPED = PLAN_CHANGED

NO_TIME = "That is no time of this day. Give one as 15:04, or +09:30 for the next morning, up to +12:00."
OVERTAKEN = "Something newer was done meanwhile. This is how it stands now; do it again if you still want it."
REVISION = "Loadstead-Revision"


@dataclass(frozen=True, slots=True)
class Showing:
    """How a plan's page is to be shown.

    open_run: key of the run whose adjust row is open, or empty. attempt: what was tried and refused.
    notice: one line of news, may be empty.
    ways: look for changes that would make the plan fit.
    touched: the plan's own field the answer is about. why_not: why a step back could not be done.
    go_to: key of the plan to be shown instead, or empty.
    """

    open_run: str = ""
    attempt: Attempt | Adding | PlanAttempt | None = None
    notice: str = ""
    ways: bool = False
    touched: str = ""
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
    context = _context(request, stored, scenario, showing, fragments)
    if status == 200 and context["moment"].fault:
        status = 422
    answer = reply(request, PAGE, fragments, context, status)
    answer.headers[REVISION] = str(stored.revision)
    return answer


def carry_out(
    request: Request,
    household_key: str,
    scenario_key: str,
    do: Callable[..., Applied],
    done: Callable[[Applied], Showing],
    refused: Callable[[StoredHousehold, tuple[str, ...]], Showing],
    fragments: tuple[str, ...] = CHANGED,
) -> Response:
    """Carry out a change and answer with the plan as it stands then.

    do: applies the command in a session of the store. done: how to show the plan after it.
    refused: how to show the plan, which is as it was, with why the change was refused, a sentence each.
    """
    with request.app.state.database.session() as session:
        try:
            applied = do(session)
            showing = done(applied)
            scenario = present_plan(applied.household, showing.go_to or scenario_key)
            _work_out(applied.household, scenario)
            session.commit()
        except Gone as gone:
            return show_gone(request, gone, scenario_key, fragments)
        except NotThere as nothing:
            raise HTTPException(404) from nothing
        except Stale as stale:
            showing = refused(stale.current, (OVERTAKEN,))
            return show_plan(request, stale.current, scenario_of(stale.current, scenario_key), showing, fragments, 409)
        except HouseholdFaults as faults:
            session.rollback()
            unchanged = load(session, household_key)
            if unchanged is None:
                raise HTTPException(404) from faults
            showing = refused(unchanged, tuple(sentence_of(fault.why) for fault in faults.faults))
            return show_plan(request, unchanged, scenario_of(unchanged, scenario_key), showing, fragments, 422)
    return show_done(request, applied.household, scenario_key, scenario, showing, fragments)


def _work_out(stored: StoredHousehold, scenario: StoredScenario) -> None:
    """What the engine refuses must not be stored, neither for the plan itself nor for one that inherits from it.

    Raises HouseholdFaults.
    """
    for one in (scenario, *stored.scenarios):
        if one is scenario or scenario in stored.lineage(one):
            planned(stored, one)


def show_done(
    request: Request,
    stored: StoredHousehold,
    scenario_key: str,
    scenario: StoredScenario,
    showing: Showing,
    fragments: tuple[str, ...] = CHANGED,
) -> Response:
    """The answer to a change that was carried out: the plan as it is now; or another plan, which is gone to."""
    address = plan_page(request, stored, scenario, showing.open_run, SHEET if showing.touched else "")
    if scenario.key != scenario_key:
        return reply_elsewhere(request, address)
    answer = reply_done(request, address, fragments, _context(request, stored, scenario, showing, fragments))
    answer.headers[REVISION] = str(stored.revision)
    return answer


def show_gone(request: Request, gone: Gone, scenario_key: str, fragments: tuple[str, ...] = CHANGED) -> Response:
    """The answer to a change of what was removed meanwhile: the plan as it is, and what happened to it."""
    stored, scenario = gone.current, gone.current.scenario(scenario_key)
    if scenario is None:
        return show_without_plan(request, stored, scenario_key)
    told = "What this was about was removed"
    if gone.change is not None:
        told = words.what_it_did(gone.change, stored, scenario, planned(stored, scenario).resolved)
    return show_plan(request, stored, scenario, Showing(notice=f"{told} meanwhile."), fragments, 410)


def show_without_plan(request: Request, stored: StoredHousehold, scenario_key: str) -> Response:
    """The answer on the page of a plan that was deleted: another plan's page, on which that can be undone.

    For the page's script only the line of news, with a link there, so that nothing typed is lost.
    Raises HTTPException 404 if there never was such a plan.
    """
    scenario = present_plan(stored, scenario_key)
    name = str(stored.pieces[scenario_key].document["name"])
    view = without_plan(stored.revision, name, plan_page(request, stored, scenario), scenario.name)
    if answer := reply_instead(request, "#day-steps", STEPS, {"steps": view}, 410):
        return answer
    return show_plan(request, stored, scenario, Showing(notice=view.notice), status=410)


def present_plan(stored: StoredHousehold, scenario_key: str) -> StoredScenario:
    """The plan of a key or, where that was deleted, the one that stood before it, else the first.

    Raises HTTPException 404 if there never was such a plan.
    """
    present = stored.scenario(scenario_key)
    if present is not None:
        return present
    if scenario_key not in stored.pieces:
        raise HTTPException(404)
    place = stored.pieces[scenario_key].position
    before = [one for one in stored.scenarios if stored.pieces[one.key].position < place]
    return before[-1] if before else stored.scenarios[0]


def scenario_of(stored: StoredHousehold, scenario_key: str) -> StoredScenario:
    """The plan of a key.

    Raises HTTPException 404 if there is none.
    """
    scenario = stored.scenario(scenario_key)
    if scenario is None:
        raise HTTPException(404)
    return scenario


def sentence_of(why: str) -> str:
    """A fault's reason as a sentence of its own."""
    return f"{why[:1].upper()}{why[1:]}."


def _context(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    showing: Showing,
    fragments: tuple[str, ...],
) -> dict[str, Any]:
    locked = not may(request, "helper")
    page = plan_page(request, stored, scenario)
    worked_out = planned(stored, scenario)
    typed = request.query_params.get("clock", "")
    at_ms = instant_of(worked_out.resolved.frame, typed, _asked(request, "at"))
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
        unfolded=frozenset(
            f"{request.headers.get('Loadstead-Unfold', '')},{request.query_params.get('unfold', '')}".split(",")
        ),
        at_ms=at_ms,
        find=request.query_params.get("find", "")[:100],
        typed_at=typed if at_ms is None else "",
        fault_at="" if at_ms is not None or not typed else NO_TIME,
    )
    ways = worked_out.ways if showing.ways else None
    shows_steps = not locked and (STEPS in fragments or not wants_fragment(request))
    taken_back = _steps(request, stored, scenario) if shows_steps else Steps(None, None)
    changing = Changing(showing.touched, taken_back, showing.why_not)
    plans = plan_links(request, stored, scenario)
    return day_context(about, worked_out.inspection, plans, changing, showing.attempt, ways)


def _steps(request: Request, stored: StoredHousehold, scenario: StoredScenario) -> Steps:
    with request.app.state.database.session() as session:
        return steps(session, stored.key, scenario.key)


def _asked(request: Request, name: str) -> str:
    """How the page is to be looked at: as the address says, else as its script says it is looked at now."""
    return request.query_params.get(name) or request.headers.get(f"Loadstead-{name}", "")
