"""Sharing in two browsers with three links: made, opened, heard within three seconds, revoked; and nobody barred."""

import datetime

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Open, Server, Site
from tests.browser.scanning import scan_by_screen

PROMISED_MS = 3000  # within which a page shows what another did, or that its link is revoked
SOON_MS = 2 * PROMISED_MS  # where others work on the same machine


@pytest.fixture(autouse=True)
def morning(server: Server, site: Site) -> None:
    """Twelve past eleven on the plan's own day, by its own clock."""
    moment = datetime.datetime(2026, 5, 16, 10, 12, tzinfo=datetime.UTC)
    assert server.app is not None
    server.app.state.clock = lambda: moment


def make(page: Page, site: Site, name: str, scope: str, plan: str = "Every plan") -> str:
    """Make a link as an owner does, and return its address."""
    page.goto(f"/households/{site.key}/links")
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_role("radio", name=scope).check()
    page.get_by_label("Shows").select_option(plan)
    page.get_by_role("button", name="Make the link").click()
    expect(page.locator("#made")).to_contain_text(name)
    return page.locator("#address").input_value()


def open_with(page: Page, address: str) -> None:
    """Open a link in a browser that had none."""
    page.context.clear_cookies()
    page.goto(address)


def test_a_link_is_given_used_and_taken_away(open_page: Open, site: Site) -> None:
    """The partner's phone follows what the owner and a helper do, and says at once that its link was revoked."""
    owner, phone, other = open_page(1280, 800), open_page(), open_page()
    partner = make(owner, site, "Kitchen tablet", "Look", "Laundry day")
    scan_by_screen(owner, "a link that was made just now")
    helper = make(owner, site, "Ada’s phone", "Help")
    open_with(phone, partner)
    assert phone.url.endswith("/partner")
    expect(phone.locator("#room")).to_contain_text("Next: Heat-pump dryer at 13:15.")
    open_with(other, helper)
    other.goto(site.address())
    expect(phone.locator("#now[data-pending]")).to_have_count(0, timeout=20_000)
    scan_by_screen(phone, "the page for one plan")

    other.locator(f"#run-{site.run_key('shirts')}").click()
    expect(other.locator(f"#run-{site.run_key('shirts')}")).to_have_attribute("aria-pressed", "false")
    expect(phone.locator(".small-day")).not_to_contain_text("Iron", timeout=SOON_MS)

    third = open_page(1280, 800)
    open_with(third, helper)
    third.goto(f"{site.address()}/household")
    for page, name in ((phone, "Kitchen tablet"), (other, "Ada’s phone")):
        owner.goto(f"/households/{site.key}/links")
        owner.get_by_role("link", name=f"Revoke {name}").click()
        expect(owner.get_by_role("button", name="Revoke it")).to_be_visible()
        scan_by_screen(owner, "asked whether to revoke")
        owner.get_by_role("button", name="Revoke it").click()
        expect(owner.get_by_role("button", name="Revoke it")).to_have_count(0)
        expect(owner.get_by_role("link", name=f"Revoke {name}")).to_have_count(0)
        expect(page.locator("#net")).to_contain_text("This link opens nothing any more", timeout=SOON_MS)
    field = third.locator("form.figures input:not([type=hidden])").first
    field.fill("Europe/Dublin")
    field.press("Enter")
    expect(third.locator("#net")).to_contain_text("This link opens nothing any more", timeout=SOON_MS)
    phone.reload()
    expect(phone.locator(".lead")).to_have_text("This link was revoked and opens nothing any more.")


def test_a_link_is_copied_and_works_without_scripts(open_page: Open, site: Site) -> None:
    """The address goes to the clipboard by one tap; without scripts it is made, used and revoked all the same."""
    owner = open_page()
    make(owner, site, "Wall", "Look", "Laundry day")
    owner.get_by_role("button", name="Copy").click()
    expect(owner.get_by_role("button", name="Copied")).to_be_visible()

    plain = open_page(script=False)
    address = make(plain, site, "Old phone", "Look", "Laundry day")
    expect(plain.get_by_role("button", name="Copy")).to_have_count(0)
    guest = open_page(script=False)
    open_with(guest, address)
    guest.locator("#ask-run").select_option("Bread oven")
    guest.get_by_role("button", name="Ask").click()
    expect(guest.locator("#asked")).to_contain_text("Bread oven now:")
    plain.goto(f"/households/{site.key}/links")
    plain.get_by_role("link", name="Revoke Old phone").click()
    plain.get_by_role("button", name="Revoke it").click()
    expect(plain.get_by_role("button", name="Revoke it")).to_have_count(0)
    guest.reload()
    expect(guest.locator(".lead")).to_have_text("This link was revoked and opens nothing any more.")


def test_a_plan_is_gone_back_to(open_page: Open, site: Site) -> None:
    """From the history, with a look before; the plan's page offers to take that back."""
    page = open_page()
    page.locator(f"#run-{site.run_key('shirts')}").click()
    expect(page.locator(f"#run-{site.run_key('shirts')}")).to_have_attribute("aria-pressed", "false")
    page.goto(f"{site.address()}/history")
    scan_by_screen(page, "the history")
    page.get_by_role("link", name="As it was then").last.click()
    expect(page.get_by_text("Going back would change")).to_be_visible()
    scan_by_screen(page, "a plan as it was")
    page.get_by_role("button", name="Go back to this").click()
    expect(page.locator(f"#run-{site.run_key('shirts')}")).to_have_attribute("aria-pressed", "true")
    page.locator("#undo").click()
    expect(page.locator(f"#run-{site.run_key('shirts')}")).to_have_attribute("aria-pressed", "false")
