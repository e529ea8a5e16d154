"""Steps back and forward on the editors' pages."""

from collections.abc import Sequence
from itertools import zip_longest
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from app.store.commands import Pressed, redo, undo
from app.store.stored import StoredHousehold
from app.web.access import Routes
from app.web.addresses import plan_page
from app.web.editing import Refused, Sent, back_to, carry_out, number, one, opened

routes = Routes()


@routes.at("POST", "/h/{household_key}/{scenario_key}/editor/step", "helper")
def step_in_editor(request: Request, household_key: str, scenario_key: str, sent: Sent) -> Response:
    """Take back the last change of the open plan or its household, or do it again, and show the same page."""
    stored, scenario = opened(request, household_key, scenario_key)
    pressed = Pressed(
        household_key=household_key,
        scenario_key=scenario.key,
        change_id=one(sent, "change")[:64],
        tab=one(sent, "tab")[:64] or "page",
        sequence=number(sent, "sequence", 1),
        link_key=request.state.link.key,
    )
    name = "redo" if one(sent, "way") == "redo" else "undo"
    way = redo if name == "redo" else undo
    done = carry_out(request, household_key, lambda session: way(session, pressed))
    here = one(sent, "here")
    # Only a page of this very household is gone back to.
    if not here.startswith(f"/h/{stored.key}/{scenario.key}/") or "//" in here or "\\" in here:
        here = plan_page(request, stored, scenario)
    before = done.stored if isinstance(done, Refused) else done.before
    if isinstance(done, Refused):
        return back_to(here, before, **{"not": name})
    return back_to(here, before, **_changed_at(before, done.applied.household))


def _changed_at(before: StoredHousehold, after: StoredHousehold) -> dict[str, str]:
    """Where an editor's page shows what differs, as `back_to` is told it.

    A page that shows something else has no such place, and begins at its beginning.
    """
    for key, piece in after.pieces.items():
        was = before.pieces.get(key)
        if was is None or was.revision == piece.revision:
            continue
        if piece.kind == "appliance":
            at = _first_that_differs(was.document["stages"], piece.document["stages"])
            return {"place": f"fold-stage-{at}", "stage": str(at)} if at is not None else {"place": "appliance"}
        if piece.kind == "supply" and piece.name in ("arrays", "circuits"):
            now = [] if piece.removed else piece.document
            at = _first_that_differs([] if was.removed else was.document, now)
            place = f"adding-{piece.name}" if at is None or at >= len(now) else f"{piece.name}-{at}"
            return {"place": place, "open": place}
        if piece.kind == "supply":
            return {"place": f"adding-{piece.name}" if piece.removed else piece.name}
    return {}


def _first_that_differs(one: Sequence[Any], other: Sequence[Any]) -> int | None:
    differing = (at for at, (a, b) in enumerate(zip_longest(one, other)) if a != b)
    return next(differing, None)
