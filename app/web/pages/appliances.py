"""The household's appliances: the list, what the built-in library has, and the editor of each."""

from typing import Any

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household import library
from app.household.appliance import Appliance
from app.household.household import Household
from app.household.motors import Starting
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
from app.web.fields.appliance import START, WORDS
from app.web.fields.reading import place_faults, read_form
from app.web.fields.stages import STAGE_ACTS, Tried, read_stage, read_start
from app.web.fields.working import START_HELP
from app.web.planned import planned
from app.web.views.appliance import ANY_TIME, WHOLE, appliance_view, whole_fields
from app.web.views.appliances import appliances_view
from app.web.views.stages import stage_fields

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
    about = envelope(request, stored, sent)
    # One rendering of the page has a button for each: two of them are two additions, one twice is one.
    about["tab"] = f"{about['tab'][:16]} {typical}"[:64]
    command = AddAppliance(**about, documents=documents)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return _list(request, done.stored, scenario, fault=" ".join(_sentences(done)), status=done.status)
    key = _added(done)
    if key is None:  # it was added already, when the same form came first
        return back_to(_address(request, stored, scenario), done.before)
    return back_to(_editor(request, done.applied.household, scenario, key), done.before)


@routes.at("GET", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}", "reader")
def appliance(request: Request, household_key: str, scenario_key: str, appliance_key: str, stage: str = "") -> Response:
    """One appliance with all its figures. stage: place of the one that is unfolded."""
    stored, scenario = opened(request, household_key, scenario_key)
    unfolded = int(stage) if stage.isdecimal() and len(stage) < 4 else None
    return _show(request, stored, scenario, _piece(stored, appliance_key), unfolded=unfolded)


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
    start: Starting | None = None
    if form == WHOLE:
        fields, at = whole_fields(stored.household, present), ""
        read = read_form(fields, sent, Appliance, customs)
    elif form == f"help-stage-{place}":
        fields, at = (*START_HELP, *START), f".stages[{place}]"
        start, read = read_start(sent, piece.document["stages"][place], place, customs)
    else:
        fields, at = stage_fields(stored.household, present), f".stages[{place}]"
        read = read_stage(fields, sent, piece.document["stages"][place], place, customs)
    tried: dict[str, Any] = {"wrong": form, "sent": sent}
    if read.messages:
        return _show(request, stored, scenario, piece, **tried, messages=read.messages, status=422)
    if start is not None and one(sent, "do") != "use":
        return _show(request, stored, scenario, piece, **tried, start=start)
    changes = read.changes
    if [["always_on"], True] in changes and present.stages[0].duration_s is not None:
        changes.append([["stages", 0, "duration_s"], None])  # what is always on has no length
    address = _editor(request, stored, scenario, piece.key)
    unfolded = str(place) if place >= 0 else ""
    if not changes:
        return back_to(address, stored, form, stage=unfolded)
    command = ChangePart(**envelope(request, stored, sent), kind="appliance", name=present.id, changes=changes)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        order = [one.id for one in done.stored.household.appliances]
        messages = place_faults(done.faults, fields, f"appliances[{order.index(present.id)}]{at}", WORDS)
        faults = messages.pop("", ())
        tried |= {"messages": messages, "faults": faults, "status": done.status}
        return _show(request, done.stored, scenario, piece, **tried)
    return back_to(address, done.before, form, stage=unfolded)


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
    if not 0 <= place < len(stages) or what not in STAGE_ACTS:
        raise HTTPException(404)
    changed, word, at = STAGE_ACTS[what](stages, place)
    about: dict[str, Any] = {"name": piece.name, "changes": [[["stages"], changed]], "what": word}
    command = ChangePart(**envelope(request, stored, sent), kind="appliance", **about)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return _show(request, done.stored, scenario, piece, faults=_sentences(done), status=done.status)
    return back_to(_editor(request, stored, scenario, piece.key), done.before, f"fold-stage-{at}", stage=str(at))


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


def _added(done: Done) -> str | None:
    """The key of the appliance that was added, first of those that came with it; None if none was."""
    known = done.before.pieces
    fresh = [one for one in done.applied.household.pieces.values() if one.kind == "appliance" and one.key not in known]
    return min(fresh, key=lambda piece: piece.position).key if fresh else None


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
    unfolded: int | None = None,
    start: Starting | None = None,
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
    tried = Tried(wrong, sent, messages, start)
    view = appliance_view(stored.household, present, past, addresses, tried, unfolded)
    return HTMLResponse(request.app.state.pages.render(EDITOR, appliance=view, edit=edit), status)
