"""Loads that come and go as a scope sees them, and the interlocks that keep some of them off."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import Draws
from app.engine.results import Flags, Floats, Instants


@dataclass(frozen=True, slots=True, eq=False)
class Cyclers:
    """The cycling pieces of a scope, shape (n,) each, their draws as the scope sees them.

    piece: place among all pieces. first_ms: when the first of its load begins, seen here or not.
    start_p_w, start_q_var: the start, in place of the draw; zero for none. cold: what it draws when power comes back.
    """

    piece: Instants
    begin_ms: Instants
    end_ms: Instants
    on_ms: Instants
    period_ms: Instants
    longest_ms: Instants
    load: Instants
    first_ms: Instants
    draws: Draws
    start_p_w: Floats
    start_q_var: Floats
    start_va: Floats
    start_ms: Instants
    cold: Draws

    def __len__(self) -> int:
        return len(self.piece)

    def starting_with(self, place: int) -> Instants:
        """Places of those that start with one, itself among them: parts of one load come on together, every time.

        The start of a part that comes on later counts with those that are still under way then.
        """
        begin_ms = self.begin_ms[place]
        under_way = (self.begin_ms <= begin_ms) & (self.begin_ms + self.start_ms > begin_ms)
        return np.flatnonzero(under_way & (self.load == self.load[place]))

    def starts(self, places: Instants) -> Draws:
        """The starts of some of them, in place of their draws."""
        nothing = np.zeros(len(places))
        return Draws(self.start_p_w[places], self.start_q_var[places], nothing, nothing)

    def take(self, index: Any) -> "Cyclers":
        """Some of them (any numpy index)."""
        return Cyclers(
            self.piece[index], self.begin_ms[index], self.end_ms[index], self.on_ms[index], self.period_ms[index],
            self.longest_ms[index], self.load[index], self.first_ms[index], self.draws.take(index),
            self.start_p_w[index], self.start_q_var[index], self.start_va[index], self.start_ms[index],
            self.cold.take(index),
        )  # fmt: skip


@dataclass(frozen=True, eq=False)
class Interlocked:
    """One interlock as a scope sees it: its pieces, the largest in volt-amperes first.

    piece: places among all pieces; cycling, begin_ms, end_ms, draws: of these pieces.
    started_ms: until when its scheduled start lasts; its beginning where it has none.
    """

    at_most: int
    piece: Instants
    cycling: NDArray[np.bool_]
    begin_ms: Instants
    end_ms: Instants
    started_ms: Instants
    draws: Draws

    def there(self, at_ms: Floats) -> Flags:
        """Which members stand at instants of any shape; members on axis 0."""
        beside = np.ndim(at_ms)
        return np.asarray((upright(self.begin_ms, beside) <= at_ms) & (upright(self.end_ms, beside) > at_ms))

    def starting(self, at_ms: Floats) -> Flags:
        """Which are in their scheduled start."""
        beside = np.ndim(at_ms)
        return np.asarray((upright(self.begin_ms, beside) <= at_ms) & (upright(self.started_ms, beside) > at_ms))

    def left_out(self, on: Flags, first: Flags | None = None, chosen: Sequence[int] = ()) -> Flags:
        """Of the members that are on (axis 0), those that do not count in a worst case.

        At most `at_most` count, or as many as are certainly on: those that start just then first, then the chosen,
        then the largest in volt-amperes.
        chosen: places among those that are on and do not start, the largest first.
        """
        ahead, rest = self._parted(on, first)
        picked = rest & np.isin(np.cumsum(rest, axis=0) - 1, np.asarray(chosen, dtype=np.intp))
        others, before = rest & ~picked, np.cumsum(ahead, axis=0)
        after = before[-1] + np.where(picked, np.cumsum(picked, axis=0), picked.sum(axis=0) + np.cumsum(others, axis=0))
        return np.asarray(on & (np.where(ahead, before, after) > self._allowed(on)))

    def choices(self, on: Flags, first: Flags | None = None) -> list[tuple[int, ...]]:
        """Which of the members that are on may count, as in `left_out`; one where the largest is so in everything."""
        ahead, rest = self._parted(on, first)
        free, others = self._free(on, ahead), rest.sum(axis=0)
        contested = others > free
        if not self.is_mixed or not contested.any():
            return [()]
        some = range(int(others[contested].max()))
        return [chosen for count in np.unique(free[contested]).tolist() for chosen in combinations(some, count)]

    @staticmethod
    def _parted(on: Flags, first: Flags | None) -> tuple[Flags, Flags]:
        """Those that are on and count first, and the others."""
        ahead = np.zeros_like(on) if first is None else on & first
        return ahead, on & ~ahead

    def _allowed(self, on: Flags) -> Instants:
        """How many of those that are on count."""
        return np.asarray(np.maximum(self.at_most, (on & ~upright(self.cycling, on.ndim - 1)).sum(axis=0)))

    def _free(self, on: Flags, ahead: Flags) -> Instants:
        """How many count beside those ahead."""
        return np.asarray(np.maximum(self._allowed(on) - ahead.sum(axis=0), 0))

    @cached_property
    def is_mixed(self) -> bool:
        """The largest in volt-amperes is not so in all that these are made of, or not the least certain.

        Less that lags may be more where the whole leads.
        """
        draws = self.draws
        falls = all(bool((np.diff(figure) <= 0).all()) for figure in (draws.p_w, draws.d_va, draws.spread_w2))
        return not falls or bool((np.diff(draws.q_var) != 0).any())

    def more(self, on: Flags, first: Flags | None = None) -> tuple[Draws, tuple[Floats, Floats]]:
        """By how much others of those that are on draw more than those that count, each figure by itself.

        Which of them is on is not known: with this added nothing is less than with any of them, whatever is added.
        Draws without reactive power, and that on the lagging side of zero and on the leading; of the shape of `on`
        without its members. on, first: as in `left_out`.
        """
        ahead, others = self._parted(on, first)
        counted = others & ~self.left_out(on, first)
        free = self._free(on, ahead)

        def larger(figure: Floats) -> Floats:
            order = np.argsort(-figure, kind="stable")
            most = others[order] & (np.cumsum(others[order], axis=0) <= free)
            more = np.tensordot(figure[order], most, axes=1) - np.tensordot(figure, counted, axes=1)
            return np.asarray(np.maximum(more, 0.0))

        draws = self.draws
        p_w, d_va, spread_w2 = larger(draws.p_w), larger(draws.d_va), larger(draws.spread_w2)
        return Draws(p_w, np.zeros_like(p_w), d_va, spread_w2), (larger(draws.q_var), -larger(-draws.q_var))


def upright(per_member: NDArray[Any], beside: int) -> NDArray[Any]:
    """Figures per member, to stand on axis 0 before so many other axes."""
    return per_member.reshape(-1, *[1] * beside)
