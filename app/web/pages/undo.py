"""Steps back and forward again."""

from collections.abc import Callable
from typing import Annotated

from fastapi import Form
from starlette.requests import Request
from starlette.responses import Response

from app.store.commands import Applied, redo, undo
from app.web.access import Routes
from app.web.answering import STEPPED, Showing, carry_out
from app.web.forms.plan import StepForm

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
    request: Request, household_key: str, scenario_key: str, form: StepForm, step: Callable[..., Applied]
) -> Response:
    return carry_out(
        request,
        household_key,
        scenario_key,
        do=lambda session: step(
            session,
            household_key,
            scenario_key,
            form.change,
            tab=form.tab,
            sequence=form.sequence,
            link_key=request.state.link.key,
        ),
        done=lambda _: Showing(open_run=form.open),
        refused=lambda _, reasons: Showing(open_run=form.open, why_not=reasons),
        fragments=STEPPED,
    )
