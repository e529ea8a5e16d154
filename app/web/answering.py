"""What a plan's page answers: the whole page, or the parts a change touches; and how a change is carried out.

Every command a page sends goes through `carry_out`, so that what is refused, gone or overtaken is answered in one way
everywhere: nothing typed is lost, and what is shown is what is stored.
"""

import secrets
from collections.abc import Callable
from dataclasses import dataclass

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from app.household.errors import HouseholdFaults
from app.store.commands import Applied
from app.store.errors import NotThere, Stale
from app.store.households import load
from app.store.stored import StoredHousehold, StoredScenario
from app.web.access import may
from app.web.addresses import plan_links, plan_page
from app.web.planned import planned
from app.web.reply import reply, reply_done
from app.web.views.about import About
from app.web.views.adjust import Attempt
from app.web.views.day import day_context

PAGE = "day/page.html"
ROWS = ("day/_rows.html",)
# Parts of the page that its script asks for by name.
PARTS = {
    "rows": ROWS,
    "ways": ("day/_ways.html",),
    "chart": ("day/_chart.html",),
    "limits": ("day/_limits.html",),
}
# What a change may touch: the rows, for which the answer is, then everything else an assessment shows.
CHANGED = (
    *ROWS,
    "day/_verdict.html",
    "day/_ways.html",
    "day/_makers.html",
    "day/_limits.html",
    "day/_chart.html",
    "day/_cautions.html",
    "day/_steps.html",
)

OVERTAKEN = "Something newer was done meanwhile. This is how it stands now; do it again if you still want it."
REVISION = "Loadstead-Revision"


@dataclass(frozen=True, slots=True)
class Showing:
    """How a plan's page is to be shown.

    open_run: key of the run whose adjust row is open, or empty. moved: key of the run the answer is about; what is
    typed at another one stays as it is. attempt: what was tried and refused. notice: one line of news, may be empty.
    ways: look for changes that would make the plan fit.
    """

    open_run: str = ""
    moved: str = ""
    attempt: Attempt | None = None
    notice: str = ""
    ways: bool = False


def show_plan(
    request: Request,
    stored: StoredHousehold,
    scenario: StoredScenario,
    showing: Showing = Showing(),
    fragments: tuple[str, ...] = CHANGED,
    status: int = 200,
) -> Response:
    """The plan's page; for its own script, some fragments of it."""
    answer = reply(request, PAGE, fragments, _context(request, stored, scenario, showing), status)
    answer.headers[REVISION] = str(stored.revision)
    return answer


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

    do: applies the command in a session of the store. done: how to show the plan after it.
    refused: how to show the plan, which is as it was, with why the change was refused, a sentence each.
    """
    with request.app.state.database.session() as session:
        try:
            applied = do(session)
            scenario = scenario_of(applied.household, scenario_key)
            planned(applied.household, scenario)  # what the engine refuses must not be stored either
            session.commit()
        except NotThere as gone:
            raise HTTPException(404) from gone
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
    stored, showing = applied.household, done(applied)
    context = _context(request, stored, scenario, showing)
    answer = reply_done(request, plan_page(request, stored, scenario, showing.open_run), fragments, context)
    answer.headers[REVISION] = str(stored.revision)
    return answer


def scenario_of(stored: StoredHousehold, scenario_key: str) -> StoredScenario:
    """The plan of a key.

    Raises HTTPException 404 if there is none.
    """
    scenario = stored.scenario(scenario_key)
    if scenario is None:
        raise HTTPException(404)
    return scenario


def sentence_of(why: str) -> str:
    """A fault's reason as a sentence of its own."""
    return f"{why[:1].upper()}{why[1:]}."


def _context(
    request: Request, stored: StoredHousehold, scenario: StoredScenario, showing: Showing
) -> dict[str, object]:
    locked = not may(request, "helper")
    page = plan_page(request, stored, scenario)
    worked_out = planned(stored, scenario)
    about = About(
        stored=stored,
        scenario=scenario,
        resolved=worked_out.resolved,
        page=page,
        runs=f"{page}/runs/",
        open_run="" if locked else showing.open_run,
        tab=secrets.token_hex(8),
        moved=showing.moved,
        locked=locked,
        notice=showing.notice,
        unfolded=frozenset(_asked(request, "unfold").split(",")),
        at_ms=int(at) if (at := _asked(request, "at")).isdecimal() and len(at) < 10 else None,
    )
    ways = worked_out.ways if showing.ways else None
    return day_context(about, worked_out.assessment, plan_links(request, stored, scenario), showing.attempt, ways)


def _asked(request: Request, name: str) -> str:
    """How the page is looked at: its script says so in headers with every request, an address by its query."""
    return request.headers.get(f"Loadstead-{name}") or request.query_params.get(name, "")
