"""What any plan that is accepted keeps to in a whole slot, for whoever proves: a little too wide, never too narrow."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from app.engine.results import Floats
from app.planner.laundry.task import CELLS, Task


class Cap(NamedTuple):
    """What loads may come to together.

    of_loads: per load slot by slot of its run. left: shape (slots,), infinite where nothing is asked.
    """

    of_loads: tuple[Floats, ...]
    left: Floats


def caps_of(task: Task) -> Iterator[Cap]:
    """Interlocks and machines, in loads; then what every sight carries, in watts."""
    for one in task.together:
        members = tuple(np.full(load.slots, float(place in one.loads)) for place, load in enumerate(task.loads))
        yield Cap(members, np.maximum(one.at_most - one.taken, 0).astype(float))
    for number, sight in enumerate(task.sights):
        most_w = np.minimum(sight.hard_w, sight.hard_va).reshape(-1, CELLS).max(axis=1)
        left_w = most_w - _least_in_slots(sight.draws[0])
        drawn_w = tuple(
            np.zeros(load.slots) if (shape := load.shapes[number]) is None else _least_in_slots(shape.draws[0])
            for load in task.loads
        )
        # Nothing is asked where what stands is too much already.
        yield Cap(drawn_w, np.where(left_w > 0, left_w, np.inf))


def _least_in_slots(cells: Floats) -> Floats:
    return np.asarray(cells.reshape(-1, CELLS).min(axis=1))
