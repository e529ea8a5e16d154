"""Waiting for what a page has under way, rather than for a while."""

import time

from playwright.sync_api import Page, Request

LONGEST_MS = 10_000  # however busy the machine is: nothing here is about how soon
LONGEST_PAGE_MS = 30_000  # the first page that needs the sun loads what works it out, which takes seconds
# A moment more, for where others work too an answer may have come some frames before its page hears of it.
TWO_FRAMES = """() => new Promise((done) =>
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 50))))"""

# The day's page knows itself what it has sent and what waits for that.
NOTHING_WAITS = "() => typeof onItsWay === 'undefined' || (!onItsWay.size && !waiting.size)"


def search_nothing(page: Page) -> None:
    """No way out of a red plan is looked for: that takes seconds after each change, and is not what a test is about."""
    page.route("**/*part=ways*", lambda route: route.fulfill(status=204))


class Sent:
    """The commands a page sends from now on, and which of them are still on their way."""

    def __init__(self, page: Page) -> None:
        self.bodies: list[str] = []
        self._page = page
        self._ended = 0
        page.on("request", self._began)
        page.on("requestfinished", self._came_back)
        page.on("requestfailed", self._came_back)

    def settle(self) -> None:
        """Wait until every command is answered, the answer is shown, and none came after it."""
        end = time.monotonic() + LONGEST_MS / 1000
        seen, is_quiet = -1, False
        while seen != len(self.bodies) or self._ended < seen or not is_quiet:
            assert time.monotonic() < end, f"{len(self.bodies)} sent, {self._ended} answered"
            seen = len(self.bodies)
            # What an answer sets off is sent, and what it changes is shown, within two frames.
            self._page.evaluate(TWO_FRAMES)
            is_quiet = self._page.evaluate(NOTHING_WAITS)

    def _began(self, request: Request) -> None:
        if request.method == "POST":
            self.bodies.append(request.post_data or "")

    def _came_back(self, request: Request) -> None:
        if request.method == "POST":
            self._ended += 1
