"""Places drawn in proportion to their weights, spread as evenly as can be. (Systematic sampling.)"""

import numpy as np
from numpy.typing import NDArray

from app.engine.compiled import compiled
from app.engine.kinds import Floats


def evenly(weight: Floats, count: int, random: np.random.Generator) -> NDArray[np.intp]:
    """So many places drawn in proportion to their weight, spread as evenly as can be, in order."""
    return evenly_from(weight.cumsum(), count, random)


def evenly_from(sums: Floats, count: int, random: np.random.Generator) -> NDArray[np.intp]:
    """The same of weights that are summed up from the first."""
    return places_reached(sums, random.random(), count)


FAR = 16  # sums from step to step


@compiled
def places_reached(sums: Floats, begin: float, count: int) -> NDArray[np.intp]:
    """Where each of so many equal steps ends among sums, the first after a part of one."""
    found, place = np.empty(count, dtype=np.intp), 0
    if count * FAR < len(sums):  # few steps are sooner looked up than all sums are passed by
        for step in range(count):
            reached = (step + begin) * (sums[-1] / count)
            found[step] = min(np.searchsorted(sums, reached, side="right"), len(sums) - 1)
        return found
    for step in range(count):
        reached = (step + begin) * (sums[-1] / count)
        while place + FAR < len(sums) and sums[place + FAR] <= reached:
            place += FAR
        while place < len(sums) - 1 and sums[place] <= reached:
            place += 1
        found[step] = place
    return found
