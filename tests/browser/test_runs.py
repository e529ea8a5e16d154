"""Runs under real fingers, a mouse and keys: switched, moved, added, doubled, taken away."""

import re
import time

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import Open, Site
from tests.browser.fingers import Finger, hand, middle
from tests.browser.scanning import scan_by_screen

Size = tuple[int, int]
HORIZON_MIN = 36 * 60


def minutes(start: object) -> int:
    return int(str(start)[:2]) * 60 + int(str(start)[3:5])


def width_of_track(page: Page) -> float:
    return float(page.evaluate("() => document.querySelector('.track').getBoundingClientRect().width"))


def posts(page: Page) -> list[str]:
    """Notes every command the page sends from now on."""
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.post_data or "") if request.method == "POST" else None)
    return sent


def tap(page: Page, selector: str) -> None:
    hand(page).tap(*middle(page.locator(selector)))


def new_key(site: Site, appliance: str) -> str:
    """Key of the run of an appliance that was added last."""
    runs = [run for run in site.runs() if run["appliance"] == appliance]
    return site.run_key(str(runs[-1]["id"]))


def test_a_drag_moves_a_run_by_one_command(open_page: Open, site: Site, size: Size) -> None:
    """The run follows, its new time over it; letting go sends that time, in steps of five minutes, once.

    Less than six pixels aside is still a tap: it switches the run and moves nothing.
    """
    page = open_page(*size)
    key = site.run_key("shirts")
    run = page.locator(f"#run-{key}")
    sent = posts(page)
    point = middle(run)
    drag_px = 2.4 / 36 * width_of_track(page)
    holding = hand(page)
    holding.down(*point)
    holding.move(drag_px)
    shown = page.locator(".bubble").inner_text()
    box = run.bounding_box()
    assert box
    assert abs(box["x"] + box["width"] / 2 - point[0] - drag_px) < 3
    assert not sent
    holding.up()
    expect(page.locator(f"#chip-{key}")).not_to_contain_text("16:00")
    start = site.run("shirts")["start"]

    assert shown == f"begins {start}"
    assert minutes(start) % 5 == 0
    assert abs(minutes(start) - minutes("18:24")) <= 8
    assert len(sent) == 1
    assert site.run("shirts").get("on") is not False
    expect(page.locator(".bubble")).to_be_hidden()
    expect(run).not_to_have_class(re.compile("unsure|dragged"))
    holding = hand(page)
    holding.down(*middle(run))
    holding.move(3, 1, steps=2)
    holding.up()
    expect(run).to_have_attribute("aria-pressed", "false")
    assert site.run("shirts")["start"] == start


def test_scrolling_that_begins_on_a_run_scrolls(open_page: Open, site: Site) -> None:
    """A finger that goes down from a run takes the page with it; nothing is moved, switched or sent.

    Once a run is held, the page stays where it is, however the finger goes.
    """
    page = open_page()
    run = page.locator(f"#run-{site.run_key('shirts')}")
    sent = posts(page)
    point = middle(run)
    before = page.evaluate("() => scrollY")
    finger = Finger(page)
    finger.down(*point)
    finger.move(4, 220, steps=14)
    finger.up()
    page.wait_for_timeout(400)

    assert page.evaluate("() => scrollY") < before - 120
    assert sent == []
    assert run.get_attribute("aria-pressed") == "true"
    assert run.evaluate("(run) => run.style.left") == ""
    point = middle(run)
    before = page.evaluate("() => scrollY")
    finger = Finger(page)
    finger.down(*point)
    finger.move(30)
    finger.move(10, -120)
    finger.up()
    expect(page.locator(f"#chip-{site.run_key('shirts')}")).not_to_contain_text("16:00")
    assert abs(page.evaluate("() => scrollY") - before) < 2


def test_a_drag_ends_at_the_ends_of_the_day_and_by_escape(open_page: Open, site: Site) -> None:
    """Escape puts it back: nothing is sent, and letting go afterwards is no tap.

    Dragged past the left end it starts at midnight; past the right end of the day, at five to.
    """
    page = open_page(1280, 800)
    key = site.run_key("shirts")
    run = page.locator(f"#run-{key}")
    sent = posts(page)
    holding = hand(page)
    holding.down(*middle(run))
    holding.move(60)
    page.keyboard.press("Escape")
    assert run.evaluate("(run) => run.style.left") == ""
    holding.up()
    page.wait_for_timeout(300)
    assert sent == []
    assert run.get_attribute("aria-pressed") == "true"
    for aside, start in ((-900, "00:00"), (900, "23:55")):
        holding = hand(page)
        holding.down(*middle(run))
        holding.move(aside)
        holding.up()
        expect(page.locator(f"#chip-{key}")).to_contain_text(start)
        assert site.run("shirts")["start"] == start


def test_a_refused_drop_goes_back_and_says_why(open_page: Open, site: Site, size: Size) -> None:
    """One wash dropped on the other: it stands where it stood, and its adjust row has the reason."""
    page = open_page(*size)
    key = site.run_key("wash-2")
    run = page.locator(f"#run-{key}")
    before = run.bounding_box()
    holding = hand(page)
    holding.down(*middle(run))
    holding.move(-0.8 / 36 * width_of_track(page) - 1)
    holding.up()
    expect(page.locator(f"#fault-{key}")).to_contain_text(
        "There is a run of Washing machine from 09:30 to 10:46 already"
    )
    after = run.bounding_box()

    assert before
    assert after
    assert abs(before["x"] - after["x"]) < 1
    assert site.run("wash-2")["start"] == "10:48"


def test_a_dropped_run_waits_where_it_was_dropped(open_page: Open, site: Site) -> None:
    """While the server thinks, the run stays at its new place and looks unsure; others can be tapped meanwhile."""
    page = open_page(1280, 800)
    key = site.run_key("shirts")
    run = page.locator(f"#run-{key}")
    held: list[Route] = []
    page.route(f"**/runs/{key}", lambda route: held.append(route))
    point = middle(run)
    holding = hand(page)
    holding.down(*point)
    holding.move(70)
    holding.up()
    expect(run).to_have_class(re.compile("unsure"))
    tap(page, f"#run-{site.run_key('dinner')}")
    expect(page.locator(f"#run-{site.run_key('dinner')}")).to_have_attribute("aria-pressed", "false")
    box = run.bounding_box()
    assert box
    assert abs(box["x"] + box["width"] / 2 - point[0] - 70) < 3
    held[0].continue_()
    expect(run).not_to_have_class(re.compile("unsure"))
    assert site.run("shirts")["start"] != "16:00"
    assert site.run("dinner")["on"] is False


def test_every_run_has_room_for_a_finger(open_page: Open, site: Site) -> None:
    """On a narrow phone, whatever lies 20 pixels beside a run's middle, and 20 above and below, is that run."""
    page = open_page(320, 800)
    page.evaluate(
        """async (address) => { for (const [number, start] of ["06:00", "07:00", "08:00", "09:00", "19:05"].entries())
          await fetch(address, { method: "POST", body: new URLSearchParams(
            { appliance: "hob", start, revision: "1", tab: "other", sequence: String(number + 1) }) }); }""",
        f"{site.address()}/runs",
    )
    for plan in ("ordinary", "laundry", "shed"):
        page.goto(site.address(plan))
        for width in (320, 390):
            page.set_viewport_size({"width": width, "height": 800})
            missed = page.evaluate(
                """async () => { const missed = []; for (const run of document.querySelectorAll('.run')) {
                  const box = run.getBoundingClientRect();
                  window.scrollTo(0, box.top + scrollY - 400);
                  const near = { contentVisibilityAuto: true };
                  while (!run.checkVisibility(near)) await new Promise(requestAnimationFrame);
                  const { left, right, top, bottom } = run.getBoundingClientRect();
                  const at = (x, y) => document.elementFromPoint(x, y);
                  const hits = (x, y) => at(x, y) && at(x, y).closest('.run') === run;
                  const y = (top + bottom) / 2;
                  let from = left + 1, to = right - 1;
                  if (!hits(from, y) || !hits(to, y)) missed.push([run.ariaLabel, 'its own box']);
                  while (hits(from - 1, y)) from -= 1;
                  while (hits(to + 1, y)) to += 1;
                  const middle = (left + right) / 2;
                  const high = hits(middle, y - 20) && hits(middle, y + 20);
                  if (to - from + 2 < 43.5 || !high) missed.push([run.ariaLabel, to - from, high]);
                } return missed; }"""
            )

            assert missed == [], (plan, width)


def test_neighbours_do_not_steal_taps(open_page: Open, site: Site) -> None:
    """Two washes wall to wall: a tap just inside either switches that one.

    Twenty pixels to either side of a run that stands alone switch it, on the narrowest phone.
    """
    page = open_page(320, 700)
    key = site.run_key("shirts")
    for aside, pressed in ((-20, "false"), (20, "true")):
        x, y = middle(page.locator(f"#run-{key}"))
        Finger(page).tap(x + aside, y)
        expect(page.locator(f"#run-{key}")).to_have_attribute("aria-pressed", pressed)
    page.set_viewport_size({"width": 390, "height": 844})
    for run, other, side in (("wash-1", "wash-2", 1), ("wash-2", "wash-1", -1)):
        target = page.locator(f"#run-{site.run_key(run)}")
        middle(target)
        box = target.bounding_box()
        assert box
        edge = box["x"] + (box["width"] - 1.5 if side > 0 else 1.5)
        Finger(page).tap(edge, box["y"] + box["height"] / 2)
        expect(target).to_have_attribute("aria-pressed", "false")
        assert page.locator(f"#run-{site.run_key(other)}").get_attribute("aria-pressed") == (
            "true" if side > 0 else "false"
        )


def test_a_tap_on_an_empty_place_adds_a_run(open_page: Open, site: Site, size: Size) -> None:
    """At that time, in steps of five minutes, with its adjust row open and the focus on it; and undone by the bar.

    A place on the next morning adds nothing: runs start on their day, and that is said at the place.
    """
    page = open_page(*size)
    track = page.locator(".track[data-appliance=iron]")
    _, y = middle(track)
    box = track.bounding_box()
    assert box
    hand(page).tap(box["x"] + box["width"] * 8 / 36, y)
    expect(page.locator(".adjust")).to_be_visible()
    added = site.runs()[-1]
    key = new_key(site, "iron")

    assert added["appliance"] == "iron"
    assert minutes(added["start"]) % 5 == 0
    assert abs(minutes(added["start"]) - 8 * 60) <= 8
    expect(page.locator(f"#adjust-{key}")).to_be_visible()
    expect(page.locator(f"#run-{key}")).to_be_focused()
    tap(page, "#undo")
    expect(page.locator(f"#run-{key}")).to_have_count(0)
    assert all(run["start"] != added["start"] for run in site.runs() if run["appliance"] == "iron")
    sent = posts(page)
    _, y = middle(track)
    hand(page).tap(box["x"] + box["width"] * 30 / 36, y)
    expect(page.locator(".bubble")).to_contain_text("23:55")
    assert sent == []


def test_an_empty_place_tapped_twice_gets_one_run(open_page: Open, site: Site, size: Size) -> None:
    """However long the first answer takes: no second run is asked for, and nothing is refused."""
    page = open_page(*size)
    track = page.locator(".track[data-appliance=iron]")
    _, y = middle(track)
    box = track.bounding_box()
    assert box
    page.route("**/runs", lambda route: (page.wait_for_timeout(400), route.continue_()))
    sent, before = posts(page), len(site.runs())
    for _ in range(2):
        hand(page).tap(box["x"] + box["width"] * 8 / 36, y)
        page.wait_for_timeout(100)
    expect(page.locator(".adjust")).to_be_visible()
    page.wait_for_timeout(600)
    assert len(sent) == 1
    assert len(site.runs()) == before + 1
    expect(page.locator("#day-add")).not_to_have_attribute("open", "")


def test_a_run_added_onto_another_is_refused_in_words(open_page: Open, site: Site) -> None:
    """A long programme tapped in before another run of its machine: the sheet opens with the reason."""
    page = open_page()
    track = page.locator(".track[data-appliance=dryer]")
    _, y = middle(track)
    box = track.bounding_box()
    assert box
    Finger(page).tap(box["x"] + box["width"] * 8.9 / 36 - 24, y)
    page.wait_for_selector(".adjust")
    page.locator(".adjust >> text=Remove").tap()
    expect(page.locator(".adjust")).to_have_count(0)
    page.locator("#day-add summary").tap()
    item = page.locator("#day-add li", has_text="Heat-pump dryer")
    item.locator("input[name=start]").fill("10:00")
    item.locator("button").tap()
    expect(item.locator(".fault")).to_contain_text(
        re.compile("There is a run of Heat-pump dryer from 10:50 to .* already, and")
    )
    expect(item.locator("input[name=start]")).to_have_value("10:00")
    expect(item.locator("input[name=start]")).to_have_attribute("aria-invalid", "true")


def test_keys_in_a_row_come_out_in_order_when_the_server_is_slow(open_page: Open, site: Site) -> None:
    """More presses while the first command is under way add up."""
    page = open_page(1280, 800)
    key = site.run_key("shirts")
    run = page.locator(f"#run-{key}")

    def slowly(route: Route) -> None:
        time.sleep(0.5)
        route.continue_()

    page.route("**/runs/*", slowly)
    run.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_timeout(450)
    for _ in range(2):
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(400)
    expect(page.locator(f"#chip-{key}")).to_contain_text("16:15")
    page.wait_for_timeout(800)

    assert site.run("shirts")["start"] == "16:15"
    assert page.locator(f"#chip-{key}").inner_text().startswith("16:15")


def test_keys_move_switch_and_remove_a_run(open_page: Open, site: Site) -> None:
    """Arrows by five minutes, with Shift by fifteen; presses in a row are one command; the focus stays.

    Enter and Space switch, Delete takes it away, Ctrl+Z brings it back, Ctrl+Y takes it away again.
    """
    page = open_page(1280, 800)
    key = site.run_key("shirts")
    run = page.locator(f"#run-{key}")
    sent = posts(page)
    run.focus()
    for press in ("ArrowRight", "ArrowRight", "Shift+ArrowRight", "ArrowLeft"):
        page.keyboard.press(press)
    expect(page.locator(".bubble")).to_have_text("begins 16:20")
    expect(page.locator(f"#chip-{key}")).to_contain_text("16:20")
    expect(run).to_be_focused()
    assert len(sent) == 1
    assert site.run("shirts")["start"] == "16:20"
    key = site.run_key("dry-2")
    run = page.locator(f"#run-{key}")
    run.focus()
    page.keyboard.press("Enter")
    expect(run).to_have_attribute("aria-pressed", "false")
    page.keyboard.press("Space")
    expect(run).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("Delete")
    expect(run).to_have_count(0)
    expect(page.locator(f"#run-{site.run_key('dry-1')}")).to_be_focused()
    page.keyboard.press("Control+z")
    expect(run).to_have_count(1)
    page.keyboard.press("Control+y")
    expect(run).to_have_count(0)
    page.keyboard.press("Control+Shift+z")
    page.keyboard.press("Control+z")
    expect(run).to_have_count(1)


def test_the_adjust_row_does_all_it_offers(open_page: Open, site: Site) -> None:
    """Steps, time, length, switch, double, remove, close.

    A wrong length stays with its message beside it; a right one then goes through, and an empty one is the usual one.
    """
    page = open_page()
    key = site.run_key("shirts")
    tap(page, f"#chip-{key}")
    for button, start in (("later-15", "16:15"), ("later-5", "16:20"), ("earlier-15", "16:05"), ("earlier-5", "16:00")):
        tap(page, f"#{button}-{key}")
        expect(page.locator(f"#time-{key}")).to_have_value(start)
        assert site.run("shirts")["start"] == start
    page.locator(f"#time-{key}").fill("17.30")
    tap(page, f"#set-{key}")
    expect(page.locator(f"#time-{key}")).to_have_value("17:30")
    page.locator(f"#length-{key}").fill("1 h 30")
    tap(page, f"#set-length-{key}")
    expect(page.locator(f"#length-{key}")).to_have_value("1 h 30 min")
    assert site.run("shirts")["duration_s"] == 5400
    tap(page, f"#switch-{key}")
    expect(page.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "false")
    tap(page, f"#switch-{key}")
    expect(page.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "true")
    tap(page, f"#duplicate-{key}")
    expect(page.locator(".track[data-appliance=iron] .run")).to_have_count(2)
    double = new_key(site, "iron")
    expect(page.locator(f"#time-{double}")).to_have_value("19:00")
    tap(page, f"#remove-{double}")
    expect(page.locator(".adjust")).to_have_count(0)
    expect(page.locator(".track[data-appliance=iron] .run")).to_have_count(1)
    tap(page, f"#chip-{key}")
    field = page.locator(f"#length-{key}")
    field.fill("ages")
    field.press("Enter")
    expect(page.locator(f"#fault-length-{key}")).to_contain_text("in minutes")
    expect(field).to_have_value("ages")
    field.fill("45")
    field.press("Enter")
    expect(field).to_have_value("45 min")
    expect(page.locator(f"#fault-length-{key}")).to_have_count(0)
    field.fill("")
    field.press("Enter")
    expect(page.locator(f"#run-{key}")).to_have_attribute("aria-label", "Iron, 17:30 to 18:00")
    tap(page, f"#close-{key}")
    expect(page.locator(".adjust")).to_have_count(0)


def test_an_appliance_is_found_and_added(open_page: Open, site: Site) -> None:
    """Typing leaves what has the letters; Add puts it on the day, opened, and the sheet folds.

    A row's plus unfolds the sheet at its own appliance, its time under the fingers. The search keeps its text and its
    finds when an addition is refused, and the refused item its reason.
    """
    page = open_page()
    tap(page, "li.row:has-text('Iron') .plus")
    item = page.locator("#day-add li", has_text="Iron")
    expect(item).to_be_in_viewport()
    expect(item.locator("input[name=start]")).to_be_focused()
    page.goto(site.address())
    tap(page, "#day-add summary")
    field = page.locator("#find-appliance")
    field.fill("zep")
    expect(page.locator("#none-found")).to_be_visible()
    field.fill("bread")
    expect(page.locator("#day-add li:visible")).to_have_count(1)
    page.locator("#day-add li:visible input[name=start]").fill("late")
    tap(page, "#day-add li:visible button")
    expect(page.locator("#day-add .fault")).to_contain_text("from 00:00 to 23:59")
    expect(field).to_have_value("bread")
    expect(page.locator("#day-add li:visible")).to_have_count(1)
    page.locator("#day-add li:visible input[name=start]").fill("6:35")
    tap(page, "#day-add li:visible button")
    expect(page.locator(".track[data-appliance=bread-oven] .run")).to_have_count(1)
    key = new_key(site, "bread-oven")
    expect(page.locator(f"#time-{key}")).to_have_value("06:35")
    expect(page.locator("#day-add")).not_to_have_attribute("open", "")
    expect(page.locator(f"#run-{key}")).to_be_in_viewport()


@pytest.mark.parametrize("size", [(390, 844)], ids=["phone"])
def test_nothing_bars_anybody_at_the_sheet_and_the_faults(open_page: Open, site: Site, size: Size) -> None:
    """The scan finds nothing with the sheet unfolded, a row open, and both fields refused."""
    page = open_page(*size)
    key = site.run_key("shirts")
    page.goto(site.address() + f"?run={key}&unfold=day-add")
    page.locator(f"#length-{key}").fill("ages")
    page.locator(f"#length-{key}").press("Enter")
    expect(page.locator(f"#fault-length-{key}")).to_be_visible()
    scan_by_screen(page, "the sheet and the faults")


def test_at_every_width_nothing_is_cramped(open_page: Open, site: Site) -> None:
    """With a row open and the sheet unfolded nothing sticks out, and every control is 44 pixels high and wide."""
    page = open_page(320, 700)
    page.goto(site.address() + f"?run={site.run_key('shirts')}&unfold=day-add")
    small = page.evaluate(
        """() => Array.from(document.querySelectorAll(
            '.row a, .adjust .go, .adjust input, .add input, .add button, .add summary'))
          .filter((one) => one.checkVisibility() && one.type !== 'hidden')
          .map((one) => [one.textContent.trim() || one.ariaLabel, one.offsetWidth, one.offsetHeight, one.scrollWidth])
          .filter(([, wide, high, inner]) => wide < 44 || high < 44 || inner > wide + 1)"""
    )

    assert small == []
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0


def test_without_scripts_all_of_it_works(open_page: Open, site: Site) -> None:
    """Add, lengthen, double, remove: plain forms and links.

    A refused addition comes back with what was looked for, the row that is open, and what was typed at its item.
    """
    page = open_page(script=False)
    page.goto(site.address() + f"?run={site.run_key('shirts')}&unfold=day-add")
    page.locator("#find-appliance").fill("bread")
    page.locator("#find-go").click()
    expect(page.locator(f"#adjust-{site.run_key('shirts')}")).to_be_visible()
    page.locator("#day-add li input[name=start]").fill("late")
    page.locator("#day-add li button").click()
    expect(page.locator("#day-add .fault")).to_contain_text("from 00:00 to 23:59")
    expect(page.locator("#find-appliance")).to_have_value("bread")
    expect(page.locator("#day-add li")).to_have_count(1)
    page.goto(site.address())
    page.locator("li.row:has-text('Iron') .plus").click()
    page.locator("#find-appliance").fill("bread")
    page.locator("#find-go").click()
    expect(page.locator("#day-add li")).to_have_count(1)
    page.locator("#day-add li input[name=start]").fill("6:35")
    page.locator("#day-add li button").click()
    key = new_key(site, "bread-oven")
    expect(page.locator(f"#time-{key}")).to_have_value("06:35")
    page.locator(f"#duplicate-{key}").click()
    expect(page.locator(".track[data-appliance=bread-oven] .run")).to_have_count(2)
    page.locator(f"#remove-{new_key(site, 'bread-oven')}").click()
    expect(page.locator(".track[data-appliance=bread-oven] .run")).to_have_count(1)
    shirts = site.run_key("shirts")
    page.locator(f"#chip-{shirts}").click()
    page.locator(f"#length-{shirts}").fill("1:10")
    page.locator(f"#set-length-{shirts}").click()
    expect(page.locator(f"#length-{shirts}")).to_have_value("1 h 10 min")
    page.locator("#undo").click()
    expect(page.locator(f"#run-{shirts}")).to_have_attribute("aria-label", "Iron, 16:00 to 16:30")


def test_a_place_means_the_clocks_time_when_the_clocks_change(open_page: Open, site: Site) -> None:
    """On days of 23 and 25 hours a tap right under the hob's run means its time, and a drag ends where it shows."""
    page = open_page(1280, 800)
    key = site.run_key("dinner")
    for date, start in (("2026-03-29", "18:15"), ("2026-10-25", "18:15")):
        page.evaluate(
            """([address, date]) => fetch(address, { method: "POST", body: new URLSearchParams(
              { field: "date", value: date, revision: "1", tab: "other" + date, sequence: "1" }) })""",
            [f"{site.address()}/plan", date],
        )
        page.goto(site.address())
        hob = page.locator(f"#run-{key}").bounding_box()
        assert hob
        track = page.locator(".track[data-appliance=iron]")
        _, y = middle(track)
        hand(page).tap(hob["x"] + 1, y)
        expect(page.locator(".adjust")).to_be_visible()
        added = site.runs()[-1]
        assert abs(minutes(added["start"]) - minutes(start)) <= 5, date
        run = page.locator(f"#run-{new_key(site, 'iron')}")
        box = run.bounding_box()
        hob = page.locator(f"#run-{key}").bounding_box()
        assert box
        assert hob
        assert abs(box["x"] - hob["x"]) < 3
        run.focus()
        page.keyboard.press("Delete")
        expect(run).to_have_count(0)


def test_a_step_back_waits_for_what_is_on_its_way(open_page: Open, site: Site) -> None:
    """Undo pressed while a move is being stored takes back that move, not what was done before it."""
    page = open_page()
    page.click(f"#chip-{site.run_key('shirts')}")
    page.locator(f"#later-15-{site.run_key('shirts')}").click()
    expect(page.locator("#undo")).to_be_visible()
    page.route("**/runs/**", lambda route: (page.wait_for_timeout(400), route.continue_())[1])
    page.locator(f"#later-15-{site.run_key('shirts')}").click()
    page.locator("#undo").click()
    expect(page.locator("#redo")).to_be_visible()

    assert site.run("shirts")["start"] == "16:15"


def test_a_refused_tap_on_a_track_is_brought_into_sight(open_page: Open, site: Site) -> None:
    """Tapping a track where the machine is still needed says why, where one can see it."""
    page = open_page()
    track = page.locator(f".track:has(#run-{site.run_key('evening')})")
    middle(track)
    run, box = page.locator(f"#run-{site.run_key('evening')}").bounding_box(), track.bounding_box()
    assert run is not None
    assert box is not None
    page.touchscreen.tap(run["x"] - 27, box["y"] + box["height"] / 2)
    expect(page.locator("#day-add .fault")).to_be_in_viewport()
    start = site.run("evening")["start"]
    expect(page.locator("#day-add .fault")).to_contain_text(
        re.compile(rf"There is a run of .* from {start} to .* already.*begin at")
    )
    expect(page.locator("#day-add .fault")).to_contain_text("or move that run.")


def test_without_scripts_looking_leaves_open_what_is_open(open_page: Open, site: Site) -> None:
    """A run that is opened, an instant that is looked at and what is unfolded stay while one follows links."""
    page = open_page(1280, 800, script=False)
    shirts, evening = site.run_key("shirts"), site.run_key("evening")
    page.locator(f"#chip-{shirts}").click()
    page.locator("#later-change").click()
    expect(page.locator(f"#adjust-{shirts}")).to_be_visible()
    at = page.locator("#day-moment").get_attribute("data-at")
    page.locator("#all-limits summary").click()
    page.locator("#all-limits a.unfold").click()
    expect(page.locator("#all-limits table")).to_be_visible()
    expect(page.locator(f"#adjust-{shirts}")).to_be_visible()
    expect(page.locator("#day-moment")).to_have_attribute("data-at", str(at))

    page.locator("#moment-limits summary").click()
    page.locator("#moment-limits a.unfold").click()
    page.locator("#later-change").click()
    expect(page.locator("#moment-limits table")).to_be_visible()
    page.locator(f"#chip-{evening}").click()
    expect(page.locator(f"#adjust-{evening}")).to_be_visible()
    expect(page.locator("#moment-limits table")).to_be_visible()
    expect(page.locator("#day-moment")).not_to_have_attribute("data-at", str(at))
    page.locator("#moment-clock").fill("16:05")
    page.locator("#moment-clock").press("Enter")
    expect(page.locator("#moment-title")).to_contain_text("On at 16:05")
    expect(page.locator(f"#adjust-{evening}")).to_be_visible()
    expect(page.locator("#moment-limits table")).to_be_visible()
    page.locator(f"#close-{evening}").click()
    expect(page.locator(".adjust")).to_have_count(0)
    expect(page.locator("#moment-limits table")).to_be_visible()
