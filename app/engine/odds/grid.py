"""Many loads that come and go: how likely each sum of watts is, by convolution on a grid.

What stands beside the watts (reactive, distortion, spread) is carried along as its mean at each sum; of the
reactive power its variance as well, so that three figures of it stand for all (Gauss and Hermite's three points).
"""

import math
from typing import NamedTuple

import numpy as np

from app.engine.draw import Draws
from app.engine.kinds import Floats

MOST_CELLS = 2048
FINEST_W = 1.0


class Coin(NamedTuple):
    """A load: its part of the time on, its watts, var, VA of distortion and spread then, and its period."""

    share: float
    figures: Floats
    period_ms: float


def coarse_w(coins: list[Coin]) -> float:
    """The grid's step, so that all of them together fit on it."""
    return max(FINEST_W, sum(float(one.figures[0]) for one in coins) / (MOST_CELLS - len(coins) - 1))


Weighed = tuple[Floats, Draws, Floats]


def grid_of(coins: list[Coin]) -> Weighed:
    """How likely each cell is, shape (cells,), the draw that stands for it, and its gain.

    The gain is what a cell adds to the passings per millisecond where it is too much: one more load on never lowers
    the sum, so a load takes it past a line as often as it comes on, times how likely the line is passed with it on,
    less how likely with it off.

    A load whose watts fall between two steps moves by either, so often that its mean is right.
    """
    step_w = coarse_w(coins)
    sums = _nothing()
    for coin in coins:
        sums = _with(sums, coin, step_w)
    return _weighed(sums, step_w)


def leave_one_out(coins: list[Coin]) -> list[Weighed]:
    """The same for all loads but one, for each of them: by halves, in n log n steps rather than n squared."""
    step_w = coarse_w(coins)
    found: list[Weighed] = []

    def halve(sums: Floats, some: list[Coin]) -> None:
        if len(some) == 1:
            found.append(_weighed(sums, step_w))
            return
        left, right = some[: len(some) // 2], some[len(some) // 2 :]
        for kept, added in ((left, right), (right, left)):
            more = sums
            for coin in added:
                more = _with(more, coin, step_w)
            halve(more, kept)

    halve(_nothing(), coins)
    return found


def _nothing() -> Floats:
    """Weight, and weight times var, distortion, spread, var squared and gain, cell by cell: surely nothing."""
    return np.array([[1.0], [0.0], [0.0], [0.0], [0.0], [0.0]])


def _with(sums: Floats, coin: Coin, step_w: float) -> Floats:
    """One more load."""
    whole, part = divmod(float(coin.figures[0]) / step_w, 1.0)
    reach = sums.shape[1]
    moved = sums.copy()
    q_var = float(coin.figures[1])
    moved[1:4] += coin.figures[1:, None] * sums[0]
    moved[4] += 2 * q_var * sums[1] + q_var**2 * sums[0]
    moved[5] += sums[0] / (coin.share * coin.period_ms)
    found = np.zeros((6, reach + int(whole) + (part > 0)))
    found[:, :reach] = (1 - coin.share) * sums
    found[5, :reach] -= sums[0] / coin.period_ms
    for shift, weight in ((int(whole), 1 - part), (int(whole) + 1, part)):
        if weight > 0:
            found[:, shift : shift + reach] += coin.share * weight * moved
    return found


def _weighed(sums: Floats, step_w: float) -> Weighed:
    there = np.flatnonzero(sums[0] > 0)
    weight = sums[0, there]
    p_w = there.astype(float) * step_w
    q_var, d_va, spread_w2, square = sums[1:5, there] / weight
    gain = sums[5, there]
    wide = math.sqrt(3) * np.sqrt(np.maximum(square - q_var**2, 0.0))
    beside = np.concatenate([q_var, q_var - wide, q_var + wide])
    draws = Draws(np.tile(p_w, 3), beside, np.tile(d_va, 3), np.tile(spread_w2, 3))
    return (
        np.concatenate([weight * 2 / 3, weight / 6, weight / 6]),
        draws,
        np.repeat([2 / 3, 1 / 6, 1 / 6], len(gain)) * np.tile(gain, 3),
    )
