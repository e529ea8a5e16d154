"""Where jobs lie between the processes: a queue and the parts of each job, in a file or on a Redis server.

The only module that knows the queue's library. What is kept is JSON throughout, so that whoever can write to the
storage can give wrong figures but cannot have code run.
"""

import json
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
    """The queue and what is kept of each job; safe to use from several threads and processes."""

    def __init__(self, place: str) -> None:
        """Open it. place: `redis://...`, or a file, which is made with its folder."""
        self._storage = _storage(place)

    def put(self, key: str, part: Part, value: Any) -> None:
        """Keep a part of a job, over what was there."""
        self._storage.put_data(f"{key}.{part}", _text(value))

    def put_first(self, key: str, part: Part, value: Any) -> bool:
        """Keep a part if it is not there yet; of several that try at once, one is told that it did."""
        return bool(self._storage.put_if_empty(f"{key}.{part}", _text(value)))

    def get(self, key: str, part: Part) -> Any:
        """A part of a job; None where there is none."""
        found = self._storage.peek_data(f"{key}.{part}")
        return None if found is EmptyData else json.loads(bytes(found))

    def take_away(self, key: str, *parts: Part) -> None:
        """Keep parts of a job no longer."""
        for part in parts:
            self._storage.pop_data(f"{key}.{part}")

    def claim(self, key: str, part: Part) -> bool:
        """Take a part away; of several that try at once, one is told that it did."""
        return self._storage.pop_data(f"{key}.{part}") is not EmptyData

    def queue(self, key: str) -> None:
        """Put a job last in the queue."""
        self._storage.enqueue(key.encode())

    def next(self) -> str | None:
        """Take the first job out of the queue; None where nothing waits."""
        found = self._storage.dequeue()
        return None if found is None else bytes(found).decode()

    def jobs(self) -> list[str]:
        """The key of every job there is."""
        names = (name.decode() if isinstance(name, bytes) else str(name) for name in self._storage.result_items())
        return sorted({name.removesuffix(".order") for name in names if name.endswith(".order")})

    def close(self) -> None:
        """Let go of the file, or the connection."""
        self._storage.close()


def _text(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()


def _storage(place: str) -> BaseStorage:
    if place.startswith(("redis://", "rediss://", "unix://")):
        try:
            return RedisStorage(QUEUE, url=place, blocking=False)
        except ConfigurationError as error:
            raise OSError("LOADSTEAD_JOBS names a Redis server; install loadstead[redis] for that") from error
    Path(place).parent.mkdir(parents=True, exist_ok=True)
    return SqliteStorage(QUEUE, place, cache_mb=1, timeout=BUSY_S)
