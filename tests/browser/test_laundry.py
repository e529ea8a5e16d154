"""Laundry day in a hand: how many loads, a day that gets better while one watches, taken, and nobody barred."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from app.jobs.hiring import Worker
from app.jobs.jobs import Jobs
from tests.browser.conftest import Open, Server, Site
from tests.browser.scanning import scan
from tests.browser.test_readable import LARGE, readable

SEARCHED_MS = 60_000  # the search itself may take half a minute


@pytest.fixture
def searching(server: Server, site: Site, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Site]:
    """The site with a worker of its own."""
    monkeypatch.setattr("app.web.laundry_day.SEARCH_S", 3.0)
    worker = Worker()
    jobs = Jobs(str(tmp_path / "jobs.sqlite3"), worker.see_to)
    assert server.app is not None
    server.app.state.jobs = jobs
    yield site
    worker.end()
    server.wait()
    jobs.close()


@pytest.mark.parametrize("size", [(390, 844)], ids=["phone"])
def test_a_day_is_asked_for_watched_and_taken(open_page: Open, searching: Site, size: tuple[int, int]) -> None:
    """A load more by a tap, a day at once and its proof by itself, part of it looked at, all of it taken, undone."""
    page = open_page(*size)
    page.goto(f"{searching.address()}/laundry")
    readable(page, "the form")
    page.get_by_role("button", name="One load more of Washing machine").click()
    expect(page.locator("#m0-n")).to_have_value("3")
    expect(page.locator("#m0-more")).to_be_focused()
    assert "n%3Awasher=3" in page.url
    page.locator("#m0-2 > summary").click()
    page.locator("#m0-2-by").fill("25:00")
    page.locator("#find").click()
    expect(page.locator("#why-m0-2-by")).to_contain_text("Give a time of day as 18:00")
    expect(page.locator("#m0-2-by")).to_have_value("25:00")
    scan(page, "refused")
    page.locator("#m0-2-by").fill("17:00")
    page.locator("#m0-2-by").press("Enter")
    expect(page.locator("#found .verdict")).to_be_visible()
    expect(page.locator("#take")).to_be_visible(timeout=SEARCHED_MS)
    readable(page, "a day that was found")
    scan(page, "a day that was found")
    rows = page.locator(".loads li")
    expect(rows).to_have_count(6)
    expect(page.locator(".loads .reason")).to_have_count(6)
    expect(page.locator("#look")).to_be_hidden()
    page.get_by_label("Dishwasher", exact=True).uncheck()
    page.locator("#look").click()
    expect(page.locator("#part")).to_contain_text("Nothing is stored yet")
    page.get_by_label("Dishwasher", exact=True).check()
    for box in (one.bounding_box() for one in page.locator(".tabs a, #laundry .go:visible, .tick:visible").all()):
        assert box is not None
        assert min(box["width"], box["height"]) >= 44
    count = page.locator("[name=tick]").count()
    before = {str(run["id"]): run["start"] for run in searching.runs()}
    page.locator("#take").click()
    expect(page.locator("#undo")).to_contain_text(f"Laundry day: {count} runs as before")
    assert {str(run["id"]) for run in searching.runs()} == {*before, "washer-1"}
    page.locator("#undo").click()
    expect(page.locator("#redo")).to_contain_text(f"Laundry day: {count} runs placed")
    assert {str(run["id"]): run["start"] for run in searching.runs()} == before


def test_without_scripts_and_with_large_text(open_page: Open, searching: Site) -> None:
    """A browser without scripts counts, finds, refreshes and takes by plain forms; text of twice the size is whole."""
    plain = open_page(script=False)
    plain.goto(f"{searching.address()}/laundry")
    plain.get_by_role("button", name="One load fewer of Dishwasher").click()
    expect(plain.locator("#m2-n")).to_have_value("0")
    plain.locator("#find").click()
    expect(plain.locator("#found .verdict")).to_be_visible()
    for _ in range(60):
        if plain.locator("#take").count():
            break
        plain.wait_for_timeout(500)
        with plain.expect_navigation():
            plain.get_by_role("link", name="See how far it is").click()
    large = open_page(320, 600)
    large.add_init_script(LARGE)
    large.goto(plain.url.split("#")[0])
    readable(large, "large text on the narrowest phone")
    count = plain.locator("[name=tick]").count()
    plain.locator("#take").click()
    expect(plain.locator("#undo")).to_contain_text(f"Laundry day: {count} runs as before")
    assert searching.run("dishes")["on"] is False


@pytest.mark.parametrize(("screen", "asks"), [("laundry", "#m0-more"), ("workshop", "[id^=add-]")])
def test_a_server_that_fails_is_said_until_it_answers_again(
    open_page: Open, site: Site, screen: str, asks: str
) -> None:
    """The answer's end is no answer: the line stays until there is one."""
    page = open_page(390, 844)
    page.goto(f"{site.address()}/{screen}")
    page.route(f"**/{screen}?*", lambda route: route.fulfill(status=500, body="broken"))
    page.locator(asks).first.click()
    expect(page.get_by_text("The server could not do that")).to_be_visible()
    page.unroute(f"**/{screen}?*")
    page.locator(asks).first.click()
    expect(page.locator("#net")).to_be_hidden()
