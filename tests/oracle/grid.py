"""The time grid: which draws are on in every cell, painted cell by cell."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Painted = tuple[int, int, int]  # from ms, to ms, bit


@dataclass(frozen=True)
class Run:
    """Neighbouring cells in which the same draws are on; `first` to `last` (excluded) are cell numbers."""

    begin_ms: int
    end_ms: int
    first: int
    last: int
    on: int


@dataclass(frozen=True)
class Fine:
    """The stretch of the day that is cut into cells of tick_ms."""

    begin_ms: int
    end_ms: int
    tick_ms: int


class Grid:
    """Cells from 0 to the horizon: `fine` ones where it matters, elsewhere one between two edges."""

    def __init__(self, horizon_ms: int, fine: Fine | None, edges: Iterable[int], longest_ms: int = 0) -> None:
        even = range(0, horizon_ms, longest_ms) if longest_ms else ()
        outer = np.unique(np.array([0, horizon_ms, *edges, *even], dtype=np.int64))
        self.edges = outer[(outer >= 0) & (outer <= horizon_ms)]
        if fine is not None:
            before, after = self.edges[self.edges < fine.begin_ms], self.edges[self.edges > fine.end_ms]
            ticks = np.arange(fine.begin_ms, fine.end_ms + 1, fine.tick_ms, dtype=np.int64)
            self.edges = np.concatenate([before, ticks, after])

    @property
    def middles(self) -> npt.NDArray[np.float64]:
        return (self.edges[1:] + self.edges[:-1]) / 2

    def cells(self, instants_ms: list[int]) -> list[int]:
        """The numbers of the cells that begin at these instants; each must be an edge."""
        found = np.searchsorted(self.edges, instants_ms)
        off = self.edges[found] != instants_ms
        assert not off.any(), f"not on the grid, in ms: {np.array(instants_ms)[off]}"
        return found.tolist()  # type: ignore[no-any-return]

    def runs(self, painted: Iterable[Painted]) -> list[Run]:
        """Paint every stretch with its bit and read off which bits are on, cell by cell."""
        horizon = int(self.edges[-1])
        on = np.zeros(len(self.edges) - 1, dtype=np.uint64)
        inside = [(begin, min(end, horizon), bit) for begin, end, bit in painted if begin < min(end, horizon)]
        firsts, lasts = self.cells([begin for begin, _, _ in inside]), self.cells([end for _, end, _ in inside])
        for first, last, (_, _, bit) in zip(firsts, lasts, inside, strict=True):
            assert bit < 63, "more draws than the grid has colours for"
            on[first:last] |= np.uint64(1 << bit)
        firsts = [0, *(np.flatnonzero(on[1:] != on[:-1]) + 1).tolist()]
        lasts = [*firsts[1:], len(on)]
        columns = self.edges[firsts].tolist(), self.edges[lasts].tolist(), firsts, lasts, on[firsts].tolist()
        return [Run(*one) for one in zip(*columns, strict=True)]
