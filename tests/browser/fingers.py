"""Real touches, as the browser gets them from a screen."""

from playwright.sync_api import CDPSession, Locator, Page


class Finger:
    """One finger on a page: put down somewhere, moved, lifted."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self._session: CDPSession = page.context.new_cdp_session(page)
        self.x = self.y = 0.0

    def down(self, x: float, y: float) -> None:
        """Touch a place of the window."""
        self.x, self.y = x, y
        self._send("touchStart", [{"x": x, "y": y}])

    def move(self, by_x: float, by_y: float = 0, steps: int = 8) -> None:
        """Go there in some steps, as a finger does."""
        from_x, from_y = self.x, self.y
        for step in range(1, steps + 1):
            self.x, self.y = from_x + by_x * step / steps, from_y + by_y * step / steps
            self._send("touchMove", [{"x": self.x, "y": self.y}])
            self._page.wait_for_timeout(16)

    def up(self) -> None:
        """Let go."""
        self._send("touchEnd", [])

    def tap(self, x: float, y: float) -> None:
        """Touch and let go."""
        self.down(x, y)
        self.up()

    def _send(self, kind: str, points: list[dict[str, float]]) -> None:
        self._session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


class Mouse:
    """The same with a mouse."""

    def __init__(self, page: Page) -> None:
        self._mouse = page.mouse
        self.x = self.y = 0.0

    def down(self, x: float, y: float) -> None:
        """Press at a place of the window."""
        self.x, self.y = x, y
        self._mouse.move(x, y)
        self._mouse.down()

    def move(self, by_x: float, by_y: float = 0, steps: int = 8) -> None:
        """Go there in some steps."""
        self.x, self.y = self.x + by_x, self.y + by_y
        self._mouse.move(self.x, self.y, steps=steps)

    def up(self) -> None:
        """Let go."""
        self._mouse.up()

    def tap(self, x: float, y: float) -> None:
        """Press and let go."""
        self.down(x, y)
        self.up()


def hand(page: Page) -> Finger | Mouse:
    """A finger where there is one, else a mouse."""
    return Finger(page) if page.evaluate("() => matchMedia('(pointer: coarse)').matches") else Mouse(page)


def middle(target: Locator) -> tuple[float, float]:
    """The middle of something, once it is in the window and has been drawn there."""
    # Seen to in the page itself: news may put another in its place meanwhile, which is the one that is measured.
    target.evaluate(
        """(element) => new Promise((done) => {
          element.scrollIntoViewIfNeeded();
          requestAnimationFrame(() => requestAnimationFrame(done));
        })"""
    )
    box = target.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
