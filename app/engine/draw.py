"""What a load draws: watts, reactive and distortion volt-amperes, and how sure the watts are."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from app.engine.results import Floats

HAIR = 1e-9  # relative: two figures nearer than this are equal, so that rounding never breaks a limit


def beside_va(p_w: Floats | float, power_factor: Floats | float) -> Floats:
    """P tan(acos pf): what stands beside the watts, in var or in VA of distortion."""
    return np.asarray(p_w * np.sqrt(np.maximum(1 / np.square(power_factor) - 1, 0.0)))


def draw_of(
    watts: Floats | float, power_factor: Floats | float, kind: NDArray[np.str_] | str
) -> tuple[Floats, Floats, Floats]:
    """(P [W], Q [var], D [VA]) of loads, any shape; Q > 0 lags, Q < 0 leads, D is the distortion of rectifiers.

    kind: lagging, leading or distortion, of the same shape or one for all.

    >>> [round(float(x)) for x in draw_of(800, 0.8, "leading")]
    [800, -600, 0]
    """
    beside = beside_va(watts, power_factor)
    kinds = np.asarray(kind)
    q_var = np.where(kinds == "leading", -beside, np.where(kinds == "lagging", beside, 0.0))
    return np.asarray(watts, dtype=float)[()], q_var[()], np.where(kinds == "distortion", beside, 0.0)[()]


def apparent_va(p_w: Floats | float, q_var: Floats | float, d_va: Floats | float) -> Floats:
    """|S| = sqrt(P^2 + Q^2 + D^2), in VA, of sums of draws.

    Adding the distortion of several loads as numbers is an upper bound: their harmonics may partly cancel.
    """
    return np.asarray(np.sqrt(np.square(p_w) + np.square(q_var) + np.square(d_va)))


@dataclass(frozen=True, eq=False)
class Draws:
    """Sums of draws, all four of one shape.

    p_w, q_var, d_va: as in `draw_of`. spread_w2: the sum of (uncertainty x watts)^2, independent loads.
    What is read from them is kept: several limits ask the same draws.
    """

    p_w: Floats
    q_var: Floats
    d_va: Floats
    spread_w2: Floats

    @property
    def figures(self) -> Floats:
        """All four, shape (4, *shape)."""
        return np.array((self.p_w, self.q_var, self.d_va, self.spread_w2))

    def __add__(self, other: "Draws") -> "Draws":
        return Draws(
            self.p_w + other.p_w,
            self.q_var + other.q_var,
            self.d_va + other.d_va,
            self.spread_w2 + other.spread_w2,
        )

    def __sub__(self, other: "Draws") -> "Draws":
        return Draws(
            self.p_w - other.p_w,
            self.q_var - other.q_var,
            self.d_va - other.d_va,
            self.spread_w2 - other.spread_w2,
        )

    def times(self, factor: Floats | float, spread: Floats | float | None = None) -> "Draws":
        """Each draw times a factor; its spread goes with the square, unless said otherwise."""
        square = np.square(factor) if spread is None else spread
        return Draws(self.p_w * factor, self.q_var * factor, self.d_va * factor, np.asarray(self.spread_w2 * square))

    def take(self, index: Any) -> "Draws":
        """The same draws at other places (any numpy index)."""
        return Draws(self.p_w[index], self.q_var[index], self.d_va[index], self.spread_w2[index])

    def with_each(self, others: "Draws") -> "Draws":
        """Every draw with every one of some others; shapes (n,) and (m,) to (n, m)."""
        return self.take((slice(None), None)) + others

    def where(self, flags: NDArray[np.bool_], other: "Draws") -> "Draws":
        """These where the flags hold, the others elsewhere."""
        return Draws(
            np.where(flags, self.p_w, other.p_w),
            np.where(flags, self.q_var, other.q_var),
            np.where(flags, self.d_va, other.d_va),
            np.where(flags, self.spread_w2, other.spread_w2),
        )

    @property
    def va(self) -> Floats:
        """Nominal volt-amperes."""
        return apparent_va(self.p_w, self.q_var, self.d_va)

    @cached_property
    def use_w(self) -> Floats:
        """Watts for limits: nominal plus the spread, in quadrature."""
        return self.p_w + np.sqrt(np.maximum(self.spread_w2, 0.0))

    @cached_property
    def use_va(self) -> Floats:
        """Volt-amperes for limits: nominal, times as much as the watts may be more."""
        p_w = np.maximum(self.p_w, HAIR)
        return self.va * (1 + np.sqrt(np.maximum(self.spread_w2, 0.0)) / p_w)


def worst_q_var(certain_var: Floats, lagging_var: Floats, leading_var: Floats) -> Floats:
    """Certain Q with the lagging or with the leading cycling loads, whichever is larger in magnitude."""
    lagging = certain_var + lagging_var
    leading = certain_var + leading_var
    return np.where(np.abs(leading) > np.abs(lagging), leading, lagging)
