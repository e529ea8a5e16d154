"""What is said when an address, a link, a body or a whole request cannot be taken."""

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household.errors import Fault
from app.web.addresses import plan_head
from app.web.asked import asked_household
from app.web.gone import GonePage, plan_gone
from app.web.templating import Pages
from app.web.views.households import ImportView, MessageView
from app.web.words import gone as gone_words

MESSAGES = {
    400: ("This name is not known here", "Open Loadstead by the address it printed when it started.", ""),
    403: (
        "This needs a link",
        "Open Loadstead with the link you were given.",
        "The first link was printed where Loadstead was started. A link to look cannot change anything.",
    ),
    404: ("Nothing here", "There is nothing at this address, or no longer.", "Go back to the list."),
    405: ("Nothing here", "This address takes no such request.", ""),
    410: ("No longer there", "What this page is about is no longer there. Nothing was stored.", ""),
    429: ("Too many wrong links", "Too many links that nobody was given came from here.", "Try again in a minute."),
    413: ("Too large", "That is too large to be taken. Nothing was stored.", ""),
    422: ("Not understood", "The page sent what cannot be read. Nothing was stored.", "Load the page again."),
    500: ("Something went wrong", "Something went wrong here. Nothing was stored.", "Go back and try again."),
}  # fmt: skip

# Why a link is not enough, by what `access` says of it.
_ANOTHER = "Ask whoever gave it to you for another."
LINKS = {
    "revoked": ("This link was revoked", "This link was revoked and opens nothing any more.", _ANOTHER),
    "expired": ("This link has ended", "The time of this link is over.", _ANOTHER),
    "weak link": ("Not with this link", "This link does not open that.", "Ask whoever owns this household."),
    "other place": ("Not with this link", "This link is for something else here.", "Open it once more."),
}
REFUSED = "Loadstead-Refused"  # tells a page that is open what has become of its link

TOO_MANY = "The form has more fields than any page here. Open the page again and send what you changed."


def message(pages: Pages, status: int, lines: tuple[str, ...] = ()) -> Response:
    """The plain page for a status."""
    return _page(pages, status, lines, *MESSAGES.get(status, MESSAGES[500]))


def _page(pages: Pages, status: int, lines: tuple[str, ...], title: str, lead: str, more: str) -> Response:
    view = MessageView(title, lead, lines, more)
    return HTMLResponse(pages.render("message.html", message=view, oob=False), status)


def refused(request: Request, status: int, detail: str) -> Response:
    """The answer to a request that failed."""
    pages: Pages = request.app.state.pages
    if status == 413 and request.url.path == request.app.url_path_for("import_household"):
        megabytes = int(detail) / 1e6 if detail.isdigit() else 0
        why = f"this file has {megabytes:.0f} MB; a household file has at most 5 MB"
        view = ImportView("", (Fault("", why),))
        return HTMLResponse(pages.render("households/import.html", incoming=view, oob=False), status)
    if status == 403 and detail in LINKS:
        answer = _page(pages, status, (), *LINKS[detail])
        answer.headers[REFUSED] = detail.replace(" ", "-")
        return answer
    if status == 429:
        answer = message(pages, status)
        answer.headers["Retry-After"] = detail
        return answer
    if status == 400:  # what reads a form says so of one it cannot read; of a name of this server the guard does
        too_many = detail.startswith("Too many")
        return message(pages, 413, (TOO_MANY,)) if too_many else message(pages, 422)
    if status == 410 and (gone := _plan_gone(request)):
        return HTMLResponse(pages.render("gone.html", page=gone, oob=False), status)
    return message(pages, status)


def _plan_gone(request: Request) -> GonePage | None:
    """The page for an address of a plan that was deleted; None where it was something else."""
    scenario_key = request.path_params.get("scenario_key", "")
    stored = asked_household(request, request.path_params.get("household_key", ""))
    shown = stored.nearest(scenario_key)
    if shown is None or shown.key == scenario_key:
        return None
    then = gone_words.NOTHING_STORED if request.method == "POST" else gone_words.NOTHING_HERE
    of_what_if = request.url.path.split("/")[4:5] == ["what-if"]
    return GonePage(
        title=gone_words.TITLE,
        top=plan_head(request, stored, shown, "what_if" if of_what_if else "day", screen="none"),
        line=plan_gone(request, stored, scenario_key, shown, then).line,
        lead=gone_words.OTHER_PLANS,
    )
