"""A server that is away, slow or failing: one line says so, nothing typed is lost, the next success clears it."""

from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import Open, Site
from tests.browser.fingers import hand, middle


def drag(page: Page, key: str, by_px: float) -> None:
    holding = hand(page)
    holding.down(*middle(page.locator(f"#run-{key}")))
    holding.move(by_px)
    holding.up()


def no_news(page: Page) -> None:
    """Keeps the page from asking what is new, so that only what the test does is answered."""
    page.route("**/changes*", lambda route: route.fulfill(status=204))


def test_a_tap_into_the_void_is_said_until_one_is_stored(open_page: Open, site: Site) -> None:
    """Offline: the run stays as it is, and the line says that nothing was stored; back again it says to do it again."""
    page = open_page()
    run = page.locator(f"#run-{site.run_key('shirts')}")
    page.context.set_offline(True)
    hand(page).tap(*middle(run))
    expect(page.locator("#net")).to_contain_text("Your last change was not stored")
    expect(run).to_have_attribute("aria-pressed", "true")
    page.context.set_offline(False)
    expect(page.locator("#net")).to_contain_text("Do your last change again", timeout=20_000)
    page.wait_for_timeout(2500)
    expect(page.locator("#net")).to_contain_text("Do your last change again")
    hand(page).tap(*middle(run))
    expect(run).to_have_attribute("aria-pressed", "false")
    expect(page.locator("#net")).to_be_hidden()


def test_what_was_not_stored_stays_said_until_it_is_closed(open_page: Open, site: Site) -> None:
    """Status 500 on a tap: looks that are answered leave the line as it is; its button takes it away for good."""
    page = open_page()
    key = site.run_key("shirts")
    page.route(f"**/runs/{key}", lambda route: route.fulfill(status=500, body="broken"))
    page.locator(f"#run-{key}").click()
    line = page.locator("#net")
    expect(line).to_contain_text("Nothing was stored")
    with page.expect_response("**/changes*"):
        pass
    page.wait_for_timeout(100)
    expect(line).to_contain_text("Nothing was stored")
    line.get_by_role("button", name="Close").click()
    expect(line).to_be_hidden()
    page.wait_for_timeout(2500)
    expect(line).to_be_hidden()


def test_a_drag_into_the_void_goes_back(open_page: Open, site: Site, size: tuple[int, int]) -> None:
    """The run stands where it is stored, and so does what its row says."""
    page = open_page(*size)
    key = site.run_key("shirts")
    run = page.locator(f"#run-{key}")
    before = run.bounding_box()
    page.context.set_offline(True)
    drag(page, key, 40)
    expect(page.locator("#net")).to_contain_text("not stored")
    assert run.evaluate("(run) => run.style.left") == ""
    after = run.bounding_box()
    page.context.set_offline(False)

    assert before
    assert after
    assert abs(before["x"] - after["x"]) < 1


def test_what_is_typed_outlasts_a_server_that_is_away(open_page: Open, site: Site) -> None:
    """The time that could not be sent stands in its field, and goes through when the server is back."""
    page = open_page()
    key = site.run_key("shirts")
    hand(page).tap(*middle(page.locator(f"#chip-{key}")))
    field = page.locator(f"#time-{key}")
    # The sheet comes from the server: it has to be here before the server goes.
    expect(field).to_be_visible()
    page.context.set_offline(True)
    field.fill("17:30")
    field.press("Enter")
    expect(page.locator("#net")).to_contain_text("not stored")
    expect(field).to_have_value("17:30")
    page.context.set_offline(False)
    page.wait_for_timeout(2500)
    expect(field).to_have_value("17:30")
    field.press("Enter")
    expect(page.locator(f"#chip-{key}")).to_contain_text("17:30")
    assert site.run("shirts")["start"] == "17:30"


def test_a_choice_that_could_not_be_sent_is_sent_by_its_button(open_page: Open, site: Site) -> None:
    """It stays chosen, as what is typed does; a choice is sent by itself once only, so then its button is there."""
    page = open_page()
    page.locator(".this-plan > details > summary").click()
    sky = page.locator("#value-cloud_oktas")
    send = page.locator("form.choice", has=sky).locator("button.go")
    expect(send).to_be_hidden()
    page.context.set_offline(True)
    sky.select_option("7")
    expect(page.locator("#net")).to_contain_text("not stored")
    page.context.set_offline(False)
    page.locator(f"#run-{site.run_key('shirts')}").click()
    expect(page.locator("#undo")).to_contain_text("Iron")
    expect(sky).to_have_value("7")
    send.click()
    expect(page.locator(".this-plan > details > summary")).to_contain_text("mostly cloudy")
    expect(send).to_be_hidden()


def test_a_server_that_fails_is_said(open_page: Open, site: Site) -> None:
    """Status 500 on a drag: the run goes back, one line says so; the next success clears it."""
    page = open_page(1280, 800)
    no_news(page)
    key = site.run_key("shirts")
    page.route(f"**/runs/{key}", lambda route: route.fulfill(status=500, body="broken"))
    drag(page, key, 60)
    expect(page.locator("#net")).to_contain_text("could not do that")
    assert page.locator(f"#run-{key}").evaluate("(run) => run.style.left") == ""
    page.unroute(f"**/runs/{key}")
    drag(page, key, 60)
    expect(page.locator("#net")).to_be_hidden()
    expect(page.locator(f"#chip-{key}")).not_to_contain_text("16:00")


def test_a_slow_server_is_waited_for_and_then_given_up(open_page: Open, site: Site) -> None:
    """After a second the line says that it waits; after eight what to do, and the run is as before."""
    page = open_page(1280, 800)
    no_news(page)
    run = page.locator(f"#run-{site.run_key('shirts')}")
    stuck: list[Route] = []
    page.route("**/runs/*", lambda route: stuck.append(route))
    run.click(no_wait_after=True)
    expect(page.locator("#net")).to_contain_text("Still waiting")
    # The next look at what others did is answered: the line says so, and keeps what may be missing.
    expect(page.locator("#net")).to_contain_text("Do your last change again", timeout=20_000)
    expect(run).to_have_attribute("aria-pressed", "true")
    page.unroute("**/runs/*")
    run.click()
    expect(run).to_have_attribute("aria-pressed", "false")
    expect(page.locator("#net")).to_be_hidden()


def test_a_slow_answer_takes_the_line_away(open_page: Open, site: Site) -> None:
    """What was waited for arrives: the line goes, the run is switched."""
    page = open_page(1280, 800)
    run = page.locator(f"#run-{site.run_key('shirts')}")
    held: list[Route] = []
    page.route("**/runs/*", lambda route: held.append(route))
    run.click(no_wait_after=True)
    expect(page.locator("#net")).to_contain_text("Still waiting")
    held[0].continue_()
    expect(run).to_have_attribute("aria-pressed", "false")
    expect(page.locator("#net")).to_be_hidden()


def test_a_page_without_its_server_says_so_by_itself(open_page: Open) -> None:
    """Nobody taps anything: within a few seconds the line says that the page may be old, and later that it is not."""
    page = open_page()
    page.context.set_offline(True)
    expect(page.locator("#net")).to_contain_text("What you see may be old")
    page.context.set_offline(False)
    expect(page.locator("#net")).to_be_hidden(timeout=12_000)


def test_another_phones_change_comes_when_the_server_is_back(open_page: Open, site: Site) -> None:
    """The server is away for a while, and somebody changes something: within three seconds of its return it is here."""
    first, second = open_page(1280, 800), open_page()
    first.route("**/h/**", lambda route: route.abort())
    expect(first.locator("#net")).to_contain_text("What you see may be old")
    key = site.run_key("dinner")
    hand(second).tap(*middle(second.locator(f"#run-{key}")))
    expect(second.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "false")
    first.wait_for_timeout(7000)
    expect(first.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "true")
    first.unroute("**/h/**")
    expect(first.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "false", timeout=6000)
    expect(first.locator("#net")).to_be_hidden()
    expect(first.locator(".news")).to_contain_text("On another phone: Induction hob at 18:15 switched off")
