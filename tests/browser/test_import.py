"""A household file in the place of a household, in a real browser: a good one, a bad one, with and without scripts."""

import json
import re
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect

from app.household.demo import demo_text
from app.store.households import export_document
from tests.browser.conftest import Device, Open, Site
from tests.browser.scanning import scan
from tests.browser.test_plans import press


def file_of(folder: Path, **supply: Any) -> Path:
    """The demo household's file with pieces of its supply and its name changed."""
    document = json.loads(demo_text()) | {"name": "A name without any space: " + "verylongword" * 8}
    document["supply"] |= supply
    path = folder / "home.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


def bring(page: Page, path: Path) -> None:
    """From the list of households to the preview."""
    page.goto("/")
    press(page.get_by_role("link", name="Bring in a household file"))
    press(page.get_by_role("link", name="Into Saltmarsh Ferry House"))
    page.locator("#file").set_input_files(path)
    press(page.get_by_role("button", name="Show what would change"))


def name(site: Site) -> str:
    """The household's name as it is stored."""
    with site.database.session() as session:
        return str(export_document(session, site.key)["name"])


def test_a_file_is_looked_at_done_and_taken_back(open_page: Open, site: Site, device: Device, tmp_path: Path) -> None:
    """The preview says what would change and stores nothing; what was done is undone on the plan's page."""
    page = open_page(device.width, device.height, script=device.script)
    generator = {"rated_w": 3000, "start_below": 0.3, "stop_above": 0.6}
    bring(page, file_of(tmp_path, generator=generator))
    expect(page.locator("#changed-supply")).to_contain_text("Generator")
    assert name(site) == "Saltmarsh Ferry House"
    if device.script:
        scan(page)
        assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0

    press(page.locator("#do-it"))
    expect(page.locator("#undo")).to_contain_text("Household as before the file")
    assert name(site).startswith("A name without")
    press(page.locator("#undo"))
    expect(page.locator("#redo")).to_contain_text("Household file brought in")
    assert name(site) == "Saltmarsh Ferry House"


def test_a_bad_file_says_every_fault(open_page: Open, site: Site, tmp_path: Path) -> None:
    """Each on its line beside the text, which is still there; nothing is stored."""
    page = open_page()
    bring(page, file_of(tmp_path, colour="red", generator={"rated_w": -1}))
    faults = page.locator("#faults")
    expect(faults).to_contain_text("supply.colour")
    expect(faults).to_contain_text("supply.generator.rated_w")
    expect(faults).to_contain_text("supply.generator.start_below")
    expect(page.locator("#text")).to_have_value(re.compile("verylongword"))
    scan(page)

    assert name(site) == "Saltmarsh Ferry House"


def test_what_happened_meanwhile_is_told_in_place(open_page: Open, site: Site, tmp_path: Path) -> None:
    """Another phone switched a run off; the preview says so and can be done then."""
    page, other = open_page(320, 700, dark=True), open_page(1280, 800)
    bring(page, file_of(tmp_path))
    other.locator(f"#run-{site.run_key('wash-2')}").click()
    expect(other.locator("#undo")).to_be_visible()
    press(page.locator("#do-it"))
    expect(page.locator("#faults")).to_contain_text("switched off")
    scan(page)
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0

    press(page.locator("#do-it"))
    expect(page.locator("#undo")).to_contain_text("Household as before the file")
