"""Many pages that wait for news hang on one process: what that costs, and how soon each hears."""

import asyncio
import contextlib
import statistics
import time
from pathlib import Path

from tests.endurance.child import Child, child

IDLE_S = 30.0
CHANGED = "dishes"  # none of the runs that `kills` writes, for both may be tried on one server
ONE_CHANGE_S = 20.0  # a page that has not heard by then has heard nothing


class Waiting:
    """An open page: it asks, waits, and asks again, also after the server was away."""

    def __init__(self, server: Child) -> None:
        self._server = server
        self.pulse = ""
        self.heard_s = 0.0
        self.asked = 0

    async def stay(self) -> None:
        """Wait for ever."""
        while True:
            try:
                pulse = await self._ask()
            except (OSError, EOFError, ValueError):
                await asyncio.sleep(2)  # as the page's script does
                continue
            if pulse != self.pulse:
                self.pulse, self.heard_s = pulse, time.monotonic()

    async def _ask(self) -> str:
        self.asked += 1
        reader, writer = await asyncio.open_connection("127.0.0.1", self._server.port)
        try:
            path = f"{self._server.plan}/wait?pulse={self.pulse}&seconds=15"
            lines = [f"GET {path} HTTP/1.1", "Host: localhost", f"Cookie: loadstead={self._server.token}"]
            writer.write("\r\n".join([*lines, "Connection: close", "", ""]).encode())
            head = (await reader.readuntil(b"\r\n\r\n")).decode()
        finally:
            writer.close()
        if " 204 " not in head.partition("\r\n")[0]:
            raise ValueError(head)
        return next(line.partition(": ")[2] for line in head.splitlines() if line.lower().startswith("loadstead-pulse"))


def hang(pages: int, idle_s: float = IDLE_S, server: Child | None = None) -> dict[str, float]:
    """Let so many pages hang on one server, through a change and a restart; what it takes, and when they hear.

    server: to hang on; by itself one of its own.
    """
    with contextlib.nullcontext(server) if server else child() as server:
        server.start()
        return asyncio.run(_hang(server, pages, idle_s))


async def _hang(server: Child, pages: int, idle_s: float) -> dict[str, float]:
    open_pages = [Waiting(server) for _ in range(pages)]
    tasks = [asyncio.create_task(page.stay()) for page in open_pages]
    try:
        await _until(lambda: all(page.asked > 1 for page in open_pages))
        await asyncio.sleep(min(1.0, idle_s))
        begin_s, asked = _processor_s(server), sum(page.asked for page in open_pages)
        await asyncio.sleep(idle_s)
        used_s, asked = _processor_s(server) - begin_s, sum(page.asked for page in open_pages) - asked
        threads = _status(server, "Threads")
        memory_mb = _status(server, "VmRSS") / 1024
        page_ms = await asyncio.to_thread(_page_ms, server)
        heard_s = await _change(server, open_pages, 1)
        await asyncio.to_thread(server.kill)
        await asyncio.to_thread(server.start)
        back = [page.asked for page in open_pages]
        await _until(lambda: all(page.asked > was for page, was in zip(open_pages, back, strict=True)))
        again_s = await _change(server, open_pages, 2)
    finally:
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
    return {
        "pages": pages,
        "threads": threads,
        "memory_mb": round(memory_mb, 1),
        "processor_share": round(used_s / idle_s, 4),
        "questions_per_s": round(asked / idle_s, 2),
        "page_meanwhile_ms": round(page_ms, 1),
        "heard": len(heard_s),
        "heard_median_s": round(statistics.median(heard_s), 3),
        "heard_last_s": round(max(heard_s), 3),
        "heard_after_restart": len(again_s),
    }


async def _change(server: Child, open_pages: list[Waiting], sequence: int) -> list[float]:
    """Change something, and wait until every page has heard; how long each took."""
    key = server.stored.run_keys["laundry", CHANGED].key
    value = "off" if sequence % 2 else "on"
    before = max(_revision({page.pulse}) for page in open_pages)
    form: dict[str, object] = {"field": "on", "value": value, "revision": 1, "tab": "other", "sequence": sequence}
    answer = await asyncio.to_thread(server.ask, "POST", f"{server.plan}/runs/{key}", form)
    done_s = time.monotonic()
    assert answer.status == 303
    end_s = done_s + ONE_CHANGE_S
    while time.monotonic() < end_s:
        await asyncio.sleep(0.02)
        states = {page.pulse for page in open_pages}
        if len(states) == 1 and _revision(states) == before + 1:
            break
    return [max(page.heard_s - done_s, 0.0) for page in open_pages if _revision({page.pulse}) == before + 1]


def _revision(states: set[str]) -> int:
    return int(next(iter(states)).partition("-")[0] or 0)


async def _until(is_so: object) -> None:
    end_s = time.monotonic() + 60
    while not is_so():  # type: ignore[operator]
        assert time.monotonic() < end_s
        await asyncio.sleep(0.02)


def _page_ms(server: Child) -> float:
    """How long an ordinary page takes meanwhile, once it is worked out."""
    server.ask("GET", server.plan)
    took_ms = []
    for _ in range(5):
        begin_s = time.perf_counter()
        assert server.ask("GET", server.plan).status == 200
        took_ms.append(1000 * (time.perf_counter() - begin_s))
    return statistics.median(took_ms)


def _status(server: Child, name: str) -> int:
    """A figure of the server's process; memory in kB."""
    assert server.process is not None
    text = Path(f"/proc/{server.process.pid}/status").read_text()
    return int(next(line.split()[1] for line in text.splitlines() if line.startswith(f"{name}:")))


def _processor_s(server: Child) -> float:
    """Seconds of a processor that the server has used up to now."""
    assert server.process is not None
    fields = Path(f"/proc/{server.process.pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / 100
