"""A workshop: machines picked, how they are used, the cable to them; looked at, and made a what-if."""

from typing import Annotated, Any

from fastapi import Form, HTTPException
from pydantic import BaseModel, Field
from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response

from app.household.errors import HouseholdFaults
from app.household.whatif import plan_of_id
from app.household.workshop import Made, plan_with
from app.household.workshop_choices import Json
from app.store.commands import AddPlan, ChangeWhatIf, Command, apply
from app.store.errors import Gone, NotThere, Stale
from app.store.households import load
from app.store.stored import StoredHousehold
from app.web.access import Routes
from app.web.addresses import plan_page
from app.web.answering import OVERTAKEN, present_plan, sentence_of
from app.web.asked import asked_household
from app.web.gone import plan_gone
from app.web.reply import reply_elsewhere
from app.web.storing import try_and_do
from app.web.words import workshop as words
from app.web.workshop_page import WorkshopPage

routes = Routes()

WISH_AT_MOST = 20_000


class MakeForm(BaseModel):
    """What the form under a workshop sends.

    wish: the choices, as the page's address has them. state: name of the plan exactly as it was looked at.
    do: `new` for a plan of its own, called `name`; `add` to add it to the what-if that is open.
    """

    wish: Annotated[str, Field(max_length=WISH_AT_MOST)] = ""
    state: Annotated[str, Field(max_length=64)] = ""
    name: str = ""
    do: Annotated[str, Field(max_length=8)] = "new"
    revision: Annotated[int, Field(ge=0, le=2**53)]
    tab: Annotated[str, Field(min_length=1, max_length=64)]


@routes.at("GET", "/h/{household_key}/{scenario_key}/workshop", "reader")
def workshop(request: Request, household_key: str, scenario_key: str) -> Response:
    """The page; as soon as machines are picked, what would come of it."""
    stored = asked_household(request, household_key)
    shown = _shown(request, stored, scenario_key, request.query_params)
    if shown.scenario.key != scenario_key:
        return shown.answer((plan_gone(request, stored, scenario_key, shown.scenario).line,), 410)
    return shown.answer()


@routes.at("POST", "/h/{household_key}/{scenario_key}/workshop", "helper")
def make_workshop(
    request: Request, household_key: str, scenario_key: str, form: Annotated[MakeForm, Form()]
) -> Response:
    """Make a what-if of what was looked at, or add it to the one that is open; and go to its day. One step."""
    stored = asked_household(request, household_key)
    shown = _shown(request, stored, scenario_key, QueryParams(form.wish))
    if shown.scenario.key != scenario_key:
        return shown.answer((plan_gone(request, stored, scenario_key, shown.scenario).line,), 410)
    adding = form.do == "add" and bool(shown.adds_to)
    name = form.name.strip()
    if shown.state != form.state:
        return shown.answer((words.CHANGED,), 409, name=name)
    if not adding and not name:
        fault = words.NAME_IT.format(such_as=shown.offered_name)
        return shown.answer(status=422, name=name, name_faults=(fault,))
    try:
        made = shown.made()
    except HouseholdFaults:
        return shown.answer(status=422, name=name)
    about = {
        "household_key": household_key,
        "revision": form.revision,
        "tab": form.tab,
        "sequence": 1,
        "link_key": request.state.link.key,
    }
    command = _adding(about, shown, made) if adding else _new_plan(about, shown, made, name)
    try:
        with request.app.state.database.session() as session:
            before = load(session, household_key)
            applied = try_and_do(session, before, lambda session: apply(session, command))
            session.commit()
    except Gone as gone:
        shown, current = _shown(request, gone.current, scenario_key, QueryParams(form.wish)), gone.current
        is_there = shown.scenario.key == scenario_key
        told = words.CHANGED if is_there else plan_gone(request, current, scenario_key, shown.scenario).line
        return shown.answer((told,), 410)
    except NotThere as nothing:
        raise HTTPException(404) from nothing
    except Stale as stale:
        return _shown(request, stale.current, scenario_key, QueryParams(form.wish)).answer((OVERTAKEN,), 409)
    except HouseholdFaults as faults:
        said = {one.path: sentence_of(one.why) for one in faults.faults}
        about_name = tuple(why for path, why in said.items() if not adding and path.endswith(".name"))
        others = tuple(why for why in said.values() if why not in about_name)
        return shown.answer(others, 422, name=name, name_faults=about_name)
    there = shown.scenario if adding else applied.household.scenario(applied.part_key) or shown.scenario
    return reply_elsewhere(request, plan_page(request, applied.household, there))


def _new_plan(about: Json, shown: WorkshopPage, made: Made, name: str) -> Command:
    parent = shown.scenario
    date = plan_of_id(shown.stored.household, parent.id).date
    document = plan_with(made.changes, name, date, parent.id)
    return AddPlan(**about, document=document, position=shown.stored.scenarios.index(parent) + 1)


def _adding(about: Json, shown: WorkshopPage, made: Made) -> Command:
    circuits: Any = (made.changes.get("supply") or {}).get("circuits")
    return ChangeWhatIf(
        **about,
        scenario_key=shown.scenario.key,
        supply=[] if circuits is None else [[["circuits"], circuits]],
        appliances=made.changes.get("appliances") or [],
        runs=made.changes.get("runs") or {},
        what="workshop",
        title=words.workshop_title([one.appliance for one in shown.asked.machines]),
    )


def _shown(request: Request, stored: StoredHousehold, scenario_key: str, asks: QueryParams) -> WorkshopPage:
    return WorkshopPage(request, stored, present_plan(stored, scenario_key), asks)
