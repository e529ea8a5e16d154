"""Steps back and forward again."""

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import Form
from starlette.requests import Request
from starlette.responses import Response

from app.store.commands import AddRun, Applied, Pressed, RemovePlan, redo, undo
from app.web.access import Routes
from app.web.answering import carry_out
from app.web.forms.plan import StepForm
from app.web.showing import STEPPED, Showing

routes = Routes()


@routes.at("POST", "/h/{household_key}/{scenario_key}/undo", "helper")
def undo_step(request: Request, household_key: str, scenario_key: str, form: Annotated[StepForm, Form()]) -> Response:
    """Take back the last change of the plan or its household."""
    return _step(request, household_key, scenario_key, form, undo)


@routes.at("POST", "/h/{household_key}/{scenario_key}/redo", "helper")
def redo_step(request: Request, household_key: str, scenario_key: str, form: Annotated[StepForm, Form()]) -> Response:
    """Do again what was taken back last."""
    return _step(request, household_key, scenario_key, form, redo)


def _step(
    request: Request,
    household_key: str,
    scenario_key: str,
    form: StepForm,
    step: Callable[[Any, Pressed], Applied],
) -> Response:
    pressed = Pressed(
        household_key=household_key,
        scenario_key=scenario_key,
        change_id=form.change,
        tab=form.tab,
        sequence=form.sequence,
        link_key=request.state.link.key,
    )

    def done(applied: Applied) -> Showing:
        # A plan that is there again is gone to, for there is the way forth again.
        is_back = isinstance(applied.inverse, RemovePlan)
        return Showing(
            open_run=form.open,
            go_to=applied.part_key if is_back else "",
            appliance=_whose_run(applied, scenario_key),
        )

    return carry_out(
        request,
        household_key,
        scenario_key,
        do=lambda session: step(session, pressed),
        done=done,
        refused=lambda _, reasons: Showing(open_run=form.open, why_not=reasons),
        fragments=STEPPED,
    )


def _whose_run(applied: Applied, scenario_key: str) -> str:
    """The id of the appliance whose run was changed; empty where the step was about something else."""
    if isinstance(applied.inverse, AddRun):
        return str(applied.inverse.document.get("appliance", ""))
    scenario = applied.household.scenario(scenario_key)
    run_id = applied.household.run_id(scenario, applied.part_key) if scenario else None
    run = applied.household.run(scenario, run_id) if scenario and run_id else None
    return run.appliance if run else ""
