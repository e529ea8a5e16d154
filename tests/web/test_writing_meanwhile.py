"""While somebody else writes: pages that are read wait for nobody, and a change waits its turn or is told in words."""

import contextlib
import logging
import sqlite3
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy.exc import DataError

from app.store.commands import SetRunField, apply
from app.store.kept import KEPT
from app.web import planned
from tests.web.conftest import ORIGIN, House
from tests.web.markup import Page

PLANS = ("laundry",)
LONG_MS, SHORT_MS = 60_000, 10


@contextlib.contextmanager
def somebody_writes(house: House) -> Iterator[None]:
    """Somebody holds the lock that every writer of the file needs."""
    assert house.database.file is not None
    with contextlib.closing(sqlite3.connect(house.database.file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")


@pytest.fixture
def wait(house: House, monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Sets for how long writers wait, and what else each connection is told."""

    def said(ms: int, *more: str) -> None:
        told = ("PRAGMA foreign_keys = ON", f"PRAGMA busy_timeout = {ms}", *more)
        monkeypatch.setattr("app.store.session._SQLITE_EACH_CONNECTION", told)
        monkeypatch.setattr("app.store.session._WAIT", f"PRAGMA busy_timeout = {ms}")
        house.database.close()  # later connections hear of it

    return said


def last_used(house: House) -> Any:
    with house.database.session() as session:
        return session.connection().exec_driver_sql("SELECT max(last_used_at) FROM link").scalar()


@pytest.mark.parametrize("page", ["day", "list", "link"])
def test_a_page_that_is_read_waits_for_no_writer(house: House, wait: Callable[..., None], page: str) -> None:
    """That the link was used is noted when nobody writes; a wait would be a minute long here."""
    wait(LONG_MS)
    address = {"day": house.address(), "list": "/", "link": f"/link/{house.client.cookies['loadstead']}"}[page]
    with somebody_writes(house):
        begun_s = time.monotonic()
        answer = house.client.get(address, follow_redirects=False)
        took_s = time.monotonic() - begun_s

    assert answer.status_code == (303 if page == "link" else 200)
    assert took_s < LONG_MS / 2000
    assert last_used(house) is None
    house.client.get("/")
    assert last_used(house) is not None


def test_where_nothing_can_be_written_pages_are_read(house: House, wait: Callable[..., None], htmx: bool) -> None:
    """As on a full disk; what is sent is answered with what is wrong, and nothing of it is an accident of the page."""
    wait(SHORT_MS, "PRAGMA query_only = ON")

    assert house.client.get("/").status_code == 200
    assert house.client.get(house.address()).status_code == 200
    answer = house.send("wash-1", "on", "off", htmx=htmx)
    assert answer.status_code == 507
    assert "disk of the server is full" in answer.text


def test_a_change_that_waited_in_vain_is_told_in_words(
    house: House, wait: Callable[..., None], htmx: bool, caplog: pytest.LogCaptureFixture
) -> None:
    """Not as an accident, and nothing of it in the log; it can be sent again as it was, by one button."""
    wait(SHORT_MS)
    with somebody_writes(house), caplog.at_level(logging.WARNING):
        answer = house.send("wash-1", "start", "07:10", htmx=htmx)
    page = Page(answer.text)

    assert answer.status_code == 503
    assert answer.headers["Retry-After"] == "2"
    assert page.all(kind="lead")[0].text.startswith("Somebody else is saving just now")
    assert not caplog.records
    if htmx:
        assert not page.all("form")  # the page is left as it is, with what was typed
        return
    (form,) = page.all("form")
    again = house.client.post(form["action"], data=page.form(form), headers={"Origin": ORIGIN}, follow_redirects=False)
    assert again.status_code == 303
    assert house.start_of("wash-1") == "07:10"


@pytest.mark.parametrize("address", ["/households", "/copies"])
def test_what_the_list_was_sent_is_there_to_be_sent_again(
    house: House, wait: Callable[..., None], address: str
) -> None:
    wait(SHORT_MS)
    sent = {"name": "Reedbank <Cabin>", "of": house.key, "timezone": "Europe/Dublin"}
    with somebody_writes(house):
        answer = house.client.post(address, data=sent)
    page = Page(answer.text)
    (form,) = page.all("form")

    assert answer.status_code == 503
    assert form["action"] == address
    assert page.form(form) == sent


def test_a_file_is_not_sent_again_by_itself(house: House, wait: Callable[..., None]) -> None:
    """It is chosen once more."""
    wait(SHORT_MS)
    file = house.client.get(f"/households/{house.key}/file").content
    with somebody_writes(house):
        answer = house.client.post("/import", files={"file": ("x.json", file)})

    assert answer.status_code == 503
    assert not Page(answer.text).all("form")


def test_nobody_waits_while_plans_are_worked_out(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """A change is tried, its plan worked out, and then written: each plan once, and never with the lock held."""
    assess, free = planned.assess_day, []

    def looked(*given: Any) -> Any:
        free.append(house.database.if_free(lambda session: touch(house, session)))
        return assess(*given)

    house.page()
    monkeypatch.setattr("app.web.planned.assess_day", looked)
    kept = set(KEPT._by_change)
    assert house.send("wash-1", "on", "off", htmx=True).status_code == 200
    assert free == [True]
    assert len(set(KEPT._by_change) - kept) == 1  # what was only tried takes no place


def touch(house: House, session: Any) -> None:
    """Write something that changes nothing."""
    session.connection().exec_driver_sql("UPDATE household SET revision = revision")


def test_what_was_changed_meanwhile_is_worked_out_too(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two changes of one plan both are stored, and what is shown is the plan with both."""
    assess, seen = planned.assess_day, []
    stored = house.stored
    other = SetRunField(
        household_key=house.key,
        tab="other",
        sequence=1,
        link_key=None,
        scenario_key=stored.scenarios[0].key,
        run_key=house.run_key("wash-2"),
        field="on",
        value=False,
    )

    def looked(day: Any, *given: Any) -> Any:
        seen.append({run.id: run.on for run in day.resolved.day.runs})
        if len(seen) == 1:
            with house.database.session() as session:
                apply(session, replace(other))
                session.commit()
        return assess(day, *given)

    house.page()
    monkeypatch.setattr("app.web.planned.assess_day", looked)
    assert house.send("wash-1", "on", "off", htmx=True).status_code == 200

    assert [(one["wash-1"], one["wash-2"]) for one in seen] == [(False, True), (False, False)]
    days = house.stored.days["laundry"]
    assert {run.id for run in days.runs if not run.on} >= {"wash-1", "wash-2"}


def test_what_no_database_can_keep_is_told_as_not_understood(
    house: House, htmx: bool, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """A hidden field with a NUL in it comes from no page; PostgreSQL refuses it (`tests/store/test_writing.py`)."""

    def refuse(*_: object) -> None:
        raise DataError("INSERT ...", {}, ValueError("text fields cannot contain NUL (0x00) bytes"))

    monkeypatch.setattr("app.web.pages.runs.apply", refuse)
    answer = house.send("wash-1", "on", "off", htmx=htmx, tab="a\x00b")

    assert answer.status_code == (400 if htmx else 422)
    assert "The page sent what cannot be read. Nothing was stored." in answer.text
    assert not caplog.records
