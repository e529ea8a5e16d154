"""A load as the search sees it: what each of its starts would cost, all at once.

It keeps views of the day's figures, one row for each slot of its run and one column for each start; they follow those
figures as they change.
"""

from collections.abc import Sequence

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from app.engine.results import Flags, Floats
from app.planner.laundry.found import ENERGY_STEP_WH
from app.planner.laundry.task import SLOT_H, Task

# What a plan is judged by on top of its energy, in Wh, so that together they stay below the step that counts.
MARGIN_WH, FINISH_WH = 0.8 * ENERGY_STEP_WH, 0.05 * ENERGY_STEP_WH


class Seen:
    """A load with its views: columns are the starts from the first to the last that it may have."""

    def __init__(self, task: Task, place: int, both_w: Floats, counted: Sequence[int]) -> None:
        """both_w: draw less sun, and the most that is drawn, shape (2, slots). counted: which of `together` matter."""
        load = task.loads[place]
        self.load, self.slots = load, load.slots
        may = load.may_begin
        self.first, self.until = (int(may[0]), int(may[-1]) + 1) if len(may) else (0, 0)
        columns = self.until - self.first
        there = both_w[:, self.first : self.until + self.slots - 1]
        self.there_w = sliding_window_view(there, columns, axis=1) if columns else np.zeros((2, self.slots, 0))
        self.own_w = np.array([load.slots_w, load.peaks_w])
        self.space = np.empty((2, self.slots, columns))
        self.margin_wh = MARGIN_WH / float(task.steady_w.min())
        self.late_wh = np.arange(self.first, self.until) * (FINISH_WH / len(task.room_w))
        self.together = [(row, task.together[number]) for row, number in enumerate(counted)
                         if place in task.together[number].loads]  # fmt: skip
        self.shapes = [(number, shape.draws) for number, shape in enumerate(load.shapes) if shape is not None]
        self.kicks = {
            number: shape.kick for number, shape in enumerate(load.shapes) if shape is not None and shape.kick.any()
        }

    def costs(self, free: Flags, noise: Floats | None) -> Floats:
        """In Wh for each start: the energy, the share of the inverter's watts that is taken, and how late it ends.

        free: where it may begin, shape (day's slots,), as what comes back; infinite elsewhere. noise: added to it.
        """
        there = slice(self.first, self.until)
        cost = np.full(len(self.load.begins), np.inf)
        own = cost[there]
        with_it_w = np.add(self.there_w, self.own_w[:, :, None], out=self.space)
        more_w = with_it_w[0]
        np.add.reduce(np.maximum(more_w, 0.0, out=more_w), axis=0, out=own)
        # Less what is short there anyway.
        own -= np.add.reduce(np.maximum(self.there_w[0], 0.0, out=more_w), axis=0)
        own *= SLOT_H
        own += np.maximum.reduce(with_it_w[1], axis=0) * self.margin_wh
        own += self.late_wh
        if noise is not None:
            own += noise[there]
        own[~free[there]] = np.inf
        return cost
