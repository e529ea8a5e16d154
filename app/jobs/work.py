"""What a worker does: take jobs out of the queue one after the other, say that it is there, keep what is reported."""

import logging
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from functools import partial
from typing import Any

from app.jobs.jobs import LOST_S, WORKERS, look, take_up
from app.jobs.shelf import Shelf

Found = dict[str, Any]
# A kind of work: its input, where it reports (False: stop, the best is kept), and the best of an earlier beginning.
Work = Callable[[dict[str, Any], Callable[[Found], bool], Found | None], Found]

POLL_S, BEAT_S = 0.1, 1.0
PATIENCE_S = 60.0  # for so long the storage may be out of reach: a file that another holds, a server that restarts
KEPT_S = 14 * 86_400  # an ended job's result, and one that nobody came for
LOG = logging.getLogger(__name__)


def work_on(shelf: Shelf, kinds: Mapping[str, Work], idle_s: float, ends: Callable[[], bool] = lambda: False) -> None:
    """Work until nothing has come for a while.

    kinds: what is done, by the name it is asked for with. ends: asked between two jobs.
    Begins with what was under way when another worker ended in the middle of it.
    Raises OSError where the storage cannot be reached, at the beginning or for long.
    """
    tidy(shelf, time.time())
    with _heard(shelf, WORKERS):
        rested_since_s = reached_s = time.monotonic()
        while not ends() and time.monotonic() - rested_since_s < idle_s:
            try:
                is_done = work_once(shelf, kinds)
            except OSError:
                if time.monotonic() - reached_s > PATIENCE_S:
                    raise
                time.sleep(BEAT_S)
                continue
            reached_s = time.monotonic()
            if is_done:
                rested_since_s = reached_s
            else:
                time.sleep(POLL_S)


def work_once(shelf: Shelf, kinds: Mapping[str, Work]) -> bool:
    """Do the next job, if there is one."""
    key = shelf.next()
    if key is None:
        return False
    # Out of the queue it must not be forgotten, for while this worker is heard of it would wait for ever.
    job = _patiently(partial(look, shelf, key, time.time()))
    kept = _patiently(partial(shelf.get, key, "state"))
    # It may lie in the queue twice, and another may be at it or have done it.
    if job is None or kept is None or kept["state"] != "waiting":
        return True
    _patiently(partial(shelf.put, key, "state", kept | {"state": "working"}))
    with _heard(shelf, key):
        ended = _done(shelf, key, kinds)
    _patiently(partial(shelf.put, key, "state", kept | {"state": ended, "at": time.time()}))
    if shelf.get(key, "order") is None:
        shelf.forget(key)
    return True


def tidy(shelf: Shelf, now_s: float) -> None:
    """Queue again what was under way and nobody is at, and keep old jobs no longer."""
    for key in shelf.jobs():
        job = look(shelf, key, now_s)
        if job is None:
            continue
        if job.age_s > KEPT_S:
            shelf.forget(key)
        elif job.state == "lost":
            take_up(shelf, key, now_s)


def _done(shelf: Shelf, key: str, kinds: Mapping[str, Work]) -> str:
    """Do a job; how it ended."""
    order, last = (_patiently(partial(shelf.get, key, part)) for part in ("order", "best"))
    if order is None:
        return "done"  # forgotten meanwhile

    def report(best: Found) -> bool:
        nonlocal last
        try:
            if best != last:
                shelf.put(key, "best", best)
                last = best
            return shelf.get(key, "stop") is None and shelf.get(key, "order") is not None
        except OSError:
            return True  # it goes on, and is kept with the next report or at the end

    try:
        found = kinds[order["kind"]](order["input"], report, last)
        _patiently(partial(shelf.put, key, "best", found))
    except Exception:
        # One job that cannot be done must not take the worker with it; whoever asked is told.
        LOG.exception("a job of kind %s failed", order["kind"])
        return "failed"
    return "done"


def _patiently(do: Callable[[], Any]) -> Any:
    """Ask or keep something though the storage is out of reach for a moment; returns what it does.

    Raises OSError where it is for longer.
    """
    ends_s = time.monotonic() + PATIENCE_S
    while True:
        try:
            return do()
        except OSError:
            if time.monotonic() > ends_s:
                raise
            time.sleep(BEAT_S)


@contextmanager
def _heard(shelf: Shelf, key: str) -> Iterator[None]:
    """Say once a second that somebody is at it, as long as this process lives."""
    ends = threading.Event()

    def beat() -> None:
        with suppress(OSError):  # what cannot be said now is said a second later
            shelf.put(key, "beat", time.time())

    def beat_on() -> None:
        while not ends.wait(BEAT_S):
            beat()

    beat()
    thread = threading.Thread(target=beat_on, daemon=True)
    thread.start()
    try:
        yield
    finally:
        ends.set()
        thread.join(LOST_S)
