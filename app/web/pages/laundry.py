"""Laundry day: what is to run, the day that is found for it, and taking it."""

from typing import Annotated

from fastapi import Form, HTTPException
from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.household.errors import HouseholdFaults
from app.store.commands import PlaceRuns, apply
from app.store.errors import Gone, NotThere, Stale
from app.store.households import load
from app.store.stored import StoredHousehold
from app.web.access import Routes
from app.web.addresses import plan_page
from app.web.answering import OVERTAKEN, present_plan, sentence_of
from app.web.asked import asked_household
from app.web.forms.laundry_take import JobForm, TakeForm
from app.web.gone import plan_gone
from app.web.laundry_page import LaundryPage
from app.web.laundry_taking import changes_of, not_without
from app.web.reply import VARY, reply_elsewhere, wants_fragment
from app.web.storing import try_and_do
from app.web.words import laundry as words

routes = Routes()


@routes.at("GET", "/h/{household_key}/{scenario_key}/laundry", "reader")
def laundry(request: Request, household_key: str, scenario_key: str) -> Response:
    """The page; with `find` in its address the day that is found for what the address says, as far as it is."""
    stored = asked_household(request, household_key)
    shown = _shown(request, stored, scenario_key, request.query_params)
    if shown.scenario.key != scenario_key:
        return shown.answer((plan_gone(request, stored, scenario_key, shown.scenario).line,), 410)
    asks = request.query_params
    return shown.found() if "find" in asks and "more" not in asks and "fewer" not in asks else shown.answer()


@routes.at("POST", "/h/{household_key}/{scenario_key}/laundry/take", "helper")
def take_laundry(
    request: Request, household_key: str, scenario_key: str, form: Annotated[TakeForm, Form()]
) -> Response:
    """Take what is ticked of a day as one step; part of one only after it was looked at."""
    stored = asked_household(request, household_key)
    shown = _shown(request, stored, scenario_key, QueryParams(form.wish))
    if shown.scenario.key != scenario_key:
        return shown.answer((plan_gone(request, stored, scenario_key, shown.scenario).line,), 410)
    if shown.state != form.state:
        return shown.answer((words.CHANGED,), 409)
    starts: dict[str, str] = {}
    ticked = set(form.tick)
    try:
        wanted = shown.wanted()
        starts = dict(form.starts())
        runs, new = changes_of(shown.resolved, wanted, starts)
        every = {*runs, *new}
        ticked &= every
        if not ticked:
            return shown.found(starts=starts, ticked=ticked, notices=(words.NOTHING_TICKED,), status=422)
        if missing := not_without(wanted, starts, ticked):
            return shown.found(starts=starts, ticked=ticked, missing=missing, status=422)
        looked = set(form.looked.splitlines())
        if form.do == "look" or (ticked != every and ticked != looked):
            return shown.found(starts=starts, ticked=ticked)
        command = PlaceRuns(
            **form.envelope(household_key, scenario_key, request.state.link.key),
            runs={key: fields for key, fields in runs.items() if key in ticked},
            new={key: document for key, document in new.items() if key in ticked},
        )
        with request.app.state.database.session() as session:
            before = load(session, household_key)
            applied = try_and_do(session, before, lambda session: apply(session, command))
            session.commit()
    except Gone as gone:
        return _shown(request, gone.current, scenario_key, QueryParams(form.wish)).answer((words.CHANGED,), 410)
    except NotThere as nothing:
        raise HTTPException(404) from nothing
    except Stale as stale:
        return _shown(request, stale.current, scenario_key, QueryParams(form.wish)).answer((OVERTAKEN,), 409)
    except HouseholdFaults as faults:
        notices = tuple(sentence_of(one.why) for one in faults.faults)
        if not starts:
            return shown.answer(notices, 422)
        return shown.found(starts=starts, ticked=ticked, notices=notices, status=422)
    return reply_elsewhere(request, plan_page(request, applied.household, shown.scenario))


@routes.at("POST", "/h/{household_key}/{scenario_key}/laundry/search", "helper")
def steer_search(request: Request, household_key: str, scenario_key: str, form: Annotated[JobForm, Form()]) -> Response:
    """Stop a search, which keeps the best, or let it go on; nothing of the household changes."""
    stored = asked_household(request, household_key)
    shown = _shown(request, stored, scenario_key, QueryParams(form.wish))
    jobs = request.app.state.jobs
    if form.do == "stop":
        jobs.stop(form.job)
    else:
        jobs.go_on(form.job)
    if wants_fragment(request):
        return shown.found()
    return RedirectResponse(shown.address(find="1"), 303, headers=VARY)


def _shown(request: Request, stored: StoredHousehold, scenario_key: str, asks: QueryParams) -> LaundryPage:
    return LaundryPage(request, stored, present_plan(stored, scenario_key), asks)
