"""What is checked before any address is looked at, and what every answer carries.

Hosts: only names this server goes by, so that a foreign name pointed at it opens nothing.
Changes: only from this server's own pages; a browser says where a request comes from.
Bodies: only as large as a household file may be.
"""

import ipaddress
from collections.abc import Callable, Iterable

from fastapi import HTTPException
from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

# The largest household file, and room for the form around it.
LARGEST_BODY = 5_000_000 + 50_000
# Read and thrown away, so that the browser gets to see the answer; beyond it the line is cut.
LARGEST_DRAINED = 100_000_000

# Two style sheets that the charting library puts in by itself: an empty one, which it fills rule by rule, and that of
# a kind of map it carries. A hash allows these very texts and no other.
LIBRARY_STYLES = (
    "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=' 'sha256-ji27qzEtxXZW+7dun6UwjHXJ18e6WAin1VvNtkzIE/o='"
)
POLICY = (
    f"default-src 'none'; script-src 'self'; style-src 'self' {LIBRARY_STYLES}; img-src 'self' data:; "
    "connect-src 'self'; font-src 'self'; manifest-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "X-Robots-Tag": "noindex, nofollow, noarchive",
}

Refusal = Callable[[int], Response]


class Guard:
    """The outermost layer of the application.

    hosts: names besides localhost, addresses in figures and `.local` names. refuse: the page for a status.
    """

    def __init__(self, app: ASGIApp, hosts: Iterable[str], refuse: Refusal) -> None:
        self._app = app
        self._hosts = frozenset(host.lower() for host in hosts)
        self._refuse = refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                if headers.get("content-type", "").startswith("text/html"):
                    headers.setdefault("Cache-Control", "no-store")
            await send(message)

        headers = Headers(scope=scope)
        status = 0
        if not is_known_host(headers.get("host", ""), self._hosts):
            status = 400
        elif scope["method"] not in ("GET", "HEAD", "OPTIONS") and not is_own_page(headers):
            status = 403
        if status:
            await self._refuse(status)(scope, receive, send_with_headers)
            return
        await self._app(scope, limited(receive, headers), send_with_headers)


def is_known_host(host: str, others: Iterable[str]) -> bool:
    """Whether a Host header names this server: localhost, an address in figures, *.local, or a given name."""
    name = host.lower()
    name = name[1:].partition("]")[0] if name.startswith("[") else name.partition(":")[0]
    if name == "localhost" or name.endswith(".local") or name in others:
        return True
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def is_own_page(headers: Headers) -> bool:
    """Whether a request that changes something comes from a page of this server.

    Browsers say so in Sec-Fetch-Site on safe origins, and in Origin everywhere.
    """
    site = headers.get("sec-fetch-site")
    if site is not None and site not in ("same-origin", "none"):
        return False
    origin = headers.get("origin")
    if origin is None:
        return site is not None
    return origin.partition("://")[2] == headers.get("host")


def limited(receive: Receive, headers: Headers) -> Receive:
    """A request's body as it arrives, refused with status 413 once it is too large."""
    announced = headers.get("content-length", "")
    too_large = announced.isdigit() and int(announced) > LARGEST_BODY
    seen = 0

    async def receive_limited() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if too_large or seen > LARGEST_BODY:
            while message.get("more_body") and seen <= LARGEST_DRAINED:
                message = await receive()
                seen += len(message.get("body", b""))
            raise HTTPException(413, str(max(seen, int(announced) if announced.isdigit() else 0)))
        return message

    return receive_limited
