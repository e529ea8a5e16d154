"""How near guests come to the inverter's limits where they pass none: for hours, and with their own starts."""

from collections.abc import Sequence

import numpy as np

from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.everything import everything_on
from app.engine.guest import Guest
from app.engine.guests import guests_of
from app.engine.inverter import VOLT_AMPERES, WATTS, steady_line, top_line
from app.engine.readings import START_MARGIN, SURE_MARGIN
from app.engine.results import Flags, Floats


class Closeness:
    """Some guests beside a day's worst case."""

    def __init__(self, day: PlannedDay, guests: Sequence[Guest]) -> None:
        self._t_ms = day.house.scope.t_ms
        self._rows = guests_of(day, guests)
        self._own = self._rows.draws(day, day.house.scope.weight)
        self._worst = everything_on(day.house.scope, kept_apart=True)
        left = 1 - day.resolved.day.wanted_margin
        self._steady = [_lowest(steady_line(day.rule, one).at(self._t_ms)) * left for one in (WATTS, VOLT_AMPERES)]
        self._top_va = _lowest(top_line(day.rule).at(self._t_ms))
        measured = [day.rows.appliances[guest.place].basis == "measured" for guest in guests]
        self._start_share = [1 - (SURE_MARGIN if one else START_MARGIN) for one in measured]
        # What a machine sets off counts with it, whether or not that stands already.
        self._of = [
            [row for row in np.flatnonzero(self._rows.which == which).tolist() if not self._rows.standing[row]]
            for which in range(len(guests))
        ]
        self._close = {row: self._close_by(row) for rows in self._of for row in rows}

    def tight(self, which: int, from_ms: float, to_ms: float) -> bool:
        """Beginning at some instant between two, less is left than wanted for hours, or for one of its starts."""
        for row in self._of[which]:
            begin_ms, end_ms = from_ms + self._rows.from_ms[row], to_ms + self._rows.until_ms[row]
            first = max(int(self._t_ms.searchsorted(begin_ms, side="right")) - 1, 0)
            last = int(self._t_ms.searchsorted(end_ms, side="left"))
            if self._close[row][first:last].any():
                return True
        return False

    def most_w(self, which: int) -> float:
        """The most it draws running, with all it sets off; nominal."""
        return max((float(self._own.p_w[row]) for row in self._of[which] if not self._is_start(row)), default=0.0)

    def start_va(self, which: int) -> float:
        """Its largest start with all of it that runs then; nominal, 0 where it has none."""
        va = self._own.va
        return max((float(va[row]) for row in self._of[which] if self._is_start(row)), default=0.0)

    def _is_start(self, row: int) -> bool:
        return bool(self._rows.starting[row] >= 0)

    def _close_by(self, row: int) -> Flags:
        """In which stretches too little is left."""
        total = self._own.rows(np.array([row])).upright() + self._worst
        if self._is_start(row):
            share = self._start_share[int(self._rows.which[row])]
            return np.asarray(total.use_va[0] > self._top_va * share * (1 + HAIR))
        steady_w, steady_va = self._steady
        return np.asarray((total.use_w[0] > steady_w * (1 + HAIR)) | (total.use_va[0] > steady_va * (1 + HAIR)))


def _lowest(limit: Floats) -> Floats:
    return np.asarray(np.minimum(limit[:-1], limit[1:]))
