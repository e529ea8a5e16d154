"""A new household in a real browser: from nothing to a first verdict, with and without scripts; what is known of it."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Device, Open
from tests.browser.scanning import scan
from tests.browser.test_plans import Size, press

IN_OSLO = """const own = Intl.DateTimeFormat.prototype.resolvedOptions;
Intl.DateTimeFormat.prototype.resolvedOptions = function () {
  return { ...own.call(this), timeZone: "Europe/Oslo" };
};"""
FIGURES = {"rated_va": "3 kVA", "modules": "2", "module_ah": "100", "module_v": "51,2"}


def test_from_nothing_to_a_first_verdict(open_page: Open, device: Device) -> None:
    """A name, four figures, one more tick: some twenty touches, and what is wrong on the way is said beside it."""
    page = open_page(device.width, device.height, script=device.script)
    page.add_init_script(IN_OSLO)
    page.goto("/")
    press(page.locator("#begin > summary"))
    zone = page.locator("#new-timezone")
    if device.script:
        expect(page.locator("#zone-said")).to_have_text(": Europe/Oslo, by this browser\u2019s clock")
        expect(zone).to_have_value("Europe/Oslo")
        expect(zone).to_be_hidden()
    else:  # nobody asks the browser: what is taken stands in sight, and whose it is
        expect(zone).to_have_value("Europe/Dublin")
        expect(page.locator("#help-new-timezone")).to_contain_text("that of Saltmarsh Ferry House")
    page.fill("#new-name", "Reedbank Cabin")
    press(page.get_by_role("button", name="Begin it"))
    expect(page.locator("#begin-rated_va")).to_be_visible()
    for name in FIGURES:
        expect(page.locator(f"#begin-{name}")).to_have_attribute("placeholder", "needed")
    expect(page.get_by_placeholder("needed")).to_have_count(len(FIGURES))
    if device.script:
        scan(page)
    saw = page.locator("li", has=page.locator("#tick-table-saw"))
    page.select_option("#begin-mains", "120/240")
    expect(saw.get_by_text("14.2 kVA")).to_be_visible()
    expect(saw.get_by_text("9.2 kVA")).to_be_hidden()
    expect(page.locator("#tick-dryer-heat-pump")).to_be_visible()
    page.select_option("#begin-mains", "120")
    expect(page.locator("#tick-dryer-heat-pump")).to_be_hidden()
    page.select_option("#begin-mains", "230")
    expect(saw.get_by_text("14.2 kVA")).to_be_hidden()
    expect(saw.get_by_text("9.2 kVA")).to_be_visible()
    for name, typed in FIGURES.items():
        page.fill(f"#begin-{name}", typed)
    page.fill("#begin-modules", "two")
    page.check("#tick-washing-machine-40")
    press(page.locator("#see"))
    expect(page.locator("#fault-begin-modules")).to_contain_text("whole number")
    expect(page.locator("#begin-modules")).to_have_value("two")
    expect(page.locator("#tick-washing-machine-40")).to_be_checked()
    if device.script:
        scan(page)

    page.fill("#begin-modules", "2")
    press(page.locator("#see"))
    expect(page.locator("#day-verdict")).to_contain_text("Washing machine")
    expect(page.locator("#day-rows")).to_contain_text("Lights")
    press(page.get_by_role("link", name="Household", exact=True))
    expect(page.locator("#site-timezone")).to_have_value("Europe/Oslo" if device.script else "Europe/Dublin")


def test_what_is_taken_for_granted_is_tried_on_demand(open_page: Open, site_address: str, size: Size) -> None:
    """The checklist's link has it tried, and says what the plan would be."""
    page = open_page(*size, dark=size[0] > 900)
    page.goto(f"{site_address}/supply")
    press(page.locator("#checklist a"))
    expect(page.locator("#checklist")).to_contain_text("Could cut out")

    scan(page)
    page.goto(f"{site_address}/household")
    scan(page)
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0


@pytest.fixture
def site_address(site):  # type: ignore[no-untyped-def]
    """The laundry plan's address."""
    return site.address()
