"""The benchmarks' day of many runs, stored and served."""

import contextlib
import socket
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import uvicorn

from app.household.demo import demo_text
from app.household.file import read_document
from app.main import create_app
from app.settings import Settings
from app.store.households import import_household, load
from app.store.links import make_link
from app.store.session import Database
from app.store.stored import StoredHousehold
from tests.benchmarks.mix import household


@contextlib.contextmanager
def stored_mix(runs: int) -> Iterator[tuple[Database, StoredHousehold, str]]:
    """A database with a day of so many runs in the demo household's supply, that household, and an owner's token."""
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
        yield database, stored, token
        database.close()


@contextlib.contextmanager
def served_mix(runs: int) -> Iterator[tuple[str, str, str]]:
    """That day behind a real server of this machine alone: its address, an owner's token, and the plan's path."""
    with stored_mix(runs) as (database, stored, token):
        sock = socket.socket()
        sock.bind(("127.0.0.1", 0))
        config = uvicorn.Config(create_app(database, Settings(database="")), log_level="warning", access_log=False)
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [sock]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.01)
        yield f"http://127.0.0.1:{sock.getsockname()[1]}", token, f"/h/{stored.key}/{stored.scenarios[0].key}"
        server.should_exit = True
        thread.join(5)
