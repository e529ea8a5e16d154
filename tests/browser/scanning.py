"""The accessibility scan of a page as it stands."""

from axe_playwright_python.base import AXE_SCRIPT, AxeResults
from playwright.sync_api import Page

RUN = "() => axe.run({ resultTypes: ['violations'] })"


def scan(page: Page, state: str = "") -> None:
    """Nothing bars anybody in this state; a page is given the scan's script once, half a megabyte."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    found = AxeResults(page.evaluate(RUN))

    assert found.violations_count == 0, f"{state}: {found.generate_report()}"


def scan_day_and_night(page: Page, state: str = "") -> None:
    """The same in the colours of the day and in those of the night."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        scan(page, f"{state}, {scheme}")
