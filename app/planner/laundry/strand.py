"""Loads that share a machine or wait for one another, as one thing that is in one state at a time.

A state says of each load whether it has not begun, in which slot of its run it is, or how long it has been over where
something still waits for it. There are few such states, for a machine does one thing at a time; that is what makes it
possible to try every placing of several strands without trying each (`sweep`).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.engine.results import Floats
from app.planner.laundry.task import Load

OUT = -1  # a load that has not begun
BARRED = -1  # where a state would be
FOREVER = 288  # slots: what may wait for a day may wait for ever
State = tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """All states of some loads and how one leads to another; the first state is the one before any has begun.

    loads: their places. on: shape (states,), the state a slot later if none begins. begun: shape (loads, states), the
    state once that load begins as well; both `BARRED` where that may not be. slots: shape (loads, states), the slot of
    its run that a load is in, `OUT` where it is not running. done: the state in which all are over.
    """

    loads: tuple[int, ...]
    on: NDArray[np.intp]
    begun: NDArray[np.intp]
    slots: NDArray[np.intp]
    done: int

    def __len__(self) -> int:
        return len(self.on)

    def drawn(self, of_loads: Mapping[int, Floats] | Sequence[Floats]) -> Floats:
        """What its loads come to in each state; of_loads: figures slot by slot of a run, by place. Shape (states,)."""
        total = np.zeros(len(self))
        for place, slots in zip(self.loads, self.slots, strict=True):
            total += np.append(of_loads[place], 0.0)[slots]  # OUT is the last
        return total


def strand_of(loads: Sequence[Load], places: Sequence[int], after: Mapping[int, int], most: int) -> Strand | None:
    """The strand of some loads; None where it has more states than `most`.

    after: for a load that is the same as another the one that takes its turn before it.
    """
    rules = _Rules(loads, places, after)
    numbers: dict[State, int] = {}
    states: list[State] = []

    def number(state: State | None) -> int:
        if state is None:
            return BARRED
        if state not in numbers:
            numbers[state] = len(states)
            states.append(state)
        return numbers[state]

    number((OUT,) * len(places))
    on: list[int] = []
    begun: list[list[int]] = []
    while len(on) < len(states) <= most:
        state = states[len(on)]
        on.append(number(rules.on(state)))
        begun.append([number(rules.begun(state, at)) for at in range(len(places))])
    if len(states) > most:
        return None
    since = np.array(states, dtype=np.intp).T
    lengths = np.array([loads[place].slots for place in places])[:, None]
    over = np.flatnonzero((since >= lengths).all(axis=0))
    return Strand(
        tuple(places), np.array(on, dtype=np.intp), np.array(begun, dtype=np.intp).T,
        np.where(since < lengths, since, OUT), int(over[0]) if len(over) else BARRED,
    )  # fmt: skip


class _Rules:
    """What may follow on what; a state holds for each load the slots since it began, or `OUT`."""

    def __init__(self, loads: Sequence[Load], places: Sequence[int], after: Mapping[int, int]) -> None:
        position = {place: at for at, place in enumerate(places)}
        self._loads = [loads[place] for place in places]
        self._before = [position.get(load.before) if load.before is not None else None for load in self._loads]
        self._after = [position.get(after[place]) if place in after else None for place in places]
        self._waiting = [[at for at, one in enumerate(self._before) if one == before] for before in range(len(places))]

    def on(self, state: State) -> State | None:
        """A slot later."""
        return self._told([since if since == OUT else since + 1 for since in state])

    def begun(self, state: State, at: int) -> State | None:
        """With one more load begun."""
        load, before, after = self._loads[at], self._before[at], self._after[at]
        if state[at] != OUT or (after is not None and state[after] == OUT):
            return None
        if before is not None and not load.gap[0] <= state[before] <= load.gap[1]:
            return None
        for other, since in zip(self._loads, state, strict=True):
            if other.appliance == load.appliance and OUT < since < other.slots:
                return None
        return self._told([0 if one == at else since for one, since in enumerate(state)])

    def _told(self, state: list[int]) -> State | None:
        """The state without what is of no use any more: how long ago a load ended for which none waits."""
        for at, load in enumerate(self._loads):
            counts = load.slots
            for child in self._waiting[at]:
                first, last = self._loads[child].gap
                if state[child] == OUT:
                    if state[at] > last:
                        return None
                    counts = max(counts, last if last < FOREVER else first)
            state[at] = min(state[at], counts)
        return tuple(state)


def alike(loads: Sequence[Load]) -> dict[int, int]:
    """For each run that is the same as an earlier one that one, so that the two need not be tried both ways round.

    What waits for runs that are the same takes its turns as they do, where it is one load each that nothing waits for:
    if two such are the wrong way round, they can change places, and neither order nor gaps are any the worse.
    """
    waiting = [[at for at, load in enumerate(loads) if load.before == place] for place in range(len(loads))]

    def nature(place: int) -> tuple[object, ...]:
        load = loads[place]
        of_waiting = tuple(sorted(nature(child) for child in waiting[place]))
        return (load.appliance, load.slots_w.tobytes(), load.begins.tobytes(), load.gap, of_waiting)

    found: dict[int, int] = {}
    last: dict[tuple[object, ...], int] = {}
    for place, load in enumerate(loads):
        if load.before is not None:
            continue
        own = nature(place)
        if own in last:
            found[place] = last[own]
            pair = waiting[last[own]], waiting[place]
            if all(len(one) == 1 and not waiting[one[0]] for one in pair):
                found[pair[1][0]] = pair[0][0]
        last[own] = place
    return found
