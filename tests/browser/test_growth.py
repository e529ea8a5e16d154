"""Room to grow in a hand: charts with their table, a machine that is looked for, and nobody barred."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Open, Site
from tests.browser.scanning import scan_by_screen
from tests.browser.test_readable import readable


@pytest.mark.parametrize("size", [(390, 844)], ids=["phone"])
def test_the_largest_is_read_and_a_machine_is_found(open_page: Open, site: Site, size: tuple[int, int]) -> None:
    """Everything unfolded can be read and bars nobody; a saw is found, and leads to where its cable is chosen."""
    page = open_page(*size)
    # Sun and machines are a second's work, more where others work too; after that it is at hand.
    assert page.request.get(f"{site.address('shed')}/growth", timeout=60_000).ok
    page.goto(f"{site.address('shed')}/growth")
    expect(page.locator(".largest .verdict")).to_contain_text("The largest thing you could still add on this day")
    page.locator("#figures > summary").click()
    page.locator("#meant > summary").click()
    readable(page, "all unfolded")
    scan_by_screen(page, "all unfolded")
    page.locator("#find").fill("band saw")
    page.locator("#find").press("Enter")
    expect(page.locator(".ready-list li")).to_have_count(1)
    link = page.locator("#machine-band-saw a")
    assert "/workshop?machine=band-saw" in (link.get_attribute("href") or "")
