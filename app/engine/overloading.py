"""Whether what is on while the generator runs is too much for it beside its charger, and a guest's doing."""

from bisect import bisect_left
from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from app.engine.beside import Beside
from app.engine.charge import BankDay
from app.engine.draw import HAIR
from app.engine.everything import everything_on
from app.engine.results import Flags, Floats
from app.engine.sums import Sums

SHIFTED_MS = 1_800_000  # what the plan overloads it with anyway may come so much sooner or later
AROUND_MS = 120_000  # of when it starts and stops with two beginnings, with one between them
LONGER_MS = 300_000  # and last so much longer: as finely as the day's energy is followed


Part = tuple[float, float, float]  # from, to, watts
Spells = list[tuple[float, float]]


class Overload(NamedTuple):
    """The generator runs while too much is on. use_w: of the house. is_on: the guest is, and part of it."""

    from_ms: float
    to_ms: float
    use_w: float
    is_on: bool


class _Others(NamedTuple):
    """What the plan has on without the guest's own.

    least_w: at least, from each stretch on, a hair more. over: where it is too much for the generator; beside: with the
    guest in each of its phases. Parts in order.
    """

    least_w: Floats
    over: list[Part]
    beside: list[list[Part]]


class Overloading:
    """A generator beside the loads of a day, with one of some guests each; what it overlaps of its own is it, moved."""

    def __init__(self, beside: Beside, battery: BankDay, most_w: float, kept_apart: list[bool]) -> None:
        """most_w: what it carries beside its charger. kept_apart: per guest, whether interlocks hold in the plan."""
        self._beside, self._view, self._scope = beside, beside.day.house, beside.day.house.scope
        self._most_w, self._apart = most_w * (1 + HAIR), kept_apart
        self._plan = {apart: everything_on(self._scope, kept_apart=apart) for apart in set(kept_apart)}
        ran_ms = [(float(one.from_ms), float(one.to_ms)) for one in battery.generator]
        self._anyway = {
            apart: list(_common(self._over(sums), ran_ms, -np.inf, np.inf)) for apart, sums in self._plan.items()
        }
        self._most_of_steps: dict[bool, Floats] = {}
        self._others: dict[tuple[int, tuple[int, ...]], _Others] = {}
        guests, own_w = beside.guests, beside.drawn(self._view).use_w
        phases = [(guests.which == which) & (guests.starting < 0) for which in range(len(kept_apart))]
        self._own_w = [float(own_w[one].max(initial=0.0)) for one in phases]

    def first(self, which: int, begin_ms: float, spells_ms: Spells) -> Overload | None:
        """The first overload that comes of a guest that begins at an instant; spells_ms: when the generator runs.

        While the guest is on, any. Later, what the plan overloads it with anyway is none if it comes at most half an
        hour sooner or later and lasts five minutes longer at most; nor is what is too much all the rest of the day.
        """
        others = self._others_of(which, begin_ms)
        edges_ms = (begin_ms + self._beside.guests.guests[which].edge_ms).tolist()
        for over, (on_ms, off_ms) in zip(others.beside, pairwise(edges_ms), strict=True):
            for part in _common(over, spells_ms, on_ms, off_ms):
                return Overload(*part, is_on=True)
        later = list(_common(others.over, spells_ms, edges_ms[-1], np.inf))
        if not later:
            return None
        always_w = float(others.least_w[self._scope.stretch_at(begin_ms)])
        later = [one for one in later if one[2] > always_w]
        for part in later:
            if not self._is_anyway(which, *part):
                return Overload(*part, is_on=False)
        longer_ms = sum(to_ms - from_ms for from_ms, to_ms, _ in later) - self._anyway_ms(which, begin_ms, always_w)
        return Overload(*later[0], is_on=False) if later and longer_ms > LONGER_MS else None

    def may_be_between(self, which: int, begins_ms: tuple[float, float], spells_ms: tuple[Spells, Spells]) -> bool:
        """Whether one may come of some beginning between two of which none comes. spells_ms: with each of them."""
        if len(spells_ms[0]) != len(spells_ms[1]):
            return True
        others, begin_ms = self._others_of(which, begins_ms[0]), begins_ms[0]
        always_w = float(others.least_w[self._scope.stretch_at(begin_ms)])
        around_ms = max(AROUND_MS, (begins_ms[1] - begin_ms) / 8)
        edges_ms, (first, last), later_ms = self._beside.guests.guests[which].edge_ms, spells_ms, 0.0
        hull_ms = [
            (min(one[0], then[0]) - around_ms, max(one[1], then[1]) + around_ms)
            for one, then in zip(first, last, strict=True)
        ]
        on_ms = zip((begin_ms + edges_ms[:-1]).tolist(), (begins_ms[1] + edges_ms[1:]).tolist(), strict=True)
        for over, (first_ms, last_ms) in zip(others.beside, on_ms, strict=True):
            if any(True for _ in _common(over, hull_ms, first_ms, last_ms)):
                return True
        for one in _common(others.over, hull_ms, begin_ms, np.inf):
            if one[2] > always_w:
                if not self._is_anyway(which, *one):
                    return True
                later_ms += one[1] - one[0]
        return later_ms - self._anyway_ms(which, begin_ms, always_w) > LONGER_MS and later_ms > 0

    def may_come(self, which: int, starts: Flags, begins_ms: Floats, step_ms: float) -> Flags:
        """Of which beginnings one may come, shape (n,), by when the generator may start with each: shape (n, steps)."""
        most_w = self._most_in(self._apart[which], begins_ms, step_ms)
        from_then_on = np.maximum.accumulate(most_w[::-1])[::-1]
        step, comes = starts.argmax(axis=1), starts.any(axis=1)
        found = comes & (from_then_on[step] > self._most_w)
        off = np.arange(len(starts)) + int(np.ceil(self._lasts_ms(which) / step_ms))
        most_beside_w = self._most_w - self._own_w[which]
        for place in np.flatnonzero(comes & ~found & (off >= step)).tolist():
            found[place] = most_w[step[place] : off[place] + 1].max() > most_beside_w
        return np.asarray(found)

    def _most_in(self, apart: bool, begins_ms: Floats, step_ms: float) -> Floats:
        """The most that the plan has on in each step."""
        if apart not in self._most_of_steps:
            t_ms, use_w = self._scope.t_ms, self._plan[apart].use_w
            first = self._scope.stretch_at(begins_ms)
            last = self._scope.stretch_at(np.minimum(begins_ms + step_ms, t_ms[-1]) - 1)
            each = [use_w[one : then + 1].max() for one, then in zip(first, last, strict=True)]
            self._most_of_steps[apart] = np.array(each)
        return self._most_of_steps[apart]

    def _lasts_ms(self, which: int) -> float:
        return float(self._beside.guests.guests[which].edge_ms[-1])

    def _others_of(self, which: int, begin_ms: float) -> _Others:
        asked = which, self._beside.own_runs.overlapped(which, begin_ms)
        if asked not in self._others:
            sums, with_it = self._beside.with_phases(self._plan[self._apart[which]], self._view, *asked)
            least_w = np.minimum.accumulate(sums.use_w[::-1])[::-1] * (1 + HAIR)
            self._others[asked] = _Others(least_w, self._over(sums), list(self._beside_it(which, with_it)))
        return self._others[asked]

    def _beside_it(self, which: int, with_it: Sums) -> Iterator[list[Part]]:
        """Where it is too much beside each phase of a guest that draws anything."""
        guest = self._beside.guests.guests[which]
        draws_w = self._beside.day.rows.running.p_w[guest.pieces.row] @ guest.on
        for phase in range(with_it.figures.shape[1]):
            yield self._over(with_it.row(phase)) if draws_w[phase] else []

    def _over(self, sums: Sums) -> list[Part]:
        """Where so much is too much for it, stretch by stretch."""
        places = np.flatnonzero(sums.use_w > self._most_w)
        t_ms = self._scope.t_ms
        parts = (t_ms[places].tolist(), t_ms[places + 1].tolist(), sums.use_w[places].tolist())
        return list(zip(*parts, strict=True))

    def _anyway_ms(self, which: int, since_ms: float, always_w: float) -> float:
        """For how long the plan overloads it by itself from an instant on, by more than it always does."""
        each = self._anyway[self._apart[which]]
        return sum(max(to_ms - max(from_ms, since_ms), 0.0) for from_ms, to_ms, use_w in each if use_w > always_w)

    def _is_anyway(self, which: int, from_ms: float, to_ms: float, use_w: float) -> bool:
        """The plan overloads it by itself about then, and by as much."""
        return any(
            runs_ms < to_ms + SHIFTED_MS and ends_ms > from_ms - SHIFTED_MS and was_w * (1 + HAIR) >= use_w
            for runs_ms, ends_ms, was_w in self._anyway[self._apart[which]]
        )


def _common(parts: list[Part], spells_ms: Spells, from_ms: float, to_ms: float) -> Iterator[Part]:
    """Parts as far as they lie in some spell and between two instants; in order, as the parts are."""
    for starts_ms, stops_ms in spells_ms if parts else ():
        first_ms, last_ms = max(starts_ms, from_ms), min(stops_ms, to_ms)
        if first_ms >= last_ms:
            continue
        for begins_ms, ends_ms, use_w in parts[max(bisect_left(parts, (first_ms,)) - 1, 0) :]:
            if begins_ms >= last_ms:
                break
            if ends_ms > first_ms:
                yield max(begins_ms, first_ms), min(ends_ms, last_ms), use_w
