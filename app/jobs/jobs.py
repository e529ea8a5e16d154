"""What a page holds: ask for work, look how far it is, stop it, take it up again."""

import hashlib
import json
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from app.jobs.job import Job

if TYPE_CHECKING:
    from app.jobs.shelf import Shelf

LOST_S = 10.0  # nobody is heard of for so long: a worker says once a second that it is there
AGAIN_AT_MOST = 3  # what kills its worker every time is not tried for ever
WORKERS = "workers"  # under this key a worker says that it is there, whatever it does


class Busy(Exception):
    """More waits already than one would wait behind."""


class Jobs:
    """Jobs of one place. The storage is opened by the first who asks for work, and so is the worker started."""

    def __init__(self, place: str, hire: Callable[[str], None], clock: Callable[[], float] = time.time) -> None:
        """Nothing is opened yet.

        place: `redis://...` or a file; empty for a file that goes with this process. hire: sees to it that a worker of
        that place is there; it is called often. clock: seconds, the same for all processes.
        """
        self._place, self._hire, self._clock = place, hire, clock
        self._opened: Shelf | None = None
        self._own_folder: tempfile.TemporaryDirectory[str] | None = None
        self._lock = Lock()

    def ask(self, kind: str, order: Mapping[str, Any], behind_at_most: int | None = None) -> str:
        """Ask for work, and return the job's key. The same order is one job, whoever asks for it and however often.

        order: JSON; its `of` is what it is about, for `forget`. behind_at_most: how many others may wait already.
        Raises OSError where the storage cannot be reached, Busy where more wait.
        """
        key = key_of(kind, order)
        is_crowded = behind_at_most is not None and self._shelf.waiting() > behind_at_most
        if is_crowded and not self._shelf.get(key, "order"):
            self._hire(self._place)
            raise Busy(key)
        if self._shelf.put_first(key, "order", {"kind": kind, "input": order, "at": self._clock()}):
            self._queue(key, again=0)
        self._hire(self._place)
        return key

    def look(self, key: str) -> Job | None:
        """How far a job is; None for one that nobody asked for.

        One that is lost is queued again, from its best so far; it is told as lost this once.
        """
        job = look(self._shelf, key, self._clock())
        if job is None or job.ended:
            return job
        if job.state == "lost":
            take_up(self._shelf, key, self._clock())
        self._hire(self._place)
        return job

    def stop(self, key: str) -> None:
        """Ask a job to end with the best it has; it does within a second or so."""
        if self._shelf.get(key, "order") is not None:
            self._shelf.put(key, "stop", True)

    def forget(self, of: str) -> None:
        """Keep nothing of what was asked about something; what is under way ends.

        Raises OSError where the storage cannot be reached.
        """
        if not self._place:
            return  # nobody has asked for anything yet
        for key in self._shelf.jobs():
            if (self._shelf.get(key, "order") or {"input": {}})["input"].get("of") == of:
                self._shelf.forget(key)

    def go_on(self, key: str) -> None:
        """Take up one that has ended, from the best it had; nothing for one that has not, or is not there."""
        job = look(self._shelf, key, self._clock())
        # Of several that press at once, one finds the state to be taken away.
        if job is not None and job.ended and self._shelf.claim(key, "state"):
            self._shelf.take_away(key, "stop")
            self._queue(key, again=0)
        self._hire(self._place)

    def close(self) -> None:
        """Let go of the storage; what is kept stays kept."""
        with self._lock:
            if self._opened is not None:
                self._opened.close()
                self._opened = None
            if self._own_folder is not None:
                self._own_folder.cleanup()
                self._own_folder = None

    def _queue(self, key: str, again: int) -> None:
        now_s = self._clock()
        self._shelf.put(key, "state", {"state": "waiting", "again": again, "at": now_s})
        self._shelf.put(key, "beat", now_s)
        self._shelf.queue(key)

    @property
    def _shelf(self) -> "Shelf":
        with self._lock:
            if self._opened is None:
                from app.jobs.shelf import Shelf  # only whoever asks for work pays for its library

                if not self._place:
                    self._own_folder = tempfile.TemporaryDirectory(prefix="loadstead-", ignore_cleanup_errors=True)
                    self._place = str(Path(self._own_folder.name) / "jobs.sqlite3")
                self._opened = Shelf(self._place)
            return self._opened


def key_of(kind: str, order: Mapping[str, Any]) -> str:
    """The key of a job: the same for the same kind and input, however its fields are ordered.

    >>> key_of("sum", {"a": 1, "b": 2}) == key_of("sum", {"b": 2, "a": 1})
    True
    """
    text = json.dumps([kind, order], ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def look(shelf: "Shelf", key: str, now_s: float) -> Job | None:
    """A job as it lies on the shelf."""
    if shelf.get(key, "order") is None:
        return None
    # Between two writes of whoever queues it there may be no state yet, or none for a moment.
    kept = shelf.get(key, "state") or {"state": "waiting", "again": 0, "at": now_s}
    state = kept["state"]
    if state in ("waiting", "working"):
        beats_s = [shelf.get(key, "beat") or kept["at"]]
        if state == "waiting":  # behind others, while somebody works
            beats_s.append(shelf.get(WORKERS, "beat") or 0.0)
        # Nobody was heard of in what is still to come: the clock has been set back since.
        if not any(abs(now_s - beat_s) <= LOST_S for beat_s in beats_s):
            state = "lost"
    return Job(
        key=key,
        state=state,
        best=shelf.get(key, "best"),
        stopped=shelf.get(key, "stop") is not None,
        again=kept["again"],
        age_s=max(now_s - kept["at"], 0.0),
    )


def take_up(shelf: "Shelf", key: str, now_s: float) -> None:
    """Queue a lost job once more, or give it up when that was done too often; of several who try, one does."""
    kept = shelf.get(key, "state")
    if kept is None or not shelf.claim(key, "beat"):
        return
    again = kept["again"] + 1
    ended = again > AGAIN_AT_MOST
    shelf.put(key, "state", {"state": "failed" if ended else "waiting", "again": again, "at": now_s})
    shelf.put(key, "beat", now_s)
    if not ended:
        shelf.queue(key)
