"""The day swept in as few parts as can be: exact where it is one, and otherwise what no placing is below.

What goes through the bank is convex in the draw, so parts together add no less than the sum of what each adds by
itself. What parts ask of one another is left out, and that makes nothing dearer either.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from app.planner.laundry.caps import Cap, caps_of
from app.planner.laundry.standing import Standing
from app.planner.laundry.strand import Strand, alike, strand_of
from app.planner.laundry.sweep import Beside, sweep
from app.planner.laundry.task import Task

MOST_STATES = 1_000_000  # of a part: about a second and some dozen megabytes
ROUNDING_WH = 0.5  # sweeps count in single precision


class Proof(NamedTuple):
    """What no placing is below, Wh; and a plan that has it, a slot per load, where the day was swept in one."""

    least_wh: float
    starts: tuple[int, ...] | None


def parts_of(task: Task, most: int = MOST_STATES) -> list[list[Strand]]:
    """The loads in parts, the product of whose strands' states is no more than `most`."""
    found: list[tuple[int, list[Strand]]] = []
    for strand in sorted(_strands(task, most), key=len, reverse=True):
        for at, (states, part) in enumerate(found):
            if states * len(strand) <= most:
                found[at] = (states * len(strand), [*part, strand])
                break
        else:
            found.append((len(strand), [strand]))
    return [part for _, part in found]


def prove(task: Task, parts: Sequence[Sequence[Strand]], going_on: Callable[[], bool] = lambda: True) -> Proof:
    """Sweep all parts. Raises Stopped where going_on says so."""
    standing = Standing(task)
    caps = list(caps_of(task))
    least_wh = task.standing_wh
    for part in parts:
        places = [place for strand in part for place in strand.loads]
        beside = Beside(
            -task.room_w,
            {place: task.loads[place].slots_w for place in places},
            {place: standing.free(place) for place in places},
            [Cap(cap.of_loads, cap.left) for cap in caps if _may_pass(cap, part)],
        )
        swept = sweep(part, beside, going_on)
        if len(parts) == 1:
            starts = tuple(swept.starts[place] for place in range(len(task.loads))) if swept.starts else None
            return Proof(max(swept.least_wh - ROUNDING_WH, task.floor_wh), starts)
        least_wh += swept.least_wh - task.standing_wh - ROUNDING_WH
    return Proof(max(least_wh, task.floor_wh), None)


def _may_pass(cap: Cap, part: Sequence[Strand]) -> bool:
    """Whether the strands of a part could pass it at all."""
    return sum(float(strand.drawn(cap.of_loads).max()) for strand in part) > float(cap.left.min())


def _strands(task: Task, most: int) -> Iterator[Strand]:
    """Loads that have to do with one another, as long as they make few enough states; else fewer of them."""
    turns = alike(task.loads)
    for places in _joined(task):
        if (strand := strand_of(task.loads, places, turns, most)) is not None:
            yield strand
            continue
        for unit in task.units:
            if unit[0] not in places:
                continue
            if (strand := strand_of(task.loads, unit, {}, most)) is not None:
                yield strand
            else:
                yield from (one for place in unit if (one := strand_of(task.loads, [place], {}, most)) is not None)


def _joined(task: Task) -> list[list[int]]:
    """Families of loads, joined where they share a machine."""
    found: list[list[int]] = []
    for unit in task.units:
        machines = {task.loads[place].appliance for place in unit}
        shares = [one for one in found if any(task.loads[place].appliance in machines for place in one)]
        found = [one for one in found if one not in shares]
        found.append(sorted([*unit, *(place for one in shares for place in one)]))
    return found
