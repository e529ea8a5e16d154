"""The accessibility scan in the states a day goes through, on a phone and on a desk, by day and by night."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Open, Site
from tests.browser.scanning import scan, scan_by_screen
from tests.browser.test_readable import put_in


@pytest.mark.parametrize(("width", "height", "dark"), [(390, 844, True)], ids=["phone by night"])
def test_a_day_bars_nobody_whatever_is_open(open_page: Open, site: Site, width: int, height: int, dark: bool) -> None:
    """An instant with every limit and what could start, the add sheet, a refused field, the closer drawing."""
    page = open_page(width, height, dark=dark)
    key = site.run_key("shirts")
    page.locator("#moment-limits > summary").click()
    expect(page.locator("#moment-limits tbody tr").first).to_be_visible()
    page.locator("#moment-starts > summary").click()
    expect(page.locator("#moment-starts tbody tr").first).to_be_visible()
    page.locator("#chart-table > summary").click()
    expect(page.locator("#chart-table tbody tr").first).to_be_visible()
    scan(page, "every limit, what could start, the table")
    page.locator(f"#chip-{key}").click()
    page.locator(f"#time-{key}").fill("25:00")
    page.keyboard.press("Enter")
    expect(page.locator(f"#fault-{key}")).to_be_visible()
    page.locator("#day-add > summary").click()
    expect(page.locator("#day-add li").first).to_be_visible()
    scan(page, "a refused field, and the add sheet", f"#adjust-{key}", "#day-add")
    page.locator("#closer summary").click()
    page.wait_for_selector("#closer[data-ready]", timeout=20_000)
    page.locator("#plan-sheet > summary").click()
    scan(page, "the closer drawing, and the plan's sheet", "#closer", "#plan-sheet")


def test_too_much_bars_nobody(open_page: Open, site: Site) -> None:
    """A plan that goes over: with its ways out beside it on a phone, with the word that there is none on a desk."""
    for size, at_once in (((390, 844), ("hob", "bread-oven")), ((1280, 800), ("washer", "dryer", "hob", "bread-oven"))):
        page = open_page(*size)
        over = put_in(site, {"runs": [{"id": one, "appliance": one, "start": "11:00"} for one in at_once]})
        # The search is some seconds' work, which a page gives up where others work too; after that it is at hand.
        for part in ("sun", "ways"):
            assert page.request.get(f"{over.address('own')}?part={part}", timeout=60_000).ok
        page.goto(over.address("own"))
        expect(page.locator(".verdict strong")).to_have_text("Too much.")
        expect(page.locator(".way-box[aria-busy=false]")).to_be_visible()
        expect(page.locator(".way-box button")).to_have_count(2 if len(at_once) == 2 else 0)
        if len(at_once) == 2:
            page.locator("#more-ways > summary").click()
        scan_by_screen(page, "over")


def test_the_list_of_households_bars_nobody(open_page: Open, site: Site) -> None:
    """With two households, and everything on the page unfolded."""
    page = open_page()
    put_in(site, {"runs": []})
    page.goto("/")
    page.evaluate("() => document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    scan(page, "the households")
