"""The accessibility scan of a page as it stands."""

from axe_playwright_python.base import AXE_SCRIPT, AxeResults
from playwright.sync_api import Page

# A table's later rows are as its first ones, a third stage and a third circuit as the second: of such forms with
# everything unfolded, and of most of a page's time, that is the larger part.
ALIKE = (
    "tbody tr:nth-child(n+9)",
    "details.stage ~ details.stage ~ details.stage",
    "[id^=fold-circuits-] ~ [id^=fold-circuits-] ~ [id^=fold-circuits-]",
)
# What is found is all that is sent, and no page here has a page in it.
RUN = """async ([parts, alike]) => {
  const wanted = { resultTypes: ["violations"], iframes: false, preload: false };
  const within = { exclude: alike.map((one) => [one]) };
  if (parts.length) within.include = parts.map((one) => [one]);
  const found = await axe.run(within, wanted);
  return { ...found, passes: [], incomplete: [], inapplicable: [] };
}"""
PHONE_PX = 900  # narrower is one


def scan(page: Page, state: str = "", *parts: str) -> None:
    """Nothing bars anybody in this state; a page is given the scan's script once, half a megabyte.

    parts: selectors of what is other than when the page was scanned before; each is there once. None: the whole page.
    """
    for part in parts:
        assert page.locator(part).count() == 1, part
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    found = AxeResults(page.evaluate(RUN, [parts, ALIKE]))

    assert found.violations_count == 0, f"{state}: {found.generate_report()}"


def scan_by_screen(page: Page, state: str = "", *parts: str) -> None:
    """On a phone in the colours of the day, on a desk in those of the night: colours do not depend on the layout."""
    assert page.viewport_size is not None
    scheme = "light" if page.viewport_size["width"] < PHONE_PX else "dark"
    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    scan(page, f"{state}, {scheme}", *parts)
