"""What may be switched on this minute, and taps that say what is on."""

from collections.abc import Sequence
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import Form, HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.household.beside_plan import is_on, runs_by_itself
from app.household.errors import HouseholdFaults
from app.household.resolve import Resolved, resolve
from app.store.errors import Gone, NotThere, Stale
from app.store.overlay import KeptTap, Place, Tapped, keep_tap, take_back, taps_by_plan
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import Routes
from app.web.answering import OVERTAKEN, present_plan, sentence_of
from app.web.asked import asked_household
from app.web.forms.switch_on import TapForm
from app.web.gone import plan_gone
from app.web.night import left_on, yesterdays_taps
from app.web.now import Now, now_at
from app.web.reply import VARY, wants_fragment
from app.web.switchboard import Switchboard
from app.web.tapped import as_it_stands, as_tapped, said
from app.web.views.switch_rows import NOT_WRONG, Wrong
from app.web.words import switch_on as words

routes = Routes()


@routes.at("GET", "/h/{household_key}/{scenario_key}/switch-on", "reader")
def switch_on(request: Request, household_key: str, scenario_key: str, sun: str = "") -> Response:
    """The page. sun: `1` waits for sun and bank, however long they take. `at`, `run`, `start`: as in `Switchboard`."""
    return _page(request, asked_household(request, household_key), scenario_key, with_sun=sun == "1")


@routes.at("POST", "/h/{household_key}/{scenario_key}/switch-on", "helper")
def tap(request: Request, household_key: str, scenario_key: str, form: Annotated[TapForm, Form()]) -> Response:
    """Somebody says what is on; it is kept for today, beside the plan."""
    stored = asked_household(request, household_key)
    now = _now(request, stored)
    with request.app.state.database.session() as session:
        try:
            tapped = _carry_out(session, Place(household_key, scenario_key, now.date), form, now, request)
            scenario = _plan(tapped.stored, scenario_key)
            today = as_tapped(tapped.stored, scenario, tapped.taps, now)
            yesterday = yesterdays_taps(session, household_key, now)
            shown = Switchboard(request, tapped.stored, scenario, today, now, yesterday, tapped.by_plan)
            if wants_fragment(request):
                answer = shown.answer()
            else:
                answer = RedirectResponse(shown.address_at(form.appliance), 303, headers=VARY)
            session.commit()  # what cannot be shown is not kept
        except NotThere as nothing:
            session.rollback()
            if not isinstance(nothing, Gone):
                raise HTTPException(404) from nothing
            return _page(request, nothing.current, scenario_key)
        except Stale:
            session.rollback()
            wrong, status = Wrong(form.appliance, (OVERTAKEN,)), 409
        except _Refused as refused:
            session.rollback()
            wrong, status = Wrong(form.appliance, (str(refused),)), refused.status
        except HouseholdFaults as faults:
            session.rollback()
            wrong, status = Wrong(form.appliance, tuple(sentence_of(one.why) for one in faults.faults)), 422
        else:
            return answer
    return _page(request, asked_household(request, household_key), scenario_key, wrong, status)


def _page(
    request: Request,
    stored: StoredHousehold,
    scenario_key: str,
    wrong: Wrong = NOT_WRONG,
    status: int = 200,
    *,
    with_sun: bool = False,
) -> Response:
    """The plan's page; of one that was deleted, the page of the plan that is shown in its place, and what happened."""
    scenario = present_plan(stored, scenario_key)
    if scenario.key != scenario_key:
        wrong, status = Wrong(faults=(plan_gone(request, stored, scenario_key, scenario).line,)), 410
    now = _now(request, stored)
    with request.app.state.database.session() as session:
        by_plan = taps_by_plan(session, stored.key, now.date)
        yesterday = yesterdays_taps(session, stored.key, now)
    today = as_it_stands(stored, scenario, by_plan.get(scenario.key, ()), now, with_sun=with_sun)
    return Switchboard(request, stored, scenario, today, now, yesterday, by_plan).answer(wrong, status)


class _Refused(Exception):
    """A tap that cannot be: why, and the status of the answer."""

    def __init__(self, fault: str, status: int = 422) -> None:
        super().__init__(fault)
        self.status = status


def _carry_out(session: Any, place: Place, form: TapForm, now: Now, request: Request) -> Tapped:
    if form.to == "plan":
        return take_back(session, place, form.appliance or None)
    wanted = form.to == "on"

    def says_something(stored: StoredHousehold, taps: Sequence[KeptTap]) -> bool:
        resolved = resolve(stored.household, _plan(stored, place.scenario_key).id)
        _refuse(stored, resolved, form.appliance, now)
        if is_on(resolved, said(taps, resolved, now), form.appliance, now.clock_s) != wanted:
            return True
        return not wanted and _may_be_on(session, stored, place, form.appliance, tuple(taps), now)

    who = request.state.link.name
    tap = KeptTap(form.appliance, wanted, now.utc, who, form.tab, form.sequence)
    return keep_tap(session, place, tap, says_something)


def _may_be_on(
    session: Any, stored: StoredHousehold, place: Place, appliance: str, taps: tuple[KeptTap, ...], now: Now
) -> bool:
    """Whether it may still run since yesterday, as far as anybody said; taps: today's."""
    yesterday = yesterdays_taps(session, place.household_key, now).get(place.scenario_key, ())
    today = as_it_stands(stored, _plan(stored, place.scenario_key), taps, now)
    return any(one.appliance == appliance for one in left_on(yesterday, today, now))


def _refuse(stored: StoredHousehold, resolved: Resolved, appliance_id: str, now: Now) -> None:
    """Raise _Refused for what cannot be tapped."""
    appliance = resolved.appliance(appliance_id)
    if appliance is None:
        pieces = stored.pieces.values()
        was_there = any(one.kind == "appliance" and one.name == appliance_id and one.removed for one in pieces)
        raise _Refused(words.WAS_DELETED, 410) if was_there else _Refused(words.NO_SUCH)
    if appliance_id in runs_by_itself(resolved):
        raise _Refused(words.BY_ITSELF.format(name=appliance.name))
    if now.comes_again:
        raise _Refused(words.TWICE.format(at=f"{(now.local.hour + 1) % 24:02d}:00"))


def _plan(stored: StoredHousehold, scenario_key: str) -> StoredScenario:
    scenario = stored.scenario(scenario_key)
    assert scenario is not None  # the store has looked, on the same state
    return scenario


def _now(request: Request, stored: StoredHousehold) -> Now:
    return now_at(request, ZoneInfo(stored.household.site.timezone))
