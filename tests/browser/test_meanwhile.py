"""What another phone changes while a screen beside the day is open: told in a line, and loaded when it is asked for."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Open, Site
from tests.browser.test_two_phones import SOON_MS

LINE = "#meanwhile:has-text('Iron moved to 17:25')"


def move(page: Page, site: Site) -> None:
    """As another page does it."""
    page.evaluate(
        """(address) => fetch(address, { method: "POST", body: new URLSearchParams(
          { field: "start", value: "17:25", revision: "1", tab: "other", sequence: "1" }) })""",
        f"{site.address()}/runs/{site.run_key('shirts')}",
    )


@pytest.mark.parametrize("screen", ["side-by-side", "growth", "history", "laundry", "workshop"])
def test_another_phones_change_is_told_and_loaded_when_asked(open_page: Open, site: Site, screen: str) -> None:
    """Nothing moves by itself; a tap loads the page as it is now, and the line goes."""
    page = open_page()
    with page.expect_response("**/wait*"):
        page.goto(f"{site.address()}/{screen}")
    move(page, site)
    expect(page.locator(LINE)).to_contain_text("This page shows what was before.", timeout=SOON_MS)
    before = page.locator("#meanwhile").get_attribute("data-revision")
    page.locator("#meanwhile button").tap()
    expect(page.locator("#meanwhile")).to_be_empty()
    expect(page.locator(f"#meanwhile:not([data-revision='{before}'])")).to_have_count(1)


def test_what_is_typed_in_an_editor_survives_the_news_and_the_loading(
    open_page: Open, site: Site, size: tuple[int, int]
) -> None:
    """The other's change is told, with what is half typed as it was; loading again brings the change and keeps that."""
    page, other = open_page(*size), open_page(1280, 800)
    page.goto(f"{site.address()}/supply")
    other.goto(f"{site.address()}/supply")
    rated = page.locator("#inverter-rated_va")
    rated.focus()
    rated.press_sequentially("9")
    typed = rated.input_value()
    other.locator("#inverter-room_offset_k").fill("13")
    other.locator("#inverter-room_offset_k").blur()
    expect(page.locator("#meanwhile")).to_contain_text("13", timeout=SOON_MS)
    expect(rated).to_have_value(typed)
    expect(rated).to_be_focused()
    expect(other.locator("#effect .current")).to_have_count(1)
    expect(other.locator("#meanwhile")).to_be_empty()
    page.locator("#meanwhile button").click()
    expect(page.locator("#inverter-room_offset_k")).to_have_value("13")
    expect(page.locator("#meanwhile")).to_be_empty()
    expect(rated).to_have_value(typed)
