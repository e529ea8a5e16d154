"""The editor of one appliance: its figures as a whole, and those of each stage of its programme."""

from collections.abc import Sequence
from typing import Any

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household.appliance import Appliance
from app.household.motors import Starting
from app.store.commands import ChangePart, RemoveAppliance, apply
from app.store.history import Past, past_of
from app.store.mapping import Piece
from app.store.stored import StoredHousehold
from app.web.access import Routes
from app.web.customs import customs_on
from app.web.edited import Edited, edited, whose_view
from app.web.editing import Refused, Sent, around, back_to, carry_out, envelope, number, one, sentences
from app.web.fields.appliance import BROKEN_BY, ENERGY, START, WORDS
from app.web.fields.customs import Customs
from app.web.fields.entry import Field
from app.web.fields.reading import at_what_was_typed, place_faults, read_form
from app.web.fields.stages import STAGE_ACTS, Tried, may_be_shown, read_stage, read_start, typed_in_words
from app.web.fields.standing import place_now
from app.web.fields.working import START_HELP
from app.web.pages.appliances import editor_address, list_address, show_list
from app.web.views.appliance import ANY_TIME, WHOLE, appliance_view, whole_fields
from app.web.views.stages import stage_fields

routes = Routes()

EDITOR = "appliances/page.html"
PAST_AT_MOST = 30
HELPS = "help-"
GONE = (
    "That stage was changed, moved or taken out meanwhile, so nothing was stored. These are the stages as they are now;"
    " do it again where you want it."
)


@routes.at("GET", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}", "reader")
def appliance(request: Request, household_key: str, scenario_key: str, appliance_key: str, stage: str = "") -> Response:
    """One appliance with all its figures. stage: place of the one that is unfolded."""
    whose = edited(request, household_key, scenario_key)
    unfolded = int(stage) if stage.isdecimal() and len(stage) < 4 else None
    return _show(request, whose, _piece(whose.shown, appliance_key), unfolded=unfolded)


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}", "helper")
def change_appliance(
    request: Request, household_key: str, scenario_key: str, appliance_key: str, sent: Sent
) -> Response:
    """Give the figures of one form: of the appliance as a whole, or of one stage."""
    whose = edited(request, household_key, scenario_key)
    piece = _piece(whose.shown, appliance_key)
    if piece.removed:
        return _show(request, whose, piece)
    present = _appliance(whose.shown, piece)
    customs = customs_on(whose.shown.household, present.circuit)
    form, place, start = one(sent, "form"), -1, None
    if form == WHOLE:
        fields, at = whole_fields(whose.shown.household, present), ""
        read = read_form(fields, sent, Appliance, customs)
    else:
        of_help = form.startswith(HELPS)
        fields = (*START_HELP, *START) if of_help else (*stage_fields(whose.shown.household, present), ENERGY)
        there = _stands_at(present, sent, customs)
        if there is None:
            return _show(request, whose, piece, faults=_gone(fields, sent), status=410)
        place, stage, at = there, piece.document["stages"][there], f".stages[{there}]"
        form = f"{HELPS if of_help else ''}stage-{place}"
        if of_help:
            start, read = read_start(sent, stage, place, customs)
        else:
            read = read_stage(fields[:-1], sent, stage, place, customs)
    tried: dict[str, Any] = {"wrong": form, "sent": sent}
    if read.messages:
        return _show(request, whose, piece, **tried, messages=read.messages, status=422)
    if start is not None and one(sent, "do") != "use":
        return _show(request, whose, piece, **tried, start=start)
    changes = read.apart_from(piece.document)
    if [["always_on"], True] in changes and present.stages[0].duration_s is not None:
        changes.append([["stages", 0, "duration_s"], None])  # what is always on has no length
    address = editor_address(request, whose, piece.key)
    unfolded = str(place) if place >= 0 else ""
    if not changes:
        return back_to(address, whose.stored, form, stage=unfolded, **whose.asked)
    command = whose.command(envelope(request, whose.stored, sent), "appliance", present.id, changes)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        order = [one.id for one in whose.after(done.stored).shown.household.appliances]
        messages = place_faults(done.faults, fields, f"appliances[{order.index(present.id)}]{at}", WORDS)
        messages = at_what_was_typed(messages, fields, sent, BROKEN_BY)
        faults = messages.pop("", ())
        tried |= {"messages": messages, "faults": faults, "status": done.status}
        return _show(request, whose.after(done.stored), piece, **tried)
    return back_to(address, done.before, form, stage=unfolded, **whose.asked)


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}/any-time", "helper")
def change_any_time(
    request: Request, household_key: str, scenario_key: str, appliance_key: str, sent: Sent
) -> Response:
    """Say whether an appliance may be used at any time, without a plan; that is kept with the household."""
    whose = edited(request, household_key, scenario_key)
    piece = _piece(whose.shown, appliance_key)
    others = [one for one in whose.stored.household.any_time if one != piece.name]
    listed = [*others, piece.name] if one(sent, ANY_TIME) == "yes" else others or None
    command = ChangePart(
        **envelope(request, whose.stored, sent), kind="section", name="any_time", changes=[[[], listed]]
    )
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return _show(request, whose.after(done.stored), piece, faults=sentences(done), status=done.status)
    return back_to(editor_address(request, whose, piece.key), done.before, "any-time")


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}/stages", "helper")
def change_stages(request: Request, household_key: str, scenario_key: str, appliance_key: str, sent: Sent) -> Response:
    """Add a stage, split, move or take one out."""
    whose = edited(request, household_key, scenario_key)
    piece = _piece(whose.shown, appliance_key)
    what = one(sent, "what")
    if what not in STAGE_ACTS:
        raise HTTPException(404)
    if piece.removed:
        return _show(request, whose, piece)
    present = _appliance(whose.shown, piece)
    place = _stands_at(present, sent, customs_on(whose.shown.household, present.circuit))
    if place is None:
        return _show(request, whose, piece, faults=_gone((), sent), status=410)
    changed, word, at = STAGE_ACTS[what](list(piece.document["stages"]), place)
    changes: list[list[Any]] = [[["stages"], changed]]
    command = whose.command(envelope(request, whose.stored, sent), "appliance", piece.name, changes, word)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return _show(request, whose.after(done.stored), piece, faults=sentences(done), status=done.status)
    return back_to(
        editor_address(request, whose, piece.key), done.before, f"fold-stage-{at}", stage=str(at), **whose.asked
    )


@routes.at("POST", "/h/{household_key}/{scenario_key}/appliances/{appliance_key}/delete", "helper")
def delete_appliance(
    request: Request, household_key: str, scenario_key: str, appliance_key: str, sent: Sent
) -> Response:
    """Take an appliance out, with its runs; the list offers to undo that."""
    whose = edited(request, household_key, scenario_key)
    piece = _piece(whose.shown, appliance_key)
    command = RemoveAppliance(**envelope(request, whose.stored, sent), name=piece.name)
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        return _show(request, whose.after(done.stored), piece, faults=sentences(done), status=done.status)
    return back_to(list_address(request, whose), done.before)


def _piece(stored: StoredHousehold, key: str) -> Piece:
    piece = stored.pieces.get(key)
    if piece is None or piece.kind != "appliance":
        raise HTTPException(404)
    return piece


def _appliance(stored: StoredHousehold, piece: Piece) -> Appliance:
    return next(one for one in stored.household.appliances if one.id == piece.name)


def _stands_at(appliance: Appliance, sent: Sent, customs: Customs) -> int | None:
    """Where the stage stands now that a form was shown for; None where that is not sure, and nothing may be stored."""
    stages = appliance.document()["stages"]
    is_only = appliance.always_on  # what is always on has one stage and never had another
    marks, place = one(sent, "marks"), number(sent, "place", -1)
    return place_now(marks, place, stages, lambda stage: is_only or may_be_shown(sent, stage, customs))


def _gone(fields: Sequence[Field], sent: Sent) -> tuple[str, ...]:
    """What is said of a stage that does not stand any more as it was shown, with what was typed."""
    typed = typed_in_words(fields, sent)
    return (GONE, *((f"You had typed: {typed}.",) if typed else ()))


def _show(
    request: Request,
    whose: Edited,
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
    there = whose.appliance(piece.name)
    if there is None or there.removed:
        notice = f"{piece.document['name']} was taken out meanwhile."
        return show_list(request, whose, notice=notice, status=410)
    stored, present = whose.stored, _appliance(whose.shown, piece)
    here = editor_address(request, whose, piece.key)
    edit = around(
        request, stored, whose.scenario, "appliances", present.name, f"{here}{whose.query}",
        faults=faults, wrong=len(messages or ()),
        whose=whose_view(request, whose, "appliance", appliance_key=piece.key) if _is_own(stored, piece) else
        whose_view(request, whose, "appliances"),
    )  # fmt: skip
    past: list[Past] = []
    if not whose.alone:
        with request.app.state.database.session() as session:
            past = past_of(session, stored.key, piece.key, f"appliance.{present.id}"[:100], PAST_AT_MOST)
    addresses = {
        "action": f"{here}{whose.query}",
        "stages": f"{here}/stages{whose.query}",
        # Whether nobody plans it, and that it goes, is the household's matter; what a plan says of it goes on its page.
        "any_time": "" if whose.alone else f"{here}/any-time",
        "delete": "" if whose.alone else f"{here}/delete",
        "back": f"{list_address(request, whose)}{whose.query}",
    }
    tried = Tried(wrong, sent, messages, start)
    view = appliance_view(whose.shown.household, present, past, addresses, tried, unfolded)
    return HTMLResponse(request.app.state.pages.render(EDITOR, appliance=view, edit=edit), status)


def _is_own(stored: StoredHousehold, piece: Piece) -> bool:
    """The household has it too, so that its page shows either."""
    own = stored.pieces.get(piece.key)
    return own is not None and not own.removed
