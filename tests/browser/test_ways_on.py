"""Where one can go from a day: the row of screens, and the first thing to do on an empty one."""

from playwright.sync_api import expect

from tests.browser.conftest import Device, Open, Site
from tests.browser.scanning import scan
from tests.browser.test_readable import put_in, readable

Size = tuple[int, int]


def test_the_screens_are_a_tap_away(open_page: Open, site: Site, device: Device) -> None:
    """Each leads to its screen of the same plan and back, and takes a finger."""
    page = open_page(device.width, device.height, script=device.script)
    for name in ("Appliances", "Supply", "Household"):
        page.get_by_role("navigation", name="Screens").get_by_role("link", name=name, exact=True).click()
        expect(page.locator(".tabs [aria-current=page]")).to_have_text(name)
        page.get_by_role("navigation", name="Screens").get_by_role("link", name="Day", exact=True).click()
        expect(page).to_have_url(f"{site.url}{site.address()}")
        expect(page.locator(".tabs [aria-current=page]")).to_have_text("Day")
    for box in (one.bounding_box() for one in page.locator(".tabs a").all()):
        assert box is not None
        assert min(box["width"], box["height"]) >= 44


def test_what_decides_stays_in_sight_at_the_rows(open_page: Open, site: Site, size: Size) -> None:
    """Where one changes the day one sees what comes of it, and the way back; at the head there is one sentence."""
    page = open_page(*size)
    gist = page.locator(".gist")
    expect(gist).to_be_hidden()
    run = page.locator(f"#run-{site.run_key('wash-2')}")
    run.scroll_into_view_if_needed()
    page.evaluate("() => document.getElementById('day-rows').scrollIntoView()")
    expect(gist).to_be_in_viewport(ratio=1)
    before = gist.inner_text()
    assert page.locator("#day-verdict .verdict").inner_text() == before
    run.click()
    expect(gist).not_to_have_text(before)
    expect(page.locator("#undo")).to_be_in_viewport(ratio=1)
    expect(run).to_be_in_viewport(ratio=1)
    page.evaluate("() => scrollTo(0, 0)")
    expect(gist).to_be_hidden()


def test_what_decides_stands_above_the_fold(open_page: Open, site: Site, size: Size) -> None:
    """The sentence is on the first screen, and on a desk screens, plan and the way back take one line together."""
    page = open_page(*size)
    page.locator(f"#run-{site.run_key('shirts')}").click()
    expect(page.locator("#undo")).to_be_visible()
    page.evaluate("() => scrollTo(0, 0)")
    said = page.locator("#day-verdict").bounding_box()
    assert said is not None
    assert said["y"] + said["height"] < size[1] * 0.65
    if size[0] < 900:
        return
    tops = {
        round(box["y"] + box["height"] / 2)
        for one in (".top h1", ".plans > summary", ".tabs a:first-child", "#undo")
        if (box := page.locator(one).bounding_box()) is not None
    }
    assert max(tops) - min(tops) <= 2


def test_an_empty_day_says_what_to_do_first(open_page: Open, site: Site, device: Device) -> None:
    """Under the sentence a button opens the sheet of appliances; with the first run on the day it is gone."""
    page = open_page(device.width, device.height, script=device.script)
    page.goto(put_in(site, {"runs": []}).address("own"))
    expect(page.locator("#rows-help")).to_be_hidden()
    if device.script:
        scan(page, "an empty plan")
    page.locator("#add-first").click()
    item = page.locator("#day-add li", has_text="Dishwasher")
    expect(item).to_be_in_viewport()
    item.get_by_role("button").click()
    expect(page.locator(".run")).to_have_count(1)
    expect(page.locator("#add-first")).to_have_count(0)
    if device.script:
        expect(page.locator("#rows-help")).to_be_visible()
        readable(page, "the first run")


def test_limits_that_lie_over_the_day_fold_at_a_tap_elsewhere(open_page: Open, site: Site, size: Size) -> None:
    """On a desk they do; on a phone they stand in the page and stay."""
    page = open_page(*size)
    page.locator("#all-limits > summary").click()
    expect(page.locator("#all-limits tbody tr").first).to_be_visible()
    page.locator("#day-verdict").click()
    if size[0] < 900:
        page.wait_for_timeout(100)
        expect(page.locator("#all-limits tbody tr").first).to_be_visible()
    else:
        expect(page.locator("#all-limits tbody")).to_be_hidden()
