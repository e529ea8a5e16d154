"""Who may do what: every address declares the scope it needs, and a link carries one.

`Routes` is the only way to add an address, and it has no default scope: an address nobody thought about
cannot come to be.
"""

import datetime
from collections.abc import Awaitable, Callable, Coroutine
from functools import partial
from typing import Any, Literal

from fastapi import APIRouter, HTTPException
from fastapi.routing import APIRoute
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from app.store.links import Link, is_to_be_noted, look_up, note_use
from app.web.knocking import address_of

# `plan` is what a reader's link for one plan alone opens: that plan, and nothing that shows more.
Scope = Literal["owner", "helper", "reader", "plan", "public"]
STRENGTH: dict[str, int] = {"public": 0, "plan": 1, "reader": 2, "helper": 3, "owner": 4}
COOKIE = "loadstead"

# Why somebody is not let in, for the page that says it.
NO_LINK, WRONG_LINK, WEAK_LINK, OTHER_PLACE = "no link", "wrong link", "weak link", "other place"

Endpoint = Callable[..., Response | Awaitable[Response]]


class ScopedRoute(APIRoute):
    """An address that lets in who has its scope, before anything of the request's body is read."""

    @property
    def scope(self) -> Scope:
        """The scope its endpoint was declared with."""
        scope: Scope = getattr(self.endpoint, "scope")  # noqa: B009  a function says nothing of its attributes
        return scope

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """The handler, with the check before it."""
        handle = super().get_route_handler()

        async def checked(request: Request) -> Response:
            try:
                if self.scope != "public":
                    request.state.link = await run_in_threadpool(admit, request, self.scope)
                return await handle(request)
            except HTTPException as refused:
                if refused.detail == WRONG_LINK:
                    # Only who guesses waits; a link that is right is never even counted.
                    await request.app.state.knocks.wrong(address_of(request))
                raise

        return checked


class Routes(APIRouter):
    """Addresses, each with its scope."""

    def __init__(self) -> None:
        super().__init__(route_class=ScopedRoute, default_response_class=Response)

    def at(self, method: str, path: str, scope: Scope) -> Callable[[Endpoint], Endpoint]:
        """Declare an endpoint at an address; its name is the function's."""

        def add(endpoint: Endpoint) -> Endpoint:
            endpoint.scope = scope  # type: ignore[attr-defined]
            self.add_api_route(path, endpoint, methods=[method], name=endpoint.__name__, response_model=None)
            return endpoint

        return add


def strength_of(link: Link) -> Scope:
    """The scope of what a link opens."""
    return "plan" if link.scenario_key is not None else link.scope


def admit(request: Request, scope: Scope) -> Link:
    """The link a request comes with, if it opens this address.

    Raises HTTPException 403 without a link, with one that has ended, is too weak, or is for another household or plan.
    """
    link = held_link(request)
    if STRENGTH[strength_of(link)] < STRENGTH[scope]:
        raise HTTPException(403, WEAK_LINK)
    if link.household_key is not None:
        household_key = request.path_params.get("household_key")
        # Where no household is named, the link chooses what is shown; but what is for all is not its own.
        if household_key != link.household_key and (household_key is not None or scope == "owner"):
            raise HTTPException(403, OTHER_PLACE)
    if link.scenario_key is not None and request.path_params.get("scenario_key") != link.scenario_key:
        raise HTTPException(403, OTHER_PLACE)
    return link


def held_link(request: Request) -> Link:
    """The link a browser holds; that it was used is noted.

    Raises HTTPException 403 without one, or with one that has ended.
    """
    token = request.cookies.get(COOKIE)
    if not token:
        raise HTTPException(403, NO_LINK)
    at_utc = request.app.state.clock()
    with request.app.state.database.session() as session:
        found = look_up(session, token, at_utc)
    if not isinstance(found, Link):
        raise HTTPException(403, found or WRONG_LINK)
    note(request, found, at_utc)
    return found


def note(request: Request, link: Link, at_utc: datetime.datetime) -> None:
    """Note that a link was used, if nothing is in the way: a page that is only read waits for no writer."""
    if is_to_be_noted(link, at_utc):
        request.app.state.database.if_free(partial(note_use, used=link, at_utc=at_utc))


def may(request: Request, scope: Scope) -> bool:
    """Whether the link a request was let in with is strong enough for something more."""
    return STRENGTH[strength_of(request.state.link)] >= STRENGTH[scope]
