"""Certain draws and those that come and go, at worst: without what interlocks keep off, whichever that is."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.cyclers import Cyclers, Interlocked, upright
from app.engine.draw import HAIR, Draws, worst_q_var
from app.engine.results import Flags, Floats

NO_VAR = np.zeros(()), np.zeros(())
MOST_CHOICES = 64  # ways in which interlocks may let members on that are all tried
Choice = tuple[tuple[int, ...], ...]  # per interlock, as in `Interlocked.left_out`


def worst_case(
    certain: Draws, cyclers: Cyclers, on: Flags, interlocked: Sequence[Interlocked], at_ms: Floats,
    *, starts: Draws | None = None, beside_var: tuple[Floats, Floats] = NO_VAR,
) -> Draws:  # fmt: skip
    """Certain draws and those cycling loads that are on, without what interlocks keep off.

    certain: any shape. on: shape (cyclers, *shape). at_ms: shape, which instants of the day these are.
    starts: by how much scheduled starts draw more than what they replace; members in theirs count first.
    beside_var: as in `with_cyclers`.
    """
    if not interlocked:
        return with_cyclers(certain, cyclers.draws, on, beside_var)
    kept = KeptApart(certain, cyclers, on, interlocked, at_ms, in_their_start=starts is not None)

    def total(choice: Choice | None) -> Draws:
        left = kept.let_on(choice)
        lagging, leading = (own + more for own, more in zip(left.beside_var, beside_var, strict=True))
        running = with_cyclers(left.certain, cyclers.draws, left.on, (lagging, leading))
        return running if starts is None else running + starts

    worst = kept.largest(total)
    return worst if starts is None else worst - starts


class LetOn(NamedTuple):
    """Certain draws and which cycling loads are on, after interlocks; beside_var: as in `with_cyclers`."""

    certain: Draws
    on: Flags
    beside_var: tuple[Floats, Floats]


class KeptApart:
    """Draws of which interlocks keep some off, in each way in which they may."""

    def __init__(
        self, certain: Draws, cyclers: Cyclers, on: Flags, interlocked: Sequence[Interlocked], at_ms: Floats,
        *, in_their_start: bool = False, starters: Sequence[int] = (),
    ) -> None:  # fmt: skip
        """As in `worst_case`; in_their_start: members in their scheduled start count first, as starters do.

        starters: cycling pieces that start just then.
        """
        self.certain, self.cyclers, self.on, self.interlocked = certain, cyclers, on, interlocked
        self.starters, self.in_their_start, self.at_ms = starters, in_their_start, at_ms
        self._place = {int(piece): index for index, piece in enumerate(cyclers.piece)}

    def let_on(self, choice: Choice | None = None) -> LetOn:
        """What is left with some members chosen; with none, no figure is less than with any, whatever is added."""
        certain, on = self.certain, self.on
        nothing = np.zeros(np.shape(self.at_ms))
        lagging, leading = nothing, nothing
        for place, interlock in enumerate(self.interlocked):
            there, first = self._members(interlock, on)
            out = interlock.left_out(there, first, () if choice is None else choice[place])
            certain = certain - summed(interlock.draws, np.asarray(out & ~upright(interlock.cycling, out.ndim - 1)))
            if choice is None and interlock.is_mixed:
                more, (lag, lead) = interlock.more(there, first)
                certain, lagging, leading = certain + more, lagging + lag, leading + lead
            on = on.copy()
            for member in np.flatnonzero(interlock.cycling):
                if int(interlock.piece[member]) in self._place:
                    on[self._place[int(interlock.piece[member])]] &= ~out[member]
        return LetOn(certain, on, (lagging, leading))

    def largest(self, total: Callable[[Choice | None], Draws]) -> Draws:
        """Of totals with each choice of members the largest in watts and in volt-amperes, as limits use them."""
        return largest_of(total(None), [total(choice) for choice in self.choices])

    @cached_property
    def choices(self) -> list[Choice]:
        """All of them; of more than can be tried those of one interlock at a time. None where one is the largest."""
        if not any(one.is_mixed for one in self.interlocked):
            return []
        each = [one.choices(*self._members(one, self.on)) for one in self.interlocked]
        many = math.prod(map(len, each))
        if many <= MOST_CHOICES:
            return list(product(*each)) if many > 1 else []
        largest = [ways[0] for ways in each]
        return [
            (*largest[:place], way, *largest[place + 1 :])
            for place, ways in enumerate(each)
            for way in ways
        ]  # fmt: skip

    def _members(self, interlock: Interlocked, on: Flags) -> tuple[Flags, Flags]:
        """Which members of an interlock are on, and which of them count first."""
        there = interlock.there(self.at_ms)
        first = interlock.starting(self.at_ms) if self.in_their_start else np.zeros_like(there)
        for member in np.flatnonzero(interlock.cycling):
            piece = int(interlock.piece[member])
            there[member] = on[self._place[piece]] if piece in self._place else False
            first[member] = piece in self.starters
        return there, first


def largest_of(most: Draws, each: Sequence[Draws]) -> Draws:
    """Of several draws the largest in watts and in volt-amperes, as limits use them, as one.

    most: with every figure the largest of theirs; returned where there are none.
    """
    if not each:
        return most
    use_w = np.maximum.reduce([one.use_w for one in each])
    more_w = np.maximum(use_w - most.p_w, 0.0)
    scale = 1 + more_w / np.maximum(most.p_w, HAIR)  # as in `Draws.use_va`
    va = np.maximum.reduce([one.use_va for one in each]) / scale
    beside = np.sqrt(np.maximum(va**2 - most.p_w**2 - most.d_va**2, 0.0))
    return replace(most, q_var=np.copysign(beside, most.q_var), spread_w2=more_w**2)


def with_cyclers(
    certain: Draws, cycling: Draws, on: NDArray[np.bool_], beside_var: tuple[Floats, Floats] = NO_VAR
) -> Draws:
    """Certain draws and those cycling loads that are on.

    certain: any shape. cycling: shape (n,). on: shape (n, *shape). beside_var: reactive power of more that is there,
    with the loads that lag, and with those that lead.
    """
    if not len(cycling.p_w) and beside_var is NO_VAR:
        return certain
    lagging, leading = np.maximum(cycling.q_var, 0.0), np.minimum(cycling.q_var, 0.0)
    p_w, lag, lead, d_va, spread_w2 = _summed([cycling.p_w, lagging, leading, cycling.d_va, cycling.spread_w2], on)
    return Draws(
        certain.p_w + p_w,
        worst_q_var(certain.q_var, lag + beside_var[0], lead + beside_var[1]),
        certain.d_va + d_va,
        certain.spread_w2 + spread_w2,
    )


def summed(draws: Draws, flags: NDArray[np.bool_]) -> Draws:
    """Sums of those draws whose flags hold; shape (n,) and (n, *shape) to shape."""
    return Draws(*_summed([draws.p_w, draws.q_var, draws.d_va, draws.spread_w2], flags))


def _summed(figures: list[Floats], flags: NDArray[np.bool_]) -> Floats:
    """Each figure, shape (n,), summed where the flags hold, shape (n, *shape); shape (figures, *shape)."""
    sums = np.array(figures) @ flags.reshape(len(flags), math.prod(flags.shape[1:])).astype(float)
    return np.asarray(sums.reshape(len(figures), *flags.shape[1:]))
