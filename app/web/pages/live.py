"""What others did meanwhile: an open page waits to hear that there is something, and asks then what it is."""

import asyncio
import contextlib
from dataclasses import replace
from typing import Annotated

from fastapi import HTTPException, Query
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from app.store.history import Change
from app.store.households import changes_since, load, newest
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.access import Routes, admit
from app.web.answering import show_without_plan
from app.web.planned import planned
from app.web.reply import VARY, reply_instead
from app.web.showing import REVISION, STEPPED, STEPS, Showing, show_plan
from app.web.views.steps import without_plan

routes = Routes()

NEWS = 3
PULSE = "Loadstead-Pulse"
# A page asks for less; what stands between a browser and a server lets go of a line that was silent for longer.
LONGEST_S = 25

Revision = Annotated[int, Query(ge=0, le=2**53)]
Short = Annotated[str, Query(max_length=64)]


@routes.at("GET", "/h/{household_key}/{scenario_key}/changes", "reader")
def changes(
    request: Request, household_key: str, scenario_key: str, since: Revision, tab: Short = "", run: Short = ""
) -> Response:
    """Everything on a plan's page that may be new since a revision of the household, and in words who did what.

    since: the revision the page shows. tab: the page itself, whose own changes are no news to it. run: key of the run
    that is opened there.
    """
    with request.app.state.database.session() as session:
        revision = newest(session, household_key)
        if revision is not None and revision <= since:
            return Response(status_code=204, headers=VARY | {REVISION: str(revision)})
        stored = load(session, household_key)
        lately = changes_since(session, household_key, scenario_key, since) if stored else []
    if stored is None:
        return _without_household(request, since)
    scenario = stored.scenario(scenario_key)
    if scenario is None:
        return show_without_plan(request, stored, scenario_key)
    others = [change for change in lately if change.tab != tab]
    showing = Showing(open_run=run, notice=_news(others, stored, scenario))
    return show_plan(request, stored, scenario, showing, STEPPED)


@routes.at("GET", "/h/{household_key}/{scenario_key}/wait", "plan")
async def wait(
    request: Request,
    household_key: str,
    scenario_key: str,
    pulse: Annotated[str, Query(max_length=200)] = "",
    seconds: Annotated[int, Query(ge=0, le=LONGEST_S)] = LONGEST_S,
) -> Response:
    """Answer once something has happened to the household, or nothing for so long; nothing is told but that.

    pulse: as the last answer had it; the first one comes at once. While it waits it takes no thread.
    """
    news = asyncio.ensure_future(request.app.state.watch.other_than(household_key, pulse, seconds))
    left = asyncio.ensure_future(_left(request))
    try:
        await asyncio.wait((news, left), return_when=asyncio.FIRST_COMPLETED)
    finally:
        for one in (news, left):
            one.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await one
    if news.cancelled():
        return Response(status_code=204)  # nobody is there to read it
    # What it was let in with may have ended meanwhile.
    await run_in_threadpool(admit, request, "plan")
    return Response(status_code=204, headers={PULSE: news.result(), "Cache-Control": "no-store"})


async def _left(request: Request) -> None:
    """Wait until the browser has gone."""
    while (await request.receive())["type"] != "http.disconnect":
        pass


def _news(changes: list[Change], stored: StoredHousehold, scenario: StoredScenario) -> str:
    """What others did, the last of it: `On another phone: Bread oven moved to 13:25.`"""
    if not changes:
        return ""
    resolved = planned(stored, scenario).resolved
    told = [words.what_it_did(change, stored, scenario, resolved) for change in changes]
    # Of several moves of one run in a row only the last is where it stands.
    last = list(dict.fromkeys(reversed(told)))[:NEWS][::-1]
    earlier = f"{len(told) - len(last)} changes, then " if len(told) > len(last) else ""
    return f"On another phone: {earlier}{'; '.join(last)}."


def _without_household(request: Request, since: int) -> Response:
    away = request.app.url_path_for("households")
    view = replace(
        without_plan(since, "", str(away), "your households"), notice="This household was deleted meanwhile."
    )
    answer = reply_instead(request, "#day-steps", STEPS, {"steps": view}, 410)
    if answer is None:
        raise HTTPException(404)
    return answer
