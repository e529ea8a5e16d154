"""The worker's process: started when there is something to do, killed, started again, gone with its server."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from app.household.demo import demo_text
from app.household.file import read_document
from app.jobs.hiring import Worker
from app.jobs.job import Job
from app.jobs.jobs import Jobs
from app.settings import read_settings

PATIENCE_S = 60


def laundry_order(seconds: float) -> dict[str, object]:
    """The demo's laundry day; five loads to be placed."""
    movable = ["wash-1", "wash-2", "dry-1", "dry-2", "dishes"]
    wish = {"movable": movable, "quiet": [], "not_before": None, "done_by": None, "chance": False}
    document = read_document(demo_text())
    return {
        "household": document, "scenario": "laundry", "wish": wish, "seconds": seconds, "seed": 1, "begin": None,
    }  # fmt: skip


def until(wanted: Callable[[], bool]) -> None:
    ends_s = time.monotonic() + PATIENCE_S
    while not wanted():
        assert time.monotonic() < ends_s
        time.sleep(0.05)


@pytest.fixture
def worker() -> Iterator[Worker]:
    worker = Worker()
    yield worker
    worker.end()


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    # One that has ended is there until its parent asks.
    return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"


def test_a_killed_worker_loses_nothing(tmp_path: Path, worker: Worker, monkeypatch: pytest.MonkeyPatch) -> None:
    """Killed in the middle of a search, the next page that looks has another go on from the best, and that ends."""
    monkeypatch.setattr("app.jobs.jobs.LOST_S", 2.0)
    jobs = Jobs(str(tmp_path / "jobs.sqlite3"), worker.see_to)
    key = jobs.ask("laundry", laundry_order(seconds=60))
    seen: list[Job] = []

    def look() -> Job:
        job = jobs.look(key)
        assert job is not None
        seen.append(job)
        return job

    until(lambda: look().best is not None)
    first = worker.pid
    if seen[-1].state == "working":  # where it has not come to its end by then
        assert first is not None
        os.kill(first, signal.SIGKILL)
        until(lambda: look().again == 1)
        until(lambda: look().state == "working" or look().ended)
        assert worker.pid != first
        jobs.stop(key)
    until(lambda: look().ended)
    assert seen[-1].state == "done"
    best = seen[-1].best
    assert best is not None
    assert best["state"] == "found"
    assert set(best["starts"]) == {"wash-1", "wash-2", "dry-1", "dry-2", "dishes"}
    jobs.close()


def test_the_worker_ends_with_its_server(tmp_path: Path) -> None:
    """Killed without a word, a server leaves no worker behind; asked to end, one ends at once."""
    place = str(tmp_path / "jobs.sqlite3")
    program = (
        "import sys, time; from app.jobs.hiring import Worker\n"
        f"worker = Worker(); worker.see_to({place!r}); print(worker.pid, flush=True); time.sleep(600)"
    )
    server = subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, text=True)
    assert server.stdout is not None
    pid = int(server.stdout.readline())
    until(lambda: Path(place).exists())
    assert alive(pid)
    server.kill()
    server.wait()
    server.stdout.close()
    until(lambda: not alive(pid))

    worker = Worker()
    worker.see_to(place)
    own = worker.pid
    assert own is not None
    worker.see_to(place)
    assert worker.pid == own
    worker.end()
    assert not alive(own)


def test_pages_load_neither_the_queue_nor_the_solver() -> None:
    """What only long work needs costs no page time or memory."""
    program = "import sys, app.main; print([one for one in ('huey', 'ortools', 'redis') if one in sys.modules])"
    answer = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "[]"


def test_jobs_lie_beside_the_database_unless_told() -> None:
    """A file of their own beside SQLite's, the user's own folder with PostgreSQL, or where the setting says."""
    home = {"XDG_DATA_HOME": "/data"}
    assert read_settings(home).jobs == "/data/loadstead/loadstead.jobs.sqlite3"
    beside = read_settings(home | {"LOADSTEAD_DATABASE": "sqlite:////srv/house.db"})
    assert beside.jobs == "/srv/house.jobs.sqlite3"
    postgresql = read_settings(home | {"LOADSTEAD_DATABASE": "postgresql+psycopg://db/house"})
    assert postgresql.jobs == "/data/loadstead/loadstead.jobs.sqlite3"
    assert read_settings(home | {"LOADSTEAD_JOBS": "redis://queue:6379/1"}).jobs == "redis://queue:6379/1"


def test_redis_without_its_package_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """The message names the extra."""
    from app.jobs.shelf import Shelf

    monkeypatch.setattr("huey.storage.Redis", None)
    with pytest.raises(OSError, match=r"loadstead\[redis\]"):
        Shelf("redis://localhost:6379/0")
