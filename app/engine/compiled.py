"""Loops over single figures, compiled when they are first run; what came out is kept for the next start of the program.

Only here the compiler is known. It takes a third of a second to load, so it is loaded when the first loop is run.
"""

from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import numpy as np

# Others go on meanwhile; what is divided by nothing is infinite, as in arrays.
HOW: dict[str, Any] = {"nogil": True, "error_model": "numpy"}

P = ParamSpec("P")
R = TypeVar("R")


def compiled(loop: Callable[P, R]) -> Callable[P, R]:
    """A function of numbers, arrays and a generator of random numbers, as quick as machine code.

    It takes no names, and sees of its module only constants. These must stand in the same file, for by this file's date
    it is told whether what was kept is still good.
    """
    found: Any = None

    @wraps(loop)
    def run(*args: P.args, **_: P.kwargs) -> R:
        nonlocal found
        ordered = [_in_order(one) for one in args]
        if found is None:
            found = _that_is_kept(loop)
        try:
            done: R = found(*ordered)
        except Exception:  # what was kept is damaged, or there is no room to keep it; nothing has been run yet
            _forget(found, loop)
            found = _njit(**HOW)(loop)
            done = found(*ordered)
        return done

    run.in_machine_code = lambda: found  # type: ignore[attr-defined]
    return run


def _njit(**how: Any) -> Any:
    from numba import njit

    return njit(**how)


def _that_is_kept(loop: Callable[..., Any]) -> Any:
    try:
        return _njit(**HOW, cache=True)(loop)
    except RuntimeError:  # there is no folder in which it could be kept
        return _njit(**HOW)(loop)


def _forget(found: Any, loop: Callable[..., Any]) -> None:
    """Take away what was kept of a loop; a power cut may have left half of it."""
    folder, file = found.stats.cache_path, Path(loop.__code__.co_filename)
    for kept in Path(folder).glob(f"{file.stem}.{loop.__qualname__}-*.nb?") if folder else ():
        with suppress(OSError):
            kept.unlink()


def _in_order(one: Any) -> Any:
    """Arrays as they lie in memory by custom, and may be written to: each other way would be compiled for itself."""
    if not isinstance(one, np.ndarray):
        return one
    ordered = np.ascontiguousarray(one)
    return ordered if ordered.flags.writeable else ordered.copy()
