"""A year of sun in a real browser: brought in, a day chosen and taken, seen on the plan, and taken back."""

from pathlib import Path

from playwright.sync_api import expect

from tests.browser.conftest import Device, Open, Site
from tests.browser.scanning import scan
from tests.browser.test_plans import press
from tests.weather_files import typical_year


def test_a_day_out_of_a_typical_year(open_page: Open, site: Site, device: Device, tmp_path: Path) -> None:
    """A bad file first, its line named; then a good one, another day of it, the plan with it, and the way back."""
    good, bad = tmp_path / "quay.epw", tmp_path / "bad.epw"
    good.write_text(typical_year())
    bad.write_text(typical_year().replace("1999,1,2,5,", "1999,1,2,25,", 1))
    page = open_page(device.width, device.height, script=device.script)

    def looked_at() -> None:
        if device.script:
            scan(page)
            assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0

    press(page.locator("#plan-sheet > summary"))
    press(page.locator("#choose-measured_day"))
    expect(page.locator("#no-records")).to_be_visible()
    page.locator("#file").set_input_files(bad)
    press(page.locator("#send-file"))
    expect(page.locator("#fault-file")).to_contain_text("line 37: the hour must be from 1 to 24")
    looked_at()
    page.locator("#file").set_input_files(good)
    press(page.locator("#send-file"))
    expect(page.locator("#understood")).to_contain_text("365 days, months out of the years 1997 to 2003")
    page.locator("#day").fill("3")
    page.locator("#month").select_option("6")
    press(page.locator("#show-day"))
    expect(page.locator("#shown-day figcaption")).to_contain_text("3 Jun 1997")
    looked_at()
    press(page.locator("#take-day"))
    expect(page.locator("#taken-measured_day")).to_contain_text("Test Quay, CO, IRL, 3 Jun 1997")
    expect(page.locator("#help-cloud_oktas")).to_contain_text("the sun is that of the measured day")
    looked_at()
    press(page.locator("#undo"))
    expect(page.locator("#taken-measured_day")).to_contain_text("none taken")
    expect(page.locator("#redo")).to_contain_text("Sun set to that of Test Quay")
