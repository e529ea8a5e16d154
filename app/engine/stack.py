"""The event-exact stack: programmes laid on a day, all their steps sorted once and summed.

Exact at every instant, sub-second starts included; the cost grows with the steps, not with the day.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.engine.results import Instants

Deltas = NDArray[np.complex128]

_PLACE_BITS = 20  # a step's place rides in the low bits of its instant: up to 1,048,576 steps, one int64 sort
_PLACE_MASK = (1 << _PLACE_BITS) - 1


@dataclass(frozen=True, slots=True, eq=False)
class Programmes:
    """Programmes compiled once: each is a row of steps (offset, change), steps at one offset merged.

    offset_ms: shape (n,), from the programme's beginning, rising within a programme.
    change: shape (channels, n).
    first, count: shape (programmes,), where each programme's steps lie.
    """

    offset_ms: Instants
    change: Deltas
    first: Instants
    count: Instants


def compile_programmes(
    programme: Instants, offset_ms: Instants, change: Deltas, programmes: int
) -> Programmes:
    """Compile loose steps into programmes.

    programme, offset_ms: shape (n,), whose step it is and when, in any order.
    change: shape (channels, n). programmes: how many there are.
    """
    key = (programme << 40) | offset_ms
    order = np.argsort(key, kind="stable")
    key = key[order]
    fresh = np.flatnonzero(np.concatenate(([True], key[1:] != key[:-1]))) if len(key) else order
    summed = np.add.reduceat(change[:, order], fresh, axis=1) if len(key) else change
    owner = key[fresh] >> 40
    count = np.bincount(owner, minlength=programmes)
    first = np.cumsum(count) - count
    return Programmes(key[fresh] & ((1 << 40) - 1), summed, first, count)


def stack_runs(
    programmes: Programmes, which: Instants, begin_ms: Instants, channel: int | slice = 0
) -> tuple[Instants, Deltas]:
    """Lay programmes on the day and sum them.

    which, begin_ms: shape (runs,), the programme and the instant of each run.
    channel: which of the change channels to sum, one or a slice of them.
    Returns the rising distinct instants, shape (m,), and the sum from each instant on, shape (m,) for one
    channel or (channels, m).
    """
    length = programmes.count[which]
    end = np.cumsum(length)
    total = int(end[-1]) if len(end) else 0
    places = np.arange(total)
    steps = places + np.repeat(programmes.first[which] - (end - length), length)
    key = programmes.offset_ms[steps]
    key += np.repeat(begin_ms, length)
    key <<= _PLACE_BITS
    key |= places
    key.sort()
    # All changes of one instant are summed before anything is read, else a run that ends as another begins
    # would show a spike that never is.
    order = steps[key & _PLACE_MASK]
    t_ms = key >> _PLACE_BITS
    last = np.empty(total, dtype=bool)
    np.not_equal(t_ms[1:], t_ms[:-1], out=last[:-1])
    last[-1:] = True
    kept = np.flatnonzero(last)
    change = programmes.change[channel]
    if change.ndim == 1:
        return t_ms[kept], np.cumsum(change[order])[kept]
    return t_ms[kept], np.cumsum(change[:, order], axis=1)[:, kept]
