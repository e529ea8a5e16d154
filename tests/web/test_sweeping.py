"""What nothing holds any more goes once an answer is out, and not while somebody waits for it."""

import asyncio
import gc
import time
import weakref
from collections.abc import Iterator

import pytest
from starlette.types import Message, Receive, Scope, Send

from app.web.sweeping import NEW_AT_MOST, NEW_OBJECTS, SWEEPS, Sweeping, leave_out, sweep
from tests.web.conftest import House

PLANS = ("ordinary",)


class Knot:
    """Holds itself, so that only a sweep finds that nobody else does."""

    def __init__(self) -> None:
        self.itself = self


@pytest.fixture(autouse=True)
def as_served() -> Iterator[None]:
    threshold = gc.get_threshold()
    gc.collect()
    gc.set_threshold(NEW_AT_MOST, SWEEPS, SWEEPS)
    yield
    gc.set_threshold(*threshold)


def many() -> list[list[int]]:
    return [[] for _ in range(2 * NEW_OBJECTS)]


def test_it_is_swept_after_the_answer_and_not_during_it() -> None:
    there_as_sent: list[bool] = []
    knots: list[weakref.ref[Knot]] = []
    held: list[list[int]] = []

    async def app(_scope: Scope, _receive: Receive, send: Send) -> None:
        knots.append(weakref.ref(Knot()))
        held.extend(many())
        await send({"type": "http.response.body"})

    async def send(_message: Message) -> None:
        there_as_sent.append(knots[0]() is not None)

    async def receive() -> Message:
        return {"type": "http.disconnect"}

    async def asked() -> None:
        await Sweeping(app)({"type": "http"}, receive, send)
        await asyncio.sleep(0)

    asyncio.run(asked())
    assert there_as_sent == [True]
    assert knots[0]() is None


def test_the_application_is_swept_after_a_page(house: House) -> None:
    held = many()
    knot = weakref.ref(Knot())
    assert house.client.get("/help").status_code
    for _ in range(100):
        if knot() is None:
            break
        time.sleep(0.05)
    assert knot() is None
    assert held


def test_what_is_there_is_left_out_and_sweeps_are_seldom() -> None:
    gc.set_threshold(1)
    leave_out()
    try:
        assert gc.get_freeze_count() > 0
        assert gc.get_threshold()[0] == NEW_AT_MOST
    finally:
        gc.unfreeze()


def test_little_is_left_for_later() -> None:
    knot = weakref.ref(Knot())
    sweep()
    assert knot() is not None
    held = many()
    sweep()
    assert knot() is None
    assert held


def test_what_was_held_for_a_while_goes_too() -> None:
    """It has outlived several sweeps of the newest objects by the time nothing holds it any more."""
    kept = Knot()
    for _ in range(3):
        gc.collect(0)
    knot = weakref.ref(kept)
    del kept
    held = []
    for _ in range((SWEEPS + 2) ** 2):
        held.append(many())
        sweep()
        held.clear()
        if knot() is None:
            break
    assert knot() is None
