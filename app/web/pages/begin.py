"""From nothing to a first verdict: a few figures of the supply and the machines most people have."""

from dataclasses import replace
from typing import Any

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household import library
from app.household.beginning import USUAL, Beginning, Usual, beginning_supply
from app.store.commands import AddAppliance, AddRun, Applied, ChangePart, apply
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import Routes
from app.web.addresses import plan_page
from app.web.customs import customs_of
from app.web.editing import Refused, Sent, around, carry_out, envelope, one, opened
from app.web.fields.beginning import BEGINNING, WORDS
from app.web.fields.entry import facts
from app.web.fields.reading import place_faults, read_form
from app.web.reply import reply_elsewhere
from app.web.views.begin import begin_view

routes = Routes()

PAGE = "begin/page.html"
TICKED_AT_FIRST = ("fridge", "router", "lights-led", "kettle")
# Where the file has a figure that was made of one that is asked for here.
_MADE_OF = {"inverter.overload": "surge_va", "inverter.continuous_w": "carries_w", "inverter.rated_va": "rated_va"}


@routes.at("GET", "/h/{household_key}/{scenario_key}/begin", "helper")
def begin(request: Request, household_key: str, scenario_key: str) -> Response:
    """The few figures that a first verdict needs."""
    stored, scenario = opened(request, household_key, scenario_key)
    return _show(request, stored, scenario, {}, {}, TICKED_AT_FIRST)


@routes.at("POST", "/h/{household_key}/{scenario_key}/begin", "helper")
def begin_with(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Take the figures over, add what was ticked at its usual hours, and show the plan."""
    stored, scenario = opened(request, household_key, scenario_key)
    # Amperes are those of the mains that are chosen here, not of what is stored.
    volts = {"230": 230.0, "120/240": 240.0, "120": 120.0}.get(one(sent, "mains"), 230.0)
    read = read_form(BEGINNING, sent, Beginning, replace(customs_of(stored.household), volts=volts))
    given = {path[0]: value for path, value in read.changes if value is not None}
    # What has no usual value has to be told, though it was left as empty as it came.
    needed = {
        field.path: (f"{field.label} is needed; give it as {field.measure.such_as}.",)
        for field in BEGINNING
        if field.measure is not None and facts(Beginning, field.path).required and field.path not in given
    }
    messages = needed | read.messages
    ticked = sent.get("usual", [])
    if messages:
        return _show(request, stored, scenario, sent, messages, ticked, status=422)
    about = envelope(request, stored, sent)
    supply = beginning_supply(Beginning.model_validate(given))
    machines = [usual for usual in USUAL if usual.ids[0] in ticked]

    def do(session: Any) -> Applied:
        applied = None
        for name, figures in supply.items():
            changes = [[[], figures]]
            applied = apply(session, ChangePart(**about, kind="supply", name=name, changes=changes))
        assert applied is not None  # a supply has both
        for number, usual in enumerate(machines):
            applied = _add(session, about | {"sequence": about["sequence"] + 1 + number}, scenario, usual, applied)
        return applied

    done = carry_out(request, household_key, do)
    if isinstance(done, Refused):
        messages = place_faults(done.faults, BEGINNING, "", {})
        for fault in done.faults:
            if field := _MADE_OF.get(fault.path.removeprefix("supply.").partition("[")[0]):
                messages = {field: (WORDS.get(field, fault.why),)} | {k: v for k, v in messages.items() if k}
        return _show(request, done.stored, scenario, sent, messages, ticked, status=done.status)
    return reply_elsewhere(request, plan_page(request, done.applied.household, scenario))


def _add(session: Any, about: dict[str, Any], scenario: StoredScenario, usual: Usual, so_far: Applied) -> Applied:
    """One machine with what it sets off, and its usual run."""
    sockets = library.sockets_of(so_far.household.household.supply.inverter)
    fitting = [one for one in usual.ids if sockets & set(library.entry(one).volts)]
    if not fitting:
        return so_far
    entry = library.entry(fitting[0])
    documents = [entry.appliance.document(), *(library.entry(one).appliance.document() for one in entry.brings)]
    known = so_far.household.pieces
    applied = apply(session, AddAppliance(**about, documents=documents))
    fresh = [one for one in applied.household.pieces.values() if one.kind == "appliance" and one.key not in known]
    if not fresh:  # the form was sent twice
        return applied
    added = min(fresh, key=lambda piece: piece.position).name
    if usual.any_time:
        listed = [*applied.household.household.any_time, added]
        return apply(session, ChangePart(**about, kind="section", name="any_time", changes=[[[], listed]]))
    if usual.start is None:
        return applied
    run = {"appliance": added, "start": usual.start}
    return apply(session, AddRun(**about, scenario_key=scenario.key, document=run))


def _show(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    sent: dict[str, list[str]],
    messages: dict[str, tuple[str, ...]],
    ticked: Any,
    status: int = 200,
) -> Response:
    keys = {"household_key": stored.key, "scenario_key": scenario.key}
    here = str(request.app.url_path_for("begin", **keys))
    elsewhere = messages.pop("", ())
    edit = around(request, stored, scenario, "supply", "A first look", here, faults=elsewhere, wrong=len(messages))
    view = begin_view(customs_of(stored.household), here, plan_page(request, stored, scenario), ticked, sent, messages)
    return HTMLResponse(request.app.state.pages.render(PAGE, begin=view, edit=edit), status)
