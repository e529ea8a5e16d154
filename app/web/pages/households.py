"""The list of households, and bringing one in."""

from typing import Annotated

from fastapi import Depends
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.engine.assess import assess
from app.household.errors import HouseholdFaults
from app.household.file import household_from
from app.store.households import import_household as store_household
from app.store.households import list_households, load
from app.web.access import Routes, may
from app.web.addresses import plan_links
from app.web.forms.household import Incoming, incoming
from app.web.reply import reply
from app.web.views.households import HouseholdItem, HouseholdsView, ImportView

routes = Routes()

LIST = "households/list.html"
IMPORT = "households/import.html"


@routes.at("GET", "/", "reader")
def households(request: Request) -> Response:
    """Every household the link opens, each with its plans."""
    only = request.state.link.household_key
    with request.app.state.database.session() as session:
        keys = [row.key for row in list_households(session) if only in (None, row.key)]
        found = [stored for key in keys if (stored := load(session, key)) is not None]
    items = tuple(HouseholdItem(stored.household.name, plan_links(request, stored)) for stored in found)
    view = HouseholdsView(items, may_import=only is None and may(request, "owner"))
    return reply(request, LIST, (LIST,), {"households": view})


@routes.at("GET", "/import", "owner")
def import_form(request: Request) -> Response:
    """The form for a household file."""
    return reply(request, IMPORT, (IMPORT,), {"incoming": ImportView("", ())})


@routes.at("POST", "/import", "owner")
def import_household(request: Request, given: Annotated[Incoming, Depends(incoming)]) -> Response:
    """Store a household file as a new household; what is wrong with it is said field by field."""
    with request.app.state.database.session() as session:
        try:
            document = given.document()
            household = household_from(document)
            for scenario in household.scenarios:
                # What the engine refuses is refused here, where the file can still be put right.
                assess(household, scenario.id)
            key = store_household(session, document, request.state.link.key)
            session.commit()
        except HouseholdFaults as refused:
            status = 413 if given.is_too_large else 422
            text = "" if given.is_too_large else given.text
            return reply(request, IMPORT, (IMPORT,), {"incoming": ImportView(text, refused.faults)}, status)
        stored = load(session, key)
    plans = plan_links(request, stored) if stored else ()
    return RedirectResponse(plans[0].href if plans else request.app.url_path_for("households"), 303)
