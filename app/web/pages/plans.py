"""Changes to a plan itself, and to which plans a household has."""

from typing import Annotated, Any

from fastapi import Form
from starlette.requests import Request
from starlette.responses import Response

from app.store.commands import AddPlan, ClearPlanField, Command, RemovePlan, SetPlanField, apply
from app.store.commands.plans import copied
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import Routes
from app.web.answering import carry_out, show_done, show_without_plan
from app.web.asked import asked_household
from app.web.customs import warmth_of
from app.web.forms.plan import Mistyped, NewPlanForm, PlanForm, plan_value, told_beside
from app.web.forms.run import Sent
from app.web.showing import PLAN_CHANGED, Showing, show_plan
from app.web.today import today
from app.web.views.plan import PlanAttempt

routes = Routes()


@routes.at("POST", "/h/{household_key}/{scenario_key}/plan", "helper")
def change_plan(request: Request, household_key: str, scenario_key: str, form: Annotated[PlanForm, Form()]) -> Response:
    """Give one of the plan's own values; what cannot be is refused beside it, and nothing is stored then."""
    stored = asked_household(request, household_key)
    scenario = stored.scenario(scenario_key)
    if scenario is None:
        return show_without_plan(request, stored, scenario_key)

    def refused(messages: tuple[str, ...], wrong: frozenset[int] = frozenset()) -> Showing:
        attempt = PlanAttempt(form.field, messages, form.value, form.lines, wrong, form.at or "")
        return Showing(open_run=form.open, touched=form.field, attempt=attempt)

    done = Showing(open_run=form.open, touched=form.field)
    about: dict[str, Any] = form.envelope(household_key, scenario_key, request.state.link.key) | {"field": form.field}
    command: Command = ClearPlanField(**about)
    if not form.parents:
        try:
            value, beside = plan_value(form, warmth_of(stored.household)), told_beside(form)
        except Mistyped as mistyped:
            showing = refused(mistyped.messages, mistyped.lines)
            return show_plan(request, stored, scenario, showing, PLAN_CHANGED, 422)
        if _is_said(stored, scenario, {form.field: value} | (beside or {})):
            return show_done(request, stored, scenario_key, scenario, done, PLAN_CHANGED)
        command = SetPlanField(**about, value=value, beside=beside)
    return carry_out(
        request,
        household_key,
        scenario_key,
        do=lambda session: apply(session, command),
        done=lambda _: done,
        refused=lambda _, reasons: refused(reasons),
        fragments=PLAN_CHANGED,
    )


@routes.at("POST", "/h/{household_key}/{scenario_key}/plans", "helper")
def add_plan(request: Request, household_key: str, scenario_key: str, form: Annotated[NewPlanForm, Form()]) -> Response:
    """Begin another plan, empty or as a copy of this one, and go to it."""
    stored = asked_household(request, household_key)
    scenario = stored.scenario(scenario_key)
    if scenario is None:
        return show_without_plan(request, stored, scenario_key)
    name = form.name.strip()
    if form.copied:
        document = copied(stored, scenario, name)
    else:
        document = {"name": name, "date": today(stored.household.site.timezone), "runs": []}
    envelope = form.envelope(household_key, scenario_key, request.state.link.key)
    command = AddPlan(
        **{what: value for what, value in envelope.items() if what != "scenario_key"},
        document=document,
        position=stored.scenarios.index(scenario) + 1 if form.copied else None,
        copy_of=scenario.key if form.copied else None,
    )
    which = "copied" if form.copied else "new"
    return carry_out(
        request,
        household_key,
        scenario_key,
        do=lambda session: apply(session, command),
        done=lambda applied: Showing(go_to=applied.part_key),
        refused=lambda _, reasons: Showing(attempt=PlanAttempt(which, reasons, form.name)),
        fragments=PLAN_CHANGED,
    )


@routes.at("POST", "/h/{household_key}/{scenario_key}/delete", "helper")
def remove_plan(request: Request, household_key: str, scenario_key: str, form: Annotated[Sent, Form()]) -> Response:
    """Delete the plan and go to the one before it, where that can be undone."""
    command = RemovePlan(**form.envelope(household_key, scenario_key, request.state.link.key))
    return carry_out(
        request,
        household_key,
        scenario_key,
        do=lambda session: apply(session, command),
        done=lambda _: Showing(),
        refused=lambda _, reasons: Showing(attempt=PlanAttempt("removed", reasons)),
        fragments=PLAN_CHANGED,
    )


def _is_said(stored: StoredHousehold, scenario: StoredScenario, values: dict[str, Any]) -> bool:
    """Whether the plan has those values already, so that there is nothing to store and no step to take back."""
    present = {field: getattr(stored.days[scenario.id], field) for field in values}
    if "ambient_c" in present:
        present["ambient_c"] = [list(point) for point in present["ambient_c"]]
    return present == values
