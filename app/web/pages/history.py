"""What became of a household, and a plan as it was at some time: looked at, and gone back to."""

import secrets
from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from fastapi import Form, HTTPException, Path, Query
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from app.household.differences import differences
from app.household.errors import HouseholdFaults
from app.store.commands import PlanAsThen, apply, as_parts
from app.store.errors import Gone, NotThere, Stale
from app.store.history import NEWS_AT_MOST, Change, log_line, log_lines
from app.store.households import existing
from app.store.links import link_names
from app.store.mapping import Piece
from app.store.past import plan_revisions, plan_then
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.access import Routes, may
from app.web.addresses import plan_page
from app.web.answering import present_plan, scenario_of, sentence_of
from app.web.asked import asked_household
from app.web.forms.run import Sent
from app.web.planned import planned
from app.web.reply import reply, reply_elsewhere
from app.web.storing import try_and_do
from app.web.views.history import HistoryAround, ThenView, Way, history_view, meanwhile
from app.web.views.transfer import changed_groups
from app.web.words import history as said
from app.web.words.links import moment

routes = Routes()

PAGE, THEN = "history/page.html", "history/then.html"
LINES = 60

Revision = Annotated[int, Path(ge=1, le=2**31 - 1)]
Since = Annotated[int, Query(ge=0, le=2**31 - 1)]
Before = Annotated[int | None, Query(ge=1, le=2**31 - 1)]


@routes.at("GET", "/h/{household_key}/{scenario_key}/history", "reader")
def history(request: Request, household_key: str, scenario_key: str, only: str = "", before: Before = None) -> Response:
    """The changes of a household, the last first. only: `plan` leaves out those of other plans. before: a revision."""
    stored = asked_household(request, household_key)
    scenario = scenario_of(stored, scenario_key)
    is_one = only == "plan"
    with request.app.state.database.session() as session:
        lines = log_lines(session, stored.key, scenario.key if is_one else None, before, LINES + 1)
        shown = lines[:LINES]
        names = link_names(session)
        known = plan_revisions(session, scenario.key, shown[-1].change.revision) if shown else set()
    here = str(_address(request, "history", stored, scenario))
    asked = {"only": "plan"} if is_one else {}
    older = {**asked, "before": str(shown[-1].change.revision)} if len(lines) > LINES else {}
    about = HistoryAround(
        plan_href=plan_page(request, stored, scenario),
        ways=(
            Way(said.EVERYTHING, here, not is_one),
            Way(said.THIS_PLAN, f"{here}?only=plan", is_one),
        ),
        older=f"{here}?{urlencode(older)}" if older else "",
        newer=(f"{here}?only=plan" if is_one else here) if before is not None else "",
        names=names,
        then={number: _address(request, "then", stored, scenario, revision=number) for number in known},
    )
    return reply(request, PAGE, (PAGE,), {"page": history_view(stored, scenario, shown, about)})


@routes.at("GET", "/h/{household_key}/{scenario_key}/news", "reader")
def news(request: Request, household_key: str, scenario_key: str, since: Since) -> Response:
    """In words what was changed since a revision of the household, for pages that only tell it; mostly one change."""
    stored = asked_household(request, household_key)
    scenario = present_plan(stored, scenario_key)
    with request.app.state.database.session() as session:
        lines = log_lines(session, stored.key, None, None, NEWS_AT_MOST)
    later = [line for line in lines if line.change.revision > since]
    return PlainTextResponse(meanwhile(stored, scenario, later), headers={"Cache-Control": "no-store"})


@routes.at("GET", "/h/{household_key}/{scenario_key}/then/{revision}", "reader")
def then(request: Request, household_key: str, scenario_key: str, revision: Revision) -> Response:
    """A plan as a change left it: how it would stand, and in what it differs from what it is."""
    stored = asked_household(request, household_key)
    return _show(request, stored, scenario_of(stored, scenario_key), revision)


@routes.at("POST", "/h/{household_key}/{scenario_key}/then/{revision}", "helper")
def go_back(
    request: Request, household_key: str, scenario_key: str, revision: Revision, form: Annotated[Sent, Form()]
) -> Response:
    """Make a plan what it was, if nothing was changed since that was looked at."""
    with request.app.state.database.session() as session:
        try:
            before = existing(session, household_key)
            was = _was(session, before, scenario_of(before, scenario_key), revision)
            if was is None:
                raise HTTPException(404)
            command = replace(_command(request, before, scenario_key, was), tab=form.tab, sequence=form.sequence)
            applied = try_and_do(session, before, lambda session: apply(session, command))
            if applied.inverse is not None and applied.household.revision != form.revision + 1:
                raise Stale(before)
            session.commit()
        except Gone as gone:
            raise HTTPException(404) from gone
        except NotThere as nothing:
            raise HTTPException(404) from nothing
        except Stale:
            session.rollback()
            stored = existing(session, household_key)
            return _show(request, stored, scenario_of(stored, scenario_key), revision, said.MEANWHILE, 409)
        except HouseholdFaults:
            session.rollback()
            stored = existing(session, household_key)
            return _show(request, stored, scenario_of(stored, scenario_key), revision, status=422)
    return reply_elsewhere(request, plan_page(request, applied.household, scenario_of(applied.household, scenario_key)))


@dataclass(frozen=True)
class _Was:
    """A plan at some time. change: what led to it."""

    change: Change
    pieces: list[Piece]


def _was(session: object, stored: StoredHousehold, scenario: StoredScenario, revision: int) -> _Was | None:
    change = log_line(session, stored.key, revision)  # type: ignore[arg-type]
    pieces = plan_then(session, scenario.key, revision)  # type: ignore[arg-type]
    return _Was(change, pieces) if change is not None and pieces else None


def _command(request: Request, stored: StoredHousehold, scenario_key: str, was: _Was) -> PlanAsThen:
    return PlanAsThen(
        household_key=stored.key,
        revision=stored.revision,
        tab="preview",
        sequence=1,
        link_key=request.state.link.key,
        scenario_key=scenario_key,
        parts=as_parts(was.pieces),
        at=was.change.at_utc.isoformat(),
    )


def _show(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    revision: int,
    notice: str = "",
    status: int = 200,
) -> Response:
    with request.app.state.database.session() as session:
        was = _was(session, stored, scenario, revision)
        if was is None and log_line(session, stored.key, revision) is None:
            raise HTTPException(404)
    view = ThenView(
        household=stored.household.name,
        plan=scenario.name,
        back=f"{_address(request, 'history', stored, scenario)}#change-{revision}",
        at="",
        notice=notice,
        verdict=None,
        lead="",
        rest="",
        why="",
        now=words.verdict_word(planned(stored, scenario, with_sun=True).assessment.verdict),
        groups=(),
        says=said.NOTHING_KNOWN,
        faults=(),
        keeps="",
        action="",
        revision=stored.revision,
        tab=secrets.token_hex(8),
    )
    if was is not None:
        view = _filled(request, stored, scenario, was, view)
    if status == 200 and view.faults:
        status = 422
    return reply(request, THEN, (THEN,), {"page": view}, status)


def _filled(request: Request, stored: StoredHousehold, scenario: StoredScenario, was: _Was, view: ThenView) -> ThenView:
    local = was.change.at_utc.astimezone(ZoneInfo(stored.household.site.timezone))
    view = replace(view, at=moment(local), says="")
    try:
        after = _command(request, stored, scenario.key, was).on(stored).household
        then = scenario_of(after, scenario.key)
        found = planned(after, then, with_sun=True)
    except HouseholdFaults as refused:
        return replace(view, faults=tuple(sentence_of(one.why) for one in refused.faults))
    headline = words.headline(found.resolved, found.assessment)
    different = differences(stored.household, after.household)
    action = _address(request, "go_back", stored, scenario, revision=was.change.revision)
    return replace(
        view,
        verdict=found.assessment.verdict,
        lead=headline.lead,
        rest=headline.rest,
        why=headline.why,
        groups=changed_groups(stored, after, different),
        says="" if different else said.IT_IS_SO,
        keeps=said.OF_ITSELF if different else "",
        action=action if different and may(request, "helper") else "",
    )


def _address(request: Request, name: str, stored: StoredHousehold, scenario: StoredScenario, **more: object) -> str:
    keys = {"household_key": stored.key, "scenario_key": scenario.key}
    return str(request.app.url_path_for(name, **keys, **more))
