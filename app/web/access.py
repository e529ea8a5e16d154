"""Who may do what: every address declares the scope it needs, and a link carries one.

`Routes` is the only way to add an address, and it has no default scope: an address nobody thought about
cannot come to be.
"""

from collections.abc import Callable, Coroutine
from typing import Any, Literal

from fastapi import APIRouter, HTTPException
from fastapi.routing import APIRoute
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from app.store.links import Link, find_link

Scope = Literal["owner", "helper", "reader", "public"]
STRENGTH: dict[str, int] = {"public": 0, "reader": 1, "helper": 2, "owner": 3}
COOKIE = "loadstead"

Endpoint = Callable[..., Response]


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
            if self.scope != "public":
                request.state.link = await run_in_threadpool(admit, request, self.scope)
            return await handle(request)

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


def admit(request: Request, scope: Scope) -> Link:
    """The link a request comes with, if it opens this address.

    Raises HTTPException 403 without a link, with too weak a one, or with one for another household.
    """
    token = request.cookies.get(COOKIE)
    link = None
    if token:
        with request.app.state.database.session() as session:
            link = find_link(session, token)
    if link is None:
        raise HTTPException(403, "no link")
    if STRENGTH[link.scope] < STRENGTH[scope]:
        raise HTTPException(403, "weak link")
    if link.household_key is not None:
        household_key = request.path_params.get("household_key")
        # Where no household is named, the link chooses what is shown; but what is for all is not its own.
        if household_key != link.household_key and (household_key is not None or scope == "owner"):
            raise HTTPException(403, "other household")
    return link


def may(request: Request, scope: Scope) -> bool:
    """Whether the link a request was let in with is strong enough for something more."""
    return STRENGTH[request.state.link.scope] >= STRENGTH[scope]
