"""Full page or fragments? Decided here and nowhere else, from the request's headers."""

from collections.abc import Sequence

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

# One address answers a page or its parts; nobody in between may give one for the other.
VARY = {"Vary": "HX-Request"}


def wants_fragment(request: Request) -> bool:
    """Whether the page's own script asks, for parts of the page it already shows."""
    headers = request.headers
    return headers.get("hx-request") == "true" and headers.get("hx-history-restore-request") != "true"


def reply(
    request: Request, page: str, fragments: Sequence[str], context: dict[str, object], status: int = 200
) -> Response:
    """The page, or fragments of it: the first for the place that asked, the others for their own places."""
    render = request.app.state.pages.render
    if not wants_fragment(request):
        return HTMLResponse(render(page, **context, oob=False), status, headers=VARY)
    parts = [render(name, **context, oob=number > 0) for number, name in enumerate(fragments)]
    return HTMLResponse("".join(parts), status, headers=VARY)


def reply_done(request: Request, address: str, fragments: Sequence[str], context: dict[str, object]) -> Response:
    """After a change: the fragments it touched, or back to the page, so that a reload repeats nothing."""
    if wants_fragment(request):
        return reply(request, "", fragments, context)
    return RedirectResponse(address, 303, headers=VARY)


def reply_elsewhere(request: Request, address: str) -> Response:
    """After a change that leads to another page: there, for the page's script by its own way of saying so."""
    if wants_fragment(request):
        return Response(status_code=204, headers=VARY | {"HX-Redirect": address})
    return RedirectResponse(address, 303, headers=VARY)


def reply_instead(
    request: Request, place: str, fragment: str, context: dict[str, object], status: int
) -> Response | None:
    """For the page's script a fragment for another place than the one that asked; None for whoever wants a page."""
    if not wants_fragment(request):
        return None
    html = request.app.state.pages.render(fragment, **context, oob=False)
    return HTMLResponse(html, status, headers=VARY | {"HX-Retarget": place, "HX-Reswap": "outerHTML"})
