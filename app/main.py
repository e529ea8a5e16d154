"""The application put together: the only place that knows every room."""

from functools import partial

from fastapi import FastAPI, HTTPException
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException as AnyHTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import Response

from app import shipped
from app.household.demo import demo_text
from app.household.errors import HouseholdFaults
from app.household.file import read_document
from app.jobs.hiring import Worker
from app.jobs.jobs import Jobs
from app.settings import Settings
from app.store.clock import now_utc
from app.store.errors import BadValue, Unreadable, Unwritten
from app.store.households import import_household, list_households
from app.store.links import has_link, make_link
from app.store.pulse import pulses
from app.store.removed import purge_due
from app.store.session import Database
from app.web.application import Application
from app.web.assets import load_assets
from app.web.guard import Guard
from app.web.knocking import Knocks
from app.web.pages import (
    appliance,
    appliances,
    begin,
    day,
    editing,
    figure,
    files,
    growth,
    history,
    households,
    laundry,
    leaving,
    links,
    live,
    partner,
    plans,
    questions,
    runs,
    side_by_side,
    site,
    supply,
    switch_on,
    transfer,
    undo,
    weather,
    whatif,
    workshop,
)
from app.web.pages.refusals import impossible, message, not_understood, refused, unreadable, unwritten
from app.web.sweeping import Sweeping
from app.web.templating import Pages
from app.web.watching import Watch

SMALLEST_ZIPPED = 800  # bytes
ZIP_LEVEL = 5  # nearly as small as the most, in a fraction of its time


def create_app(database: Database, settings: Settings) -> FastAPI:
    """The application over a database whose tables are up to date."""
    app = Application(title="Loadstead", openapi_url=None, docs_url=None, redoc_url=None)
    for room in (
        day,
        figure,
        switch_on,
        laundry,
        side_by_side,
        growth,
        runs,
        live,
        partner,
        plans,
        undo,
        begin,
        appliances,
        appliance,
        questions,
        supply,
        site,
        weather,
        whatif,
        workshop,
        editing,
        files,
        households,
        leaving,
        history,
        transfer,
        links,
    ):
        # The routes themselves, not a router around them: whoever walks them meets each with its scope.
        app.router.routes.extend(room.routes.routes)
    app.state.database = database
    app.state.clock = now_utc
    app.state.knocks = Knocks()
    app.state.watch = Watch(partial(_pulses, database))
    app.state.reachable_at = ""  # where phones find this server, if it is known
    app.state.worker = Worker()
    app.state.jobs = Jobs(settings.jobs, app.state.worker.see_to)
    app.state.assets = load_assets(shipped.static())
    app.state.pages = pages = Pages(shipped.templates(), app.state.assets, app)

    def failed(request: Request, error: Exception) -> Response:
        assert isinstance(error, AnyHTTPException)
        return refused(request, error.status_code, str(error.detail))

    def cannot_be_read(request: Request, _: Exception) -> Response:
        return not_understood(request)

    def not_possible(request: Request, error: Exception) -> Response:
        assert isinstance(error, HouseholdFaults)
        return impossible(request, error)

    def not_readable(request: Request, error: Exception) -> Response:
        assert isinstance(error, Unreadable)
        return unreadable(request, error)

    async def not_written(request: Request, error: Exception) -> Response:
        assert isinstance(error, Unwritten)
        return await unwritten(request, error)

    app.add_exception_handler(AnyHTTPException, failed)
    app.add_exception_handler(HTTPException, failed)
    app.add_exception_handler(RequestValidationError, cannot_be_read)
    app.add_exception_handler(BadValue, cannot_be_read)
    app.add_exception_handler(HouseholdFaults, not_possible)
    app.add_exception_handler(Unreadable, not_readable)
    app.add_exception_handler(Unwritten, not_written)
    app.add_exception_handler(Exception, lambda _request, _error: message(pages, 500))
    app.add_middleware(GZipMiddleware, minimum_size=SMALLEST_ZIPPED, compresslevel=ZIP_LEVEL)
    app.add_middleware(Guard, hosts=settings.hosts, refuse=lambda status: message(pages, status))
    app.add_middleware(Sweeping)
    return app


def _pulses(database: Database) -> dict[str, str]:
    with database.session() as session:
        return pulses(session)


def first_run(database: Database) -> str | None:
    """Put the demo household into an empty database, and make the owner's link if there is none.

    What was deleted too long ago to be had back goes for good.

    Returns the token of a link made just now, which cannot be read again later.
    """
    with database.session() as session:
        purge_due(session, now_utc())
        if not list_households(session):
            import_household(session, read_document(demo_text()), None)
        token = None if has_link(session, "owner") else make_link(session, "owner", "owner")
        session.commit()
    return token


def new_owner_link(database: Database, name: str) -> str:
    """Make another owner's link and return its token."""
    with database.session() as session:
        token = make_link(session, name, "owner")
        session.commit()
    return token
