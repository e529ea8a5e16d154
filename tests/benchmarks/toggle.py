"""Server time of a toggle: one POST that writes, assesses and renders, against a real SQLite file."""

import re
import time
from statistics import median
from typing import Any

import numpy as np
from starlette.testclient import TestClient
from starlette.types import ASGIApp, Receive, Scope, Send

from app.main import create_app
from app.settings import Settings
from app.web.serving import settle
from tests.benchmarks.served import stored_mix

ORIGIN = "http://127.0.0.1"


class Timed:
    """Notes how long the application works on each request."""

    def __init__(self, app: ASGIApp) -> None:
        self.app: Any = app
        self.seconds: list[float] = []
        self.cpu_seconds: list[float] = []  # of the whole process: what is answered runs on a thread of its own

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        begin, cpu_begin = time.perf_counter(), time.process_time()
        await self.app(scope, receive, send)
        if scope["type"] != "http":
            return  # the application's own beginning and end is no request
        self.seconds.append(time.perf_counter() - begin)
        self.cpu_seconds.append(time.process_time() - cpu_begin)


def toggle_figures(runs: int, repeats: int) -> dict[str, float]:
    """Milliseconds of toggles on a day of so many runs in the demo household's supply."""
    with stored_mix(runs) as (database, stored, token):
        scenario = stored.scenarios[0]
        run_keys = [stored.run_keys[scenario.id, f"r{number}"].key for number in range(runs)]
        timed = Timed(create_app(database, Settings(database="")))
        settle()
        rng = np.random.default_rng(5)
        with TestClient(timed, base_url=ORIGIN, headers={"Origin": ORIGIN, "Accept-Encoding": "gzip"}) as client:
            client.get(f"/link/{token}")
            page = f"/h/{stored.key}/{scenario.key}"
            revision = _revision(client.get(page).text)
            on = dict.fromkeys(run_keys, True)
            timed.seconds.clear()
            sizes = []
            for number in range(repeats):
                run_key = run_keys[int(rng.integers(runs))]
                on[run_key] = not on[run_key]
                answer = client.post(
                    f"{page}/runs/{run_key}",
                    data={
                        "field": "on", "value": "on" if on[run_key] else "off", "revision": revision,
                        "tab": "bench", "sequence": number + 1, "open": "",
                    },
                    headers={"HX-Request": "true"},
                )  # fmt: skip
                assert answer.status_code == 200, answer.text
                revision = max(revision, _revision(answer.text))
                sizes.append(len(answer.content))
        taken = sorted(timed.seconds[5:])
        return {
            "median_ms": median(taken) * 1000,
            "p95_ms": taken[int(len(taken) * 0.95)] * 1000,
            "fragment_bytes": median(sizes),
        }


def _revision(html: str) -> int:
    return max(int(found) for found in re.findall(r'name="revision" value="(\d+)"', html))
