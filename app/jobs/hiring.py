"""Starting a worker: a process, for work that takes a whole processor must not slow the pages."""

import os
import subprocess
import sys
from threading import Lock

WORKER = "app.worker"
JOBS_SETTING = "LOADSTEAD_JOBS"


class Worker:
    """The worker of this server: started when there is something to do, ended with the server."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._lock = Lock()

    def see_to(self, place: str) -> None:
        """Start it, unless it is there. place: where the jobs are.

        Raises OSError where no process can be started.
        """
        with self._lock:
            if self._process is not None and self._process.poll() is None:
                return
            self._let_go()
            # The place goes by the environment, for a server's password may be part of it; that the pipe closes is how
            # the worker hears of this server's end, whatever ends it.
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", WORKER, "--with-parent"],
                stdin=subprocess.PIPE,
                env=os.environ | {JOBS_SETTING: place},
                start_new_session=True,
            )

    @property
    def pid(self) -> int | None:
        """Its process, if one was started."""
        return None if self._process is None else self._process.pid

    def end(self) -> None:
        """Have it end, and wait for that."""
        with self._lock:
            self._let_go()

    def _let_go(self) -> None:
        if self._process is None:
            return
        assert self._process.stdin is not None
        self._process.stdin.close()
        try:
            self._process.wait(5)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._process = None
