"""A real browser before a real server: phones with touch, a desk, and a browser without scripts."""

import json
import re
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from app.household.demo import demo_text
from app.settings import Settings
from app.store.households import export_document, import_household, load
from app.store.links import make_link
from app.store.session import Database
from tests.application import application, ways_out_once
from tests.databases import sqlite_url
from tests.requires import require

ARGUMENTS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
)  # fmt: skip
LONGEST_MS = 5_000
# What browser and htmx say by themselves of refusals and of a server that is away.
EXPECTED = re.compile(
    r"Failed to load resource: (the server responded with a status of (404|409|410|413|422|500)"
    r"|net::ERR_(INTERNET|FAILED))|(htmx:(sendError|afterRequest|timeout)|Response Status Error Code .*)$"
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


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Site]:
    """A server of its own for each test, on a free port of this machine alone."""
    monkeypatch.setattr("app.web.planned.ways_out", ways_out_once)
    database = Database(sqlite_url(tmp_path))
    with database.session() as session:
        key = import_household(session, json.loads(demo_text()), None)
        token = make_link(session, "owner", "owner")
        session.commit()
    sock = socket.socket()
    sock.bind(("127.0.0.1", 0))
    config = uvicorn.Config(application(database, Settings("")), log_level="warning", access_log=False)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [sock]}, daemon=True)
    thread.start()
    end = time.monotonic() + 10
    while not server.started:
        assert thread.is_alive()
        assert time.monotonic() < end
        time.sleep(0.01)
    yield Site(f"http://127.0.0.1:{sock.getsockname()[1]}", database, key, token)
    server.should_exit = True
    thread.join(5)
    database.close()


Open = Callable[..., Page]


@pytest.fixture
def open_page(browser: Browser, site: Site) -> Iterator[Open]:
    """Opens the owner's link in a browser of some size; in the end nothing may have gone wrong in any."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def start(width: int = 390, height: int = 844, *, script: bool = True, dark: bool = False) -> Page:
        touch = width < 900
        context = browser.new_context(
            base_url=site.url,
            viewport={"width": width, "height": height},
            device_scale_factor=2 if touch else 1,
            is_mobile=touch,
            has_touch=touch,
            java_script_enabled=script,
            color_scheme="dark" if dark else "light",
        )
        contexts.append(context)
        context.set_default_timeout(LONGEST_MS)
        if script:
            context.add_init_script(WATCH_POLICY)
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        # The link's answer with its cookie, without drawing the plan it leads to.
        assert context.request.get(f"/link/{site.token}", max_redirects=0).status == 303
        page.goto(site.address())
        return page

    yield start
    for context in contexts:
        for page in context.pages:
            # Without scripts a page cannot tell, but neither can anything on it break the rules by running.
            refused = page.evaluate("() => window.__refused ?? []")
            assert refused == []
        context.close()
    # What is on its way while a page closes fails, and says so.
    assert [text for text in complaints if not EXPECTED.match(text)] == []


@pytest.fixture(params=[(390, 844), (1280, 800)], ids=["phone", "desk"])
def size(request: pytest.FixtureRequest) -> tuple[int, int]:
    """A phone and a desk."""
    return (int(request.param[0]), int(request.param[1]))
