"""Style sheets, scripts and icons."""

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from app.web.access import Routes

routes = Routes()


@routes.at("GET", "/assets/{name}", "public")
def asset(request: Request, name: str) -> Response:
    """One file under its served name."""
    found = request.app.state.assets.get(name)
    if found is None:
        raise HTTPException(404)
    response: Response = found.response(request)
    return response
