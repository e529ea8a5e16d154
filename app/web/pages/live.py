"""What others did meanwhile: an open page asks every few seconds, and mostly hears that there is nothing."""

from dataclasses import replace
from typing import Annotated

from fastapi import HTTPException, Query
from starlette.requests import Request
from starlette.responses import Response

from app.store.history import Change
from app.store.households import changes_since, load, newest
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.access import Routes
from app.web.answering import show_without_plan
from app.web.planned import planned
from app.web.reply import VARY, reply_instead
from app.web.showing import REVISION, STEPPED, STEPS, Showing, show_plan
from app.web.views.steps import without_plan

routes = Routes()

NEWS = 3

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
