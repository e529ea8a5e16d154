"""What is said when an address, a link, a body or a whole request cannot be taken."""

import itertools

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from app.household.errors import Fault, HouseholdFaults
from app.store.errors import Locked, Unreadable, Unwritten
from app.web.access import may
from app.web.addresses import plan_head
from app.web.asked import asked_household
from app.web.gone import GonePage, plan_gone
from app.web.reply import wants_fragment
from app.web.templating import Pages
from app.web.views.households import AgainView, ImportView, MessageView, unreadable_item
from app.web.words import gone as gone_words

MESSAGES = {
    400: (
        "This name is not known here",
        "Open Loadstead by the address it printed when it started.",
        "If this name is its own, too, whoever runs it adds it to LOADSTEAD_HOSTS.",
    ),
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
SOON_S = "2"
REFUSED = "Loadstead-Refused"  # tells a page that is open what has become of its link

LOCKED = (
    "Somebody else is saving",
    "Somebody else is saving just now, so this was not stored. Try again in a moment.",
    "What you typed is still there when you go back.",
)
UNWRITTEN = (
    "Nothing can be stored",
    "Nothing can be stored at the moment: the disk of the server is full, or may not be written.",
    "Whoever looks after the server has to see to that. What is stored already can still be looked at.",
)
SENT_AGAIN_AT_MOST = 200_000  # signs; of more there is no form to send it again
STORED = (
    "Cannot be worked out",
    "As it is stored this plan cannot be worked out.",
    "Go back to the list; another plan, or the household's file, can still be had there.",
)
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


def not_understood(request: Request) -> Response:
    """The answer to fields that no page sends by itself.

    A fragment of status 422 would be put into the page; another status leaves the page as it is.
    """
    return _page(request.app.state.pages, 400 if wants_fragment(request) else 422, (), *MESSAGES[422])


def impossible(request: Request, faults: HouseholdFaults) -> Response:
    """The answer where what was sent cannot be; or, where nothing was sent, a plan as it is stored."""
    pages: Pages = request.app.state.pages
    lines = tuple(map(str, faults.faults))
    if request.method == "GET" and "household_key" in request.path_params:
        return _page(pages, 400 if wants_fragment(request) else 409, lines, *STORED)
    return message(pages, 422, lines)


async def unwritten(request: Request, error: Unwritten) -> Response:
    """The answer where the database could not be written: what was sent can be sent again, as it was, by one button.

    A page with its script keeps what is typed by itself.
    """
    pages: Pages = request.app.state.pages
    is_locked = isinstance(error, Locked)
    title, lead, more = LOCKED if is_locked else UNWRITTEN
    view = MessageView(title, lead, (), more, again=await _sent(request))
    html = pages.render("message.html", message=view, oob=False)
    return HTMLResponse(html, 503 if is_locked else 507, headers={"Retry-After": SOON_S} if is_locked else {})


async def _sent(request: Request) -> AgainView | None:
    """What came in by a form's fields; None where there is none, or it is too much, or has a file in it."""
    if request.method != "POST" or wants_fragment(request):
        return None
    form = await request.form()  # it was read before, and is kept with the request
    fields = tuple((name, value) for name, value in form.multi_items() if isinstance(value, str))
    if len(fields) < len(form.multi_items()) or sum(map(len, itertools.chain(*fields))) > SENT_AGAIN_AT_MOST:
        return None
    return AgainView(request.url.path + (f"?{request.url.query}" if request.url.query else ""), fields)


def unreadable(request: Request, broken: Unreadable) -> Response:
    """The answer about a household whose stored state is none that this program takes: what is wrong, and the ways."""
    pages: Pages = request.app.state.pages
    item = unreadable_item(broken, may_delete=may(request, "owner"))
    html = pages.render("households/unreadable.html", broken=item, oob=False)
    return HTMLResponse(html, 400 if wants_fragment(request) else 409)


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
