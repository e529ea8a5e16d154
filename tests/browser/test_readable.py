"""Whether the day can be read: large text, narrow and flat screens, full days, paper."""

import json
import re
from itertools import count
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from app.household.demo import demo_text
from app.store.households import import_household
from tests.browser.conftest import Open, Site
from tests.browser.scanning import scan
from tests.browser.waiting import search_nothing

PLANS = ("ordinary", "laundry", "shed")
# Texts that are wider than what holds them, and controls that reach out of the window. A name may be longer than its
# field, in which it scrolls.
CUT = """() => Array.from(document.querySelectorAll('main *')).filter((one) => {
  if (!one.checkVisibility() || one.closest('svg, .scroll, .unseen, .track, .rulers .ruler, .lane')) return false;
  if (one.getBoundingClientRect().right > document.documentElement.clientWidth + 1) return true;
  const holds = one.matches('input:not([id^=name-], #plan-name), button, summary');
  if (!holds && (one.children.length || !one.textContent.trim())) return false;
  return getComputedStyle(one).display !== 'inline' && one.scrollWidth > one.clientWidth + 1;
}).map((one) => `${one.tagName} ${one.id || one.className}: ${one.value || one.textContent.trim()}`)"""
COLLIDING = """() => Array.from(document.querySelectorAll('svg.plot, .closer-plot')).flatMap((plot) => {
  const texts = Array.from(plot.querySelectorAll('text')).filter((one) => one.checkVisibility() && one.textContent);
  const boxes = texts.map((one) => one.getBoundingClientRect());
  return texts.flatMap((one, i) => texts.slice(i + 1).filter((_, k) => {
    const a = boxes[i], b = boxes[i + 1 + k];
    return a.left < b.right && b.left < a.right && a.top + 2 < b.bottom && b.top + 2 < a.bottom;
  }).map((other) => [one.textContent, other.textContent]));
})"""
# Texts in so narrow a place that there is a letter or two to a line.
TOWERS = """() => Array.from(document.querySelectorAll('main *')).flatMap((one) => {
  if (!one.checkVisibility() || one.closest('svg, .unseen, .row')) return [];
  const narrow = 1.6 * parseFloat(getComputedStyle(one).fontSize);
  return Array.from(one.childNodes).filter((text) => {
    if (text.nodeType !== Node.TEXT_NODE || text.length < 4) return false;
    const lines = document.createRange();
    lines.selectNodeContents(text);
    return Array.from(lines.getClientRects()).filter((line) => line.width > 1 && line.width < narrow).length > 3;
  }).map((text) => text.data);
})"""
# Not innerWidth: a phone's browser that shows a wide page smaller has more of it in its window.
SIDEWAYS = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
# From the first moment, as a browser's own setting is.
LARGE = """new MutationObserver((_, watch) => {
  document.documentElement.style.fontSize = '32px';
  watch.disconnect();
}).observe(document, { childList: true });"""
LARGER = "() => { document.documentElement.style.fontSize = '32px'; }"
HEAD_CUT = """() => Array.from(document.querySelectorAll('.heads h2 span'))
  .some((one) => getComputedStyle(one).display !== 'inline' && one.scrollHeight > one.offsetHeight + 1)"""
AXIS_TEXT_PX = "() => parseFloat(getComputedStyle(document.querySelector('#day-chart > svg.axis text')).fontSize)"
RUNS, MACHINES = 40, 15


def readable(page: Page, what: object) -> None:
    """Nothing scrolls sideways, is cut, stands letter under letter, or lies on something else."""
    assert page.evaluate(SIDEWAYS) <= 0, what
    assert page.evaluate(CUT) == [], what
    assert page.evaluate(TOWERS) == [], what
    assert page.evaluate(COLLIDING) == [], what


def put_in(site: Site, scenario: dict[str, Any], machines: int = 0) -> Site:
    """The demo's house with one plan of its own, and so many machines more."""
    document = json.loads(demo_text())
    for number in range(machines):
        stages = [
            {"name": "working", "duration_s": 900 + 300 * number, "watts": 60 + 20 * number, "power_factor": 0.9},
            {"name": "resting", "duration_s": 600, "watts": 15},
        ]
        document["appliances"].append({"id": f"machine-{number}", "name": f"Machine {number + 1}", "stages": stages})
    document["name"] = "Another house"
    document["scenarios"] = [{"id": "own", "name": "A day of its own", "date": "2026-05-12", **scenario}]
    with site.database.session() as session:
        key = import_household(session, document, None)
        session.commit()
    return Site(site.url, site.database, key, site.token)


def long_named(site: Site) -> Site:
    """The demo's house with names as long as they may be, every second one a single word."""
    turn = count()

    def longer(one: Any) -> Any:
        if isinstance(one, list):
            return [longer(part) for part in one]
        if not isinstance(one, dict):
            return one
        long = {key: longer(value) for key, value in one.items()}
        if "name" in long:
            name = f"{long['name']} in the old boat house behind the tidal mill by the long quay"
            long["name"] = (name.replace(" ", "").lower() if next(turn) % 2 else name)[:60]
        return long

    with site.database.session() as session:
        key = import_household(session, longer(json.loads(demo_text())), None)
        session.commit()
    return Site(site.url, site.database, key, site.token)


def busy(site: Site) -> Site:
    """A day of forty runs of fifteen machines, some of them minutes apart."""
    runs = []
    for number in range(RUNS):
        machine, turn = number % MACHINES, number // MACHINES
        start_min = 360 + 35 * machine + turn * (30 + 5 * machine)
        clock = f"{start_min // 60:02d}:{start_min % 60:02d}"
        runs.append({"id": f"r{number}", "appliance": f"machine-{machine}", "start": clock})
    return put_in(site, {"runs": runs}, MACHINES)


@pytest.mark.parametrize("width", [390, 1280])
def test_text_twice_as_large_is_laid_out_anew(open_page: Open, site: Site, width: int) -> None:
    """With the browser's text at 200 %, every text is that large, and none is cut, on another, or out of the window."""
    page = open_page(width, 844)
    usual = page.evaluate(AXIS_TEXT_PX)
    page.add_init_script(LARGE)
    for plan, run in (("ordinary", "film"), ("laundry", "evening"), ("shed", "film")):
        page.goto(site.address(plan) + f"?run={site.run_key(run, plan)}")
        page.locator("#plan-sheet > summary").click()
        readable(page, plan)
    assert page.evaluate(AXIS_TEXT_PX) == pytest.approx(2 * usual, rel=0.001)
    # By a key: rows are laid out as they come into the window, and on a slow machine that moves what is pressed.
    page.locator("#day-add > summary").press("Enter")
    expect(page.locator("#day-add li").first).to_be_visible(timeout=30_000)
    page.locator("#plans > summary").click()
    readable(page, "everything that can be added, and the plans")


@pytest.mark.parametrize("screen", ["growth", "side-by-side", "workshop", "add"])
def test_long_names_and_large_text_are_laid_out_on_every_screen(open_page: Open, site: Site, screen: str) -> None:
    """On phones at 100 % and 200 %, and at 100 % on a desk, with the demo's names and with names of sixty letters."""
    page = open_page(390, 844)
    for named, where in (("usual names", site), ("long names", long_named(site))):
        plan = where.address("shed")
        address = {
            "growth": f"{plan}/growth",
            "side-by-side": f"{where.address('ordinary')}/side-by-side?with={plan.rpartition('/')[2]}",
            "workshop": f"{plan}/workshop?machine=table-saw&machine=heat-gun&circuit=shed&cable_m=40&conductor_mm2=2.5",
            "add": plan,
        }[screen]
        assert page.request.get(address, timeout=60_000).ok  # the sun is a second's work in a new process
        search_nothing(page)
        page.goto(address)
        if screen == "add":
            page.locator("#day-add > summary").click()
            expect(page.locator("#day-add li").first).to_be_visible()
        for text, widths in (("usual text", (320, 390, 1280)), ("large text", (390, 320))):
            if text == "large text":
                page.evaluate(LARGER)
            for width in widths:
                page.set_viewport_size({"width": width, "height": 844})
                readable(page, (screen, named, text, width))
        if screen == "side-by-side":
            assert not page.evaluate(HEAD_CUT)  # plans are told apart by their names


@pytest.mark.parametrize("windows", [((320, 600), (360, 740), (844, 390)), ((1024, 768),)], ids=["touch", "desk"])
def test_small_and_flat_screens_cut_nothing(open_page: Open, site: Site, windows: tuple[tuple[int, int], ...]) -> None:
    """On the narrowest phone, a phone on its side and a tablet every text is whole and clear of others.

    On its side the phone has limits and instant beside each other.
    """
    page = open_page(*windows[0])
    for plan, run in (("ordinary", "film"), ("laundry", "evening"), ("shed", "film")):
        page.goto(site.address(plan) + f"?run={site.run_key(run, plan)}")
        for width, height in windows:
            page.set_viewport_size({"width": width, "height": height})
            readable(page, (plan, width))
    if (844, 390) in windows:  # a phone on its side: what is low is used in its width
        limits, instant = (page.locator(part).bounding_box() for part in ("#day-limits", "#day-moment"))
        assert limits is not None
        assert instant is not None
        assert instant["x"] > limits["x"] + limits["width"]
        assert abs(instant["y"] - limits["y"]) < 20


def test_a_full_day_stays_readable(open_page: Open, site: Site, size: tuple[int, int]) -> None:
    """Fifteen machines with forty runs: no label on another, a finger's room for each run, nobody barred."""
    page = open_page(*size)
    full = busy(site)
    page.goto(full.address("own"))
    readable(page, "a full day")
    scan(page, "forty runs")
    assert page.locator(".run").count() == RUNS
    missed = page.evaluate(
        """async () => { const missed = []; for (const run of document.querySelectorAll('.run')) {
          scrollTo(0, run.getBoundingClientRect().top + scrollY - 400);
          while (!run.checkVisibility({ contentVisibilityAuto: true })) await new Promise(requestAnimationFrame);
          const { left, right, top, bottom } = run.getBoundingClientRect();
          const hits = (x, y) => {
            const there = document.elementFromPoint(x, y);
            return there && there.closest('.run') === run;
          };
          const x = (left + right) / 2, y = (top + bottom) / 2;
          let from = x, to = x;
          while (hits(from - 1, y)) from -= 1;
          while (hits(to + 1, y)) to += 1;
          if (to - from + 1 < 43.5 || !hits(x, y - 20) || !hits(x, y + 20)) missed.push([run.ariaLabel, from, to]);
        } return missed; }"""
    )
    assert missed == []
    for number in (0, 17, 39):
        run = page.locator(f"#run-{full.run_key(f'r{number}', 'own')}")
        run.tap() if size[0] < 900 else run.click()
        expect(run).to_have_attribute("aria-pressed", "false")
    off = {one["id"] for one in full.runs("own") if one.get("on") is False}
    assert off == {"r0", "r17", "r39"}


def test_the_closer_drawing_follows_the_size_of_text(open_page: Open, site: Site) -> None:
    """At 200 % its letters are twice as large on a phone, names take several lines, and still nothing collides."""
    page = open_page(390, 844)
    page.add_init_script(LARGE)
    page.goto(site.address("shed"))
    page.locator("#closer summary").click()
    page.wait_for_selector("#closer[data-ready]", timeout=20_000)
    sizes = page.evaluate(
        """() => Array.from(document.querySelectorAll('.closer-plot text'),
          (one) => parseFloat(getComputedStyle(one).fontSize))"""
    )

    assert page.locator(".closer-plot .annotation-text tspan").count() > 0
    assert min(sizes) >= 2 * 13
    assert page.evaluate(COLLIDING) == []
    assert page.evaluate(SIDEWAYS) <= 0


def test_the_day_is_printed_on_two_sheets(open_page: Open, site: Site) -> None:
    """Dark ink on white, nothing to tap, rows in one line each; two A4 sheets hold any of the demo's plans."""
    page = open_page(dark=True)
    for plan in PLANS:
        page.goto(site.address(plan))
        expect(page.locator("#energy svg").first).to_be_visible(timeout=20_000)  # sun and bank take room as well
        sheets = re.findall(rb"/Type\s*/Page\b", page.pdf(format="A4"))
        assert len(sheets) <= 2, plan
    search_nothing(page)
    page.locator(f"#run-{site.run_key('film', 'shed')}").click()
    expect(page.locator("#undo")).to_be_visible()
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 700, "height": 1000})

    controls = page.locator("button:not(.run), input, select, textarea, summary, .cursor, .net, .unfold")
    shown = [
        one.get_attribute("id") or one.locator("..").get_attribute("id") for one in controls.all() if one.is_visible()
    ]
    assert shown == ["plans", "plan-sheet"]  # which plan it is, and its day's values, in a line each
    assert page.evaluate("() => getComputedStyle(document.body).color") == "rgb(32, 38, 43)"
    assert page.evaluate(COLLIDING) == []
    assert page.evaluate(SIDEWAYS) <= 0


def test_what_was_refused_is_in_sight(open_page: Open, site: Site) -> None:
    """On the narrowest phone neither a refused field nor what is said of it lies behind the bar that takes back."""
    page = open_page(320, 600)
    page.locator(f"#run-{site.run_key('shirts')}").tap()
    expect(page.locator("#undo")).to_be_visible()
    page.locator("#plan-sheet > summary").tap()
    key = site.run_key("evening")
    page.locator(f"#chip-{key}").tap()
    expect(page.locator(f"#adjust-{key}")).to_be_visible()
    for field, fault in (
        (f"time-{key}", f"fault-{key}"),
        ("value-wanted_margin", "fault-wanted_margin"),
        ("hour-2", "fault-ambient_c"),
        ("moment-clock", "moment-fault"),
    ):
        page.evaluate(
            """(id) => { const top = (one) => one.getBoundingClientRect().top;
            scrollBy(0, top(document.getElementById(id)) + 50 - top(document.querySelector('.back'))); }""",
            field,
        )
        page.locator(f"#{field}").fill("never")
        page.keyboard.press("Enter")
        expect(page.locator(f"#{fault}")).to_be_visible()
        page.wait_for_function(
            """([field, fault]) => {
              const bar = document.querySelector('.back').getBoundingClientRect().top;
              return [field, fault].every((id) => {
                const box = document.getElementById(id).getBoundingClientRect();
                return box.top >= 0 && box.bottom <= bar;
              });
            }""",
            arg=[field, fault],
        )


@pytest.mark.parametrize(
    ("date", "clock", "title", "said"),
    [
        ("2026-10-25", "+00:30", "Mon", "goes back to 01:00"),
        ("2026-03-29", "02:30", "On at 02:30", "begins at 02:20"),
    ],
)
def test_a_day_of_another_length_says_so(
    open_page: Open, site: Site, date: str, clock: str, title: str, said: str
) -> None:
    """Under the axis stands what the clock does; in the hour that comes twice, the second time is told apart."""
    page = open_page()
    own = put_in(site, {"date": date, "runs": [{"id": "night", "appliance": "dishwasher", "start": "01:10"}]})
    page.goto(own.address("own"))
    expect(page.locator("#day-chart")).to_contain_text(said)
    page.fill("#moment-clock", clock)
    page.keyboard.press("Enter")
    expect(page.locator("#moment-title")).to_contain_text(title)
    if date == "2026-10-25":
        page.goto(own.address("own") + f"?at={round(2.25 * 3_600_000)}")
        expect(page.locator("#moment-title")).to_contain_text("On at 01:15 (second)")
        expect(page.locator("#cursor b")).to_contain_text("01:15 (second)")
        page.locator("#moment-clock").press("Enter")
        expect(page.locator("#moment-title")).to_contain_text("On at 01:15 (second)")
        expect(page.locator("#moment-fault")).to_have_count(0)
    else:
        page.goto(own.address("own"))
        key = own.run_key("night", "own")
        expect(page.locator(f"#chip-{key}")).to_contain_text("02:10")
        expect(page.locator(f"#run-{key}")).to_have_attribute("aria-label", re.compile("02:10 to"))
    readable(page, date)
