"""The day in a real browser: taps, moves, faults, a server that is away, and no script at all."""

import re
import time
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import Open, Site
from tests.browser.scanning import scan_by_screen
from tests.browser.test_readable import COLLIDING
from tests.browser.waiting import Sent

Size = tuple[int, int]
PLANS = ("ordinary", "laundry", "shed")


def tap(page: Page, selector: str) -> None:
    """A finger where there is one, else a click."""
    target = page.locator(selector)
    if page.evaluate("() => matchMedia('(pointer: coarse)').matches"):
        target.tap()
    else:
        target.click()


def test_nothing_bars_anybody(open_page: Open, site: Site, size: Size) -> None:
    """The accessibility scan finds nothing on any plan, on a phone by day or on a desk by night."""
    page = open_page(*size)
    for plan in ("laundry", "shed") if size[0] < 900 else ("ordinary", "shed"):
        page.goto(site.address(plan) + f"?run={site.run_key('evening' if plan == 'laundry' else 'film', plan)}")
        scan_by_screen(page, plan)


def test_nothing_bars_anybody_on_plain_pages(open_page: Open, size: Size) -> None:
    """The same holds for the list, the import and a message."""
    page = open_page(*size)
    for address in ("/", "/import", "/nowhere"):
        page.goto(address)
        scan_by_screen(page, address)


@pytest.mark.parametrize("widths", [(320, 390, 640, 768), (900, 1024, 1280, 1600)], ids=["touch", "desk"])
def test_nothing_sticks_out_sideways(open_page: Open, site: Site, widths: tuple[int, ...]) -> None:
    """At no width does the page scroll sideways, with a run opened and everything unfolded.

    The drawing that is looked at closer is the same for every plan, and takes longer than all else.
    """
    page = open_page(widths[0], 800)
    for plan in PLANS:
        page.goto(site.address(plan) + f"?run={site.run_key('dishes', plan)}")
        folded = "details" if plan == PLANS[0] else "details:not(#closer)"
        page.evaluate("(folded) => document.querySelectorAll(folded).forEach((one) => { one.open = true; })", folded)
        if plan == PLANS[0]:
            page.wait_for_selector("#closer[data-ready]", timeout=20_000)
        for width in widths:
            page.set_viewport_size({"width": width, "height": 800})

            assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0, (plan, width)


def test_what_is_tapped_is_large_enough(open_page: Open, site: Site) -> None:
    """On a phone every control takes at least 44 pixels both ways; a run's button by its margins."""
    page = open_page()
    page.goto(site.address() + f"?run={site.run_key('dishes')}")
    small = page.evaluate(
        """() => Array.from(document.querySelectorAll('a, button, summary, input:not([type=hidden])'))
          .filter((one) => one.checkVisibility())
          .map((one) => {
            const box = one.getBoundingClientRect();
            const around = getComputedStyle(one, '::after');
            const wide = one.closest('.run') ? Math.max(box.width, parseFloat(around.width)) : box.width;
            const high = one.closest('.run') ? Math.max(box.height, parseFloat(around.height)) : box.height;
            return [one.textContent.trim() || one.getAttribute('aria-label'), wide, high];
          })
          .filter(([, wide, high]) => wide < 43.5 || high < 43.5)"""
    )

    assert small == []


def test_a_tap_switches_a_run_off_and_everything_follows(open_page: Open, site: Site) -> None:
    """One tap: stored, and sentence, rulers, drawing and row are new, without loading the page again."""
    page = open_page()
    page.evaluate("() => { window.__same = true; }")
    run = f"#run-{site.run_key('wash-2')}"
    before = {part: page.locator(part).inner_html() for part in ("#day-verdict", "#day-limits", "#day-chart")}
    tap(page, run)
    expect(page.locator(run)).to_have_attribute("aria-pressed", "false")

    assert site.run("wash-2")["on"] is False
    assert page.evaluate("() => window.__same")
    for part, html in before.items():
        assert page.locator(part).inner_html() != html, part
    tap(page, run)
    expect(page.locator(run)).to_have_attribute("aria-pressed", "true")
    assert site.run("wash-2")["on"] is True
    expect(page.locator("#day-verdict")).to_have_text(re.sub(r"\s+", " ", _text(before["#day-verdict"])))


def _text(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", html)).strip().replace("&nbsp;", "\u00a0")


def test_quick_taps_count_each(open_page: Open, site: Site) -> None:
    """Three taps on +5 while the server is slow are fifteen minutes; three on a run leave it switched."""
    page = open_page()
    key = site.run_key("shirts")
    page.locator(f"#chip-{key}").tap()
    page.wait_for_selector(f"#adjust-{key}")

    def slowly(route: Route) -> None:
        time.sleep(0.25)
        route.continue_()

    sent = Sent(page)
    page.route("**/runs/*", slowly)
    page.evaluate("(id) => { for (let n = 0; n < 3; n += 1) document.getElementById(id).click(); }", f"later-5-{key}")
    expect(page.locator(f"#time-{key}")).to_have_value("16:15")
    assert site.run("shirts")["start"] == "16:15"
    page.evaluate("(id) => { for (let n = 0; n < 3; n += 1) document.getElementById(id).click(); }", f"run-{key}")
    expect(page.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "false")
    sent.settle()
    assert site.run("shirts")["on"] is False
    assert page.locator(f"#run-{key}").get_attribute("aria-pressed") == "false"


def test_nonsense_typed_is_kept_with_its_message(open_page: Open, site: Site) -> None:
    """25:00 stays in the field, marked and explained; a time that is one then goes through."""
    page = open_page(1280, 800)
    key = site.run_key("shirts")
    tap(page, f"#chip-{key}")
    field = page.locator(f"#time-{key}")
    field.fill("25:00")
    field.press("Enter")
    expect(page.locator(f"#fault-{key}")).to_contain_text("from 00:00 to 23:59")
    expect(field).to_have_value("25:00")
    expect(field).to_have_attribute("aria-invalid", "true")
    assert site.run("shirts")["start"] == "16:00"
    field.fill("17:30")
    tap(page, f"#set-{key}")
    expect(page.locator(f"#fault-{key}")).to_have_count(0)
    expect(field).to_have_value("17:30")
    assert site.run("shirts")["start"] == "17:30"


def test_what_is_typed_and_unfolded_survives_a_tap_on_another_run(open_page: Open, site: Site) -> None:
    """A half-typed time stands while another run is switched; tables that were opened are open, with new figures."""
    page = open_page()
    key, other = site.run_key("shirts"), site.run_key("wash-2")
    for part in ("#all-limits", "#chart-table"):
        page.locator(f"{part} > summary").tap()
    page.locator(f"#chip-{key}").tap()
    page.locator(f"#time-{key}").fill("18:4")
    page.locator(f"#run-{other}").tap()
    expect(page.locator(f"#run-{other}")).to_have_attribute("aria-pressed", "false")

    expect(page.locator(f"#time-{key}")).to_have_value("18:4")
    for part in ("#all-limits", "#chart-table"):
        expect(page.locator(part)).to_have_attribute("open", "")


def test_the_keyboard_alone_is_enough(open_page: Open, site: Site) -> None:
    """A run is switched by the keyboard; the focus stays on it and the page does not jump."""
    page = open_page(1280, 800)
    run = page.locator(f"#run-{site.run_key('shirts')}")
    run.focus()
    page.wait_for_timeout(100)
    at = page.evaluate("() => scrollY")
    page.keyboard.press("Space")
    expect(run).to_have_attribute("aria-pressed", "false")

    assert page.evaluate("() => document.activeElement.id") == f"run-{site.run_key('shirts')}"
    assert page.evaluate("() => scrollY") == at


def test_runs_stand_where_the_chart_has_them_and_no_text_on_another(open_page: Open, site: Site, size: Size) -> None:
    """Six in the evening is at the same place on the axis and on every track; no two words of any plan's collide."""
    page = open_page(*size)
    axis = page.locator("#day-chart > .axis").bounding_box()
    run = page.locator(f"#run-{site.run_key('dinner')}").bounding_box()
    track = page.locator(f"li:has(#run-{site.run_key('dinner')}) .track").bounding_box()
    assert axis
    assert run
    assert track

    assert abs(axis["x"] - track["x"]) < 0.6
    assert abs(axis["width"] - track["width"]) < 0.6
    assert abs(run["x"] - (axis["x"] + axis["width"] * 18.25 / 36)) < 1
    again = page.locator("#day-chart .hours .axis").bounding_box()
    rows = page.locator("#day-rows").bounding_box()
    assert again
    assert rows
    assert (again["x"], again["width"]) == (axis["x"], axis["width"])
    assert 0 <= rows["y"] - again["y"] - again["height"] < 12  # the hours stand right over the rows
    for plan in PLANS:
        page.goto(site.address(plan))
        assert page.evaluate(COLLIDING) == [], plan


def test_without_scripts_a_run_is_switched_moved_and_refused(open_page: Open, site: Site) -> None:
    """Plain forms do the same: the page comes back with the run switched, and opened where it was moved.

    Nonsense comes back as it was typed, the message beside it, and nothing stored; so does a file that is none.
    """
    page = open_page(script=False)
    key = site.run_key("shirts")
    page.locator(f"#run-{key}").click()
    expect(page.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "false")
    assert site.run("shirts")["on"] is False
    page.locator(f"#chip-{key}").click()
    page.locator(f"#later-15-{key}").click()
    expect(page.locator(f"#time-{key}")).to_have_value("16:15")
    assert site.run("shirts")["start"] == "16:15"
    page.locator(f"#time-{key}").fill("25:00")
    with page.expect_response(lambda answer: "/runs/" in answer.url) as answered:
        page.locator(f"#set-{key}").click()
    expect(page.locator(f"#time-{key}")).to_have_value("25:00")
    expect(page.locator(f"#fault-{key}")).to_contain_text("from 00:00 to 23:59")
    assert answered.value.status == 422
    assert site.run("shirts")["start"] == "16:15"
    page.goto("/import")
    page.locator("#text").fill('{"format": "loadstead-household", "version": 1, "colour": "red"}')
    page.locator("button").click()
    expect(page.locator("#faults")).to_contain_text("colour")
    expect(page.locator("#faults")).to_contain_text("supply")
    expect(page.locator("#text")).to_have_value(re.compile("colour"))


def test_too_large_a_file_is_answered_in_the_browser(open_page: Open, tmp_path: Path) -> None:
    """Twenty megabytes are sent, refused with their size beside the field, and the line is not cut."""
    (tmp_path / "large.json").write_bytes(b" " * 20_000_000)
    page = open_page()
    page.goto("/import")
    page.locator("#file").set_input_files(tmp_path / "large.json")
    page.locator("button").click()

    expect(page.locator("#faults")).to_contain_text("20 MB")
