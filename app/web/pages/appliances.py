"""The household's appliances: the list, what the built-in library has, and the editor of each."""

from typing import Any

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household import library
from app.household.appliance import Appliance, Stage
from app.household.household import Household
from app.store.commands import AddAppliance, ChangePart, RemoveAppliance, apply
from app.store.history import of_field
from app.store.mapping import Piece
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import Routes
from app.web.customs import customs_of
from app.web.editing import (
    Done,
    Refused,
    Sent,
    around,
    back_to,
    carry_out,
    envelope,
    number,
    one,
    opened,
)
from app.web.fields.appliance import WORDS
from app.web.fields.reading import place_faults, read_form
from app.web.planned import planned
from app.web.views.appliance import ANY_TIME, WHOLE, appliance_view, stage_fields, whole_fields
from app.web.views.appliances import appliances_view

routes = Routes()

LIST, EDITOR = "appliances/list.html", "appliances/page.html"
PAST_AT_MOST = 30
BLANK: dict[str, Any] = {"id": "appliance", "name": "New appliance", "stages": [{"duration_s": 3600, "watts": 100}]}


@routes.at("GET", "/h/{household_key}/{scenario_key}/appliances", "reader")
def appliances(request: Request, household_key: str, scenario_key: str, find: str = "", group: str = "") -> Response:
    """The list; find, group: what of the built-in library is shown below it."""
    stored, scenario = opened(request, household_key, scenario_key)
    return _list(request, stored, scenario, find=find[:100], group=group)


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances", "helper")
def add_appliance(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Add one of the built-in library, with what it sets off, or an empty one; and go to its editor."""
    stored, scenario = opened(request, household_key, scenario_key)
    typical = one(sent, "typical")
    try:
        documents = _with_followers(typical, stored.household) if typical else [BLANK]
    except KeyError:
        raise HTTPException(404) from None
    command = AddAppliance(**envelope(request, stored, sent), documents=documents)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return _list(request, done.stored, scenario, fault=" ".join(_sentences(done)), status=done.status)
    return back_to(_editor(request, done.applied.household, scenario, _added(done)), done.before)


@routes.at("GET", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}", "reader")
def appliance(request: Request, household_key: str, scenario_key: str, appliance_key: str) -> Response:
    """One appliance with all its figures."""
    stored, scenario = opened(request, household_key, scenario_key)
    return _show(request, stored, scenario, _piece(stored, appliance_key))


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}", "helper")
def change_appliance(
    request: Request, household_key: str, scenario_key: str, appliance_key: str, sent: Sent
) -> Response:
    """Give the figures of one form: of the appliance as a whole, or of one stage."""
    stored, scenario = opened(request, household_key, scenario_key)
    piece = _piece(stored, appliance_key)
    if piece.removed:
        return _show(request, stored, scenario, piece)
    present = _appliance(stored, piece)
    form, place = one(sent, "form"), number(sent, "place", -1)
    if form != WHOLE and not 0 <= place < len(present.stages):
        return _show(request, stored, scenario, piece, faults=("That stage was taken out meanwhile.",), status=410)
    customs = customs_of(stored.household)
    if form == WHOLE:
        fields, at = whole_fields(stored.household, present), ""
        read = read_form(fields, sent, Appliance, customs)
    else:
        fields, at = stage_fields(stored.household, present), f".stages[{place}]"
        read = read_form(fields, sent, Stage, customs, ("stages", place))
    if read.messages:
        return _show(request, stored, scenario, piece, wrong=form, sent=sent, messages=read.messages, status=422)
    changes = read.changes
    if [["always_on"], True] in changes and present.stages[0].duration_s is not None:
        changes.append([["stages", 0, "duration_s"], None])  # what is always on has no length
    address = _editor(request, stored, scenario, piece.key)
    if not changes:
        return back_to(address, stored, form)
    command = ChangePart(**envelope(request, stored, sent), kind="appliance", name=present.id, changes=changes)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        order = [one.id for one in done.stored.household.appliances]
        messages = place_faults(done.faults, fields, f"appliances[{order.index(present.id)}]{at}", WORDS)
        faults = messages.pop("", ())
        return _show(
            request, done.stored, scenario, piece, wrong=form, sent=sent, messages=messages, faults=faults,
            status=done.status,
        )  # fmt: skip
    return back_to(address, done.before, form)


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}/any-time", "helper")
def change_any_time(
    request: Request, household_key: str, scenario_key: str, appliance_key: str, sent: Sent
) -> Response:
    """Say whether an appliance may be used at any time, without a plan; that is kept with the household."""
    stored, scenario = opened(request, household_key, scenario_key)
    piece = _piece(stored, appliance_key)
    others = [one for one in stored.household.any_time if one != piece.name]
    listed = [*others, piece.name] if one(sent, ANY_TIME) == "yes" else others or None
    command = ChangePart(**envelope(request, stored, sent), kind="section", name="any_time", changes=[[[], listed]])
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return _show(request, done.stored, scenario, piece, faults=_sentences(done), status=done.status)
    return back_to(_editor(request, stored, scenario, piece.key), done.before, "any-time")


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}/stages", "helper")
def change_stages(request: Request, household_key: str, scenario_key: str, appliance_key: str, sent: Sent) -> Response:
    """Add a stage, split, move or take one out."""
    stored, scenario = opened(request, household_key, scenario_key)
    piece = _piece(stored, appliance_key)
    what, place = one(sent, "what"), number(sent, "place", -1)
    stages = list(piece.document["stages"])
    if not 0 <= place < len(stages) or what not in _STAGES:
        raise HTTPException(404)
    changed, word = _STAGES[what](stages, place)
    about: dict[str, Any] = {"name": piece.name, "changes": [[["stages"], changed]], "what": word}
    command = ChangePart(**envelope(request, stored, sent), kind="appliance", **about)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return _show(request, done.stored, scenario, piece, faults=_sentences(done), status=done.status)
    at = {"add": place + 1, "split": place, "up": place - 1, "down": place + 1}.get(what, max(place - 1, 0))
    return back_to(_editor(request, stored, scenario, piece.key), done.before, f"stage-{at}")


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}/delete", "helper")
def delete_appliance(
    request: Request, household_key: str, scenario_key: str, appliance_key: str, sent: Sent
) -> Response:
    """Take an appliance out, with its runs; the list offers to undo that."""
    stored, scenario = opened(request, household_key, scenario_key)
    piece = _piece(stored, appliance_key)
    command = RemoveAppliance(**envelope(request, stored, sent), name=piece.name)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return _show(request, done.stored, scenario, piece, faults=_sentences(done), status=done.status)
    return back_to(_address(request, stored, scenario), done.before)


def _add(stages: list[Any], place: int) -> tuple[list[Any], str]:
    return [*stages[: place + 1], {"duration_s": 600, "watts": 100}, *stages[place + 1 :]], "stage_added"


def _split(stages: list[Any], place: int) -> tuple[list[Any], str]:
    """Two halves; the start, the water and what it sets off stay with the first."""
    stage = stages[place]
    length_s = stage.get("duration_s") or 600
    half = length_s / 2 if length_s % 2 else length_s // 2
    second = {name: value for name, value in stage.items() if name not in ("start", "water_l", "sets_off")}
    halves = [stage | {"duration_s": half}, second | {"duration_s": length_s - half}]
    return [*stages[:place], *halves, *stages[place + 1 :]], "stage_split"


def _move(stages: list[Any], place: int, to: int) -> tuple[list[Any], str]:
    if 0 <= to < len(stages):
        stages.insert(to, stages.pop(place))
    return stages, "stage_moved"


def _remove(stages: list[Any], place: int) -> tuple[list[Any], str]:
    return [*stages[:place], *stages[place + 1 :]], "stage_removed"


_STAGES = {
    "add": _add,
    "split": _split,
    "up": lambda stages, place: _move(stages, place, place - 1),
    "down": lambda stages, place: _move(stages, place, place + 1),
    "remove": _remove,
}


def _with_followers(typical: str, household: Household) -> list[dict[str, Any]]:
    """An entry of the built-in library with everything it sets off, each once.

    Raises KeyError for an entry that is none.
    """
    wanted, found = [typical], {}
    while wanted:
        entry = library.entry(wanted.pop())
        if entry.id not in found:
            found[entry.id] = entry.appliance.document()
            wanted += entry.brings
    return list(found.values())


def _sentences(refused: Refused) -> tuple[str, ...]:
    return tuple(f"{fault.why[:1].upper()}{fault.why[1:]}." for fault in refused.faults)


def _added(done: Done) -> str:
    """The key of the appliance that was added, first of those that came with it."""
    known = done.before.pieces
    fresh = [one for one in done.applied.household.pieces.values() if one.kind == "appliance" and one.key not in known]
    return min(fresh, key=lambda piece: piece.position).key


def _piece(stored: StoredHousehold, key: str) -> Piece:
    piece = stored.pieces.get(key)
    if piece is None or piece.kind != "appliance":
        raise HTTPException(404)
    return piece


def _appliance(stored: StoredHousehold, piece: Piece) -> Appliance:
    return next(one for one in stored.household.appliances if one.id == piece.name)


def _address(request: Request, stored: StoredHousehold, scenario: StoredScenario) -> str:
    return str(request.app.url_path_for("appliances", household_key=stored.key, scenario_key=scenario.key))


def _editor(request: Request, stored: StoredHousehold, scenario: StoredScenario, key: str) -> str:
    keys = {"household_key": stored.key, "scenario_key": scenario.key, "appliance_key": key}
    return str(request.app.url_path_for("appliance", **keys))


def _list(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    *,
    find: str = "",
    group: str = "",
    fault: str = "",
    notice: str = "",
    status: int = 200,
) -> Response:
    here = _address(request, stored, scenario)
    edit = around(request, stored, scenario, "appliances", "Appliances", here, notice=notice)
    resolved = planned(stored, scenario).resolved
    view = appliances_view(request, stored, scenario, resolved, here=here, find=find, group=group, fault=fault)
    return HTMLResponse(request.app.state.pages.render(LIST, appliances=view, edit=edit), status)


def _show(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    piece: Piece,
    *,
    wrong: str = "",
    sent: dict[str, list[str]] | None = None,
    messages: dict[str, tuple[str, ...]] | None = None,
    faults: tuple[str, ...] = (),
    status: int = 200,
) -> Response:
    if stored.pieces[piece.key].removed:
        notice = f"{piece.document['name']} was taken out meanwhile."
        return _list(request, stored, scenario, notice=notice, status=410)
    present = _appliance(stored, piece)
    here = _editor(request, stored, scenario, piece.key)
    edit = around(
        request, stored, scenario, "appliances", present.name, here,
        faults=faults, wrong=len(messages or ()),
    )  # fmt: skip
    with request.app.state.database.session() as session:
        past = of_field(session, stored.key, f"appliance.{present.id}"[:100], PAST_AT_MOST)
    addresses = {
        "action": here,
        "stages": f"{here}/stages",
        "any_time": f"{here}/any-time",
        "delete": f"{here}/delete",
        "back": _address(request, stored, scenario),
    }
    view = appliance_view(stored.household, present, past, addresses, wrong=wrong, typed=sent, messages=messages)
    return HTMLResponse(request.app.state.pages.render(EDITOR, appliance=view, edit=edit), status)
