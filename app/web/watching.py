"""Open pages wait for news without a thread of their own: one watcher of this process asks the database for all.

A waiting page is a future in the server's loop. While any waits, the watcher puts one small question to the database
twice a second, whatever process it was that changed something, and wakes those whose household is not as it was.
"""

import asyncio
from collections.abc import Callable, Mapping

from starlette.concurrency import run_in_threadpool

EVERY_S = 0.5

# What is answered to a page whose household is not there.
NOTHING = ""


class Watch:
    """Waits for changes of households.

    ask: the state of every household in a word each, by its key; called in a thread.
    """

    def __init__(self, ask: Callable[[], Mapping[str, str]], every_s: float = EVERY_S) -> None:
        self._ask, self._every_s = ask, every_s
        self._waiting: dict[asyncio.Future[str], tuple[str, str]] = {}
        self._task: asyncio.Task[None] | None = None
        self._closing = False

    def __len__(self) -> int:
        return len(self._waiting)

    def close(self) -> None:
        """Let everybody go within half a second, and nobody wait any more; may be called from anywhere."""
        self._closing = True

    async def other_than(self, household_key: str, shown: str, at_most_s: float) -> str:
        """The word for a household's state once it is another than the one shown, or as it is after so long."""
        if self._closing:
            return shown
        loop = asyncio.get_running_loop()
        if self._task is None or self._task.done() or self._task.get_loop() is not loop:
            self._task = loop.create_task(self._watch())
        woken: asyncio.Future[str] = loop.create_future()
        self._waiting[woken] = (household_key, shown)
        try:
            return await asyncio.wait_for(woken, at_most_s)
        except TimeoutError:
            return shown
        finally:
            self._waiting.pop(woken, None)

    async def _watch(self) -> None:
        while self._waiting and not self._closing:
            try:
                states = await run_in_threadpool(self._ask)
            except Exception:
                states = {}  # a database that cannot be asked wakes everybody, and each is told what is wrong
            self._wake(states)
            await asyncio.sleep(self._every_s)
        for woken, (_, shown) in list(self._waiting.items()):
            if not woken.done():
                woken.set_result(shown)

    def _wake(self, states: Mapping[str, str]) -> None:
        for woken, (household_key, shown) in list(self._waiting.items()):
            now = states.get(household_key, NOTHING)
            if now != shown and not woken.done():
                woken.set_result(now)
