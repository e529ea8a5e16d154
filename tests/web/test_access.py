"""Scopes, links, hosts, origins, and what every answer carries."""

import logging
import re
import socket
import threading
import time
from collections.abc import Callable
from http.cookiejar import CookieJar
from urllib.request import HTTPCookieProcessor, build_opener

import pytest
import uvicorn
from starlette.routing import BaseRoute

from app.store.households import import_household
from app.store.links import find_link, make_link, revoke_link
from app.store.session import Database
from app.web.access import STRENGTH, ScopedRoute
from app.web.guard import is_known_host
from tests.web.conftest import House
from tests.web.markup import Page


def test_every_address_declares_the_scope_it_needs(house: House) -> None:
    """There is no address without a scope, and only files and the opening of links are public."""
    routes: list[BaseRoute] = house.client.app.routes  # type: ignore[attr-defined]
    scopes = {}
    for route in routes:
        assert isinstance(route, ScopedRoute), f"{route} was not declared with a scope"
        assert route.scope in STRENGTH
        scopes[route.name] = route.scope

    assert {name for name, scope in scopes.items() if scope == "public"} == {"asset", "open_link"}
    assert scopes["change_run"] == "helper"
    assert scopes["import_household"] == "owner"


@pytest.mark.parametrize("address", ["/", "/import", "{day}"])
def test_without_a_link_nothing_is_shown(house_of: Callable[..., House], address: str) -> None:
    """Every page but the opening of a link answers 403 and says what is needed."""
    nobody = house_of(None)
    answer = nobody.client.get(address.format(day=nobody.address()))

    assert answer.status_code == 403
    assert "Saltmarsh" not in answer.text
    assert "link" in answer.text


def test_a_reader_looks_and_changes_nothing(house_of: Callable[..., House], htmx: bool) -> None:
    """A reader sees the day with nothing to press, each run with its name; a change is refused."""
    reader = house_of("reader")
    page = reader.page(run="wash-1")

    # But for what moves the zoomed figure.
    assert not [one for one in page.all("button") if one.get("data-zoom") is None and one.get("data-shift") is None]
    assert {one.tag for one in page.all(kind="run")} == {"span"}
    assert all(one["aria-label"] and one["role"] == "img" for one in page.all(kind="run"))
    assert not page.all(kind="adjust")
    assert reader.send("wash-1", "on", "off", htmx=htmx).status_code == 403
    assert reader.stored.revision == 1
    assert "/import" not in [one["href"] for one in Page(reader.client.get("/").text).all("a")]


def test_a_helper_changes_runs_but_brings_nothing_in(house_of: Callable[..., House]) -> None:
    """A helper's link may edit; bringing in a household is the owner's."""
    helper = house_of("helper")

    assert helper.send("wash-1", "on", "off").status_code == 303
    assert helper.client.get("/import").status_code == 403
    assert helper.client.post("/import", data={"text": "{}"}).status_code == 403


def test_a_link_to_one_household_opens_no_other(house_of: Callable[..., House]) -> None:
    """A link that was made for one household answers 403 for another, and does not list it."""
    owner = house_of("owner")
    document = owner.document | {"name": "Second"}
    with owner.database.session() as session:
        second = import_household(session, document, None)
        session.commit()
    stranger = house_of("owner", household_key=second)
    stranger.key = owner.key

    assert stranger.client.get(stranger.address()).status_code == 403
    assert stranger.send("wash-1", "on", "off").status_code == 403
    assert stranger.client.get("/import").status_code == 403
    listed = Page(stranger.client.get("/").text)
    assert [one.text for one in listed.all("h2")] == ["Second"]
    stranger.key = second
    assert stranger.client.get(stranger.address()).status_code == 200


def test_a_revoked_link_opens_nothing(house: House) -> None:
    """From the moment a link is revoked, the browser that holds it is let in no more."""
    assert house.client.get(house.address()).status_code == 200
    with house.database.session() as session:
        link = find_link(session, house.client.cookies["loadstead"])
        assert link is not None
        revoke_link(session, link.key)
        session.commit()

    assert house.client.get(house.address()).status_code == 403


def test_opening_a_link_cleans_the_address_and_sets_a_cookie(house_of: Callable[..., House]) -> None:
    """The link leads to the household's page; its token stays in a cookie scripts can't read."""
    nobody = house_of(None)
    with nobody.database.session() as session:
        token = make_link(session, "owner", "owner")
        session.commit()
    answer = nobody.client.get(f"/link/{token}", follow_redirects=False)
    cookie = answer.headers["set-cookie"].lower()

    assert answer.status_code == 303
    assert token not in answer.headers["location"]
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert "secure" not in cookie.replace("samesite", "")
    assert answer.headers["cache-control"] == "no-store"
    page = nobody.client.get(answer.headers["location"])
    assert page.status_code == 200
    assert token not in page.text


def test_an_unknown_link_says_so(house_of: Callable[..., House]) -> None:
    """A token nobody was given answers 404 and sets nothing."""
    answer = house_of(None).client.get("/link/" + "0" * 32)

    assert answer.status_code == 404
    assert "set-cookie" not in answer.headers


def test_a_token_never_reaches_the_log(
    house_of: Callable[..., House], caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    """Served as the program serves, opening a link writes its token nowhere."""
    nobody = house_of(None)
    with nobody.database.session() as session:
        token = make_link(session, "owner", "owner")
        session.commit()
    caplog.set_level(logging.DEBUG)
    sock = socket.socket()
    sock.bind(("127.0.0.1", 0))
    config = uvicorn.Config(nobody.client.app, log_level="warning", access_log=False)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [sock]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    opener = build_opener(HTTPCookieProcessor(CookieJar()))
    with opener.open(f"http://127.0.0.1:{sock.getsockname()[1]}/link/{token}") as answer:
        assert b"Saltmarsh" in answer.read()
    server.should_exit = True
    thread.join(5)
    written = capfd.readouterr()

    assert token not in caplog.text + written.out + written.err


@pytest.mark.parametrize(
    ("host", "known"),
    [
        ("localhost", True), ("localhost:8420", True), ("127.0.0.1", True), ("192.168.1.20:8420", True),
        ("[::1]:8420", True), ("ferry.local", True), ("planner.example", True), ("PLANNER.example:80", True),
        ("evil.example", False), ("localhost.evil.example", False), ("", False), ("local", False),
    ],
)  # fmt: skip
def test_only_names_the_server_goes_by_are_answered(house: House, host: str, known: bool) -> None:
    """Localhost, addresses in figures, .local names and configured ones are; anything else is refused."""
    assert is_known_host(host, ["planner.example"]) is known
    answer = house.client.get("/", headers={"Host": host})
    assert (answer.status_code == 400) is not known
    assert ("LOADSTEAD_HOSTS" in answer.text) is not known


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Origin": "http://localhost"}, 303),
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Origin": ""}, 403),
        ({"Origin": "http://localhost", "Sec-Fetch-Site": "cross-site"}, 403),
        ({"Origin": "http://localhost", "Sec-Fetch-Site": "same-site"}, 403),
        ({"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}, 303),
    ],
)
def test_changes_come_from_this_servers_own_pages(house: House, headers: dict[str, str], status: int) -> None:
    """A form on another site cannot change anything here, whoever's cookie it rides on."""
    house.client.headers.pop("Origin")
    house.client.headers.update(headers)

    assert house.send("wash-1", "on", "off").status_code == status
    assert house.stored.revision == (2 if status == 303 else 1)


def test_a_change_without_any_origin_is_refused(house: House) -> None:
    """A browser always says where a change comes from; what does not is refused."""
    house.client.headers.pop("Origin")

    assert house.send("wash-1", "on", "off").status_code == 403


@pytest.mark.parametrize("address", ["{day}", "/nowhere", "/link/x", "/"])
def test_every_page_carries_the_strict_policy(house: House, address: str) -> None:
    """No inline script or style may run, nothing is sniffed, addresses stay here, pages are not kept."""
    answer = house.client.get(address.format(day=house.address()))
    policy = answer.headers["content-security-policy"]

    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "same-origin"
    assert answer.headers["cache-control"] == "no-store"


def test_pages_need_nothing_inline(house: House) -> None:
    """No page carries a style attribute, an inline script, or a handler in an attribute."""
    texts = [house.client.get(address).text for address in ("/", "/import", house.address(), "/nowhere")]

    for text in texts:
        assert not re.search(r"\sstyle=|\son[a-z]+=|<style|javascript:", text)
        assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", text))


def test_files_are_kept_for_ever_under_names_made_from_their_content(house: House) -> None:
    """Style and scripts carry a hash in their names, may be kept, and come compressed or plain."""
    page = Page(house.client.get(house.address()).text)
    files = [one["src"] for one in page.all("script")] + [one["href"] for one in page.all("link")]

    assert len(files) == 4
    for file in files:
        answer = house.client.get(file)
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]
        assert re.search(r"\.[0-9a-f]{16}\.", file)
        plain = house.client.get(file, headers={"Accept-Encoding": "identity"})
        assert plain.content == answer.content
        assert "content-encoding" not in plain.headers
    assert house.client.get("/assets/loadstead.css").status_code == 404


def test_pages_come_compressed(house: House) -> None:
    """A page of the demo takes less than 30 kB on the way."""
    with house.client.stream("GET", house.address()) as answer:
        sent = sum(len(part) for part in answer.iter_raw())

    assert answer.headers["content-encoding"] == "gzip"
    assert sent < 30_000


def test_what_goes_wrong_inside_is_a_page_without_details(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault of the program answers 500, says that nothing was stored, and tells nothing of its insides."""
    import app.web.planned as page

    def fail(*_: object) -> None:
        raise RuntimeError("insides")

    monkeypatch.setattr(page, "assess_day", fail)
    house.client._transport.raise_server_exceptions = False  # type: ignore[attr-defined]
    answer = house.send("wash-1", "on", "off")

    assert answer.status_code == 500
    assert "Nothing was stored" in answer.text
    assert "insides" not in answer.text
    assert house.stored.revision == 1


def test_a_database_is_ready_for_the_first_run(database: Database) -> None:
    """An empty database gets the demo and one owner's link; the next start makes neither again."""
    from app.main import first_run
    from app.store.households import list_households

    token = first_run(database)
    with database.session() as session:
        assert token is not None
        assert find_link(session, token) is not None
        assert [row.name for row in list_households(session)] == ["Saltmarsh Ferry House"]
    assert first_run(database) is None
