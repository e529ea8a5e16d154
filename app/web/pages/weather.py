"""Records of sun: brought in as files, looked at, and a day of one taken into a plan."""

from functools import lru_cache
from typing import Annotated, Any

from fastapi import Depends, HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from app.engine.weather import Record, ambient_points, from_bytes, read_record, to_bytes
from app.household.day import day_frame
from app.household.errors import HouseholdFaults
from app.store.commands import AddWeather, RemoveWeather, SetPlanField, TakeMeasuredDay, apply
from app.store.errors import NotThere
from app.store.keys import new_key
from app.store.stored import StoredHousehold, StoredScenario
from app.store.weather import KeptRecord, keep_record, kept_records, record_content
from app.web.access import Routes
from app.web.addresses import plan_page
from app.web.answering import sentence_of
from app.web.editing import Done, Refused, Sent, around, back_to, carry_out, envelope, number, one, open_plan, opened
from app.web.forms.weather import WeatherFile, weather_file
from app.web.reply import VARY
from app.web.views.plan import SHEET
from app.web.views.weather import (
    Asked,
    TakenView,
    WeatherListView,
    items,
    record_view,
    summary_of,
    taken_view,
)

routes = Routes()

LIST, RECORD = "weather/list.html", "weather/record.html"
TITLE = "Sun of a measured day"
REMOVED = "This record was removed meanwhile. Undoing brings it back."


@routes.at("GET", "/h/{household_key}/{scenario_key}/weather", "reader")
def weather(request: Request, household_key: str, scenario_key: str) -> Response:
    """The records that are kept, and the form for another."""
    stored, scenario = open_plan(request, household_key, scenario_key)
    return _show_list(request, stored, scenario)


@routes.at("POST", "/h/{household_key}/{scenario_key}/weather", "helper")
def add_weather(
    request: Request, household_key: str, scenario_key: str, given: Annotated[WeatherFile, Depends(weather_file)]
) -> Response:
    """Read a weather file and keep it; what is wrong with it is said line by line."""
    stored, scenario = opened(request, household_key, scenario_key)
    try:
        record = read_record(
            given.checked(), given.filename, stored.household.site, clock=given.clock, stamps=given.stamps
        )
    except HouseholdFaults as refused:
        status = 413 if given.is_too_large else 422
        return _show_list(request, stored, scenario, given, tuple(fault.why for fault in refused.faults), status)
    key = new_key()
    command = AddWeather(**envelope(request, stored, given.sent), record=key, title=record.source)

    def keep(session: Any) -> Any:
        applied = apply(session, command)
        if applied.inverse is not None:
            keep_record(session, stored.key, key, record.source, summary_of(record), to_bytes(record))
        return applied

    done = carry_out(request, household_key, keep)
    if isinstance(done, Refused):
        why = tuple(fault.why for fault in done.faults)
        return _show_list(request, done.stored, scenario, given, why, done.status)
    if done.applied.inverse is None:  # the very same form once more
        return back_to(_address(request, "weather", stored, scenario), done.before)
    return back_to(_address(request, "weather_record", stored, scenario, key), done.before)


@routes.at("GET", "/h/{household_key}/{scenario_key}/weather/{record_key}", "reader")
def weather_record(request: Request, household_key: str, scenario_key: str, record_key: str) -> Response:
    """What is in a record, and one day of it."""
    stored, scenario = open_plan(request, household_key, scenario_key)
    return _show_record(request, stored, scenario, record_key, _asked(request, stored, scenario))


@routes.at("POST", "/h/{household_key}/{scenario_key}/weather/{record_key}/day", "helper")
def take_weather_day(request: Request, household_key: str, scenario_key: str, record_key: str, sent: Sent) -> Response:
    """Give the plan a day of a record, with its temperatures, and go to the plan."""
    stored, scenario = open_plan(request, household_key, scenario_key)
    found = _record(request, stored, record_key)
    if found is None:
        return _show_list(request, stored, scenario, told=(REMOVED,), status=410)
    kept, record = found
    asked = Asked(number(sent, "month"), number(sent, "day"), number(sent, "year") or None, one(sent, "day"))
    day = record.day(asked.month, asked.day or 0, asked.year) if 1 <= asked.month <= 12 else None
    if day is None:
        fallback = asked if 1 <= asked.month <= 12 else Asked(1, asked.day, asked.year, asked.typed)
        return _show_record(request, stored, scenario, kept.key, fallback, status=422)
    frame = day_frame(stored.days[scenario.id].date, stored.household.site.timezone)
    warm = None if day.air_c is None else ambient_points(day.air_c, record.utc_offset_h, frame)
    command = TakeMeasuredDay(
        **envelope(request, stored, sent),
        scenario_key=scenario.key,
        value=day.measured.document() | {"source": kept.name},
        ambient_c=warm,
    )
    done = carry_out(request, household_key, lambda session: apply(session, command))
    if isinstance(done, Refused):
        why = tuple(fault.why for fault in done.faults)
        return _show_record(request, done.stored, scenario, kept.key, asked, why, done.status)
    return RedirectResponse(plan_page(request, stored, scenario, SHEET, unfold=SHEET), 303, headers=VARY)


@routes.at("POST", "/h/{household_key}/{scenario_key}/weather/{record_key}/remove", "helper")
def remove_weather(request: Request, household_key: str, scenario_key: str, record_key: str, sent: Sent) -> Response:
    """Keep a record no longer; days taken out of it stay with their plans."""
    stored, scenario = opened(request, household_key, scenario_key)
    command = RemoveWeather(**envelope(request, stored, sent), record=record_key[:64])
    done = carry_out(request, household_key, lambda session: apply(session, command))
    return _after(request, done, scenario)


@routes.at("POST", "/h/{household_key}/{scenario_key}/measured-day", "helper")
def leave_weather_day(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Take the measured day out of the plan; its temperatures stay as they are."""
    stored, scenario = open_plan(request, household_key, scenario_key)
    command = SetPlanField(
        **envelope(request, stored, sent), scenario_key=scenario.key, field="measured_day", value=None
    )
    done = carry_out(request, household_key, lambda session: apply(session, command))
    return _after(request, done, scenario)


def _after(request: Request, done: Done | Refused, scenario: StoredScenario) -> Response:
    if isinstance(done, Refused):
        told = tuple(sentence_of(fault.why) for fault in done.faults)
        return _show_list(request, done.stored, scenario, told=told, status=done.status)
    return back_to(_address(request, "weather", done.applied.household, scenario), done.before)


def _address(
    request: Request, name: str, stored: StoredHousehold, scenario: StoredScenario, record_key: str = ""
) -> str:
    keys = {"household_key": stored.key, "scenario_key": scenario.key}
    return str(request.app.url_path_for(name, **keys, **({"record_key": record_key} if record_key else {})))


def _asked(request: Request, stored: StoredHousehold, scenario: StoredScenario) -> Asked:
    """The day an address asks for, else the plan's own."""
    query = request.query_params
    _, month, day = stored.days[scenario.id].date.split("-")
    typed = query.get("day", str(int(day))).strip()[:30]
    wanted = query.get("month", month)
    year = query.get("year", "")
    return Asked(
        int(wanted) if wanted.isdecimal() and len(wanted) < 3 and 1 <= int(wanted) <= 12 else int(month),
        int(typed) if typed.isdecimal() and len(typed) < 4 else None,
        int(year) if year.isdecimal() and len(year) == 4 else None,
        typed,
    )


def _record(request: Request, stored: StoredHousehold, record_key: str) -> tuple[KeptRecord, Record] | None:
    """A record with its days; None for one that was removed.

    Raises HTTPException 404 for one that never was.
    """
    with request.app.state.database.session() as session:
        try:
            kept, content = record_content(session, stored, record_key)
        except NotThere as nothing:
            if record_key in stored.pieces and stored.pieces[record_key].kind == "weather":
                return None
            raise HTTPException(404) from nothing
    return kept, _read(content)


@lru_cache(maxsize=4)
def _read(content: bytes) -> Record:
    return from_bytes(content)


def _taken(request: Request, stored: StoredHousehold, scenario: StoredScenario) -> TakenView:
    return taken_view(stored.days[scenario.id], _address(request, "leave_weather_day", stored, scenario))


def _show_list(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    given: WeatherFile | None = None,
    faults: tuple[str, ...] = (),
    status: int = 200,
    told: tuple[str, ...] = (),
) -> Response:
    """The list. given, faults: a file that was sent, and why it is not taken. told: what went wrong otherwise."""
    here = _address(request, "weather", stored, scenario)
    with request.app.state.database.session() as session:
        records = kept_records(session, stored)
    pages = ((kept, _address(request, "weather_record", stored, scenario, kept.key)) for kept in records)
    view = WeatherListView(
        taken=_taken(request, stored, scenario),
        records=items(pages, stored.household.site.timezone),
        action=here,
        back=plan_page(request, stored, scenario, SHEET, unfold=SHEET),
        faults=faults,
        clock=given.clock if given else "auto",
        stamps=given.stamps if given else "auto",
    )
    edit = around(request, stored, scenario, "weather", TITLE, here, faults=told)
    return HTMLResponse(request.app.state.pages.render(LIST, weather=view, edit=edit), status)


def _show_record(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    record_key: str,
    asked: Asked,
    faults: tuple[str, ...] = (),
    status: int = 200,
) -> Response:
    found = _record(request, stored, record_key)
    if found is None:
        return _show_list(request, stored, scenario, told=(REMOVED,), status=410)
    kept, record = found
    here = _address(request, "weather_record", stored, scenario, kept.key)
    view = record_view(
        kept,
        record,
        stored.household,
        asked,
        _taken(request, stored, scenario),
        {
            "list": _address(request, "weather", stored, scenario),
            "here": here,
            "take": _address(request, "take_weather_day", stored, scenario, kept.key),
            "remove": _address(request, "remove_weather", stored, scenario, kept.key),
        },
    )
    edit = around(request, stored, scenario, "weather", f"{kept.name}: {TITLE.lower()}", here, faults=faults)
    if view.fault and status == 200:
        status = 422
    return HTMLResponse(request.app.state.pages.render(RECORD, record=view, edit=edit), status)
