"""Loops over single figures, compiled when they are first run; what came out is kept for the next start of the program.

Only here the compiler is known. It takes a third of a second to load, so it is loaded when the first loop is run.
"""

from collections.abc import Callable
from functools import cache, wraps
from typing import Any, ParamSpec, TypeVar

import numpy as np

P = ParamSpec("P")
R = TypeVar("R")


def compiled(loop: Callable[P, R]) -> Callable[P, R]:
    """A function of numbers, arrays and a generator of random numbers, as quick as machine code.

    It takes no names, and sees of its module only constants. These must stand in the same file, for by this file's date
    it is told whether what was kept is still good.
    """

    @cache
    def in_machine_code() -> Any:
        from numba import njit

        try:
            return njit(cache=True, error_model="numpy")(loop)
        except RuntimeError:  # there is no folder in which it could be kept
            return njit(error_model="numpy")(loop)

    @wraps(loop)
    def run(*args: P.args, **_: P.kwargs) -> R:
        found: R = in_machine_code()(*map(_in_order, args))
        return found

    run.in_machine_code = in_machine_code  # type: ignore[attr-defined]
    return run


def _in_order(one: Any) -> Any:
    """Arrays as they lie in memory by custom: each other way would be compiled for itself."""
    return np.ascontiguousarray(one) if isinstance(one, np.ndarray) else one
