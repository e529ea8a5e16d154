"""The process that does long work: `python -m app.worker`.

The server starts one when the first work comes. Started by hand with the same LOADSTEAD_JOBS, more of them work on
more machines.
"""

import argparse
import os
import signal
import sys
import threading
from collections.abc import Callable
from typing import Any

from app.jobs.shelf import Shelf
from app.jobs.work import Found, Work, work_on
from app.settings import BadSetting, read_settings

IDLE_S = 300.0
BEHIND = 5  # in the system's own measure: pages go first


def main() -> int:
    """Work until nothing comes any more; by hand, until stopped. Returns the exit status."""
    parser = argparse.ArgumentParser(prog="python -m app.worker", description="Does Loadstead's long work.")
    parser.add_argument("--with-parent", action="store_true", help="end when standard input does, or after a rest")
    with_parent = parser.parse_args().with_parent
    if with_parent:
        threading.Thread(target=_end_with_parent, daemon=True).start()
    if hasattr(os, "nice"):
        os.nice(BEHIND)
    try:
        shelf = Shelf(read_settings().jobs)
        work_on(shelf, KINDS, IDLE_S if with_parent else float("inf"))
    except (OSError, BadSetting) as error:
        sys.stderr.write(f"{error}\n")
        return 2
    except KeyboardInterrupt:
        return 0
    shelf.close()
    return 0


def laundry(order: dict[str, Any], report: Callable[[Found], bool], best: Found | None) -> Found:
    """Search for a laundry day, from the best of an earlier beginning if there is one."""
    from app.planner.laundry.work import laundry_work

    begin = (best or {}).get("starts") or order.get("begin")
    return laundry_work(order | {"begin": begin}, report)


KINDS: dict[str, Work] = {"laundry": laundry}


def _end_with_parent() -> None:
    """End in the middle of whatever is done, with every process of its own, as soon as nobody holds the other end."""
    while os.read(0, 1024):  # not by Python's own stream, whose lock would be held when the process ends by itself
        pass
    if hasattr(os, "killpg") and os.getpgrp() == os.getpid():
        os.killpg(os.getpid(), signal.SIGKILL)
    os._exit(0)


if __name__ == "__main__":
    sys.exit(main())
