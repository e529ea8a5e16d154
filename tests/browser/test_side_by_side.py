"""Plans side by side in a hand and on a desk: two columns or all, a closer look, and what a what-if is made of."""

from playwright.sync_api import expect

from tests.browser.conftest import Open, Site
from tests.browser.scanning import scan_by_screen
from tests.browser.test_readable import readable

PLANS = ("ordinary", "laundry", "shed")


def test_three_plans_are_read_and_looked_at_closer(open_page: Open, site: Site, size: tuple[int, int]) -> None:
    """What would help comes by itself; a phone shows two columns, a desk three; the needs come at a tap."""
    page = open_page(*size)
    keys = [site.address(plan).rpartition("/")[2] for plan in ("shed", "laundry")]
    address = f"{site.address('ordinary')}/side-by-side?with={keys[0]}&with={keys[1]}"
    assert page.request.get(address, timeout=60_000).ok  # the sun is a second's work in a new process
    page.goto(address)
    expect(page.locator("#decides")).to_contain_text("if Air compressor waits until", timeout=30_000)
    is_phone = size[0] < 900
    expect(page.locator(".heads .head:visible")).to_have_count(2 if is_phone else 3)
    expect(page.locator(".by-plan tbody").nth(1).locator("td:visible")).to_have_count(2 if is_phone else 3)
    page.locator("#show-needs").click()
    expect(page.locator("#needs-how")).to_be_attached(timeout=30_000)
    readable(page, "three plans")
    scan_by_screen(page, "three plans")
    if is_phone:
        page.get_by_role("link", name="C Laundry day").click()
        expect(page.locator(".heads .head:visible h2").last).to_have_text("C Laundry day")
        first = page.locator(".by-plan tbody").first.bounding_box()
        assert first is not None
        assert first["y"] + first["height"] < 844  # the first difference is on the first screen
        page.set_viewport_size({"width": 320, "height": 700})
        assert page.evaluate("document.documentElement.scrollWidth") <= 320
    else:
        page.locator("#side-closer > summary").click()
        expect(page.locator("#side-closer[data-ready]")).to_be_attached(timeout=30_000)
        expect(page.locator("#side-plot .main-svg").first).to_be_visible()
        drawing, plot = (
            page.locator("#side-plot .main-svg").first.bounding_box(),
            page.locator("#side-plot").bounding_box(),
        )
        assert drawing is not None
        assert plot is not None
        assert drawing["width"] <= plot["width"] <= size[0]


def test_a_what_if_is_begun_changed_and_taken_back(open_page: Open, site: Site, device: tuple[int, int, bool]) -> None:
    """By forms alone or with the script: a larger inverter for one plan alone, told, and taken back."""
    width, height, script = device
    page = open_page(width, height, script=script)
    page.goto(f"{site.address('ordinary')}/what-if")
    page.locator("#name").fill("Larger inverter")
    page.locator("#begin-what-if button").click()
    expect(page.locator("h2").first).to_contain_text("Larger inverter built on An ordinary day")
    if script:
        scan_by_screen(page, "a what-if")
    page.get_by_role("link", name="Supply, for this plan alone").click()
    page.locator("#inverter-rated_va").fill("5600")
    if script:
        page.locator("#inverter-rated_va").press("Tab")
    else:
        page.get_by_role("button", name="Save Inverter").click()
    expect(page.locator("#else-inverter-rated_va-1")).to_contain_text(
        "In the plan An ordinary day: 5000", timeout=20_000
    )
    page.get_by_role("link", name="Back to the what-if").click()
    expect(page.locator(".differs")).to_contain_text("Rated power: 5000 VA → 5600 VA")
    page.locator(".differs button").click()
    expect(page.locator(".differs")).to_have_count(0, timeout=20_000)


def test_pressed_twice_it_is_made_real_only_after_a_look(open_page: Open, site: Site) -> None:
    """The household changed since the preview: a second press before that is said does not stand for what is new."""
    page = open_page()
    page.goto(f"{site.address('shed')}/what-if/real")
    other = page.context.new_page()
    other.goto(site.address("laundry"))
    run = next(str(one["id"]) for one in site.runs() if one.get("on", True))
    other.locator(f"#run-{site.run_key(run, 'laundry')}").click()
    expect(other.locator("#undo")).to_be_visible()
    page.route("**/what-if/real", lambda route: (page.wait_for_timeout(500), route.continue_()))
    for _ in range(2):
        page.locator("#do-it").click(no_wait_after=True)
    expect(page.locator("main")).to_contain_text("Look again before you do it")
    page.wait_for_timeout(1000)
    expect(page).to_have_url(f"{site.address('shed')}/what-if/real")
