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
        outer = {0, horizon_ms, *(e for e in edges if 0 <= e <= horizon_ms)}
        if longest_ms:
            outer.update(range(0, horizon_ms, longest_ms))
        if fine is None:
            self.edges = np.array(sorted(outer), dtype=np.int64)
        else:
            before = sorted(e for e in outer if e < fine.begin_ms)
            after = sorted(e for e in outer if e > fine.end_ms)
            ticks = np.arange(fine.begin_ms, fine.end_ms + 1, fine.tick_ms, dtype=np.int64)
            self.edges = np.concatenate([np.array(before, np.int64), ticks, np.array(after, np.int64)])

    @property
    def middles(self) -> npt.NDArray[np.float64]:
        return (self.edges[1:] + self.edges[:-1]) / 2

    def cell(self, instant_ms: int) -> int:
        """The number of the cell that begins at an instant; the instant must be an edge."""
        index = int(np.searchsorted(self.edges, instant_ms))
        assert self.edges[index] == instant_ms, f"{instant_ms} ms is not on the grid"
        return index

    def runs(self, painted: Iterable[Painted]) -> list[Run]:
        """Paint every stretch with its bit and read off which bits are on, cell by cell."""
        horizon = int(self.edges[-1])
        on = np.zeros(len(self.edges) - 1, dtype=np.uint64)
        for begin, end, bit in painted:
            if begin < min(end, horizon):
                assert bit < 63, "more draws than the grid has colours for"
                on[self.cell(begin) : self.cell(min(end, horizon))] |= np.uint64(1 << bit)
        firsts = [0, *(np.flatnonzero(on[1:] != on[:-1]) + 1).tolist()]
        lasts = [*firsts[1:], len(on)]
        return [
            Run(int(self.edges[a]), int(self.edges[b]), a, b, int(on[a])) for a, b in zip(firsts, lasts, strict=True)
        ]
