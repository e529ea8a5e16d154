"""Server time of a toggle: one POST that writes, assesses and renders, against a real SQLite file."""

import re
import tempfile
import time
from pathlib import Path
from statistics import median

import numpy as np
from starlette.testclient import TestClient
from starlette.types import ASGIApp, Receive, Scope, Send

from app.household.demo import demo_text
from app.household.file import read_document
from app.main import create_app
from app.settings import Settings
from app.store.households import import_household, load
from app.store.links import make_link
from app.store.session import Database
from tests.benchmarks.mix import household

ORIGIN = "http://127.0.0.1"


class Timed:
    """Notes how long the application works on each request."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app
        self.seconds: list[float] = []

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        begin = time.perf_counter()
        await self._app(scope, receive, send)
        self.seconds.append(time.perf_counter() - begin)


def toggle_figures(runs: int, repeats: int) -> dict[str, float]:
    """Milliseconds of toggles on a day of so many runs in the demo household's supply."""
    with tempfile.TemporaryDirectory() as folder:
        database = Database(f"sqlite:///{Path(folder) / 'bench.sqlite3'}")
        database.migrate()
        document = read_document(demo_text())
        mix = household(1, runs)
        for appliance in mix["appliances"]:
            appliance["stages"] = [{**stage, "watts": stage["watts"] / 20} for stage in appliance["stages"]]
            for stage in appliance["stages"]:
                if "start" in stage:
                    stage["start"] = {**stage["start"], "va": stage["start"]["va"] / 20}
        document["appliances"] += mix["appliances"]
        document["scenarios"] = [{**document["scenarios"][0], "runs": mix["scenarios"][0]["runs"]}]
        with database.session() as session:
            key = import_household(session, document, None)
            token = make_link(session, "benchmark", "owner")
            session.commit()
            stored = load(session, key)
        assert stored is not None
        scenario = stored.scenarios[0]
        run_keys = [stored.run_keys[scenario.id, f"r{number}"].key for number in range(runs)]
        timed = Timed(create_app(database, Settings(database="")))
        rng = np.random.default_rng(5)
        with TestClient(timed, base_url=ORIGIN, headers={"Origin": ORIGIN, "Accept-Encoding": "gzip"}) as client:
            client.get(f"/link/{token}")
            page = f"/h/{key}/{scenario.key}"
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
            database.close()
        taken = sorted(timed.seconds[5:])
        return {
            "median_ms": median(taken) * 1000,
            "p95_ms": taken[int(len(taken) * 0.95)] * 1000,
            "fragment_bytes": median(sizes),
        }


def _revision(html: str) -> int:
    return max(int(found) for found in re.findall(r'name="revision" value="(\d+)"', html))
