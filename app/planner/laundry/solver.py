"""A day as a model for a constraint solver: what no placing can be below where there are too many to be tried.

Time-indexed (one literal per load and start, as in Dyer and Wolsey 1990), what goes through the bank minimised under
what any plan that is accepted keeps to. Watts are rounded so that the bound holds.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from app.planner.laundry.caps import Cap, caps_of
from app.planner.laundry.task import SLOT_H, Task

PARTS = 10  # of a watt, which the solver counts in whole numbers
PART_WH = SLOT_H / PARTS


def modelled(task: Task, below_wh: float | None = None) -> tuple[Any, list[dict[int, Any]], float]:
    """The model, per load its literals by slot, and what goes through the bank whatever is done, in Wh.

    below_wh: only plans with less are looked for.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    starts: list[dict[int, Any]] = [
        {int(at): model.new_bool_var(f"{load.run}@{at}") for at in np.flatnonzero(load.begins)} for load in task.loads
    ]
    for begun in starts:
        model.add_exactly_one(begun.values())
    _ordered(model, task, starts)
    _alike(model, task, starts)
    for cap in caps_of(task):
        _limited(model, cap, starts)
    fixed_wh, objective = _shortfall(model, task, starts)
    model.minimize(objective)
    if below_wh is not None:
        model.add(objective <= int(np.floor((below_wh - fixed_wh) / PART_WH)))
    return model, starts, fixed_wh


def _shortfall(model: Any, task: Task, starts: Sequence[dict[int, Any]]) -> tuple[float, Any]:
    """What goes through the bank: what each load adds alone, and in every slot what they add for being together.

    Together loads are short of the sum of their draws less the room left; alone each is short of its own draw beyond
    it. The difference is the sum of what each takes of the room, less the room, and never below nothing. Written so,
    the solver begins with what the loads add alone rather than with nothing.
    """
    room = np.maximum(task.room_w, 0.0)
    parts = np.ceil(room * PARTS).astype(np.int64)
    terms: list[list[tuple[Any, int]]] = [[] for _ in room]
    costs: list[Any] = []
    for load, begun, alone_wh in zip(task.loads, starts, task.alone_wh, strict=True):
        for at, literal in begun.items():
            costs.append(int(np.floor(alone_wh[at] / PART_WH)) * literal)
            taken = np.floor(np.minimum(load.slots_w, room[at : at + load.slots]) * PARTS).astype(np.int64)
            for offset in np.flatnonzero(taken).tolist():
                terms[at + offset].append((literal, int(taken[offset])))
    for slot, of_slot in enumerate(terms):
        most = _most_at_once(of_slot, starts)
        if most <= parts[slot]:
            continue
        more = model.new_int_var(0, int(most - parts[slot]), f"more@{slot}")
        model.add(more >= sum(weight * literal for literal, weight in of_slot) - int(parts[slot]))
        costs.append(more)
    return task.standing_wh, sum(costs)


def _most_at_once(terms: Sequence[tuple[Any, int]], starts: Sequence[dict[int, Any]]) -> int:
    """The most that loads can take in a slot: each begins once."""
    weights = {literal.index: weight for literal, weight in terms}
    return sum(max((weights.get(literal.index, 0) for literal in begun.values()), default=0) for begun in starts)


def _ordered(model: Any, task: Task, starts: Sequence[dict[int, Any]]) -> None:
    """What waits begins no sooner and no later than its gap allows, in running sums, which are stronger than pairs."""
    for place, load in enumerate(task.loads):
        if load.before is None:
            continue
        first, last = load.gap
        before, own = starts[load.before], starts[place]
        for slot in range(len(load.begins)):
            if slot in own:
                model.add(
                    sum(one for at, one in own.items() if at <= slot)
                    <= sum(one for at, one in before.items() if at <= slot - first)
                )
            if slot in before and slot + last < len(load.begins):
                model.add(
                    sum(one for at, one in before.items() if at <= slot)
                    <= sum(one for at, one in own.items() if at <= slot + last)
                )


def _alike(model: Any, task: Task, starts: Sequence[dict[int, Any]]) -> None:
    """Runs that are all the same, with all that waits for them, take their turns in the order of the file."""

    def nature(place: int) -> tuple[Any, ...]:
        load = task.loads[place]
        waiting = sorted(nature(other) for other, one in enumerate(task.loads) if one.before == place)
        return (load.appliance, load.slots, load.begins.tobytes(), load.gap, tuple(waiting))

    by_nature: dict[tuple[Any, ...], list[int]] = {}
    for place, load in enumerate(task.loads):
        if load.before is None:
            by_nature.setdefault(nature(place), []).append(place)
    for places in by_nature.values():
        for earlier, later in pairwise(places):
            for slot in starts[later]:
                model.add(
                    sum(one for at, one in starts[later].items() if at <= slot)
                    <= sum(one for at, one in starts[earlier].items() if at < slot)
                )


def _limited(model: Any, cap: Cap, starts: Sequence[dict[int, Any]]) -> None:
    for slot in np.flatnonzero(np.isfinite(cap.left)).tolist():
        terms = [
            (literal, int(own[slot - at]))
            for begun, own in zip(starts, cap.of_loads, strict=True)
            for at, literal in begun.items()
            if 0 <= slot - at < len(own) and own[slot - at] >= 1
        ]
        if sum(weight for _, weight in terms) > cap.left[slot]:
            model.add(sum(weight * literal for literal, weight in terms) <= int(np.ceil(cap.left[slot])))
