"""The benchmarks' day of many runs, stored and served."""

import contextlib
import multiprocessing
import tempfile
import threading
import time
from collections.abc import Iterator
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import uvicorn

from app.main import create_app
from app.settings import Settings
from app.store.households import import_household, load
from app.store.links import make_link
from app.store.session import Database
from app.store.stored import StoredHousehold
from app.web.serving import listen, settle
from tests.benchmarks.mix import demo_mix


@contextlib.contextmanager
def stored_mix(runs: int) -> Iterator[tuple[Database, StoredHousehold, str]]:
    """A database with a day of so many runs in the demo household's supply, that household, and an owner's token."""
    with stored_document(demo_mix(runs)) as stored:
        yield stored


@contextlib.contextmanager
def stored_document(document: dict[str, Any]) -> Iterator[tuple[Database, StoredHousehold, str]]:
    """A database with a household, that household, and an owner's token."""
    with tempfile.TemporaryDirectory() as folder:
        database = Database(f"sqlite:///{Path(folder) / 'bench.sqlite3'}")
        database.migrate()
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
    """That day behind a real server of this machine alone: its address, an owner's token, and the plan's path.

    In a process of its own, for whoever looks at the page is not where the server is.
    """
    apart = multiprocessing.get_context("spawn")
    here, there = apart.Pipe()
    process = apart.Process(target=_serve, args=(runs, there), daemon=True)
    process.start()
    there.close()
    try:
        yield here.recv()
    finally:
        here.close()
        process.join(10)


def _serve(runs: int, asked: Connection) -> None:
    """Until whoever asked hangs up."""
    with stored_mix(runs) as (database, stored, token):
        sock = listen(everywhere=False, port=0)
        config = uvicorn.Config(create_app(database, Settings(database="")), log_level="warning", access_log=False)
        server = uvicorn.Server(config)
        settle()
        thread = threading.Thread(target=server.run, kwargs={"sockets": [sock]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.01)
        asked.send((f"http://127.0.0.1:{sock.getsockname()[1]}", token, f"/h/{stored.key}/{stored.scenarios[0].key}"))
        with contextlib.suppress(EOFError):
            asked.recv()
        server.should_exit = True
        thread.join(5)
