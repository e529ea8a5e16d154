"""Sun and bank on the day page: they come by themselves, on the axis to the pixel, on a phone and on a desk."""

import json
import threading
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from app.engine import sun
from app.engine.assess import assess
from app.household.demo import demo_text
from app.household.file import read_household
from app.household.resolve import Resolved
from app.store.households import import_household
from tests.browser.conftest import Open, Site
from tests.browser.scanning import scan
from tests.browser.test_readable import LARGE, readable
from tests.browser.waiting import search_nothing

# Left and right ends, and midnight's line, of every drawing on the day's axis.
ENDS = """() => {
  const plots = Array.from(document.querySelectorAll('#day-chart svg.plot'));
  return plots.filter((one) => !one.closest('.close, .keys')).map((one) => {
    const { left, right } = one.getBoundingClientRect();
    const midnight = one.querySelector('.midnight, .midnight-hour')?.getBoundingClientRect();
    return [left, right, midnight ? (midnight.left + midnight.right) / 2 : null];
  });
}"""
GENERATOR = {"rated_w": 5000, "charger_w": 2000, "start_below": 0.3, "stop_above": 0.6}


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """A server that has only begun; the sun is worked out while the gate is open."""
    assess(read_household(demo_text()))  # loads what it takes, which may be longer than a test waits
    gate, work_out = threading.Event(), sun.suns_of
    gate.set()

    def suns_of(resolved: Resolved) -> sun.Suns:
        assert gate.wait(10)
        return work_out(resolved)

    monkeypatch.setattr(sun, "is_at_hand", lambda: False)
    monkeypatch.setattr(sun, "_SUNS", type(sun._SUNS)())
    monkeypatch.setattr(sun, "suns_of", suns_of)
    return gate


def winter(site: Site) -> Site:
    """A house with a small bank and a generator on a cold and dull day: everything there is to say at once."""
    document: dict[str, Any] = json.loads(demo_text()) | {"name": "Winter"}
    document["supply"]["battery"]["modules"] = 2
    document["supply"]["generator"] = GENERATOR
    day = {"date": "2026-02-12", "cloud_oktas": 4, "start_state_of_charge": 0.35, "ambient_c": [[5, -20], [14, -2]]}
    document["scenarios"][0] |= day
    with site.database.session() as session:
        key = import_household(session, document, None)
        session.commit()
    return Site(site.url, site.database, key, site.token)


def on_the_axis(page: Page) -> None:
    """Everything begins, has its midnight and ends where the hours do."""
    ends = page.evaluate(ENDS)
    axis = ends[-1]
    assert len(ends) >= 5
    for left, right, midnight in ends:
        assert abs(left - axis[0]) <= 1
        assert abs(right - axis[1]) <= 1
        assert midnight is None or abs(midnight - axis[2]) <= 1.5


def test_sun_and_bank_come_by_themselves(
    open_page: Open, site: Site, size: tuple[int, int], gate: threading.Event
) -> None:
    """Also under a row that is opened meanwhile, which stays open; on the axis, readable, and nobody is barred."""
    page = open_page(*size, dark=size[0] < 900)
    search_nothing(page)
    expect(page.locator("#energy svg.charge")).to_be_visible()
    gate.clear()
    with page.expect_request(lambda request: "part=sun" in request.url):
        page.goto(site.address("shed"))
    expect(page.locator(".working")).to_be_visible()
    key = site.run_key("film", "shed")
    page.locator(f"#chip-{key}").click()
    expect(page.locator(f"#adjust-{key}")).to_be_visible()
    gate.set()
    expect(page.locator("#energy svg.charge")).to_be_visible()
    expect(page.locator("#energy svg.sun")).to_be_visible()
    expect(page.locator(f"#adjust-{key}")).to_be_visible()
    expect(page.locator(".working")).to_have_count(0)
    on_the_axis(page)
    readable(page, "a day")
    page.locator("#energy-table > summary").click()
    expect(page.locator("#energy-table tbody tr")).to_have_count(36)
    expect(page.locator("#day-moment")).to_contain_text("Bank ")
    readable(page, "its table")
    scan(page, "sun and bank, and their table")
    box = page.locator("#energy svg.charge").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 3, box["y"] + box["height"] / 2)
    expect(page.locator("#moment-title")).to_contain_text("On at 1")
    page.goto(winter(site).address("ordinary"))
    expect(page.locator("#energy svg.charge .generator")).to_have_count(1)
    for said in ("Too cold to charge until", "The generator runs"):
        expect(page.locator("#energy")).to_contain_text(said)
    on_the_axis(page)
    readable(page, "a winter's day")
    page.add_init_script(LARGE)
    page.reload()
    readable(page, "a winter's day, large")
    page.set_viewport_size({"width": 320, "height": 600})
    readable(page, "a winter's day, large and narrow")


def test_without_scripts_a_link_waits_for_them(open_page: Open, gate: threading.Event) -> None:
    """The page is there at once without them."""
    page = open_page(script=False)
    page.locator("#energy a").click()
    expect(page.locator("#energy svg.charge")).to_be_visible()
    expect(page.locator("#energy svg.sun")).to_be_visible()
