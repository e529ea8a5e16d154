"""The supply: its figures, and the pieces that come and go."""

from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlencode

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household.beginning import following
from app.household.names import free_name
from app.household.resolve import resolve
from app.store.commands import Applied, apply
from app.store.commands.parts import document_of
from app.store.households import claim
from app.store.stored import StoredHousehold
from app.web import words
from app.web.access import Routes
from app.web.customs import customs_of
from app.web.edited import Edited, edited, whose_view
from app.web.editing import (
    NOT_FILLED,
    Done,
    Filled,
    Refused,
    Sent,
    around,
    back_to,
    carry_out,
    envelope,
    number,
    one,
    refused_form,
    sentences,
)
from app.web.fields.reading import only, read_form
from app.web.fields.supply import BROKEN_BY, SEEN_FROM, WORDS
from app.web.planned import planned
from app.web.sections import Section, pumps_of, section_of
from app.web.views.checklist import checklist_view
from app.web.views.supply import supply_view

routes = Routes()

PAGE = "supply/page.html"
NO_PUMP = "A pump has to be there first: add it under Appliances, with \u201cpump\u201d in its name."
TAPS = ("06:30", "22:30")  # when people are up: common practice, no source
TAKEN_OUT = "That part of the supply was taken out meanwhile."


@routes.at("GET", "/h/{household_key}/{scenario_key}/supply", "reader")
def supply(request: Request, household_key: str, scenario_key: str) -> Response:
    """The supply with all its figures."""
    return _show(request, edited(request, household_key, scenario_key))


@routes.at("POST", "/h/{household_key}/{scenario_key}/supply", "helper")
def change_supply(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Give the figures of one form; those that were not changed since it was shown are left alone."""
    whose = edited(request, household_key, scenario_key)
    section = section_of(whose.shown, one(sent, "form"))
    if section is None or section.of != one(sent, "of"):
        return _show(request, whose, Filled(faults=(TAKEN_OUT,), status=410))
    customs = customs_of(whose.shown.household)
    if section.part == "inverter":  # its nameplate is at its own voltage, with two legs between the outer conductors
        customs = replace(customs, volts=whose.shown.household.supply.inverter.ac_voltage)
    read = read_form(section.fields, sent, section.model, customs, section.at)
    changes = read.apart_from(document_of(whose.shown, "supply", section.part))
    if not changes and not read.messages:
        return back_to(_address(request, whose), whose.stored, section.id, **whose.asked)
    asking = _Asking(request, whose, section, envelope(request, whose.stored, sent))
    stored = _carried(asking, changes) if changes else None
    filled, waiting = Filled(section.id, sent, read.messages, status=422), set(read.messages)
    if isinstance(stored, Refused):
        of_fields = (section.fields, section.fault_path, WORDS.get(section.part, {}), BROKEN_BY.get(section.part, {}))
        refused = refused_form(_seen_from(section, stored), section.id, sent, *of_fields)
        filled = replace(refused, messages=refused.messages | read.messages)
        # What does not hang on those that are refused is stored; they wait in their fields.
        waiting = {*filled.messages, *(by for name in filled.messages for by in of_fields[-1].get(name, ()))}
        rest = [one for one in changes if _path_in(section, one) not in waiting]
        if filled.status == 422 and not filled.faults and 0 < len(rest) < len(changes):
            again = _carried(asking, rest)
            stored = again if isinstance(again, _Carried) else stored
    if isinstance(stored, _Carried):
        if not filled.messages:
            asked = {"open": section.id, "followed": stored.followed} | whose.asked
            return back_to(_address(request, whose), stored.done.before, section.id, **asked)
        filled = replace(filled, typed=only(sent, waiting), status=200, kept="rest")
        return _show(request, whose.after(stored.done.applied.household), filled)
    if one(sent, "again") and filled.status == 422:
        filled = replace(filled, kept="before")
    return _show(request, whose.after(stored.stored) if stored else whose, filled)


@dataclass(frozen=True)
class _Asking:
    """A form of the supply that was sent. about: from whom the command comes."""

    request: Request
    whose: Edited
    section: Section
    about: dict[str, Any]


@dataclass(frozen=True)
class _Carried:
    """What was carried out. followed: the figures that went along, by part and field."""

    done: Done
    followed: str


def _path_in(section: Section, change: list[Any]) -> str:
    """The path of the field that makes a change."""
    return ".".join(str(step) for step in change[0][len(section.at) :])


def _carried(asking: _Asking, changes: list[list[Any]]) -> _Carried | Refused:
    """Carry out changes of a part with what follows from them, as one step; without that, where it stands in the way of
    what was told.
    """
    followed = _followed(asking.whose, asking.section, changes)
    done = _given(asking, changes, followed)
    if isinstance(done, Refused) and followed and done.status == 422:
        followed = {}
        done = _given(asking, changes, followed)
    if isinstance(done, Refused):
        return done
    return _Carried(done, " ".join(f"{part}.{name}" for part, figures in followed.items() for name in figures))


def _followed(whose: Edited, section: Section, changes: list[list[Any]]) -> dict[str, dict[str, Any]]:
    """By part, the figures that were only filled in and become others with a change of inverter or battery."""
    if section.part == "water":
        return _hours_of_taps(whose, changes)
    if section.part not in ("inverter", "battery"):
        return {}
    return following(whose.shown.household.supply, section.part, {path[0]: value for path, value in changes})


def _hours_of_taps(whose: Edited, changes: list[list[Any]]) -> dict[str, dict[str, Any]]:
    """Hours for taps of which only the litres, or one of the times, are told: what is missing is filled in."""
    water, told = whose.shown.household.supply.water, {tuple(path): value for path, value in changes}
    times = [told.get(("taps_between", place)) for place in (0, 1)]
    if water is None or water.taps_between is not None or not (told.get(("taps_l_per_day",)) or any(times)):
        return {}
    return {} if all(times) else {"water": {"taps_between": [times[0] or TAPS[0], times[1] or TAPS[1]]}}


def _given(asking: _Asking, changes: list[list[Any]], followed: dict[str, dict[str, Any]]) -> Done | Refused:
    parts = {asking.section.part: changes}
    for part, figures in followed.items():
        parts[part] = [*parts.get(part, []), *([[name], value] for name, value in figures.items())]
    key = asking.whose.stored.key

    def do(session: Any) -> Applied:
        # Several parts are written whole: as they are when it is their turn, with what others changed in them.
        whose = asking.whose.after(claim(session, key)) if len(parts) > 1 else asking.whose
        return apply(session, whose.following(asking.about, parts))

    return carry_out(asking.request, key, do)


def _seen_from(section: Section, refused: Refused) -> Refused:
    """The faults of other parts that a figure of this one makes, at that figure."""
    fields = SEEN_FROM.get(section.part, {})
    faults = tuple(
        replace(fault, path=f"{section.fault_path}.{fields[fault.path]}") if fault.path in fields else fault
        for fault in refused.faults
    )
    return replace(refused, faults=faults)


@routes.at("POST", "/h/{household_key}/{scenario_key}/supply/pieces", "helper")
def change_pieces(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Add a piece of the supply, or take one out."""
    whose = edited(request, household_key, scenario_key)
    part, what, place = one(sent, "part"), one(sent, "what"), number(sent, "place", -1)
    there = section_of(whose.shown, f"{part}-{place}") if place >= 0 else None
    if what == "remove" and there is not None and there.of != one(sent, "of"):
        return _show(request, whose, Filled(faults=(TAKEN_OUT,), status=410))
    if (part, what) == ("water", "add") and not pumps_of(whose.shown.household):
        return _show(request, whose, Filled(faults=(NO_PUMP,), status=422))
    ways = {"add": lambda: _added(whose, part), "remove": lambda: _taken_out(whose.shown, part, place)}
    change = ways[what]() if what in ways else None
    if change is None:
        raise HTTPException(404)
    command = whose.command(envelope(request, whose.stored, sent), "supply", part, [change], f"{part}_{what}")
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        filled = Filled(faults=sentences(done), status=done.status)
        return _show(request, whose.after(done.stored), filled)
    if what == "remove":
        return back_to(_address(request, whose), done.before, f"adding-{part}", **whose.asked)
    fresh = _new_place(whose.after(done.applied.household).shown, part)
    return back_to(_address(request, whose), done.before, fresh, open=fresh, **whose.asked)


def _added(whose: Edited, part: str) -> list[Any] | None:
    """The change that adds one more, in round figures to be replaced by one's own; None for what cannot be added.

    Its name is one that neither the household nor any plan has: under the same it would be the same.
    """
    stored, real = whose.shown, whose.stored.household
    supply = stored.household.supply
    every = [real.supply, *(resolve(real, plan.id).household.supply for plan in real.scenarios)]
    if part == "arrays":
        array = {
            "name": free_name("Array", [one.name or "" for each in every for one in each.arrays]),
            "peak_w": 1000,
            "tilt_deg": 35,
            "azimuth_deg": 180,
        }
        return [[len(supply.arrays)], array] if supply.arrays else [[], [array]]
    if part == "circuits":
        ids = {one.id for each in every for one in each.circuits}
        fresh = next(name for n in range(1, 1000) if (name := f"circuit-{n}") not in ids)
        circuit = {
            "id": fresh,
            "name": free_name("Circuit", [one.name or one.id for each in every for one in each.circuits]),
        }
        return [[len(supply.circuits)], circuit] if supply.circuits else [[], [circuit]]
    if part == "water" and supply.water is None:
        pump = next(iter(pumps_of(stored.household)), None)
        return None if pump is None else [[], {"pump": pump.id, "vessel_l": 20, "pump_l_per_min": 30}]
    if part == "generator" and supply.generator is None:
        # It comes on before the charge is down to what is kept back, in the household and in every plan.
        kept = max(one.battery.reserve for one in (supply, *every))
        start_below = max(0.3, kept)
        stop_above = max(0.6, round((1 + start_below) / 2, 3))
        return [[], {"rated_w": 3000, "charger_w": 1500, "start_below": start_below, "stop_above": stop_above}]
    return None


def _taken_out(stored: StoredHousehold, part: str, place: int) -> list[Any] | None:
    supply = stored.household.supply
    if part in ("arrays", "circuits"):
        pieces = supply.arrays if part == "arrays" else supply.circuits
        return [[place], None] if 0 <= place < len(pieces) else None
    return [[], None] if part in ("water", "generator") and getattr(supply, part) is not None else None


def _new_place(stored: StoredHousehold, part: str) -> str:
    if part in ("arrays", "circuits"):
        return f"{part}-{len(getattr(stored.household.supply, part)) - 1}"
    return part


def _address(request: Request, whose: Edited) -> str:
    keys = {"household_key": whose.stored.key, "scenario_key": whose.scenario.key}
    return str(request.app.url_path_for("supply", **keys))


def _show(request: Request, whose: Edited, filled: Filled = NOT_FILLED) -> Response:
    stored, scenario = whose.stored, whose.scenario
    address = _address(request, whose)
    keys = {"household_key": stored.key, "scenario_key": scenario.key}
    edit = around(
        request, stored, scenario, "supply", "Supply", f"{address}{whose.query}",
        faults=filled.faults, wrong=len(filled.messages), kept=filled.kept, whose=whose_view(request, whose, "supply"),
        notice=words.followed_words(request.query_params.get("followed", "").split()),
    )  # fmt: skip
    lists = f"{request.app.url_path_for('change_pieces', **keys)}{whose.query}"
    there = planned(stored, scenario, with_sun=True)
    tried, unfolded = request.query_params.get("check") == "1", request.query_params.get("open", "")
    checked = f"{address}?{urlencode({'check': '1'} | whose.asked)}#checklist"
    checklist = checklist_view(whose.shown, scenario, there.assessment.verdict, checked, tried=tried)
    tried_in = (filled.form, filled.typed, filled.messages)
    action = f"{address}{whose.query}"
    appliances = f"{request.app.url_path_for('appliances', **keys)}{whose.query}"
    about = (whose.shown, there.resolved, there.assessment, action, lists, appliances, checklist)
    view = supply_view(*about, unfolded, *tried_in)
    return HTMLResponse(request.app.state.pages.render(PAGE, supply=view, edit=edit), filled.status)
