"""Killed hard while four write: whatever was acknowledged is there afterwards, and the file is whole."""

import contextlib
import random
import sqlite3
import threading
import time
from dataclasses import dataclass, field
from http.client import HTTPException

from tests.endurance.child import Child, child

RUNS = ("shirts", "dinner", "wash-1", "wash-2")
SHORTEST_S, LONGEST_S = 0.05, 2.0  # from when it answers until it is killed


@dataclass
class Writer:
    """Switches one run on and off as fast as it is answered. acknowledged: the sequence numbers that were answered."""

    server: Child
    run: str
    tab: str
    acknowledged: list[int] = field(default_factory=list)
    sequence: int = 0
    odd: list[int] = field(default_factory=list)

    def write(self, stop: threading.Event) -> None:
        """Until told to stop; a server that is away is waited for."""
        key = self.server.stored.run_keys["laundry", self.run].key
        path = f"{self.server.plan}/runs/{key}"
        while not stop.is_set():
            self.sequence += 1
            value = "off" if self.sequence % 2 else "on"
            form = {"field": "on", "value": value, "revision": 1, "tab": self.tab, "sequence": self.sequence}
            try:
                status = self.server.ask("POST", path, form).status
            except (OSError, HTTPException):
                time.sleep(0.01)
                continue
            if status == 303:
                self.acknowledged.append(self.sequence)
            else:
                self.odd.append(status)


def survive(kills: int, seed: int = 1, server: Child | None = None) -> dict[str, int]:
    """Kill so many times at random moments; what was lost, and what was damaged. All but the first two are counts of
    what must not be.

    server: to be killed, and left so; by itself one of its own.
    """
    chance = random.Random(seed)
    with contextlib.nullcontext(server) if server else child() as server:
        writers = [Writer(server, run, f"tab-{run}") for run in RUNS]
        damaged = 0
        for _ in range(kills):
            server.start()
            stop = threading.Event()
            threads = [threading.Thread(target=one.write, args=(stop,)) for one in writers]
            for thread in threads:
                thread.start()
            time.sleep(chance.uniform(SHORTEST_S, LONGEST_S))
            server.kill()
            stop.set()
            for thread in threads:
                thread.join()
            damaged += not _is_whole(server)
        lost = sum(len(set(one.acknowledged) - _stored(server, one.tab)) for one in writers)
        return {
            "kills": kills,
            "acknowledged": sum(len(one.acknowledged) for one in writers),
            "lost": lost,
            "damaged": damaged,
            "gaps": _gaps(server),
            "answered_otherwise": sum(len(one.odd) for one in writers),
        }


def _is_whole(server: Child) -> bool:
    with contextlib.closing(sqlite3.connect(server.file)) as file:
        (said,) = file.execute("PRAGMA integrity_check").fetchone()
        return bool(said == "ok") and not file.execute("PRAGMA foreign_key_check").fetchall()


def _stored(server: Child, tab: str) -> set[int]:
    """The sequence numbers of a page that are in the log."""
    with contextlib.closing(sqlite3.connect(server.file)) as file:
        return {number for (number,) in file.execute("SELECT sequence FROM change_log WHERE tab = ?", (tab,))}


def _gaps(server: Child) -> int:
    """How many counts of the household's changes are missing in its log, or differ from its parts."""
    with contextlib.closing(sqlite3.connect(server.file)) as file:
        logged = [
            one for (one,) in file.execute("SELECT revision FROM change_log WHERE revision > 0 ORDER BY revision")
        ]
        (count,) = file.execute("SELECT revision FROM household").fetchone()
        (newest,) = file.execute("SELECT max(revision) FROM part").fetchone()
        (kept,) = file.execute("SELECT max(revision) FROM past_part").fetchone()
    missing = len(set(range(1, count + 1)) ^ set(logged))
    return missing + (newest > count) + (kept != count)
