"""Two phones on one plan: both changes stand, the later one wins, and what the other did comes by itself."""

import re

from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import Open, Site
from tests.browser.fingers import Finger, hand, middle
from tests.browser.waiting import Sent

PROMISED_MS = 3000  # within which a phone shows what another did
SOON_MS = 2 * PROMISED_MS  # where others work on the same machine


def drag(page: Page, key: str, by_px: float) -> None:
    holding = hand(page)
    holding.down(*middle(page.locator(f"#run-{key}")))
    holding.move(by_px)
    holding.up()


def tap(page: Page, selector: str) -> None:
    hand(page).tap(*middle(page.locator(selector)))


def test_changes_to_different_runs_both_stand(open_page: Open, site: Site) -> None:
    """Each phone changes a run; both are stored, and both phones show both, with words about the other's."""
    first, second = open_page(), open_page(1280, 800)
    shirts, dinner = site.run_key("shirts"), site.run_key("dinner")
    tap(first, f"#run-{shirts}")
    tap(second, f"#run-{dinner}")
    for page in (first, second):
        for key in (shirts, dinner):
            expect(page.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "false", timeout=SOON_MS)
    expect(first.locator(".news")).to_contain_text("On another phone: Induction hob at 18:15 switched off")
    expect(second.locator(".news")).to_contain_text("On another phone: Iron at 16:00 switched off")

    assert site.run("shirts")["on"] is False
    assert site.run("dinner")["on"] is False


def test_news_outlasts_what_one_does_right_after_it(open_page: Open, site: Site) -> None:
    """What the other phone did stays said while one switches something oneself, and goes with what one does later."""
    first, second = open_page(), open_page(1280, 800)
    second.clock.install()
    shirts, dinner = site.run_key("shirts"), site.run_key("dinner")
    tap(first, f"#run-{shirts}")
    news = second.locator(".news")
    expect(news).to_contain_text("On another phone: Iron at 16:00 switched off")
    tap(second, f"#run-{dinner}")
    expect(second.locator("#undo")).to_contain_text("Induction hob")
    expect(news).to_contain_text("On another phone: Iron at 16:00 switched off")
    second.clock.fast_forward(7000)
    tap(second, f"#run-{dinner}")
    expect(second.locator(f"#run-{dinner}")).to_have_attribute("aria-pressed", "true")
    expect(news).to_have_text("")


def test_the_same_run_ends_where_the_later_one_put_it(open_page: Open, site: Site) -> None:
    """Both move one run; the second wins without being asked, and the first is told within three seconds."""
    first, second = open_page(1280, 800), open_page(1280, 800)
    key = site.run_key("shirts")
    sent = Sent(second)
    holding = hand(second)
    holding.down(*middle(second.locator(f"#run-{key}")))  # before it could be moved away under it
    holding.move(-20)
    drag(first, key, 60)
    expect(first.locator(f"#chip-{key}")).not_to_contain_text("16:00")
    holding.move(-40)
    holding.up()
    sent.settle()
    assert len(sent.bodies) == 1
    page_start = second.locator(f"#run-{key}").get_attribute("data-start")
    expect(first.locator(f"#run-{key}")).to_have_attribute("data-start", str(page_start), timeout=SOON_MS)
    expect(first.locator(".news")).to_contain_text(f"Iron moved to {page_start}")

    assert site.run("shirts")["start"] == page_start


def test_what_is_typed_and_where_one_is_survive_news(open_page: Open, site: Site) -> None:
    """A half-typed time, the cursor in it, and the place on the page stay while the other phone's change comes."""
    first, second = open_page(), open_page()
    expect(first.locator("#energy .working")).to_have_count(0)
    key = site.run_key("shirts")
    tap(first, f"#chip-{key}")
    field = first.locator(f"#time-{key}")
    field.fill("18:4")
    field.evaluate("(field) => field.setSelectionRange(2, 2)")
    length = first.locator(f"#length-{key}")
    length.evaluate("(field) => { field.value = '1 h'; field.dispatchEvent(new Event('input', { bubbles: true })); }")
    first.wait_for_timeout(100)
    at = field.evaluate("(field) => field.getBoundingClientRect().top")
    tap(second, f"#run-{site.run_key('dinner')}")
    expect(first.locator(f"#run-{site.run_key('dinner')}")).to_have_attribute("aria-pressed", "false", timeout=SOON_MS)

    expect(field).to_have_value("18:4")
    expect(length).to_have_value("1 h")
    expect(field).to_be_focused()
    assert field.evaluate("(field) => [field.selectionStart, field.selectionEnd]") == [2, 2]
    assert abs(field.evaluate("(field) => field.getBoundingClientRect().top") - at) < 2


def test_the_open_sheet_follows_the_plan(open_page: Open, site: Site) -> None:
    """What may be added follows another's change; the sheet stays open, and shows what is looked for and typed."""
    first, second = open_page(), open_page()
    first.locator("#day-add summary").click()
    first.locator("#find-appliance").fill("iro")
    iron = first.locator("#day-add li", has_text="Iron")
    expect(iron).to_contain_text("on this day at 16:00")
    iron.locator("[name=start]").fill("7:1")
    first.locator("#find-appliance").focus()
    second.evaluate(
        """(address) => fetch(address, { method: "POST", body: new URLSearchParams(
          { field: "start", value: "17:30", revision: "1", tab: "other", sequence: "1" }) })""",
        f"{site.address()}/runs/{site.run_key('shirts')}",
    )
    expect(iron).to_contain_text("on this day at 17:30", timeout=SOON_MS)

    expect(first.locator("#find-appliance")).to_have_value("iro")
    expect(first.locator("#find-appliance")).to_be_focused()
    expect(iron.locator("[name=start]")).to_have_value("7:1")
    expect(first.locator("#day-add li:visible")).to_have_count(1)


def test_a_drag_in_progress_is_not_destroyed(open_page: Open, site: Site) -> None:
    """While a finger holds a run, another's change waits; let go, both are done."""
    first, second = open_page(), open_page()
    key, dinner = site.run_key("shirts"), site.run_key("dinner")
    run = first.locator(f"#run-{key}")
    finger = Finger(first)
    finger.down(*middle(run))
    finger.move(20)
    tap(second, f"#run-{dinner}")
    expect(second.locator(f"#run-{dinner}")).to_have_attribute("aria-pressed", "false")
    first.wait_for_timeout(PROMISED_MS)
    assert "dragged" in str(run.get_attribute("class"))
    finger.move(10)
    finger.up()
    expect(first.locator(f"#run-{dinner}")).to_have_attribute("aria-pressed", "false", timeout=SOON_MS)
    expect(first.locator(f"#chip-{key}")).not_to_contain_text("16:00")

    assert site.run("dinner")["on"] is False
    assert site.run("shirts")["start"] != "16:00"


def test_an_answer_that_comes_during_a_drag_waits_for_its_end(open_page: Open, site: Site) -> None:
    """A slow answer to an earlier tap changes nothing under the finger, and is shown when it lets go."""
    page = open_page()
    key, dinner = site.run_key("shirts"), site.run_key("dinner")

    held: list[Route] = []
    page.route(f"**/runs/{dinner}", lambda route: held.append(route))
    point = middle(page.locator(f"#run-{key}"))
    page.locator(f"#run-{dinner}").evaluate("(run) => run.click()")
    finger = Finger(page)
    finger.down(*point)
    finger.move(25)
    page.wait_for_timeout(50)
    with page.expect_response(f"**/runs/{dinner}"):
        held[0].continue_()
    page.wait_for_timeout(150)
    run = page.locator(f"#run-{key}")
    assert "dragged" in str(run.get_attribute("class"))
    assert page.locator(f"#run-{dinner}").get_attribute("aria-pressed") == "true"
    page.evaluate("() => dispatchEvent(new Event('blur'))")
    expect(page.locator(f"#run-{dinner}")).to_have_attribute("aria-pressed", "false")
    finger.up()

    assert site.run("shirts")["start"] == "16:00"


def test_a_late_answer_does_not_overwrite_a_newer_one(open_page: Open, site: Site) -> None:
    """The answer to the first of two taps comes last: the page shows what is stored."""
    page = open_page(1280, 800)
    shirts, dinner = site.run_key("shirts"), site.run_key("dinner")
    shown: list[str] = []

    def late(route: Route) -> None:
        answer = route.fetch()  # done at once, but told late
        page.wait_for_timeout(1200)
        shown.append("late")
        route.fulfill(response=answer)

    page.route(f"**/runs/{shirts}", late)
    page.locator(f"#run-{shirts}").click(no_wait_after=True)
    page.locator(f"#run-{dinner}").click()
    expect(page.locator(f"#run-{dinner}")).to_have_attribute("aria-pressed", "false")
    expect(page.locator(f"#run-{shirts}")).to_have_attribute("aria-pressed", "false")
    page.wait_for_timeout(1500)

    assert shown
    for key in (shirts, dinner):
        assert page.locator(f"#run-{key}").get_attribute("aria-pressed") == "false"


def test_a_row_the_page_has_no_longer_is_asked_for(open_page: Open, site: Site) -> None:
    """A look that names a row's state is answered after the run was switched here, and there back again: it is on."""
    page = open_page(1280, 800)
    key = site.run_key("dinner")
    held: list[Route] = []
    page.route("**/changes*", lambda route: route.continue_() if held else held.append(route))
    with page.expect_request("**/changes*"):
        pass
    page.wait_for_timeout(50)
    assert held
    run = page.locator(f"#run-{key}")
    run.click()
    expect(run).to_have_attribute("aria-pressed", "false")
    page.evaluate(
        """(address) => fetch(address, { method: "POST", body: new URLSearchParams(
          { field: "on", value: "on", revision: "1", tab: "other", sequence: "1" }) })""",
        f"{site.address()}/runs/{key}",
    )
    held[0].continue_()
    expect(run).to_have_attribute("aria-pressed", "true", timeout=SOON_MS)
    page.wait_for_timeout(500)

    expect(run).to_have_attribute("aria-pressed", "true")


def test_a_row_opened_meanwhile_stays_open(open_page: Open, site: Site) -> None:
    """The slow answer to a tap does not close the row that was opened while it was on its way."""
    page = open_page(1280, 800)
    shirts, dinner = site.run_key("shirts"), site.run_key("dinner")
    held: list[Route] = []
    page.route(f"**/runs/{dinner}", lambda route: held.append(route))
    page.locator(f"#run-{dinner}").click(no_wait_after=True)
    page.locator(f"#chip-{shirts}").click()
    expect(page.locator(f"#adjust-{shirts}")).to_be_visible()
    held[0].continue_()
    expect(page.locator(f"#run-{dinner}")).to_have_attribute("aria-pressed", "false")

    expect(page.locator(f"#adjust-{shirts}")).to_be_visible()


def test_a_run_removed_meanwhile_gets_a_clear_message(open_page: Open, site: Site) -> None:
    """One phone takes a run away, the other, which has not heard yet, moves it: it is told, and the run is gone."""
    first, second = open_page(1280, 800), open_page(1280, 800)
    key = site.run_key("shirts")
    second.route("**/changes*", lambda route: route.abort())
    first.locator(f"#run-{key}").focus()
    first.keyboard.press("Delete")
    expect(first.locator(f"#run-{key}")).to_have_count(0)
    drag(second, key, 60)
    expect(second.locator(".news")).to_contain_text("Iron at 16:00 removed meanwhile")
    expect(second.locator(f"#run-{key}")).to_have_count(0)


def test_a_plan_deleted_meanwhile_is_said_with_a_way_on(open_page: Open, site: Site) -> None:
    """The other phone says so within three seconds, with a link to another plan."""
    first, second = open_page(), open_page()
    second.goto(site.address("ordinary"))
    first.evaluate(
        """(address) => fetch(address, { method: "POST", body: new URLSearchParams(
          { revision: "1", tab: "other", sequence: "1" }) })""",
        f"{site.address('laundry')}/delete",
    )
    expect(first.locator(".news")).to_contain_text("“Laundry day” was deleted", timeout=SOON_MS)
    first.locator(".news a").tap()
    expect(first).to_have_url(re.compile(r"/h/\w+/\w+"))
    expect(first.locator(".verdict")).to_be_visible()


def test_a_page_that_is_not_looked_at_asks_nothing(open_page: Open, site: Site) -> None:
    """Hidden, it is silent; looked at again, it asks at once."""
    page = open_page()
    with page.expect_request(re.compile(r"/wait\?pulse=[^&]")):  # it knows by then how the household stands
        page.reload()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if "/changes" in request.url else None)
    page.evaluate(
        "() => { Object.defineProperty(document, 'hidden', { get: () => window.__hidden, configurable: true });"
        " window.__hidden = true; document.dispatchEvent(new Event('visibilitychange')); }"
    )
    page.wait_for_timeout(300)
    asked.clear()
    page.wait_for_timeout(2600)
    assert asked == []
    with page.expect_request("**/changes*"):
        page.evaluate("() => { window.__hidden = false; document.dispatchEvent(new Event('visibilitychange')); }")
    assert len(asked) == 1


def in_view(page: Page) -> bool:
    """Whether what has the focus is in the window as a whole."""
    return bool(
        page.evaluate(
            "() => { const { top, bottom } = document.activeElement.getBoundingClientRect();"
            " return document.activeElement !== document.body && top >= 0 && bottom <= innerHeight; }"
        )
    )


def test_what_was_typed_for_a_run_that_another_removed_is_told_as_lost(
    open_page: Open, site: Site, size: tuple[int, int]
) -> None:
    """The time that was typed is named, and Enter a moment later takes nothing back: one is at the row next to it."""
    first, second = open_page(1280, 800), open_page(*size)
    key = site.run_key("shirts")
    tap(second, f"#chip-{key}")
    second.locator(f"#time-{key}").fill("19:15")
    first.locator(f"#run-{key}").focus()
    first.keyboard.press("Delete")
    expect(second.locator(f"#run-{key}")).to_have_count(0, timeout=SOON_MS)

    lost = "Not stored, for the run was removed meanwhile: Iron begins at 19:15."
    expect(second.locator("#net")).to_contain_text(lost)
    assert in_view(second)
    assert second.evaluate("() => document.activeElement.matches('a.chip')")
    second.keyboard.press("Enter")
    expect(second.locator(".adjust")).to_be_visible()
    assert all(run["id"] != "shirts" for run in site.runs())
    second.locator("#net button").click()
    expect(second.locator("#net")).to_be_hidden()


def test_what_one_removes_oneself_leaves_one_near_it(open_page: Open, site: Site, size: tuple[int, int]) -> None:
    """By key or by button: the row next to it is where one goes on, in view; what was typed for it is not told."""
    page = open_page(*size)
    key = site.run_key("shirts")
    tap(page, f"#chip-{key}")
    page.locator(f"#time-{key}").fill("19:15")
    page.locator(f"#run-{key}").focus()
    page.keyboard.press("Delete")
    expect(page.locator(f"#run-{key}")).to_have_count(0)

    assert in_view(page)
    assert page.evaluate("() => document.activeElement.matches('a.chip')")
    expect(page.locator("#net")).to_be_hidden()
