"""Every way in which the loads of a stretch may be on together, how likely it is and what it draws.

All combinations are written down for as many loads as `MOST_BITS`, of interlocked ones `MOST_KEPT_APART`; beyond that
the draw stands on a grid of watts (`app.engine.odds.grid`), which has the same shape for those who only ask how likely
a draw is.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import Draws
from app.engine.kinds import Flags, Floats
from app.engine.odds.grid import Coin, Weighed, grid_of, leave_one_out
from app.engine.odds.loads import Loads

MOST_BITS = 16
MOST_KEPT_APART = 12  # with interlocks, each way is asked who is let on: of more that would take many seconds


@dataclass(frozen=True, eq=False)
class Table:
    """What may be drawn on top of the certain draw in stretches of one kind.

    loads: those that come and go, shape (n,). weight: how likely each state is, shape (states,), sums to 1: load k
    is on where bit k of the state's place is set.
    draws: of the states. gain_per_ms: on a grid, which knows sums alone, what a state adds to the passings where it is
    too much (`app.engine.odds.grid`); None where all states are written down.
    """

    loads: NDArray[np.intp]
    weight: Floats
    draws: Draws
    gain_per_ms: Floats | None = None

    def on(self, states: NDArray[np.intp]) -> Flags:
        """Which loads are on in states of any shape; shape (n, *shape)."""
        bits = 1 << np.arange(len(self.loads), dtype=np.uint16)  # no more than MOST_BITS
        return np.asarray(states.astype(np.uint16) & bits.reshape(-1, *[1] * states.ndim), dtype=bool)


_KEPT: WeakKeyDictionary[Loads, dict[bytes, Table]] = WeakKeyDictionary()


def table_of(loads: Loads, stretch: int) -> Table:
    """The table of a stretch, and of all others in which the same pieces stand; kept as long as the loads are."""
    kept, kind = _KEPT.setdefault(loads, {}), loads.kinds[stretch]
    if kind not in kept:
        kept[kind] = _worked_out(loads, stretch)
    return kept[kind]


def _worked_out(loads: Loads, stretch: int) -> Table:
    some, sure = _there(loads, stretch)
    if len(some) > (MOST_KEPT_APART if loads.scope.interlocked else MOST_BITS):
        weight, draws, gain_per_ms = grid_of(_coins(loads, stretch, some))
        return Table(some, weight, draws + _surely(loads, stretch, sure), gain_per_ms)
    if loads.scope.interlocked:
        return _excluding(loads, stretch, some, sure)
    each, sums = loads.each[:, :, stretch], np.empty((4, 1 << len(some)))
    sums[:, 0] = each[:, sure].sum(axis=1)
    for bit, load in enumerate(some.tolist()):
        without, with_it = (sums[:, first << bit : (first + 1) << bit] for first in (0, 1))
        np.add(without, each[:, load, None], out=with_it)
    return Table(some, _weight(loads.share[some]), Draws(*sums))


def beside_start(loads: Loads, table: Table, stretch: int, piece: int) -> tuple[Floats, Draws]:
    """What may be drawn on top of the certain draw in the moment in which a piece starts by itself.

    piece: place among the scope's cyclers; its start, and what starts with it, stands in place of its draw; all other
    pieces of its load run.
    Returns how likely each state of the others is, and its draws.
    """
    scope, load = loads.scope, int(loads.of_piece[piece])
    more = Draws(*loads.more_as_it_starts[:, [piece]])
    if table.gain_per_ms is not None:
        weight, draws = _others(loads, stretch, load)
        along = Draws(*loads.each[:, load, stretch])
        return weight, draws + _column(along) + more
    place = int(np.flatnonzero(table.loads == load)[0])
    if scope.interlocked:
        _, sure = _there(loads, stretch)
        table = _excluding(loads, stretch, table.loads, sure, loads.starters(piece))
    weight, *figures = (
        one.reshape(-1, 2, 1 << place)[:, 1].ravel()  # of the states with it
        for one in (table.weight, *table.draws.figures)
    )
    return weight / loads.share[load], Draws(*figures) + more


def beside_starts(loads: Loads, table: Table, stretch: int, pieces: Sequence[int]) -> tuple[Floats, Draws, list[int]]:
    """The same of several pieces, one after the other; and how many states each has."""
    if table.gain_per_ms is not None or loads.scope.interlocked:
        each = [beside_start(loads, table, stretch, piece) for piece in pieces]
        figures = np.concatenate([draws.figures for _, draws in each], axis=1)
        return np.concatenate([weight for weight, _ in each]), Draws(*figures), [len(weight) for weight, _ in each]
    piece, half = np.asarray(pieces, dtype=np.intp), len(table.weight) // 2
    states = states_as_they_start(loads, table, piece[:, None], np.arange(half))
    weight = table.weight.take(states) / loads.share[loads.of_piece[piece], None]
    figures = table.draws.figures.take(states, axis=1)
    figures += loads.more_as_it_starts[:, piece, None]
    return weight.ravel(), Draws(*figures.reshape(4, -1)), [half] * len(pieces)


def states_as_they_start(
    loads: Loads, table: Table, piece: NDArray[np.intp], others: NDArray[np.intp]
) -> NDArray[np.intp]:
    """States of a table as pieces start, from those of the other loads; any shapes that mix."""
    return states_with(others, np.searchsorted(table.loads, loads.of_piece[piece]))


def states_with(others: NDArray[np.intp], place: int | NDArray[np.intp]) -> NDArray[np.intp]:
    """States of all loads, from those of all but one, which is on; place: which of the table's loads it is."""
    bit = 1 << place
    return np.asarray(others + (others & -bit) + bit)


def on_in(loads: Loads, table: Table, states: NDArray[np.intp]) -> Flags:
    """Which of all loads are on in states of a table, shape (loads, m): those that never go off as well."""
    if len(table.loads) == len(loads.on_ms):
        return table.on(states)
    on = np.repeat((loads.off_ms <= 0)[:, None], len(states), axis=1)
    on[table.loads] = table.on(states)
    return on


def _there(loads: Loads, stretch: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The loads that come and go in a stretch, and those that are always on."""
    stand, comes = loads.stand[:, stretch], loads.off_ms > 0
    return np.flatnonzero(stand & comes), np.flatnonzero(stand & ~comes)


def _column(draws: Draws) -> Draws:
    """One draw, to be added to many."""
    return Draws(*(np.asarray(one).reshape(1) for one in (draws.p_w, draws.q_var, draws.d_va, draws.spread_w2)))


def _weight(share: Floats) -> Floats:
    weight = np.ones(1)
    for part in share:
        weight = np.concatenate([weight * (1 - part), weight * part])
    return weight


def _excluding(
    loads: Loads, stretch: int, some: NDArray[np.intp], sure: NDArray[np.intp], starters: Sequence[int] = ()
) -> Table:
    """The table where interlocks keep some off; what they keep off of the certain draw is taken off the states'."""
    states = np.arange(1 << len(some))
    on_loads = np.zeros((len(loads.on_ms), len(states)), dtype=bool)
    on_loads[some] = (states >> np.arange(len(some))[:, None]) & 1
    on_loads[sure] = True
    on = on_loads[loads.of_piece] & loads.stands[:, stretch, None]
    certain = Draws(*(np.full(len(states), one) for one in _at(loads.scope.certain, stretch)))
    at_ms = np.full(len(states), loads.scope.t_ms[stretch])
    drawn = loads.drawn(certain, on, at_ms, starters=starters)
    return Table(some, _weight(loads.share[some]), drawn - certain)


def _at(draws: Draws, stretch: int) -> tuple[float, float, float, float]:
    one = draws.take(stretch)
    return float(one.p_w), float(one.q_var), float(one.d_va), float(one.spread_w2)


_OTHERS: WeakKeyDictionary[Loads, dict[bytes, list[Weighed]]] = WeakKeyDictionary()


def _others(loads: Loads, stretch: int, load: int) -> tuple[Floats, Draws]:
    """The grid of all loads of a stretch but one; all of them are worked out together, and kept."""
    some, sure = _there(loads, stretch)
    kept, kind = _OTHERS.setdefault(loads, {}), loads.kinds[stretch]
    if kind not in kept:
        kept[kind] = leave_one_out(_coins(loads, stretch, some))
    weight, draws, _ = kept[kind][int(np.flatnonzero(some == load)[0])]
    return weight, draws + _surely(loads, stretch, sure)


def _coins(loads: Loads, stretch: int, some: NDArray[np.intp]) -> list[Coin]:
    """Loads for the grid, which leaves interlocks out: the safe side."""
    return [
        Coin(float(loads.share[load]), loads.each[:, load, stretch], float(loads.on_ms[load] + loads.off_ms[load]))
        for load in some
    ]


def _surely(loads: Loads, stretch: int, sure: NDArray[np.intp]) -> Draws:
    return _column(Draws(*loads.each[:, sure, stretch].sum(axis=1)))
