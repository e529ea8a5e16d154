"""The search's own view of a day: loads that may be moved, what stands already, and what the limits leave.

Starts lie on a grid of five minutes, the sun's own steps; energy is counted in those steps, limits in cells of a
minute, each at its worst within the minute. That is a little on the safe side where two things follow each other
within one minute, and it is never the last word: whatever is found here is assessed.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.engine.heat import store_s
from app.engine.results import Flags, Floats

SLOT_MS = 300_000
CELL_MS = 60_000
CELLS = SLOT_MS // CELL_MS  # in a slot
SLOT_H = SLOT_MS / 3_600_000
HAIR = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """What a load puts on one sight, minute by minute from its start.

    draws: shape (4, cells): P [W], Q [var], D [VA], spread [W2]. kick: shape (2, cells), what a start adds, W and var.
    """

    draws: Floats
    kick: Floats


@dataclass(frozen=True, eq=False)
class Sight:
    """One limit's view of the house: what stands there, and what may be there at most.

    limit: the id of the limit it stands for. draws, kick: as in `Shape`, over the horizon's cells.
    Shape (cells,) each: hard_w, hard_va may not be passed; soft_w, soft_va may be for `soft_s`, which takes
    `cooling_s` to forget; top_va no start may pass.
    """

    limit: str
    draws: Floats
    kick: Floats
    hard_w: Floats
    hard_va: Floats
    soft_w: Floats
    soft_va: Floats
    top_va: Floats
    soft_s: float
    cooling_s: float

    @cached_property
    def always_va(self) -> float:
        """What may be used at any time and for any time, in watts as in volt-amperes."""
        return float(min(one.min() for one in (self.hard_w, self.hard_va, self.soft_w, self.soft_va)))

    @cached_property
    def always_started_va(self) -> float:
        """What a start may come to at any time."""
        return float(self.top_va.min())

    def refuses(self, use: tuple[Floats, Floats], first: int) -> bool:
        """Whether a stretch of cells from `first` on uses more than may be there (`used`); soft limits apart."""
        until = first + len(use[0])
        return bool((use[0] > self.hard_w[first:until]).any() or (use[1] > self.hard_va[first:until]).any())

    def refuses_start(self, draws: Floats, kick: Floats, first: int) -> bool:
        """Whether a start within such a stretch draws more than may be there."""
        until = first + draws.shape[1]
        started_va = np.sqrt((draws[0] + kick[0]) ** 2 + (draws[1] + kick[1]) ** 2 + draws[2] ** 2)
        return bool((started_va > self.top_va[first:until]).any())

    def is_soft(self, use: tuple[Floats, Floats], first: int) -> bool:
        """Whether a stretch of cells passes what may be passed for a time only."""
        until = first + len(use[0])
        return bool((use[0] > self.soft_w[first:until]).any() or (use[1] > self.soft_va[first:until]).any())

    def overheats(self, draws: Floats) -> bool:
        """Whether a whole day passes it for longer than it may be passed."""
        use_w, use_va = used(draws)
        above = (use_w > self.soft_w) | (use_va > self.soft_va)
        seconds = np.full((1, len(above)), CELL_MS / 1000)
        return bool(store_s(seconds, above[None, :], self.soft_s, self.cooling_s).max() > self.soft_s * (1 + HAIR))


def used(draws: Floats) -> tuple[Floats, Floats]:
    """Watts and volt-amperes for limits, with their uncertainty; `draws` as in `Shape`."""
    p_w, q_var, d_va, spread_w2 = draws
    use_w = p_w + np.sqrt(np.maximum(spread_w2, 0.0))
    use_va = np.sqrt(p_w * p_w + q_var * q_var + d_va * d_va) * (use_w / np.maximum(p_w, HAIR))
    return use_w, use_va


@dataclass(frozen=True, eq=False)
class Load:
    """A run whose start is to be found.

    slots_w: shape (slots,), its typical draw in each slot from its start. begins: shape (day's slots,), where it may
    begin. shapes: per sight, None where it draws nothing there. before: place of the load it waits for, None for none;
    gap: the fewest and the most slots from that one's start to its own.
    """

    run: str
    appliance: str
    length_ms: int
    slots_w: Floats
    begins: Flags
    shapes: tuple[Shape | None, ...]
    before: int | None = None
    gap: tuple[int, int] = (0, 0)

    @property
    def slots(self) -> int:
        """Slots it touches."""
        return len(self.slots_w)

    @cached_property
    def may_begin(self) -> NDArray[np.intp]:
        """The slots in which it may begin, shape (n,)."""
        return np.flatnonzero(self.begins)

    @cached_property
    def windows(self) -> NDArray[np.intp]:
        """For each of those the slots it would touch, shape (n, slots)."""
        return np.asarray(self.may_begin[:, None] + np.arange(self.slots))

    @cached_property
    def peaks_w(self) -> Floats:
        """The most it draws in each slot at the house, shape (slots,)."""
        shape = self.shapes[0]
        return np.zeros(self.slots) if shape is None else np.asarray(shape.draws[0].reshape(-1, CELLS).max(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Together:
    """Loads of which at most so many run at once: one machine, or an interlock.

    loads: their places. taken: shape (horizon's slots,), how many of its members stand there already.
    """

    at_most: int
    loads: tuple[int, ...]
    taken: NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Task:
    """All a search needs to know of a day.

    room_w: shape (slots,), what the sun gives beyond what stands; below nothing where more is drawn than it gives.
    sights: the house first. steady_w: shape (cells,), the watts the inverter carries for hours.
    """

    loads: tuple[Load, ...]
    room_w: Floats
    sights: tuple[Sight, ...]
    together: tuple[Together, ...]
    steady_w: Floats

    @cached_property
    def standing_wh(self) -> float:
        """What goes through the bank with none of the loads."""
        return through_bank_wh(-self.room_w)

    @cached_property
    def alone_wh(self) -> list[Floats]:
        """Per load, what it adds through the bank at each start if it were alone; infinite where it may not begin."""
        return [added_wh(load, -self.room_w) for load in self.loads]

    @cached_property
    def floor_wh(self) -> float:
        """What no placing is below: each load where it would add least if it were alone.

        What goes through the bank is convex in the draw, so beside others a load adds no less than alone.
        """
        return self.standing_wh + sum(float(one.min()) for one in self.alone_wh)

    @cached_property
    def units(self) -> tuple[tuple[int, ...], ...]:
        """Loads that wait for one another, each such family together, whoever is waited for first."""
        roots = [place for place, load in enumerate(self.loads) if load.before is None]
        return tuple(tuple(self._family(root)) for root in roots)

    def _family(self, place: int) -> list[int]:
        found = [place]
        for child, load in enumerate(self.loads):
            if load.before == place:
                found += self._family(child)
        return found

    def through_bank_wh(self, starts: list[int]) -> float:
        """What goes through the bank with the loads begun in these slots."""
        short_w = -self.room_w
        for load, start in zip(self.loads, starts, strict=True):
            short_w[start : start + load.slots] += load.slots_w
        return through_bank_wh(short_w)

    def tightest(self, starts: list[int]) -> float:
        """Share of the inverter's watts that is left at the tightest moment, with the loads begun in these slots."""
        draws = self.sights[0].draws.copy()
        for load, start in zip(self.loads, starts, strict=True):
            shape = load.shapes[0]
            if shape is not None:
                part = draws[:, start * CELLS : start * CELLS + shape.draws.shape[1]]
                part += shape.draws[:, : part.shape[1]]
        return float((1 - used(draws)[0] / self.steady_w).min())


def through_bank_wh(short_w: Floats) -> float:
    """Energy of what is drawn beyond the sun; short_w: draw less sun, per slot."""
    return float(np.maximum(short_w, 0.0).sum()) * SLOT_H


def added_wh(load: Load, short_w: Floats) -> Floats:
    """What a load adds through the bank at each start of the day, beside what is short already; shape (day's slots,).

    short_w: draw less sun, per slot. Infinite where it may not begin.
    """
    found = np.full(len(load.begins), np.inf)
    beside_w = short_w[load.windows]
    more_w = np.maximum(beside_w + load.slots_w, 0.0) - np.maximum(beside_w, 0.0)
    found[load.may_begin] = more_w.sum(axis=1) * SLOT_H
    return found


def least_within(costs_wh: Floats, gap: tuple[int, int]) -> Floats:
    """For each slot the least that costs within a gap after it (fewest and most slots); shape (..., slots)."""
    slots = costs_wh.shape[-1]
    first, width = gap[0], min(gap[1] - gap[0] + 1, slots)
    found = np.full((*costs_wh.shape[:-1], slots + width - 1), np.inf)
    found[..., : max(slots - first, 0)] = costs_wh[..., first:]
    # The least of two that overlap is the least of both: twice as many slots with every step.
    size = 1
    while size < width:
        step = min(size, width - size)
        found = np.minimum(found[..., :-step], found[..., step:])
        size += step
    return found
