"""A workshop in a hand: picked, wired, looked at, made; with the script and by buttons alone."""

from playwright.sync_api import expect

from tests.browser.conftest import Device, Open, Site
from tests.browser.scanning import scan_by_screen
from tests.browser.test_readable import readable


def test_a_saw_is_wired_and_becomes_a_what_if(open_page: Open, site: Site, device: Device) -> None:
    """What would come of it follows each choice; nonsense is said beside its field and stays; made, it is a plan."""
    page = open_page(device.width, device.height, script=device.script)
    address = f"{site.address('ordinary')}/workshop?machine=band-saw"
    assert page.request.get(address, timeout=60_000).ok
    page.goto(address)

    def show() -> None:
        if device.script:
            page.locator("#choices [name=conductor_mm2]").press("Tab")
        else:
            page.locator("#work-out").click()

    expect(page.locator("#look")).to_contain_text("What decides")
    expect(page.locator("table.deciders tr:visible").first).to_be_visible()
    page.locator("#choices [name=cable_m]").fill("45")
    if device.script:
        page.locator("#choices [name=cable_m]").press("Tab")
    page.locator("#choices [name=conductor_mm2]").fill("thick")
    show()
    expect(page.locator("p.fault:visible").first).to_contain_text("thick", timeout=20_000)
    expect(page.locator("#choices [name=conductor_mm2]")).to_have_value("thick")
    page.locator("#choices [name=conductor_mm2]").fill("2.5")
    show()
    expect(page.locator("p.fault:visible")).to_have_count(0, timeout=20_000)
    expect(page.locator("#sizes tr")).to_have_count(6)
    readable(page, "a workshop")
    if device.script:
        scan_by_screen(page, "a workshop")
    page.locator("#make-it").click()
    expect(page.locator("#day-head")).to_contain_text("An ordinary day with a workshop", timeout=20_000)
