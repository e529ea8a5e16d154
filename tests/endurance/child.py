"""The program as it is started by hand, in a process of its own, on a database of its own."""

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from urllib.parse import urlencode

from app.household.demo import demo_text
from app.store.households import import_household, load
from app.store.links import make_link
from app.store.session import Database
from app.store.stored import StoredHousehold

LONGEST_START_S = 60.0
LONGEST_ANSWER_S = 30.0


@dataclass
class Child:
    """A server that may be killed and started again. token: of an owner's link."""

    file: Path
    port: int
    token: str
    stored: StoredHousehold
    process: "subprocess.Popen[bytes] | None" = field(default=None)

    @property
    def plan(self) -> str:
        """The path of the household's Laundry day."""
        plan = next(one for one in self.stored.scenarios if one.id == "laundry")
        return f"/h/{self.stored.key}/{plan.key}"

    def start(self) -> None:
        """Start it, unless it runs, and wait until it answers."""
        if self.process is not None and self.process.poll() is None:
            return
        environment = os.environ | {"LOADSTEAD_DATABASE": f"sqlite:///{self.file}"}
        run = "import sys; from app.cli import main; sys.exit(main(sys.argv[1:]))"
        command = [sys.executable, "-c", run, "--port", str(self.port)]
        said = self.file.with_suffix(".said")
        with said.open("wb") as out:
            self.process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=out)
        end_s = time.monotonic() + LONGEST_START_S
        while True:
            try:
                self.ask("GET", "/assets/none")
                return
            except (OSError, HTTPException):
                pass
            if self.process.poll() is not None or time.monotonic() > end_s:
                raise RuntimeError(f"the server did not start: {said.read_text(encoding='utf-8')}")
            time.sleep(0.02)

    def kill(self) -> None:
        """As a power cut: no chance to finish anything."""
        assert self.process is not None
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def ask(self, method: str, path: str, form: "dict[str, object] | None" = None) -> "Answer":
        """One request on a line of its own.

        Raises OSError or HTTPException where the server goes away over it.
        """
        line = HTTPConnection("127.0.0.1", self.port, timeout=LONGEST_ANSWER_S)
        try:
            headers = {"Cookie": f"loadstead={self.token}", "Origin": f"http://127.0.0.1:{self.port}"}
            body = None
            if form is not None:
                body = urlencode(form)
                headers["Content-Type"] = "application/x-www-form-urlencoded"
            line.request(method, path, body, headers)
            found = line.getresponse()
            return Answer(found.status, dict(found.getheaders()), found.read())
        finally:
            line.close()


@dataclass
class Answer:
    """What was answered."""

    status: int
    headers: dict[str, str]
    body: bytes


@contextlib.contextmanager
def child() -> Iterator[Child]:
    """A server of the demo household, started; ended when left."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "loadstead.sqlite3"
        database = Database(f"sqlite:///{file}")
        database.migrate()
        with database.session() as session:
            key = import_household(session, json.loads(demo_text()), None)
            token = make_link(session, "endurance", "owner")
            session.commit()
            stored = load(session, key)
        database.close()
        assert stored is not None
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        server = Child(file, port, token, stored)
        server.start()
        try:
            yield server
        finally:
            assert server.process is not None
            server.process.terminate()
            server.process.wait()
