"""Dips of the bank's voltage with a guest in the house: those that follow on one another, from one beginning."""

from typing import NamedTuple

import numpy as np

from app.engine.beside import Beside
from app.engine.columns import Columns, Day
from app.engine.draw import HAIR
from app.engine.pressing import STARTED, low_voltage_w
from app.engine.results import Floats
from app.engine.sums import Sums


class Dip(NamedTuple):
    """One that lasts as long as the inverter waits. use_w: the largest draw in it; most_w: above which it dips."""

    at_ms: float
    use_w: float
    most_w: float


class Dipping:
    """Asked for one guest and one beginning at a time; few are worth asking for.

    Running draws and starts at known instants, in the worst case; what starts by itself is asked about alone.
    """

    def __init__(self, beside: Beside) -> None:
        self._beside = beside
        inverter = beside.day.resolved.household.supply.inverter
        self._waits_ms = 1000 * inverter.cut_off_delay_s
        self._low_w = low_voltage_w(beside.day.bank, inverter.cut_off_v)
        self._columns: Columns | None = None

    def changes_ms(self, which: int) -> Floats:
        """Beginnings at which what a guest's dips come to may change: its edges at those of planned starts that dip."""
        beside, guests, view = self._beside, self._beside.guests, self._beside.day.house
        mine, scheduled = guests.which == which, view.scheduled
        most_w = float(beside.drawn(view).rows(np.flatnonzero(mine & (guests.starting < 0))).use_w.max(initial=0.0))
        dips = scheduled.largest(view.scope.worst_started.use_w) + most_w > self._low_w
        starts_ms = np.unique(np.concatenate([scheduled.begin_ms[dips], scheduled.end_ms[dips]])).astype(float)
        near_ms = np.concatenate([starts_ms, starts_ms - self._waits_ms, starts_ms + self._waits_ms])
        edges_ms = np.unique(np.concatenate([guests.from_ms[mine], guests.until_ms[mine]]))
        turns_ms = [one.until_ms for one in beside.spans(which)[:-1]]
        return np.unique(np.append(np.subtract.outer(near_ms, edges_ms), turns_ms))

    def too_long(self, which: int, begin_ms: float) -> Dip | None:
        """The first dip that is too long, and that the guest is part of; None for none."""
        beside, guests, view = self._beside, self._beside.guests, self._beside.day.house
        rows = np.flatnonzero(guests.which == which)
        # What it sets off counts though it may stand already: the safe side.
        rows = rows[[not guests.standing[row] for row in rows.tolist()]]
        starting = guests.starting[rows]
        phases, starts = rows[starting < 0], rows[starting >= 0]
        starts = starts[~guests.cycling[guests.starting[starts]]]
        if self._columns is None:
            self._columns = Day(view, 0.0, everything=True).started
        columns, own = self._columns, beside.drawn(view)
        mine = np.concatenate([phases, starts])
        edges_ms = begin_ms + np.concatenate([guests.from_ms[mine], guests.until_ms[mine]])
        last_ms = float(columns.end_ms[-1])
        t_ms = np.unique(np.concatenate([columns.t_ms, edges_ms[edges_ms < last_ms], [last_ms]]))
        middle_ms = (t_ms[:-1] + t_ms[1:]) / 2
        stretch = view.scope.stretch_at(middle_ms)
        base = columns.sums.take(stretch)
        # In a start its row is in place of the phase's.
        row = np.full(len(middle_ms), -1)
        for one in mine.tolist():
            inside = (begin_ms + guests.from_ms[one] <= middle_ms) & (middle_ms < begin_ms + guests.until_ms[one])
            row[inside] = one
        span = next(one for one in beside.spans(which) if one.from_ms <= begin_ms <= one.until_ms)
        gone = beside.gone(view, span, np.where(row >= 0, row, phases[0]), stretch, STARTED)
        before = base if gone is None else base - gone.where(row >= 0)
        added = Sums(own.figures.take(np.maximum(row, 0), axis=1)).where(row >= 0)
        use_w, was_w = (before + added).use_w, before.use_w
        low = use_w > self._low_w * (1 + HAIR)
        edge = np.diff(np.concatenate(([0], low.astype(np.int8), [0])))
        for first, last in zip(np.flatnonzero(edge == 1).tolist(), np.flatnonzero(edge == -1).tolist(), strict=True):
            deeper = use_w[first:last] > was_w[first:last] * (1 + HAIR)
            if deeper.any() and t_ms[last] - t_ms[first] >= self._waits_ms * (1 - HAIR):
                return Dip(float(t_ms[first]), float(use_w[first:last].max()), self._low_w)
        return None
