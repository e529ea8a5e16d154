"""Looking for what nothing holds any more, once an answer has gone out: who asked does not wait for it.

Others whose answers are under way do: it takes 1 ms, or some 10 where older objects are looked through too.
"""

import asyncio
import gc

from starlette.types import ASGIApp, Receive, Scope, Send

NEW_OBJECTS = 5_000  # between two sweeps; one answer leaves some thousands
SWEEPS = 10  # of the newest objects, before older ones are looked through too
NEW_AT_MOST = 100_000  # then it is swept at once, whoever waits: long work answers nobody
YOUNG, OLDER, ALL = 0, 1, 2  # generations


class Sweeping:
    """The layer of the application that sweeps after every answer, if it is time."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, and then sweep."""
        await self._app(scope, receive, send)
        if scope["type"] == "http":
            asyncio.get_running_loop().call_soon(sweep)


def sweep() -> None:
    """Look through the newest objects if there are many; through older ones too, every so many times."""
    new, young, older = gc.get_count()
    if new < NEW_OBJECTS:
        return
    gc.collect(YOUNG if young < SWEEPS else OLDER if older < SWEEPS else ALL)


def leave_out() -> None:
    """Leave what is there by now, such as the program itself, out of every later sweep.

    Libraries are some hundred thousand objects: to look through them all takes a tenth of a second.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(NEW_AT_MOST, SWEEPS, SWEEPS)
