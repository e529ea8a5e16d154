"""Commands about one run of a plan."""

from typing import Annotated

from fastapi import Form
from starlette.requests import Request
from starlette.responses import Response

from app.household.resolve import resolve
from app.store.commands import SetRunField, apply
from app.store.stored import StoredHousehold
from app.web.access import Routes
from app.web.answering import Showing, carry_out, scenario_of
from app.web.forms.run import RunForm, run_value
from app.web.views.adjust import Attempt

routes = Routes()


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

    def refused(stored: StoredHousehold, reasons: tuple[str, ...]) -> Showing:
        typed = form.value if form.field == "start" else _start_of(stored, scenario_key, run_key)
        return Showing(open_run=run_key, moved=run_key, attempt=Attempt(typed, reasons))

    return carry_out(
        request,
        household_key,
        scenario_key,
        do=lambda session: apply(session, command),
        done=lambda _: Showing(open_run=form.open, moved=run_key),
        refused=refused,
    )


def _start_of(stored: StoredHousehold, scenario_key: str, run_key: str) -> str:
    scenario = scenario_of(stored, scenario_key)
    run_id = stored.run_id(scenario, run_key)
    runs = resolve(stored.household, scenario.id).day.runs
    return next((run.start for run in runs if run.id == run_id), "")
