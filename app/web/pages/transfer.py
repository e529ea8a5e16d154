"""Households as files: brought in, and taken along."""

import json
import re
from typing import Annotated
from urllib.parse import quote

from fastapi import Depends, HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.engine.assess import assess
from app.household.errors import HouseholdFaults
from app.household.file import household_from
from app.store.errors import NotThere
from app.store.households import export_document, load
from app.store.households import import_household as store_household
from app.web.access import Routes
from app.web.addresses import plan_links
from app.web.forms.household import Incoming, incoming
from app.web.reply import reply
from app.web.views.households import ImportView

routes = Routes()

IMPORT = "households/import.html"


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


@routes.at("GET", "/households/{household_key}/file", "reader")
def household_file(request: Request, household_key: str) -> Response:
    """A household as a file, to be kept or brought in elsewhere."""
    with request.app.state.database.session() as session:
        try:
            document = export_document(session, household_key)
        except NotThere as gone:
            raise HTTPException(404) from gone
    name = document["name"]
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "household"
    known_as = f"attachment; filename=\"{plain}.json\"; filename*=UTF-8''{quote(name, safe='')}.json"
    return Response(
        json.dumps(document, ensure_ascii=False, indent=1) + "\n",
        media_type="application/json",
        headers={"Content-Disposition": known_as, "Cache-Control": "no-store"},
    )
