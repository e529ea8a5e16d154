"""Commands about the runs of a plan: switched, moved, put on the day, doubled, taken away."""

from typing import Annotated, Any

from fastapi import Form
from starlette.requests import Request
from starlette.responses import Response

from app.household.errors import Fault, HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.gaps import clock_text, first_free_s, run_length_s
from app.household.resolve import Resolved, resolve
from app.household.scenario import Run
from app.store.commands import AddRun, Applied, RemoveRun, SetRunField, apply
from app.store.errors import Gone, NotThere
from app.store.households import existing
from app.store.stored import StoredHousehold
from app.web.access import Routes
from app.web.answering import carry_out
from app.web.forms.run import AddForm, RunForm, Sent, added_run, copied_run, run_value
from app.web.forms.typed import FIND_AT_MOST
from app.web.showing import Showing
from app.web.views.about import Adding, Attempt

routes = Routes()

STEP_S = 300
UNSAID_S = 1800  # how long a run takes that a tap puts on a track, where its programme has no length
NO_ROOM = "there is no free time left for it later on this day; move it to an earlier time first"


@routes.at("POST", "/h/{household_key}/{scenario_key}/runs/{run_key}", "helper")
def change_run(
    request: Request, household_key: str, scenario_key: str, run_key: str, form: Annotated[RunForm, Form()]
) -> Response:
    """Switch a run on or off, move it, or give it another length; what cannot be is refused beside it."""

    def do(session: Any) -> Applied:
        stored = existing(session, household_key)
        run = _run_of(stored, scenario_key, run_key)
        # A switch is always stored, for it must win over an older one of its page that comes late.
        if run is not None and form.field != "on" and getattr(run, form.field) == run_value(form):
            return Applied(stored, None, "", run_key)  # nothing to store, and no step to take back
        envelope = form.envelope(household_key, scenario_key, request.state.link.key)
        return apply(session, SetRunField(**envelope, run_key=run_key, field=form.field, value=run_value(form)))

    def refused(_: StoredHousehold, reasons: tuple[str, ...]) -> Showing:
        return Showing(open_run=run_key, attempt=Attempt(form.field, form.value, reasons))

    return carry_out(
        request,
        household_key,
        scenario_key,
        do=do,
        done=lambda applied: _shown(applied.household, scenario_key, run_key, form.open),
        refused=refused,
    )


@routes.at("POST", "/h/{household_key}/{scenario_key}/runs/{run_key}/remove", "helper")
def remove_run(
    request: Request, household_key: str, scenario_key: str, run_key: str, form: Annotated[Sent, Form()]
) -> Response:
    """Take a run off the day; where another waits for it, say so beside it."""
    still_open = "" if form.open == run_key else form.open
    then = Showing(open_run=still_open)

    def do(session: Any) -> Applied:
        nonlocal then
        then = _shown(existing(session, household_key), scenario_key, run_key, still_open)
        envelope = form.envelope(household_key, scenario_key, request.state.link.key)
        return apply(session, RemoveRun(**envelope, run_key=run_key))

    return carry_out(
        request,
        household_key,
        scenario_key,
        do=do,
        done=lambda _: then,
        refused=lambda _, reasons: Showing(open_run=run_key, attempt=Attempt("", "", reasons)),
    )


@routes.at("POST", "/h/{household_key}/{scenario_key}/runs/{run_key}/duplicate", "helper")
def duplicate_run(
    request: Request, household_key: str, scenario_key: str, run_key: str, form: Annotated[Sent, Form()]
) -> Response:
    """Put the same run on the day again, right after itself or as soon after as its machine is free."""

    def do(session: Any) -> Applied:
        stored = existing(session, household_key)
        resolved, run = _on_its_day(stored, scenario_key, run_key)
        envelope = form.envelope(household_key, scenario_key, request.state.link.key)
        return apply(session, AddRun(**envelope, document=copied_run(run, _free_after(resolved, run))))

    return carry_out(
        request,
        household_key,
        scenario_key,
        do=do,
        done=lambda applied: _shown(applied.household, scenario_key, applied.part_key, applied.part_key),
        refused=lambda _, reasons: Showing(open_run=run_key, attempt=Attempt("", "", reasons)),
    )


@routes.at("POST", "/h/{household_key}/{scenario_key}/runs", "helper")
def add_run(request: Request, household_key: str, scenario_key: str, form: Annotated[AddForm, Form()]) -> Response:
    """Put a run of an appliance on the day, and open it to be adjusted; what cannot be is refused beside its time."""

    def do(session: Any) -> Applied:
        document = added_run(form)
        if "duration_s" not in document and _has_no_length(existing(session, household_key), scenario_key, form):
            document["duration_s"] = UNSAID_S
        envelope = form.envelope(household_key, scenario_key, request.state.link.key)
        return apply(session, AddRun(**envelope, document=document))

    def refused(_: StoredHousehold, reasons: tuple[str, ...]) -> Showing:
        attempt = Adding(form.appliance, form.start, form.length, reasons, form.find[:FIND_AT_MOST])
        return Showing(open_run=form.open, attempt=attempt)

    return carry_out(
        request,
        household_key,
        scenario_key,
        do=do,
        done=lambda applied: _shown(applied.household, scenario_key, applied.part_key, applied.part_key),
        refused=refused,
    )


def _shown(stored: StoredHousehold, scenario_key: str, run_key: str, open_run: str) -> Showing:
    """The plan after a change of a run, at the row that run stands in."""
    run = _run_of(stored, scenario_key, run_key)
    return Showing(open_run=open_run, appliance=run.appliance if run else "")


def _run_of(stored: StoredHousehold, scenario_key: str, run_key: str) -> Run | None:
    scenario = stored.scenario(scenario_key)
    run_id = stored.run_id(scenario, run_key) if scenario else None
    return stored.run(scenario, run_id) if scenario and run_id else None


def _on_its_day(stored: StoredHousehold, scenario_key: str, run_key: str) -> tuple[Resolved, Run]:
    """A run, and the day it stands on.

    Raises NotThere, Gone where one of them is not there, or no longer.
    """
    scenario, run = stored.scenario(scenario_key), _run_of(stored, scenario_key, run_key)
    if scenario is None or run is None:
        raise Gone(stored, (run_key,)) if run_key in stored.pieces else NotThere("there is no such run")
    return resolve(stored.household, scenario.id), run


def _free_after(resolved: Resolved, run: Run) -> str:
    """The first full five minutes after a run at which its machine is free as long as the run takes."""
    appliance = resolved.appliance(run.appliance)
    assert appliance is not None
    length_s = run_length_s(appliance, run)
    end_s = wall_clock_s(run.start) + length_s
    free_s = first_free_s(resolved, appliance, length_s, -int(-end_s // STEP_S) * STEP_S, STEP_S)
    if free_s is None:
        raise HouseholdFaults([Fault("start", NO_ROOM)])
    return clock_text(free_s)


def _has_no_length(stored: StoredHousehold, scenario_key: str, form: AddForm) -> bool:
    """Whether an appliance runs as long as each run says."""
    scenario = stored.scenario(scenario_key)
    appliance = resolve(stored.household, scenario.id).appliance(form.appliance) if scenario else None
    return appliance is not None and not appliance.always_on and not run_length_s(appliance)
