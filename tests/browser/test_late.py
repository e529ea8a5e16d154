"""What comes late or not at all: the drawing to be zoomed ends at what the page shows, a refusal is still read."""

from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import Open, Site

LONG_MS = 20_000  # within which the charting library is there
AS_STORED = """async () => {
  const { figure } = document.getElementById("closer").dataset;
  const { data } = await (await fetch(figure)).json();
  const heights = (lines) => JSON.stringify(lines.map((one) => one.y && Array.from(one.y)));
  return heights(data) === heights(document.getElementById("closer-plot").data);
}"""


def revision(page: Page) -> str:
    return str(page.get_attribute("#day-steps", "data-revision"))


def expect_newest(page: Page) -> None:
    """The drawing is of the state the page shows, and is what the server draws of it."""
    drawn, shown = (f"document.getElementById('{one}').dataset" for one in ("closer", "day-steps"))
    page.wait_for_function(f"() => {drawn}.ready === {shown}.revision")
    assert page.evaluate(AS_STORED)


def test_a_late_figure_is_not_the_last(open_page: Open, site: Site) -> None:
    """While the first figure is on its way the plan changes twice: what is drawn in the end is the newest."""
    page = open_page(1280, 800)
    held: list[tuple[Route, object]] = []

    def late(route: Route) -> None:
        if held:
            route.continue_()
        else:
            held.append((route, route.fetch()))  # as the plan was then

    page.route("**/figure", late)
    page.locator("#closer summary").click()
    first = revision(page)
    for run in ("shirts", "dinner"):
        key = site.run_key(run)
        page.locator(f"#run-{key}").click()
        expect(page.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "false")
    route, answer = held[0]
    route.fulfill(response=answer)  # type: ignore[arg-type]
    page.wait_for_selector("#closer[data-ready]", timeout=LONG_MS)

    expect_newest(page)
    assert revision(page) != first


def test_a_figure_that_failed_is_asked_for_again(open_page: Open, site: Site) -> None:
    """The line says that something is old, and no longer than that: what is answered next brings the figure."""
    page = open_page()
    page.locator("#closer summary").click()
    page.wait_for_selector("#closer[data-ready]", timeout=LONG_MS)
    page.route("**/figure", lambda route: route.fulfill(status=500, body="broken"))
    key = site.run_key("shirts")
    page.locator(f"#run-{key}").click()
    expect(page.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "false")
    expect(page.locator("#net")).to_contain_text("What you see may be old")
    with page.expect_response("**/changes*"):
        pass
    expect(page.locator("#net")).to_contain_text("What you see may be old")
    page.unroute("**/figure")
    expect(page.locator("#net")).to_be_hidden()

    expect_newest(page)


def test_what_is_zoomed_stays_so(open_page: Open, site: Site) -> None:
    """A change of the plan draws the stretch anew that somebody looks at."""
    page = open_page(1280, 800)
    page.locator("#closer summary").click()
    page.wait_for_selector("#closer[data-ready]", timeout=LONG_MS)
    page.locator("[data-zoom='0.5']").click()
    shown = "() => document.getElementById('closer-plot').layout.xaxis.range"
    page.wait_for_function(f"() => ({shown})()[0] > 0")
    before = page.evaluate(shown)
    key = site.run_key("shirts")
    page.locator(f"#run-{key}").click()
    expect(page.locator(f"#run-{key}")).to_have_attribute("aria-pressed", "false")

    expect_newest(page)
    assert page.evaluate(shown) == before


def test_a_late_refusal_is_said_until_something_is_stored(open_page: Open, site: Site) -> None:
    """Its place is overtaken by a newer answer, so the line says it, and looks that are answered leave it there."""
    page = open_page(1280, 800)
    key, dinner = site.run_key("wash-2"), site.run_key("dinner")
    held: list[tuple[Route, object]] = []
    page.route(f"**/runs/{key}", lambda route: held.append((route, route.fetch())))
    page.locator(f"#chip-{key}").click()
    field = page.locator(f"#time-{key}")
    field.fill(str(site.run("wash-1")["start"]))
    field.press("Enter")
    page.locator(f"#run-{dinner}").click()
    expect(page.locator(f"#run-{dinner}")).to_have_attribute("aria-pressed", "false")
    route, answer = held[0]
    route.fulfill(response=answer)  # type: ignore[arg-type]
    expect(page.locator("#net")).to_contain_text("There is a run of Washing machine")
    with page.expect_response("**/changes*"):
        pass
    page.wait_for_timeout(100)
    expect(page.locator("#net")).to_contain_text("There is a run of Washing machine")
    page.locator(f"#run-{dinner}").click()
    expect(page.locator("#net")).to_be_hidden()
