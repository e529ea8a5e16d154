"""What may be switched on, in a hand: taps at once, two phones, a server that is away, and nobody barred."""

import datetime
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Device, Open, Server, Site
from tests.browser.scanning import scan_by_screen
from tests.browser.waiting import Sent

Clock = Callable[[str], None]


@pytest.fixture
def clock(server: Server, site: Site) -> Clock:
    """Sets the server's clock on the plan's own day."""
    assert site.key

    def set_to(text: str) -> None:
        moment = datetime.datetime.fromisoformat(f"2026-05-16T{text}+01:00")
        assert server.app is not None
        server.app.state.clock = lambda: moment.astimezone(datetime.UTC)

    set_to("10:12")
    return set_to


def row(page: Page, name: str) -> Locator:
    return page.locator(".board li", has=page.get_by_role("heading", name=name, exact=True))


def switch(page: Page, name: str) -> Locator:
    return page.get_by_role("switch", name=name, exact=True)


def test_a_tap_is_seen_at_once_and_heard_by_the_other_phone(open_page: Open, site: Site, clock: Clock) -> None:
    """The switch moves before the answer, the row under it stays where it was, and another's page follows."""
    page, other = open_page(), open_page()
    for one in (page, other):
        one.goto(f"{site.address()}/switch-on?sun=1")
    expect(page.locator("#room strong")).to_have_text("Room for 2.8 kW more")
    switch(page, "Kettle").scroll_into_view_if_needed()
    page.evaluate("() => scrollBy(0, 200)")
    below = row(page, "Vacuum cleaner")
    before = below.bounding_box()
    sent = Sent(page)
    seen_at_once = page.evaluate(
        "() => { const one = document.querySelector('[aria-labelledby=' + "
        "Array.from(document.querySelectorAll('h3')).find((h) => h.textContent === 'Kettle').id + ']');"
        " one.click(); return one.getAttribute('aria-checked'); }"
    )
    assert seen_at_once == "true"
    sent.settle()
    expect(page.locator(".on-now li", has_text="Kettle")).to_contain_text("on since 10:12, by owner")
    after = below.bounding_box()
    assert before is not None
    assert after is not None
    assert abs(before["y"] - after["y"]) < 1
    expect(page.locator("#said")).to_contain_text("Kettle on")
    expect(other.locator(".on-now li", has_text="Kettle")).to_be_visible()
    switch(other, "Washing machine").click()
    expect(page.locator(".on-now li", has_text="Washing machine")).to_have_count(0)
    expect(page.locator("#last")).to_have_text("Last tapped just now by owner: Washing machine off.")
    page.locator("#back-all").click()
    expect(other.locator("#last")).to_have_text("Nobody has tapped anything on this plan today.")
    expect(other.locator(".on-now li", has_text="Washing machine")).to_be_visible()


def test_two_taps_in_a_row_are_two_commands_in_their_order(open_page: Open, site: Site, clock: Clock) -> None:
    """On and off again before the first is answered: it ends off; by keyboard too, and the focus stays."""
    page = open_page()
    page.goto(f"{site.address()}/switch-on?sun=1")
    sent = Sent(page)
    vacuum = switch(page, "Vacuum cleaner")
    vacuum.evaluate("(one) => { one.focus(); one.click(); one.click(); }")
    sent.settle()
    expect(vacuum).to_have_attribute("aria-checked", "false")
    expect(page.locator("#last")).to_have_text("Last tapped just now by owner: Vacuum cleaner off.")
    page.keyboard.press("Space")
    sent.settle()
    expect(vacuum).to_have_attribute("aria-checked", "true")
    expect(vacuum).to_be_focused()
    assert [("to=on" in body) for body in sent.bodies] == [True, False, True]


def test_time_passes_and_the_server_goes_away(open_page: Open, site: Site, clock: Clock) -> None:
    """The open page follows the clock; without an answer it says how old it is, and takes a tap back."""
    page = open_page()
    page.goto(f"{site.address()}/switch-on?sun=1")
    clock("11:05")
    expect(page.locator(".when b")).to_have_text("11:05")
    expect(page.locator("#room")).to_contain_text("too much")
    page.context.set_offline(True)
    expect(page.locator("#net")).to_contain_text("No answer from the server. What you see was worked out at 11:05.")
    expect(page.locator("#now")).to_have_class("board old")
    laptop = switch(page, "Laptop")
    laptop.click()
    expect(page.locator("#net")).to_contain_text("Your last tap was not stored")
    expect(laptop).to_have_attribute("aria-checked", "false")
    page.context.set_offline(False)
    laptop.click()
    expect(laptop).to_have_attribute("aria-checked", "true")
    expect(page.locator("#net")).to_be_hidden()


def test_everything_works_with_and_without_the_script(
    open_page: Open, site: Site, clock: Clock, device: Device
) -> None:
    """From the day, by its tab: a tap, back to the plan, what should not go on now, and a question."""
    page = open_page(device.width, device.height, script=device.script)
    page.get_by_role("navigation", name="Screens").get_by_role("link", name="Switch on", exact=True).click()
    expect(page.locator(".tabs [aria-current=page]")).to_have_text("Switch on")
    for box in (one.bounding_box() for one in page.locator(".tabs a, .rocker:visible").all()):
        assert box is not None
        assert min(box["width"], box["height"]) >= 44
    switch(page, "Washing machine").click()
    expect(row(page, "Washing machine")).to_contain_text("Off since 10:12, by owner.")
    row(page, "Washing machine").get_by_role("button", name="Back to the plan").click()
    expect(row(page, "Washing machine")).to_contain_text("tumbles until 10:18")
    clock("11:05")
    page.goto(f"{site.address()}/switch-on")
    row(page, "Bread oven").get_by_role("button", name="It is on already").click()
    expect(page.locator(".on-now li", has_text="Bread oven")).to_contain_text("by owner")
    page.locator("#ask-run").select_option(label="Iron")
    page.locator("#ask-start").fill("10:00")
    page.get_by_role("button", name="Ask").click()
    expect(page.locator("#fault-start")).to_have_text("That is past already. Give a time from 11:05 on.")
    expect(page.locator("#ask-start")).to_have_value("10:00")
    page.locator("#ask-start").fill("20:00")
    page.get_by_role("button", name="Ask").click()
    expect(page.locator("#asked")).to_contain_text("Iron at 20:00: GO")
    assert page.evaluate("() => document.documentElement.scrollWidth") <= device.width


@pytest.mark.parametrize("width", [320])
def test_it_bars_nobody(open_page: Open, site: Site, clock: Clock, width: int) -> None:
    """With everything unfolded, with a question refused, and with text twice as large."""
    clock("11:05")
    page = open_page(width, 800)
    page.goto(f"{site.address()}/switch-on?sun=1")
    switch(page, "Dishwasher").click()
    expect(row(page, "Dishwasher")).to_contain_text("Off since 11:05")
    page.locator("#always > summary").click()
    scan_by_screen(page, "switch on")
    page.goto(f"{site.address()}/switch-on?run=iron&start=25:99")
    scan_by_screen(page, "refused")
    page.goto(f"{site.address()}/switch-on?at=18:30&run=iron")
    scan_by_screen(page, "another time")
    if width < 900:
        page.evaluate("() => { document.documentElement.style.fontSize = '200%'; }")
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width
