"""How a change is carried out, and what a plan's page answers to it.

Every command a page sends goes through `carry_out`, so that what is refused, gone or overtaken is answered in one way
everywhere: nothing typed is lost, and what is shown is what is stored.
"""

from collections.abc import Callable

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from app.household.errors import HouseholdFaults
from app.store.commands import Applied
from app.store.errors import Gone, NotThere, Stale
from app.store.households import load
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.addresses import plan_page
from app.web.planned import planned
from app.web.reply import reply_done, reply_elsewhere, reply_instead
from app.web.showing import CHANGED, REVISION, STEPS, Showing, looked_at, page_context, show_plan
from app.web.storing import try_and_do
from app.web.views.about import FOLDED_AGAIN
from app.web.views.plan import SHEET
from app.web.views.rows import row_of
from app.web.views.steps import without_plan

OVERTAKEN = "Something newer was done meanwhile. This is how it stands now; do it again if you still want it."


def carry_out(
    request: Request,
    household_key: str,
    scenario_key: str,
    do: Callable[..., Applied],
    done: Callable[[Applied], Showing],
    refused: Callable[[StoredHousehold, tuple[str, ...]], Showing],
    fragments: tuple[str, ...] = CHANGED,
) -> Response:
    """Carry out a change and answer with the plan as it stands then.

    do: applies the command in a session of the store, as of `try_and_do`. done: how to show the plan after it.
    refused: how to show the plan, which is as it was, with why the change was refused, a sentence each.
    """
    with request.app.state.database.session() as session:
        before = load(session, household_key)
        try:
            applied = try_and_do(session, before, do)
            showing = done(applied)
            scenario = present_plan(applied.household, showing.go_to or scenario_key)
            session.commit()
        except Gone as gone:
            return show_gone(request, gone, scenario_key, fragments)
        except NotThere as nothing:
            raise HTTPException(404) from nothing
        except Stale as stale:
            showing = refused(stale.current, (OVERTAKEN,))
            return show_plan(request, stale.current, scenario_of(stale.current, scenario_key), showing, fragments, 409)
        except HouseholdFaults as faults:
            session.rollback()
            unchanged = load(session, household_key)
            if unchanged is None:
                raise HTTPException(404) from faults
            showing = refused(unchanged, tuple(sentence_of(fault.why) for fault in faults.faults))
            return show_plan(request, unchanged, scenario_of(unchanged, scenario_key), showing, fragments, 422)
    return show_done(request, applied.household, scenario_key, scenario, showing, fragments)


def show_done(
    request: Request,
    stored: StoredHousehold,
    scenario_key: str,
    scenario: StoredScenario,
    showing: Showing,
    fragments: tuple[str, ...] = CHANGED,
) -> Response:
    """The answer to a change that was carried out: the plan as it is now; or another plan, which is gone to."""
    if scenario.key != scenario_key:
        return reply_elsewhere(request, plan_page(request, stored, scenario, run=showing.open_run))
    place = SHEET if showing.touched else row_of(planned(stored, scenario).resolved, showing.appliance)
    looked = looked_at(request)
    unfolded = dict.fromkeys([*looked.get("unfold", "").split(","), SHEET if showing.touched else ""])
    address = plan_page(
        request,
        stored,
        scenario,
        place,
        run=showing.open_run,
        at=looked.get("at", ""),
        clock=looked.get("clock", ""),
        unfold=",".join(one for one in unfolded if one and one not in FOLDED_AGAIN),
    )
    answer = reply_done(request, address, fragments, page_context(request, stored, scenario, showing, fragments))
    answer.headers[REVISION] = str(stored.revision)
    return answer


def show_gone(request: Request, gone: Gone, scenario_key: str, fragments: tuple[str, ...] = CHANGED) -> Response:
    """The answer to a change of what was removed meanwhile: the plan as it is, and what happened to it."""
    stored, scenario = gone.current, gone.current.scenario(scenario_key)
    if scenario is None:
        return show_without_plan(request, stored, scenario_key)
    told = "What this was about was removed"
    if gone.change is not None:
        told = words.what_it_did(gone.change, stored, scenario, planned(stored, scenario).resolved)
    return show_plan(request, stored, scenario, Showing(notice=f"{told} meanwhile."), fragments, 410)


def show_without_plan(request: Request, stored: StoredHousehold, scenario_key: str) -> Response:
    """The answer on the page of a plan that was deleted: another plan's page, on which that can be undone.

    For the page's script only the line of news, with a link there, so that nothing typed is lost.
    Raises HTTPException 404 if there never was such a plan.
    """
    scenario = present_plan(stored, scenario_key)
    name = str(stored.pieces[scenario_key].document["name"])
    view = without_plan(stored.revision, name, plan_page(request, stored, scenario), scenario.name)
    if answer := reply_instead(request, "#day-steps", STEPS, {"steps": view}, 410):
        return answer
    return show_plan(request, stored, scenario, Showing(notice=view.notice), status=410)


def present_plan(stored: StoredHousehold, scenario_key: str) -> StoredScenario:
    """The plan of a key or, where that was deleted, the one that stood before it, else the first.

    Raises HTTPException 404 if there never was such a plan.
    """
    present = stored.nearest(scenario_key)
    if present is None:
        raise HTTPException(404)
    return present


def scenario_of(stored: StoredHousehold, scenario_key: str) -> StoredScenario:
    """The plan of a key.

    Raises HTTPException 410 if it was deleted, 404 if there never was one.
    """
    scenario = stored.scenario(scenario_key)
    if scenario is None:
        raise HTTPException(404 if stored.nearest(scenario_key) is None else 410)
    return scenario


def sentence_of(why: str) -> str:
    """A fault's reason as a sentence of its own."""
    return f"{why[:1].upper()}{why[1:]}."
