"""Sums of draws with either side of zero kept apart: which of them counts is known when everything is added."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from app.engine.draw import HAIR, Draws
from app.engine.results import Flags, Floats, Instants


@dataclass(frozen=True, eq=False)
class Sums:
    """Sums of draws; figures: shape (5, ...), one after the other what the properties name. What is read is kept.

    one_var, other_var: with those cycling loads that lag, and with those that lead; the larger one counts.
    """

    figures: Floats

    @classmethod
    def of(cls, p_w: Floats, one_var: Floats, other_var: Floats, d_va: Floats, spread_w2: Floats) -> "Sums":
        """Put together; spread as in `Draws`."""
        return cls(np.array((p_w, one_var, other_var, d_va, spread_w2)))

    def take(self, index: Instants) -> "Sums":
        """Some of them, along the last axis."""
        return Sums(self.figures.take(index, axis=-1))

    def rows(self, index: Instants) -> "Sums":
        """Some of them, along the first axis."""
        return Sums(self.figures.take(index, axis=1))

    def row(self, place: int) -> "Sums":
        """One of them, along the first axis."""
        return Sums(self.figures[:, place])

    def upright(self) -> "Sums":
        """As a column, to be added to a row of others."""
        return Sums(self.figures[:, :, None])

    def flat(self) -> "Sums":
        """As a row, for columns to be added to."""
        return Sums(self.figures[:, None, :])

    def where(self, flags: Flags) -> "Sums":
        """Nothing where the flags do not hold."""
        return Sums(np.where(flags, self.figures, 0.0))

    def further_out(self) -> "Sums":
        """Reactive power alone, and of either side only what lies further out on it."""
        figures = np.zeros_like(self.figures)
        figures[1], figures[2] = np.maximum(self.figures[1], 0.0), np.minimum(self.figures[2], 0.0)
        return Sums(figures)

    def __add__(self, other: "Sums") -> "Sums":
        return Sums(self.figures + other.figures)

    def __sub__(self, other: "Sums") -> "Sums":
        return Sums(self.figures - other.figures)

    @property
    def leads(self) -> Flags:
        """Where the cycling loads that lead make it larger than those that lag."""
        return np.asarray(np.abs(self.figures[2]) > np.abs(self.figures[1]))

    def draws(self, leads: Flags) -> Draws:
        """With the cycling loads that lead where the flags hold, elsewhere with those that lag."""
        p_w, one_var, other_var, d_va, spread_w2 = self.figures
        return Draws(p_w, np.where(leads, other_var, one_var), d_va, spread_w2)

    @property
    def p_w(self) -> Floats:
        """Watts."""
        return np.asarray(self.figures[0])

    @cached_property
    def va(self) -> Floats:
        """Nominal volt-amperes."""
        squares = np.square(self.figures[:4])
        return np.asarray(np.sqrt(squares[0] + np.maximum(squares[1], squares[2]) + squares[3]))

    @cached_property
    def sure_w(self) -> Floats:
        """What the uncertainty adds to the watts."""
        return np.asarray(np.sqrt(np.maximum(self.figures[4], 0.0)))

    @cached_property
    def use_w(self) -> Floats:
        """Watts for limits."""
        return np.asarray(self.figures[0] + self.sure_w)

    @cached_property
    def use_va(self) -> Floats:
        """Volt-amperes for limits."""
        return np.asarray(self.va * (1 + self.sure_w / np.maximum(self.figures[0], HAIR)))

    @cached_property
    def drawing(self) -> Flags:
        """Which draw anything at all."""
        return np.asarray((self.figures[0] > 0) | (self.figures[1:3] != 0).any(axis=0) | (self.figures[3] > 0))


def sums_of(draws: Draws, cycling: Flags | bool) -> Sums:
    """Single draws: what is surely there counts on both sides, what cycles on its own."""
    q_var = draws.q_var
    one_var = np.where(cycling, np.maximum(q_var, 0.0), q_var)
    other_var = np.where(cycling, np.minimum(q_var, 0.0), q_var)
    return Sums.of(draws.p_w, one_var, other_var, draws.d_va, draws.spread_w2)


def plain(draws: Draws) -> Sums:
    """Draws whose side of zero is chosen already."""
    return Sums.of(draws.p_w, draws.q_var, draws.q_var, draws.d_va, draws.spread_w2)
