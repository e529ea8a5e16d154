"""Views of a day as guests meet them: what each has already, and the most that some of the guests draw in it."""

from typing import NamedTuple

import numpy as np

from app.engine.beside import Beside
from app.engine.columns import Day, Most, most_of
from app.engine.locked import Side
from app.engine.readings import View
from app.engine.results import Instants


class Mine(NamedTuple):
    """The most that rows of guests draw: running, and with their starts; with what runs that are moved made up for."""

    running: Most
    started: Most


class Seen:
    """Each view is looked at when it is first asked for: several limits are read in one.

    which: these guests. phases, starts: rows of them, of the starts those that are sure and others.
    """

    def __init__(
        self, beside: Beside, phases: Instants, starts: tuple[Instants, Instants],
        *, everything: bool, side: Side | None = None,
    ) -> None:  # fmt: skip
        """everything, side: as in `columns.Day`."""
        self.beside, self.phases, self.starts = beside, phases, starts
        self._everything, self._side = everything, side
        self._rows = np.concatenate([phases, *starts])
        self.which = np.unique(beside.guests.which[phases])
        self._days: dict[View, Day] = {}
        self._mine: dict[View, Mine] = {}

    def day(self, view: View) -> Day:
        """What the day has."""
        if view not in self._days:
            self._days[view] = Day(view, self.beside.from_ms, everything=self._everything, side=self._side)
        return self._days[view]

    def mine(self, view: View) -> Mine:
        """What the guests draw."""
        if view not in self._mine:
            own = self.beside.drawn(view)
            more_va = self.beside.made_up_va(view)
            self._mine[view] = Mine(*(most_of(own.rows(rows)).and_va(more_va) for rows in (self.phases, self._rows)))
        return self._mine[view]
