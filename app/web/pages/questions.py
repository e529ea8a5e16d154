"""Three questions make an appliance: asked, shown what they make, added.

The page's script shows what the answers make while they are given; what is not answered yet is then no fault.
"""

from dataclasses import replace
from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household.answers import Answers
from app.household.appliance import Appliance
from app.household.errors import HouseholdFaults
from app.household.household import Household
from app.household.questions import Proposal, propose
from app.store.commands import apply
from app.web.access import Routes
from app.web.customs import customs_on
from app.web.edited import Edited, edited, whose_view
from app.web.editing import Refused, Sent, around, back_to, carry_out, envelope, one
from app.web.fields.questions import QUESTIONS
from app.web.fields.reading import place_faults, read_form
from app.web.pages.appliances import editor_address, list_address
from app.web.plugs import PLUG, plugs, which_plug
from app.web.views.drawings import programme_drawing
from app.web.views.questions import questions_view
from app.web.words.draws import draws_of

routes = Routes()

PAGE = "appliances/questions.html"
SKETCH = "sketch"
ASKED = "asked"


@routes.at("GET", "/h/{household_key}/{scenario_key}/questions", "helper")
def questions(request: Request, household_key: str, scenario_key: str) -> Response:
    """The questions, not answered yet."""
    return _show(request, edited(request, household_key, scenario_key), {}, {}, None)


@routes.at("POST", "/h/{household_key}/{scenario_key}/questions", "helper")
def answer_questions(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Show what the answers make; or add it, and go to its editor."""
    whose = edited(request, household_key, scenario_key)
    proposal, messages = _answered(whose.shown.household, sent)
    if one(sent, "do") == SKETCH:
        # Once asked for, what is not answered stays a fault until it is.
        told = {name: wrong for name, wrong in messages.items() if one(sent, ASKED) or one(sent, name).strip()}
        return _show(request, whose, sent, told, None if messages else proposal)
    if proposal is None or messages:
        return _show(request, whose, sent, messages, None, status=422)
    if one(sent, "do") != "add":
        return _show(request, whose, sent, {}, proposal)
    command = whose.adding(envelope(request, whose.stored, sent), [proposal.document])
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        messages = place_faults(done.faults, (), "", {})
        return _show(request, whose.after(done.stored), sent, messages, proposal, status=done.status)
    key = whose.after(done.applied.household).added_since(done.before)
    if key is None:  # it was added already, when the same form came first
        return back_to(list_address(request, whose), done.before, **whose.asked)
    return back_to(editor_address(request, whose, key), done.before, **whose.asked)


def _answered(household: Household, sent: Sent) -> tuple[Proposal | None, dict[str, tuple[str, ...]]]:
    """What the answers make; or what is wrong with them, beside each."""
    offered = plugs(household)
    chosen = one(sent, PLUG)
    plug = next((each for each in offered if each.value == chosen), None)
    customs = plug.customs if plug else customs_on(household, None)
    read = read_form(QUESTIONS, sent, Answers, customs)
    given: dict[str, Any] = {path[0]: value for path, value in read.changes if value is not None}
    if given.get("always_on") and not one(sent, "run_s").strip():
        given.pop("run_s", None)
    proposal, messages = _made(given, customs.volts)
    if chosen and plug is None:
        messages |= {PLUG: ("What was chosen is there no more; choose again.",)}
    elif customs.other_volts is not None and _made(given, customs.other_volts) != (proposal, messages):
        return None, {PLUG: (which_plug(offered),)} | read.messages
    if proposal is not None and plug is not None and plug.circuit is not None:
        proposal = replace(proposal, document=proposal.document | {"circuit": plug.circuit})
    return proposal, messages | read.messages


def _made(given: dict[str, Any], volts: float) -> tuple[Proposal | None, dict[str, tuple[str, ...]]]:
    try:
        return propose(given, _plain_id(given.get("name", "")), volts), {}
    except HouseholdFaults as faults:
        return None, place_faults(faults.faults, QUESTIONS, "", {})


def _plain_id(name: str) -> str:
    return "-".join(name.lower().split())[:60] or "appliance"


def _show(
    request: Request,
    whose: Edited,
    sent: dict[str, list[str]],
    messages: dict[str, tuple[str, ...]],
    proposal: Proposal | None,
    status: int = 200,
) -> Response:
    keys = {"household_key": whose.stored.key, "scenario_key": whose.scenario.key}
    here = f"{request.app.url_path_for('questions', **keys)}{whose.query}"
    elsewhere = messages.pop("", ())
    edit = around(
        request, whose.stored, whose.scenario, "appliances", "Three questions", here,
        faults=elsewhere, wrong=len(messages), whose=whose_view(request, whose, "questions"),
    )  # fmt: skip
    made, drawing = "", Markup()
    if proposal is not None:
        appliance = Appliance.model_validate(proposal.document)
        made = f"{appliance.name}: {draws_of(appliance)}."
        drawing = programme_drawing(appliance, whose.shown.household)
    back = f"{list_address(request, whose)}{whose.query}"
    asked = status == 422 or (bool(one(sent, ASKED)) and bool(messages))
    view = questions_view(whose.shown.household, here, back, sent, messages, proposal, made, drawing, asked=asked)
    return HTMLResponse(request.app.state.pages.render(PAGE, asked=view, edit=edit), status)
