"""Saving what is edited in the library, the supply and the site: one way for all of them.

A form that is saved leads back to its page, which shows what it did to every plan; one that is refused is shown again
with everything that was typed and what is wrong beside it.
"""

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import Depends, HTTPException
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.engine.results import LADDER
from app.household.errors import Fault, HouseholdFaults
from app.store.commands import Applied, Pressed, redo, undo
from app.store.errors import Gone, NotThere, Stale
from app.store.households import load
from app.store.steps import Steps, steps
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import may
from app.web.addresses import plan_links, screen_tabs
from app.web.asked import asked_household
from app.web.fields.entry import Field
from app.web.fields.reading import at_what_was_typed, place_faults
from app.web.planned import planned
from app.web.reply import VARY
from app.web.storing import try_and_do
from app.web.views.editing import Around, EditView, Kept, WhoseView, edit_view

FIELDS_AT_MOST = 3000
OVERTAKEN = "Something newer was sent from this page meanwhile. This is how it stands now; do it again if you want it."


async def _sent(request: Request) -> dict[str, list[str]]:
    """Every field of a form, by name, in the order it was sent."""
    form: FormData = await request.form(max_files=0, max_fields=FIELDS_AT_MOST)
    found: dict[str, list[str]] = {}
    for name, value in form.multi_items():
        if isinstance(value, str):
            found.setdefault(name, []).append(value.replace("\r\n", "\n"))
    return found


Sent = Annotated[dict[str, list[str]], Depends(_sent)]


def one(sent: dict[str, list[str]], name: str) -> str:
    """The only, or first, value of a field; empty where it was not sent."""
    return next(iter(sent.get(name, ())), "")


def number(sent: dict[str, list[str]], name: str, default: int = 0) -> int:
    """A whole number the page itself wrote into a hidden field."""
    text = one(sent, name)
    return int(text) if text.isdecimal() and len(text) < 16 else default


@dataclass(frozen=True)
class Refused:
    """Why a change could not be made. stored: the household as it is."""

    stored: StoredHousehold
    faults: tuple[Fault, ...]
    status: int


@dataclass(frozen=True)
class Filled:
    """A form as it was filled in and could not be stored; by itself, that none was.

    form: its id. typed: what was sent. messages: what is wrong, by field; faults: what is wrong beside none of them.
    status: of the answer. kept: what became of the rest, as of `edit_view`.
    """

    form: str = ""
    typed: dict[str, list[str]] | None = None
    messages: dict[str, tuple[str, ...]] = field(default_factory=dict)
    faults: tuple[str, ...] = ()
    status: int = 200
    kept: Kept = ""


NOT_FILLED = Filled()


def refused_form(
    refused: Refused,
    form: str,
    sent: dict[str, list[str]],
    fields: Sequence[Field],
    at: str,
    words: Mapping[str, str],
    broken_by: Mapping[str, Sequence[str]] = MappingProxyType({}),
) -> Filled:
    """A form whose figures the household refused. fields, at, words: as of `place_faults`; broken_by: as of
    `at_what_was_typed`.
    """
    messages = at_what_was_typed(place_faults(refused.faults, fields, at, words), fields, sent, broken_by)
    return Filled(form, sent, messages, messages.pop("", ()), refused.status)


def sentences(refused: Refused) -> tuple[str, ...]:
    """Why a change that filled in no form could not be made."""
    return tuple(fault.sentence for fault in refused.faults)


def envelope(request: Request, stored: StoredHousehold, sent: dict[str, list[str]]) -> dict[str, Any]:
    """From whom a command comes, as its form says."""
    return {
        "household_key": stored.key,
        "revision": number(sent, "revision"),
        "tab": one(sent, "tab")[:64] or "page",
        "sequence": number(sent, "sequence", 1),
        "link_key": request.state.link.key,
    }


def opened(request: Request, household_key: str, scenario_key: str) -> tuple[StoredHousehold, StoredScenario]:
    """The household and the plan beside which it is edited; where that was deleted, the one before it.

    Raises HTTPException 404.
    """
    stored = asked_household(request, household_key)
    scenario = stored.nearest(scenario_key)
    if scenario is None:
        raise HTTPException(404)
    return stored, scenario


def open_plan(request: Request, household_key: str, scenario_key: str) -> tuple[StoredHousehold, StoredScenario]:
    """The household and the very plan of an address, for what is about that plan alone.

    Raises HTTPException 410 where it was deleted, 404 where there never was one.
    """
    stored, scenario = opened(request, household_key, scenario_key)
    if scenario.key != scenario_key:
        raise HTTPException(410)
    return stored, scenario


@dataclass(frozen=True)
class Done:
    """What a change led to. before: the household as it was."""

    applied: Applied
    before: StoredHousehold


def carry_out(request: Request, household_key: str, do: Callable[[Any], Applied]) -> Done | Refused:
    """Carry out a change, with every plan worked out before it is kept.

    do: applies the command in a session of the store, as of `try_and_do`.

    Raises HTTPException 404 for what was never there.
    """
    with request.app.state.database.session() as session:
        before = load(session, household_key)
        if before is None:
            raise HTTPException(404)
        try:
            applied = try_and_do(session, before, do)
            session.commit()
        except Gone as gone:
            return Refused(gone.current, (Fault("", "this was removed meanwhile"),), 410)
        except NotThere as nothing:
            raise HTTPException(404) from nothing
        except Stale as stale:
            return Refused(stale.current, (Fault("", OVERTAKEN),), 409)
        except HouseholdFaults as faults:
            session.rollback()
            return Refused(before, tuple(faults.faults), 422)
    return Done(applied, before)


def around(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    screen: str,
    title: str,
    here: str,
    *,
    notice: str = "",
    faults: tuple[str, ...] = (),
    wrong: int = 0,
    kept: Kept = "",
    whose: WhoseView | None = None,
) -> EditView:
    """What stands around an editor's forms, after whatever led here. Parameters as of `edit_view`."""
    with request.app.state.database.session() as session:
        steps_there = steps(session, stored.key, scenario.key) if may(request, "helper") else Steps(None, None)
    keys = {"household_key": stored.key, "scenario_key": scenario.key}
    if (refused := request.query_params.get("not")) in ("undo", "redo"):
        faults = (*faults, *_why_not(request, stored, scenario, steps_there, refused))
    about = Around(
        tabs=screen_tabs(request, stored, scenario, screen),
        plans=plan_links(request, stored, scenario),
        home=str(request.app.url_path_for("households")),
        here=here,
        steps_to=str(request.app.url_path_for("step_in_editor", **keys)),
        steps=steps_there,
        before=verdicts_before(request),
        locked=not may(request, "helper"),
        whose=whose,
    )
    return edit_view(stored, scenario, title, about, notice=notice, faults=faults, wrong=wrong, kept=kept)


def _why_not(
    request: Request, stored: StoredHousehold, scenario: StoredScenario, there: Steps, name: str
) -> tuple[str, ...]:
    """Why the step that was asked for just now cannot be done, found by trying it once more. name: undo or redo."""
    step, way, done = (there.undo, undo, "taken back") if name == "undo" else (there.redo, redo, "done again")
    if step is None:
        return ()
    pressed = Pressed(
        household_key=stored.key,
        scenario_key=scenario.key,
        change_id=step.id,
        tab=secrets.token_hex(8),
        sequence=1,
        link_key=request.state.link.key,
    )
    with request.app.state.database.session() as session:
        try:
            way(session, pressed)
        except HouseholdFaults as faults:
            return (f"That cannot be {done} as things stand.", *(fault.sentence for fault in faults.faults))
        finally:
            session.rollback()
    return ("Something newer was done meanwhile. This is how it stands now.",)


def back_to(address: str, before: StoredHousehold, place: str = "", **asked: str) -> Response:
    """After a change: the page again, which is told how each plan stood before, so that it can say what differs."""
    told = {"was": verdicts(before)} | {name: value for name, value in asked.items() if value}
    return RedirectResponse(f"{address}?{urlencode(told)}{f'#{place}' if place else ''}", 303, headers=VARY)


def verdicts(stored: StoredHousehold) -> str:
    """How every plan stands, by its key: `key.2-key.0`, places on the ladder."""
    found = ((plan.key, planned(stored, plan, with_sun=True).assessment.verdict) for plan in stored.scenarios)
    return "-".join(f"{key}.{LADDER.index(verdict)}" for key, verdict in found)


def verdicts_before(request: Request) -> dict[str, int]:
    """How plans stood before the change that led here, by key."""
    found = {}
    for text in request.query_params.get("was", "")[:20_000].split("-"):
        key, _, place = text.partition(".")
        if place.isdecimal() and len(place) == 1 and int(place) < len(LADDER):
            found[key] = int(place)
    return found
