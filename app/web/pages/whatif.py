"""What if: what a plan has otherwise than what it is built on, taken back, built upon, and made real."""

import json
from collections.abc import Callable, Sequence
from typing import Any

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from app.household.differences import differences
from app.household.errors import HouseholdFaults
from app.household.file import household_from
from app.household.whatif import ground_of, made_real, plan_of_id
from app.store.commands import AddPlan, Applied, ChangeWhatIf, Command, LeaveOut, MakeReal, apply
from app.store.commands.refusing import naming_plans
from app.store.commands.replacing import pieces_of
from app.store.errors import Stale
from app.store.mapping import Piece, put_together
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import Routes
from app.web.editing import Refused, Sent, around, back_to, carry_out, envelope, one, open_plan, sentences
from app.web.reply import VARY
from app.web.views.transfer import ChangedGroup, StandView, changed_groups, stands
from app.web.views.whatif import RealView, WayOn, what_if_name, what_if_view
from app.web.words import whatif as said

routes = Routes()

PAGE, REAL = "whatif/page.html", "whatif/real.html"
SCREEN = "side_by_side"
PATH_AT_MOST, STEPS_AT_MOST = 2000, 12


@routes.at("GET", "/h/{household_key}/{scenario_key}/what-if", "reader")
def what_if(request: Request, household_key: str, scenario_key: str) -> Response:
    """What the plan has otherwise, and what can be done with it."""
    stored, scenario = open_plan(request, household_key, scenario_key)
    return _show(request, stored, scenario)


@routes.at("POST", "/h/{household_key}/{scenario_key}/what-if", "helper")
def begin_what_if(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Begin a what-if that is built on this plan, and go to its page."""
    stored, scenario = open_plan(request, household_key, scenario_key)
    name = one(sent, "name").strip()
    if not name:
        message = said.NAME_IT.format(such_as=what_if_name(stored, scenario))
        return _show(request, stored, scenario, typed="", messages=(message,), status=422)
    command = AddPlan(
        **envelope(request, stored, sent),
        document=what_if_document(stored, scenario, name),
        position=stored.scenarios.index(scenario) + 1,
    )
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return _show(request, done.stored, scenario, typed=name, messages=sentences(done), status=done.status)
    fresh = done.applied.household.scenario(done.applied.part_key) or scenario
    return RedirectResponse(_address(request, "what_if", stored, fresh), 303, headers=VARY)


@routes.at("POST", "/h/{household_key}/{scenario_key}/what-if/take-back", "helper")
def take_back_change(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """One thing is as in what the plan is built on again."""
    stored, scenario = open_plan(request, household_key, scenario_key)
    path, about = _path(one(sent, "path")), envelope(request, stored, sent) | {"scenario_key": scenario.key}
    command: Command
    if path[0] == "appliances" and path[1] not in ground_of(stored.household, scenario.id).appliances:
        command = LeaveOut(**about, name=path[1])
    else:
        command = ChangeWhatIf(**about, take_back=[path], title=_title(stored, scenario, path))
    return _carried(request, stored, scenario, lambda session: apply(session, command))


@routes.at("GET", "/h/{household_key}/{scenario_key}/what-if/real", "reader")
def look_at_real(request: Request, household_key: str, scenario_key: str) -> Response:
    """What would change in the household if the plan were made real; nothing is stored."""
    stored, scenario = open_plan(request, household_key, scenario_key)
    return _show_real(request, stored, scenario)


@routes.at("POST", "/h/{household_key}/{scenario_key}/what-if/real", "helper")
def make_real(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Make the plan's supply and appliances the household's, if it still is as it was looked at."""
    stored, scenario = open_plan(request, household_key, scenario_key)
    command = MakeReal(**envelope(request, stored, sent), scenario_key=scenario.key)

    def if_as_looked_at(session: Any) -> Applied:
        applied = apply(session, command)
        # Sent twice, as by a double tap, it is done already.
        if applied.inverse is not None and command.revision + 1 != applied.household.revision:
            raise Stale(stored)
        return applied

    done = carry_out(request, household_key, if_as_looked_at)
    if isinstance(done, Refused):
        faults = (said.OVERTAKEN,) if done.status == 409 else sentences(done)
        return _show_real(request, done.stored, scenario, faults, done.status)
    return back_to(_address(request, "what_if", done.applied.household, scenario), done.before)


def what_if_document(stored: StoredHousehold, scenario: StoredScenario, name: str) -> dict[str, Any]:
    """A plan that is built on another and says nothing yet, for `AddPlan`. It is of the same day."""
    return {"name": name, "date": plan_of_id(stored.household, scenario.id).date, "parent": scenario.id}


def _path(text: str) -> list[str]:
    """A path among a plan's changes, as the page sends it.

    Raises HTTPException 404 for what no page sends.
    """
    try:
        path = json.loads(text) if len(text) < PATH_AT_MOST else None
    except (ValueError, RecursionError):
        path = None
    if not isinstance(path, list) or not all(isinstance(step, str) for step in path):
        raise HTTPException(404)
    most = STEPS_AT_MOST if path[:1] == ["supply"] else 2
    if not 1 < len(path) <= most or path[0] not in ("supply", "appliances", "runs", "day"):
        raise HTTPException(404)
    return path


def _title(stored: StoredHousehold, scenario: StoredScenario, path: Sequence[str]) -> str | None:
    rows = said.differing(stored.household, scenario.id)
    return next((row.name for row in rows if row.path == tuple(path)), None)


def _carried(
    request: Request, stored: StoredHousehold, scenario: StoredScenario, do: Callable[[Any], Applied]
) -> Response:
    done = carry_out(request, stored.key, do)
    if isinstance(done, Refused):
        faults = (said.NOTHING_TO_TAKE_BACK,) if done.status == 410 else sentences(done)
        return _show(request, done.stored, scenario, faults=faults, status=done.status)
    return back_to(_address(request, "what_if", done.applied.household, scenario), done.before)


def _address(request: Request, route: str, stored: StoredHousehold, scenario: StoredScenario) -> str:
    return str(request.app.url_path_for(route, household_key=stored.key, scenario_key=scenario.key))


def _show(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    *,
    typed: str | None = None,
    messages: tuple[str, ...] = (),
    faults: tuple[str, ...] = (),
    status: int = 200,
) -> Response:
    present = stored.scenario(scenario.key) or stored.nearest(scenario.key) or scenario

    def address(route: str, plan: StoredScenario = present) -> str:
        return _address(request, route, stored, plan)

    parent = plan_of_id(stored.household, present.id).parent
    beside = next((plan.key for plan in stored.scenarios if plan.id == parent), "")
    side_by_side = address("side_by_side") + (f"?with={beside}" if beside else "")
    edit = around(request, stored, present, SCREEN, present.name, address("what_if"), faults=faults)
    view = what_if_view(
        stored,
        present,
        {plan.key: address("what_if", plan) for plan in stored.scenarios},
        {"real": address("look_at_real"), "take_back": address("take_back_change"), "begin": address("begin_what_if")},
        ways=(
            WayOn("Workshop", address("workshop"), "Pick machines, how they are used, and the cable to them."),
            WayOn(
                "Supply, for this plan alone", f"{address('supply')}?alone=1", "A larger inverter, more modules, ..."
            ),
            WayOn(
                "Appliances, for this plan alone",
                f"{address('appliances')}?alone=1",
                "Add a machine, or try one with a softer start.",
            ),
            WayOn("Runs", address("day"), "Move, add and switch off on the plan’s day."),
        ),
        looks=(
            WayOn("Side by side", side_by_side, "What it changes, limit by limit."),
            WayOn("Room to grow", address("growth"), "The largest thing that could still be added."),
        ),
        typed=typed,
        messages=messages,
    )
    return HTMLResponse(request.app.state.pages.render(PAGE, whatif=view, edit=edit), status)


def _show_real(
    request: Request, stored: StoredHousehold, scenario: StoredScenario, faults: tuple[str, ...] = (), status: int = 200
) -> Response:
    here = _address(request, "look_at_real", stored, scenario)
    pieces: tuple[Piece, ...] = ()
    groups: tuple[ChangedGroup, ...] = ()
    before_after: tuple[StandView, ...] = ()
    try:
        document = made_real(stored.household, scenario.id, put_together(stored.pieces.values()))
        household_from(document)
        pieces = pieces_of(stored, document)
        after = stored.with_pieces(*pieces)
        found = [
            one
            for one in differences(stored.household, after.household)
            if one.path[:1] in (("supply",), ("appliances",))
        ]
        groups = changed_groups(stored, after, found)
        before_after = stands(stored, after)
    except HouseholdFaults as refused:
        pieces, status = (), 422 if status == 200 else status
        named = naming_plans(stored, refused.faults)
        faults = tuple(dict.fromkeys((*faults, *(fault.sentence for fault in named))))
    view = RealView(
        plan=scenario.name,
        says="" if pieces or faults else said.NOT_REAL,
        stands=before_after,
        groups=groups,
        action=here if pieces else "",
        back=_address(request, "what_if", stored, scenario),
        keeps=said.REAL_KEEPS,
        caution=said.REAL_CAUTION,
    )
    edit = around(request, stored, scenario, SCREEN, f"Make real: {scenario.name}", here, faults=faults)
    return HTMLResponse(request.app.state.pages.render(REAL, real=view, edit=edit), status)
