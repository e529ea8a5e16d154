"""Opening a link: the browser keeps it in a cookie, and the address bar forgets it."""

from fastapi import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.store.households import list_households, load
from app.store.links import find_link, note_use
from app.web.access import COOKIE, Routes
from app.web.addresses import plan_links

routes = Routes()

YEAR_S = 365 * 86_400


@routes.at("GET", "/link/{token}", "public")
def open_link(request: Request, token: str) -> Response:
    """Keep the link and go to the household it opens, if that is one; else to the list."""
    with request.app.state.database.session() as session:
        link = find_link(session, token)
        if link is None:
            raise HTTPException(404, "no such link")
        note_use(session, link.key)
        session.commit()
        keys = [row.key for row in list_households(session) if link.household_key in (None, row.key)]
        stored = load(session, keys[0]) if len(keys) == 1 else None
    plans = plan_links(request, stored) if stored else ()
    answer = RedirectResponse(plans[0].href if plans else request.app.url_path_for("households"), 303)
    answer.set_cookie(
        COOKIE, token, max_age=YEAR_S, httponly=True, samesite="lax", secure=request.url.scheme == "https"
    )
    answer.headers["Cache-Control"] = "no-store"
    return answer
