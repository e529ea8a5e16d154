"""The day page, and the one command it has: a field of a run is changed."""

import secrets
from typing import Annotated

from fastapi import Form, HTTPException
from starlette.requests import Request
from starlette.responses import Response

from app.engine.assess import assess
from app.engine.results import Assessment
from app.household.day import day_frame
from app.household.errors import HouseholdFaults
from app.household.resolve import resolve
from app.store.commands import SetRunField, apply
from app.store.errors import NotThere, Stale
from app.store.households import load
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import Routes, may
from app.web.figures import date
from app.web.forms.run import RunForm, run_value
from app.web.reply import reply, reply_done
from app.web.views.about import About
from app.web.views.adjust import Attempt
from app.web.views.day import PlanLink, day_context

routes = Routes()

PAGE = "day/page.html"
ROWS = ("day/_rows.html",)
# What a change may touch: the rows, for which the answer is, then everything else an assessment shows.
CHANGED = (
    *ROWS,
    "day/_verdict.html",
    "day/_makers.html",
    "day/_limits.html",
    "day/_chart.html",
    "day/_cautions.html",
)

OVERTAKEN = "This run was changed somewhere else in the meantime. It stands here as it is now; change it again."


@routes.at("GET", "/h/{household_key}/{scenario_key}", "reader")
def day(request: Request, household_key: str, scenario_key: str, run: str = "") -> Response:
    """The day page. run: key of the run that is opened to be moved."""
    with request.app.state.database.session() as session:
        stored = load(session, household_key)
    scenario = stored.scenario(scenario_key) if stored else None
    if stored is None or scenario is None:
        raise HTTPException(404)
    assessment = assess(stored.household, scenario.id)
    return reply(request, PAGE, ROWS, _context(request, stored, scenario, assessment, run))


@routes.at("POST", "/h/{household_key}/{scenario_key}/runs/{run_key}", "helper")
def change_run(
    request: Request, household_key: str, scenario_key: str, run_key: str, form: Annotated[RunForm, Form()]
) -> Response:
    """Switch a run on or off, or move it; what cannot be is refused beside it, and nothing is stored then."""
    command = SetRunField(
        household_key=household_key,
        scenario_key=scenario_key,
        run_key=run_key,
        field=form.field,
        value=run_value(form),
        revision=form.revision,
        tab=form.tab,
        sequence=form.sequence,
        link_key=request.state.link.key,
    )
    typed = form.value if form.field == "start" else None
    with request.app.state.database.session() as session:
        try:
            changed = apply(session, command).household
            scenario = _scenario(changed, scenario_key)
            # What the engine refuses must not be stored either.
            assessment = assess(changed.household, scenario.id)
            session.commit()
        except NotThere as gone:
            raise HTTPException(404) from gone
        except Stale as stale:
            return _refused(request, stale.current, run_key, scenario_key, typed, (OVERTAKEN,), 409)
        except HouseholdFaults as refused:
            session.rollback()
            unchanged = load(session, household_key)
            if unchanged is None:
                raise HTTPException(404) from refused
            reasons = tuple(_sentence(fault.why) for fault in refused.faults)
            return _refused(request, unchanged, run_key, scenario_key, typed, reasons, 422)
    context = _context(request, changed, scenario, assessment, form.open, moved=run_key)
    return reply_done(request, _page(request, changed, scenario, form.open), CHANGED, context)


def _refused(
    request: Request,
    stored: StoredHousehold,
    run_key: str,
    scenario_key: str,
    typed: str | None,
    reasons: tuple[str, ...],
    status: int,
) -> Response:
    """The page as it stands, the run opened, with what was typed and why it was refused."""
    scenario = _scenario(stored, scenario_key)
    if typed is None:
        run_id = stored.run_id(scenario, run_key)
        runs = resolve(stored.household, scenario.id).day.runs
        typed = next((run.start for run in runs if run.id == run_id), "")
    assessment = assess(stored.household, scenario.id)
    context = _context(request, stored, scenario, assessment, run_key, moved=run_key, attempt=Attempt(typed, reasons))
    return reply(request, PAGE, CHANGED, context, status)


def _context(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    assessment: Assessment,
    open_run: str,
    moved: str = "",
    attempt: Attempt | None = None,
) -> dict[str, object]:
    locked = not may(request, "helper")
    page = _page(request, stored, scenario)
    about = About(
        stored=stored,
        scenario=scenario,
        resolved=resolve(stored.household, scenario.id),
        page=page,
        runs=f"{page}/runs/",
        open_run="" if locked else open_run,
        tab=secrets.token_hex(8),
        moved=moved,
        locked=locked,
    )
    return day_context(about, assessment, plan_links(request, stored, scenario), attempt)


def plan_links(
    request: Request, stored: StoredHousehold, current: StoredScenario | None = None
) -> tuple[PlanLink, ...]:
    """A link to each plan of a household."""
    zone = stored.household.site.timezone
    days = {scenario.id: day_frame(scenario.date, zone) for scenario in stored.household.scenarios}
    return tuple(
        PlanLink(plan.name, date(days[plan.id]), _page(request, stored, plan), plan is current)
        for plan in stored.scenarios
    )


def _page(request: Request, stored: StoredHousehold, scenario: StoredScenario, open_run: str = "") -> str:
    path = request.app.url_path_for("day", household_key=stored.key, scenario_key=scenario.key)
    return f"{path}?run={open_run}" if open_run else str(path)


def _scenario(stored: StoredHousehold, scenario_key: str) -> StoredScenario:
    scenario = stored.scenario(scenario_key)
    if scenario is None:
        raise HTTPException(404)
    return scenario


def _sentence(why: str) -> str:
    return f"{why[:1].upper()}{why[1:]}."
