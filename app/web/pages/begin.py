"""From nothing to a first verdict: a few figures of the supply and the machines most people have."""

from dataclasses import replace
from typing import Any

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household import library
from app.household.beginning import MAINS, USUAL, Beginning, Mains, Usual, beginning_supply, fitting
from app.store.commands import BeginWith, apply
from app.store.commands.parts import document_of
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.access import Routes
from app.web.addresses import plan_page
from app.web.customs import customs_of
from app.web.doubts import unusual_bank
from app.web.editing import Refused, Sent, around, carry_out, envelope, one, opened
from app.web.fields.beginning import BEGINNING, WORDS
from app.web.fields.entry import facts
from app.web.fields.measure import plain
from app.web.fields.reading import place_faults, read_form
from app.web.reply import reply_elsewhere
from app.web.views.begin import begin_view, begun_with

routes = Routes()

PAGE = "begin/page.html"
DOUBTED = "doubted"  # the volts that were asked about: sent again, they are meant
IF_SO = "If it is so, press \u201cSee what fits\u201d once more."
NOT_YET = "One figure is doubted; nothing was stored yet."
TICKED_AT_FIRST = ("fridge", "router", "lights-led", "kettle")
# Where the file has a figure that was made of one that is asked for here.
_MADE_OF = {"inverter.overload": "surge_va", "inverter.continuous_w": "carries_w", "inverter.rated_va": "rated_va"}


@routes.at("GET", "/h/{household_key}/{scenario_key}/begin", "helper")
def begin(request: Request, household_key: str, scenario_key: str) -> Response:
    """The few figures that a first verdict needs."""
    stored, scenario = opened(request, household_key, scenario_key)
    there = begun_with(stored.household)
    return _show(request, stored, scenario, {}, {}, [one for one in TICKED_AT_FIRST if one not in there])


@routes.at("POST", "/h/{household_key}/{scenario_key}/begin", "helper")
def begin_with(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Take the figures over, add what was ticked at its usual hours, and show the plan."""
    stored, scenario = opened(request, household_key, scenario_key)
    # Amperes are those of the mains that are chosen here, not of what is stored.
    volts = {str(mains): ac_voltage for mains, (ac_voltage, _) in MAINS.items()}.get(one(sent, "mains"), 230)
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
    if unusual_bank(given["module_v"]) and one(sent, DOUBTED) != plain(given["module_v"]):
        messages = {"module_v": (words.bank_doubt(given["module_v"]), IF_SO)}
        return _show(request, stored, scenario, sent, messages, ticked, status=422, doubted=plain(given["module_v"]))
    about = envelope(request, stored, sent)
    told = Beginning.model_validate(given)
    supply = beginning_supply(told)
    supply = {name: part for name, part in supply.items() if document_of(stored, "supply", name) != part}
    there = begun_with(stored.household)
    wanted = (usual for usual in USUAL if usual.ids[0] in ticked and usual.ids[0] not in there)
    machines = [machine for usual in wanted if (machine := _machine(usual, told.mains)) is not None]
    if not supply and not machines:  # the form was sent twice, or gone back to
        return reply_elsewhere(request, plan_page(request, stored, scenario))
    command = BeginWith(**about, scenario_key=scenario.key, supply=supply, machines=machines)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        messages = place_faults(done.faults, BEGINNING, "", {})
        for fault in done.faults:
            if field := _MADE_OF.get(fault.path.removeprefix("supply.").partition("[")[0]):
                messages = {field: (WORDS.get(field, fault.why),)} | {k: v for k, v in messages.items() if k}
        return _show(request, done.stored, scenario, sent, messages, ticked, status=done.status)
    return reply_elsewhere(request, plan_page(request, done.applied.household, scenario))


def _machine(usual: Usual, mains: Mains) -> dict[str, Any] | None:
    """A machine with what it sets off and when it usually runs; None where no socket fits it."""
    entry = fitting(usual, mains)
    if entry is None:
        return None
    documents = [one.appliance.document() for one in (entry, *map(library.entry, entry.brings))]
    return {"documents": documents, "start": usual.start, "any_time": usual.any_time}


def _show(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    sent: dict[str, list[str]],
    messages: dict[str, tuple[str, ...]],
    ticked: Any,
    status: int = 200,
    doubted: str = "",
) -> Response:
    keys = {"household_key": stored.key, "scenario_key": scenario.key}
    here = str(request.app.url_path_for("begin", **keys))
    elsewhere = messages.pop("", ())
    faults, wrong = (elsewhere, len(messages)) if not doubted else ((NOT_YET,), 0)
    edit = around(request, stored, scenario, "supply", "A first look", here, faults=faults, wrong=wrong)
    view = begin_view(stored.household, here, plan_page(request, stored, scenario), ticked, sent, messages, doubted)
    return HTMLResponse(request.app.state.pages.render(PAGE, begin=view, edit=edit), status)
