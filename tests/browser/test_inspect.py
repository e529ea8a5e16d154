"""Looking at any instant, and closer: with a finger, a mouse, the keyboard, and the charting library."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Open, Site
from tests.browser.fingers import Finger
from tests.browser.test_readable import COLLIDING, LARGE, SIDEWAYS

HOUR_MS = 3_600_000
STEP_MS = "() => ((at) => at[1] - at[0])(document.getElementById('closer-plot').layout.xaxis.tickvals)"
OUTSIDE = """() => Array.from(document.querySelectorAll('.closer-plot text'))
  .filter((one) => one.getBoundingClientRect().right > innerWidth).map((one) => one.textContent)"""
SHOWN = "((range) => range[1] - range[0])(document.getElementById('closer-plot').layout.xaxis.range)"


def at(page: Page) -> int:
    return int(page.get_attribute("#day-moment", "data-at") or "-1")


def line_ms(page: Page) -> float:
    """The instant at which the line stands."""
    line, box = page.locator("#cursor").bounding_box(), drawn(page)
    assert line is not None
    return (line["x"] - box["x"]) / box["width"] * 36 * HOUR_MS


def drawn(page: Page) -> dict[str, float]:
    """Where the demand chart stands in the window."""
    page.locator("#day-chart svg.demand").scroll_into_view_if_needed()
    box = page.locator("#day-chart svg.demand").bounding_box()
    assert box is not None
    return dict(box)


def test_a_tap_on_the_chart_shows_that_instant_and_steps_go_on(open_page: Open, size: tuple[int, int]) -> None:
    """The line stands where the finger was, and the panel says what is on then.

    From there the buttons go from change to change, the arrow keys as well, and the line goes with them.
    """
    page = open_page(*size)
    box = drawn(page)
    x, y = box["x"] + box["width"] * 11 / 36, box["y"] + box["height"] / 2
    if size[0] < 900:
        finger = Finger(page)
        finger.down(x, y)
        finger.up()
    else:
        page.mouse.click(x, y)
    page.wait_for_selector("#day-moment[data-chosen='1']")

    assert abs(at(page) - 11 * HOUR_MS) < HOUR_MS / 4
    expect(page.locator("#cursor")).to_be_visible()
    line = page.locator("#cursor").bounding_box()
    assert line is not None
    assert abs(line["x"] - x) < 3
    expect(page.locator("#moment-title")).to_contain_text("On at")
    # Where one is may lie between two changes, so a step there and back begins at the first of them.
    for _ in range(2):
        first = at(page)
        page.locator("#later-change").click()
        page.wait_for_function("(from) => Number(document.getElementById('day-moment').dataset.at) > from", arg=first)
    second = at(page)
    page.locator("#later-change").focus()
    page.keyboard.press("ArrowLeft")
    page.wait_for_function("(to) => Number(document.getElementById('day-moment').dataset.at) < to", arg=second)

    assert at(page) == first
    expect(page.locator("#cursor")).to_be_visible()


def test_parts_of_a_second_stay_in_their_button(open_page: Open, site: Site, size: tuple[int, int]) -> None:
    """A start may end within the second: the step there is told with its parts, none of them outside its button."""
    page = open_page(*size)
    page.goto(f"{site.address('shed')}?clock=15:00")
    step = page.locator("#later-change")
    for told in ("08:00:00.375", "Wed 08:00:00.375", "Wed 08:00:00.375 (second)"):
        step.evaluate("(one, told) => { one.lastChild.data = told; }", told)
        assert step.evaluate("(one) => one.scrollWidth <= one.clientWidth"), told


def test_the_line_follows_a_finger_along_and_the_page_one_upwards(open_page: Open) -> None:
    """While the finger slides the line goes with it, and the panel ends at the last place.

    Moving up along the chart scrolls; the chart is no trap.
    """
    page = open_page()
    box = drawn(page)
    y = box["y"] + box["height"] / 2
    finger = Finger(page)
    finger.down(box["x"] + box["width"] * 0.2, y)
    finger.move(box["width"] * 0.3)
    finger.up()
    page.wait_for_function(
        "(from) => Number(document.getElementById('day-moment').dataset.at) > from", arg=0.46 * 36 * HOUR_MS
    )

    assert at(page) < 0.54 * 36 * HOUR_MS
    box = drawn(page)
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    before = page.evaluate("() => scrollY")
    finger = Finger(page)
    finger.down(x, y)
    finger.move(0, -180)
    finger.up()
    page.wait_for_function("(before) => scrollY - before > 100", arg=before)


def test_a_time_can_be_typed_and_stays(open_page: Open, site: Site) -> None:
    """A time typed shows that instant; what is none says what would be right, and stays, as does the instant.

    Switching a run off while looking at its time shows what is left then, and leaves a time that is half typed.
    """
    page = open_page()
    page.fill("#moment-clock", "soon")
    page.keyboard.press("Enter")
    expect(page.locator("#moment-fault")).to_contain_text("15:04")
    expect(page.locator("#moment-clock")).to_have_value("soon")
    page.fill("#moment-clock", "11:00")
    page.keyboard.press("Enter")
    expect(page.locator("#moment-title")).to_contain_text("On at 11:00")
    page.fill("#moment-clock", "10:00")
    page.keyboard.press("Enter")
    expect(page.locator("#moment-title")).to_contain_text("On at 10:00")
    page.fill("#moment-clock", "1000h")
    page.keyboard.press("Enter")
    expect(page.locator("#moment-fault")).to_contain_text("+11:59")
    expect(page.locator("#moment-title")).to_contain_text("On at 10:00")
    page.fill("#moment-clock", "14:1")
    expect(page.locator("#day-moment")).to_contain_text("Washing machine")
    page.locator(f"#run-{site.run_key('wash-1')}").click()
    expect(page.locator("#day-moment")).not_to_contain_text("Washing machine")
    expect(page.locator("#moment-title")).to_contain_text("On at 10:00")
    expect(page.locator("#moment-clock")).to_have_value("14:1")


def test_line_and_panel_agree_after_an_outage(open_page: Open) -> None:
    """A look that is not answered leaves both where they were; the next that is answered takes both along."""
    page = open_page(1280, 800)
    box = drawn(page)
    y = box["y"] + box["height"] / 2
    page.mouse.click(box["x"] + box["width"] * 0.3, y)
    page.wait_for_selector("#day-moment[data-chosen='1']")
    first = at(page)
    page.context.set_offline(True)
    page.mouse.click(box["x"] + box["width"] * 0.5, y)
    expect(page.locator("#net")).to_contain_text("What you see may be old")
    assert (at(page), line_ms(page)) == (first, pytest.approx(first, abs=HOUR_MS / 10))
    page.context.set_offline(False)
    expect(page.locator("#net")).to_be_hidden()
    assert (at(page), line_ms(page)) == (first, pytest.approx(first, abs=HOUR_MS / 10))
    box = drawn(page)
    page.mouse.click(box["x"] + box["width"] * 0.5, box["y"] + box["height"] / 2)
    page.wait_for_function("(from) => Number(document.getElementById('day-moment').dataset.at) > from", arg=first)

    assert line_ms(page) == pytest.approx(at(page), abs=HOUR_MS / 10)


def test_without_scripts_the_steps_are_links(open_page: Open) -> None:
    """The change after, a typed time and every limit then work as plain pages."""
    page = open_page(script=False)
    first = at(page)
    page.locator("#later-change").click()
    expect(page.locator("#day-moment")).not_to_have_attribute("data-at", str(first))
    assert at(page) > first
    page.fill("#moment-clock", "11:00")
    page.keyboard.press("Enter")
    expect(page.locator("#moment-title")).to_contain_text("On at 11:00")
    page.locator("#moment-limits summary").click()
    page.locator("#moment-limits a.unfold").click()
    expect(page.locator("#moment-limits tbody tr").first).to_be_visible()


@pytest.mark.parametrize(
    ("size", "large"), [((390, 844), False), ((1280, 800), True)], ids=["phone", "desk, letters twice as large"]
)
def test_looking_closer_draws_the_day_to_be_zoomed(
    open_page: Open, site: Site, size: tuple[int, int], large: bool
) -> None:
    """The library comes only when asked for. Each limit has a row with its name, and nothing lies on another.

    Closer the hours stand nearer to one another, as many as have room, around what decides; no name is cut. A finger
    that goes up along the drawing scrolls the page.
    """
    page = open_page(*size)
    if large:
        page.add_init_script(LARGE)
        page.goto(site.address())
    assert page.evaluate("() => typeof Plotly") == "undefined"
    page.locator("#closer summary").click()
    page.wait_for_selector("#closer[data-ready]", timeout=20_000)
    names = page.locator(".closer-plot .annotation-text").all_text_contents()
    assert len(names) == int(re.findall(r"\d+", page.locator("#all-limits > summary").inner_text())[0])
    if not large:  # large ones take several lines
        assert all(re.search(r": \d+\s%$", name) for name in names)
    assert page.evaluate(COLLIDING) == []
    assert page.evaluate(SIDEWAYS) <= 0
    hours = page.evaluate(STEP_MS)
    whole = page.evaluate("() => document.getElementById('closer-plot').layout.xaxis.range")
    page.locator("[data-zoom='0.5']").click()
    page.wait_for_function(f"(width) => {SHOWN} < width", arg=0.6 * (whole[1] - whole[0]))
    for _ in range(3):
        page.locator("[data-zoom='0.5']").click()
    page.wait_for_function(f"(wide) => {SHOWN} < wide", arg=3 * HOUR_MS)
    from_ms, to_ms = page.evaluate("() => document.getElementById('closer-plot').layout.xaxis.range")

    assert page.evaluate(STEP_MS) < hours
    assert from_ms < at(page) < to_ms
    page.wait_for_function("() => document.querySelectorAll('.closer-plot .x2tick text').length > 1")
    assert page.evaluate(COLLIDING) == []
    assert page.evaluate(OUTSIDE) == []
    page.locator("[data-shift='1']").click()
    page.wait_for_function(
        "(to) => document.getElementById('closer-plot').layout.xaxis.range[0] === to", arg=(from_ms + to_ms) / 2
    )
    assert page.evaluate(COLLIDING) == []
    page.locator("[data-zoom='99']").click()
    page.wait_for_function(f"(step) => {STEP_MS[6:]} === step", arg=hours)
    page.wait_for_function(f"(width) => {SHOWN} >= width", arg=whole[1] - whole[0])
    if size[0] < 900:
        page.locator("#closer-plot").scroll_into_view_if_needed()
        box = page.locator("#closer-plot").bounding_box()
        assert box is not None
        x, y = box["x"] + box["width"] / 2, min(box["y"] + box["height"] / 2, 700)
        before = page.evaluate("() => scrollY")
        finger = Finger(page)
        finger.down(x, y)
        finger.move(0, -180)
        finger.up()
        page.wait_for_function("(before) => scrollY - before > 100", arg=before)
