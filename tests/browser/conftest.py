"""A real browser before a real server: phones with touch, a desk, and a browser without scripts."""

import re
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

import pytest
import uvicorn
from fastapi import FastAPI
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from starlette.types import Receive, Scope, Send

from app.settings import Settings
from app.store.households import export_document, load
from app.store.links import make_link
from app.store.session import Database
from app.web.serving import listen
from tests.application import application, assess_day_once, ways_out_once
from tests.browser.waiting import LONGEST_MS, LONGEST_PAGE_MS
from tests.databases import bring_in, sqlite_database
from tests.households import with_plans
from tests.requires import require

expect.set_options(timeout=LONGEST_MS)
ARGUMENTS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
)  # fmt: skip
# What browser and htmx say by themselves: of refusals, a server that is away, a question that a newer one replaced.
EXPECTED = re.compile(
    r"Failed to load resource: (the server responded with a status of (403|404|409|410|413|422|500)"
    r"|net::ERR_(INTERNET|FAILED))|(htmx:(sendError|sendAbort|afterRequest|timeout)|Response Status Error Code .*)$"
)
WATCH_POLICY = (
    "window.__refused = [];"
    "document.addEventListener('securitypolicyviolation',"
    " (e) => window.__refused.push([e.effectiveDirective, e.blockedURI, e.sample]));"
)


@dataclass
class Site:
    """A server with the demo household, and how to reach its plans."""

    url: str
    database: Database
    key: str
    token: str

    def address(self, plan: str = "laundry") -> str:
        scenario = next(one for one in self._stored.scenarios if one.id == plan)
        return f"/h/{self.key}/{scenario.key}"

    def run_key(self, run: str, plan: str = "laundry") -> str:
        return self._stored.run_keys[plan, run].key

    def runs(self, plan: str = "laundry") -> list[dict[str, object]]:
        with self.database.session() as session:
            document = export_document(session, self.key)
        return list(next(one for one in document["scenarios"] if one["id"] == plan)["runs"])

    def run(self, run: str, plan: str = "laundry") -> dict[str, object]:
        return next(one for one in self.runs(plan) if one["id"] == run)

    @property
    def _stored(self):  # type: ignore[no-untyped-def]
        with self.database.session() as session:
            return load(session, self.key)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium as it is installed on this machine."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    require("chromium", program is not None)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=list(ARGUMENTS))
        yield browser
        browser.close()


class Server:
    """One server on a free port of this machine alone; each test puts an application of its own into it."""

    def __init__(self) -> None:
        self.app: FastAPI | None = None
        self._under_way = 0
        self._idle = threading.Condition()
        sock = listen(everywhere=False, port=0)
        self.url = f"http://127.0.0.1:{sock.getsockname()[1]}"
        # A connection that was idle is used again however long a test took: closed meanwhile, a request on it fails.
        config = uvicorn.Config(self, log_level="warning", access_log=False, lifespan="off", timeout_keep_alive=600)
        self._uvicorn = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._uvicorn.run, kwargs={"sockets": [sock]}, daemon=True)
        self._thread.start()
        end = time.monotonic() + 10
        while not self._uvicorn.started:
            assert self._thread.is_alive()
            assert time.monotonic() < end
            time.sleep(0.01)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer with the application of the test that runs."""
        assert self.app is not None
        with self._idle:
            self._under_way += 1
        try:
            await self.app(scope, receive, send)
        finally:
            with self._idle:
                self._under_way -= 1
                self._idle.notify_all()

    def wait(self) -> None:
        """Until all is answered: a search that nobody waits for any more would work into the next test."""
        with self._idle:
            assert self._idle.wait_for(lambda: not self._under_way, timeout=60)

    def stop(self) -> None:
        """Stop listening."""
        self._uvicorn.should_exit = True
        self._thread.join(5)


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """To start and to stop one takes a fifth of a second, so it serves all tests of a process in turn."""
    server = Server()
    yield server
    server.stop()


@pytest.fixture
def site(server: Server, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Iterator[Site]:
    """An application and a database of its own for each test; of the demo's plans those its module names in PLANS."""
    monkeypatch.setattr("app.web.planned.ways_out", ways_out_once)
    monkeypatch.setattr("app.web.planned.assess_day", assess_day_once)
    with sqlite_database() as database:
        key = bring_in(database, with_plans(*getattr(request.module, "PLANS", ("ordinary", "laundry", "shed"))))
        with database.session() as session:
            token = make_link(session, "owner", "owner")
            session.commit()
        server.app = application(database, Settings(""))
        yield Site(server.url, database, key, token)
        server.wait()


class Kind(NamedTuple):
    """What makes a browser's context what it is."""

    width: int
    height: int
    script: bool
    dark: bool


class Contexts:
    """Contexts of the browser, kept with the styles and scripts they have loaded; only one test at a time has each."""

    def __init__(self, browser: Browser, url: str) -> None:
        self._browser, self._url = browser, url
        self._free: dict[Kind, list[BrowserContext]] = {}

    def take(self, kind: Kind) -> BrowserContext:
        """One that knows nobody."""
        free = self._free.setdefault(kind, [])
        return free.pop() if free else self._new(kind)

    def put_back(self, kind: Kind, context: BrowserContext) -> None:
        """Close its pages, and forget who it was."""
        for page in context.pages:
            page.close()
        context.set_offline(False)
        context.clear_cookies()
        self._free[kind].append(context)

    def _new(self, kind: Kind) -> BrowserContext:
        touch = kind.width < 900
        context = self._browser.new_context(
            base_url=self._url,
            viewport={"width": kind.width, "height": kind.height},
            device_scale_factor=2 if touch else 1,
            is_mobile=touch,
            has_touch=touch,
            java_script_enabled=kind.script,
            color_scheme="dark" if kind.dark else "light",
        )
        context.set_default_timeout(LONGEST_MS)
        context.set_default_navigation_timeout(LONGEST_PAGE_MS)
        if kind.script:
            context.add_init_script(WATCH_POLICY)
        return context


@pytest.fixture(scope="session")
def contexts(browser: Browser, server: Server) -> Contexts:
    """Of this process."""
    return Contexts(browser, server.url)


Open = Callable[..., Page]


@pytest.fixture
def open_page(contexts: Contexts, site: Site) -> Iterator[Open]:
    """Opens the owner's link in a browser of some size; in the end nothing may have gone wrong in any."""
    opened: list[tuple[Kind, BrowserContext]] = []
    complaints: list[str] = []

    def start(width: int = 390, height: int = 844, *, script: bool = True, dark: bool = False) -> Page:
        kind = Kind(width, height, script, dark)
        context = contexts.take(kind)
        opened.append((kind, context))
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        # The link's answer with its cookie, without drawing the plan it leads to.
        assert context.request.get(f"/link/{site.token}", max_redirects=0).status == 303
        page.goto(site.address())
        return page

    yield start
    refused: list[object] = []
    for kind, context in opened:
        for page in context.pages:
            # Without scripts a page cannot tell, but neither can anything on it break the rules by running.
            refused += page.evaluate("() => window.__refused ?? []")
        contexts.put_back(kind, context)
    assert refused == []
    # What is on its way while a page closes fails, and says so.
    assert [text for text in complaints if not EXPECTED.match(text)] == []


@pytest.fixture(params=[(390, 844), (1280, 800)], ids=["phone", "desk"])
def size(request: pytest.FixtureRequest) -> tuple[int, int]:
    """A phone and a desk."""
    return (int(request.param[0]), int(request.param[1]))


class Device(NamedTuple):
    """A screen, and whether its browser runs scripts."""

    width: int
    height: int
    script: bool


@pytest.fixture(params=[Device(390, 844, True), Device(1280, 800, False)], ids=["phone", "desk without script"])
def device(request: pytest.FixtureRequest) -> Device:
    """For what goes on every screen, with scripts and without: neither knows of the other, so two pairs of the four."""
    return request.param  # type: ignore[no-any-return]
