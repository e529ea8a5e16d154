"""Waiting for news: one question for all who wait, and everybody is let go in the end."""

import asyncio
from collections.abc import Mapping

from app.web.watching import Watch


class Asked:
    """States of households as a test sets them. times: how often they were asked for."""

    def __init__(self, **states: str) -> None:
        self.states, self.times = states, 0

    def __call__(self) -> Mapping[str, str]:
        self.times += 1
        return dict(self.states)


def test_many_wait_with_one_question() -> None:
    """A hundred pages of two households: only those hear whose household changed, by few questions."""

    async def wait() -> None:
        asked = Asked(here="1", there="1")
        watch = Watch(asked, every_s=0.01)
        here = [asyncio.create_task(watch.other_than("here", "1", 60)) for _ in range(50)]
        there = [asyncio.create_task(watch.other_than("there", "1", 60)) for _ in range(50)]
        while len(watch) < 100 or not asked.times:
            await asyncio.sleep(0)
        asked.states["here"] = "2"
        assert await asyncio.gather(*here) == ["2"] * 50
        assert not any(one.done() for one in there)
        assert asked.times < 50
        watch.close()
        assert await asyncio.gather(*there) == ["1"] * 50
        assert await watch.other_than("there", "1", 60) == "1"
        assert len(watch) == 0

    asyncio.run(wait())


def test_who_has_waited_long_enough_is_told_that_nothing_happened() -> None:
    """And the watcher stops asking once nobody waits, and begins again with the next."""

    async def wait() -> None:
        asked = Asked(here="1")
        watch = Watch(asked, every_s=0.01)
        assert await watch.other_than("here", "1", 0.05) == "1"
        await asyncio.sleep(0.05)
        before = asked.times
        await asyncio.sleep(0.1)
        assert asked.times == before
        assert await watch.other_than("here", "0", 60) == "1"

    asyncio.run(wait())


def test_a_database_that_cannot_be_asked_leaves_nobody_waiting() -> None:
    """Whoever waits is let go, and asks again by itself."""

    def broken() -> Mapping[str, str]:
        raise OSError("away")

    async def wait() -> None:
        assert await Watch(broken, every_s=0.01).other_than("here", "1", 60) == ""

    asyncio.run(wait())


def test_who_goes_away_is_forgotten() -> None:
    """A page that is closed waits no more."""

    async def wait() -> None:
        watch = Watch(Asked(here="1"), every_s=0.01)
        task = asyncio.create_task(watch.other_than("here", "1", 60))
        while not len(watch):
            await asyncio.sleep(0)
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        assert len(watch) == 0

    asyncio.run(wait())
