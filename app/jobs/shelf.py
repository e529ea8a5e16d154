"""Where jobs lie between the processes: a queue and the parts of each job, in a file or on a Redis server.

The only module that knows the queue's library. What is kept is JSON throughout, so that whoever can write to the
storage can give wrong figures but cannot have code run.
"""

import json
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Literal

from huey.constants import EmptyData
from huey.exceptions import ConfigurationError
from huey.storage import BaseStorage, RedisStorage, SqliteStorage

Part = Literal["order", "state", "best", "beat", "stop"]
PARTS: tuple[Part, ...] = ("order", "state", "best", "beat", "stop")
QUEUE = "loadstead"
BUSY_S = 5  # how long one process waits for another that writes


class Shelf:
    """The queue and what is kept of each job; safe to use from several threads and processes.

    Everything raises OSError where the storage cannot be reached.
    """

    def __init__(self, place: str) -> None:
        """Open it. place: `redis://...`, or a file, which is made with its folder."""
        with _reaching():
            self._storage = _storage(place)

    def put(self, key: str, part: Part, value: Any) -> None:
        """Keep a part of a job, over what was there."""
        with _reaching():
            self._storage.put_data(f"{key}.{part}", _text(value))

    def put_first(self, key: str, part: Part, value: Any) -> bool:
        """Keep a part if it is not there yet; of several that try at once, one is told that it did."""
        with _reaching():
            return bool(self._storage.put_if_empty(f"{key}.{part}", _text(value)))

    def get(self, key: str, part: Part) -> Any:
        """A part of a job; None where there is none."""
        with _reaching():
            found = self._storage.peek_data(f"{key}.{part}")
        return None if found is EmptyData else json.loads(bytes(found))

    def take_away(self, key: str, *parts: Part) -> None:
        """Keep parts of a job no longer."""
        with _reaching():
            for part in parts:
                self._storage.pop_data(f"{key}.{part}")

    def forget(self, key: str) -> None:
        """Keep nothing of a job."""
        self.take_away(key, *PARTS)

    def claim(self, key: str, part: Part) -> bool:
        """Take a part away; of several that try at once, one is told that it did."""
        with _reaching():
            return self._storage.pop_data(f"{key}.{part}") is not EmptyData

    def queue(self, key: str) -> None:
        """Put a job last in the queue."""
        with _reaching():
            self._storage.enqueue(key.encode())

    def next(self) -> str | None:
        """Take the first job out of the queue; None where nothing waits."""
        with _reaching():
            found = self._storage.dequeue()
        return None if found is None else bytes(found).decode()

    def waiting(self) -> int:
        """How many wait."""
        with _reaching():
            return int(self._storage.queue_size())

    def jobs(self) -> list[str]:
        """The key of every job there is."""
        with _reaching():
            items = list(self._storage.result_items())
        names = (name.decode() if isinstance(name, bytes) else str(name) for name in items)
        return sorted({name.removesuffix(".order") for name in names if name.endswith(".order")})

    def close(self) -> None:
        """Let go of the file, or the connection."""
        self._storage.close()


@contextmanager
def _reaching() -> Iterator[None]:
    """Say in one way that the storage cannot be reached: each kind has errors of its own for that."""
    try:
        yield
    except sqlite3.Error as error:
        raise OSError(f"the file of long work cannot be used: {error}") from error
    except Exception as error:
        if type(error).__module__.partition(".")[0] != "redis":
            raise
        raise OSError(f"the server of long work cannot be reached: {error}") from error


def _text(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()


def _make_private(file: Path) -> None:
    """Make a file that is not there, and its folder, for its owner alone; what is there stays as it is."""
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with suppress(FileExistsError):
        os.close(os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))


def _storage(place: str) -> BaseStorage:
    if place.startswith(("redis://", "rediss://", "unix://")):
        try:
            return RedisStorage(QUEUE, url=place, blocking=False)
        except ConfigurationError as error:
            raise OSError("LOADSTEAD_JOBS names a Redis server; install loadstead[redis] for that") from error
    _make_private(Path(place))
    return SqliteStorage(QUEUE, place, cache_mb=1, timeout=BUSY_S)
