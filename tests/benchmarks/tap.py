"""Server time of a tap on "Switch on": one POST that writes, works the day out anew and renders, on real SQLite.

The taps of one day lie on top of one another, as they do when a household says all day what is on.
"""

import datetime
import re
from statistics import median

import numpy as np
from starlette.testclient import TestClient

from app.main import create_app
from app.settings import Settings
from app.web.serving import settle
from tests.benchmarks.served import stored_document
from tests.benchmarks.switching import switching_document
from tests.benchmarks.toggle import ORIGIN, Timed

TAPPABLE = re.compile(r'name="appliance" value="(m\d+)"')
FIRST, STEP_S = datetime.datetime(2026, 5, 12, 6, 0, tzinfo=datetime.UTC), 700
WARM = 3  # taps that come first and are not counted


def tap_figures(appliances: int = 30, runs: int = 40, taps: int = 60) -> dict[str, float]:
    """Milliseconds on the clock and of the processor."""
    document = switching_document(appliances, runs)
    with stored_document(document) as (database, stored, token):
        timed = Timed(create_app(database, Settings(database="")))
        settle()
        clock = _Clock()
        timed.app.state.clock = clock
        rng = np.random.default_rng(5)
        with TestClient(timed, base_url=ORIGIN, headers={"Origin": ORIGIN, "Accept-Encoding": "gzip"}) as client:
            client.get(f"/link/{token}")
            page = f"/h/{stored.key}/{stored.scenarios[0].key}/switch-on"
            machines = sorted(set(TAPPABLE.findall(client.get(f"{page}?sun=1").text)))
            timed.seconds.clear()
            timed.cpu_seconds.clear()
            refused, on = 0, set[str]()
            for number in range(taps):
                clock.now += datetime.timedelta(seconds=STEP_S)
                machine = machines[int(rng.integers(len(machines)))]
                on ^= {machine}
                form = {
                    "appliance": machine,
                    "to": "on" if machine in on else "off",
                    "tab": "bench",
                    "sequence": number + 1,
                }
                answer = client.post(page, data=form, headers={"HX-Request": "true"})
                assert answer.status_code in (200, 422), answer.text
                refused += answer.status_code != 200
    taken, cpu = np.array(timed.seconds[WARM:]) * 1000, np.array(timed.cpu_seconds[WARM:]) * 1000
    return {
        "median_ms": median(taken),
        "p95_ms": float(np.percentile(taken, 95)),
        "cpu_median_ms": median(cpu),
        "cpu_p95_ms": float(np.percentile(cpu, 95)),
        "appliances": len(document["appliances"]),
        "refused": refused,
    }


class _Clock:
    """The application's clock."""

    def __init__(self) -> None:
        self.now = FIRST

    def __call__(self) -> datetime.datetime:
        return self.now


if __name__ == "__main__":
    for name, value in tap_figures().items():
        print(f"{name}: {value:.3g}")
