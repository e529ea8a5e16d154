"""The programmes of a day, compiled: their stages one after another, and the steps of what is certain in them."""

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.results import Instants
from app.engine.rows import CycleMs, StageRows
from app.engine.stack import Programmes, compile_programmes

# Channels of change in the compiled programmes, one complex number each.
DRAWN, DRAWN_BESIDE, RUNNING, RUNNING_BESIDE, COLD, COLD_BESIDE = range(6)


class Wanted(NamedTuple):
    """A programme as a day wants it.

    length_ms, cycle: of an appliance with one stage, how long it runs and how it comes and goes meanwhile;
    None for one with several stages, which say it themselves. scheduled: it starts when it begins.
    """

    appliance: int
    length_ms: int | None
    cycle: CycleMs | None
    scheduled: bool

    @classmethod
    def of(cls, appliance: int, single: bool, length_ms: int, cycle: CycleMs | None, scheduled: bool) -> "Wanted":
        """What is wanted of an appliance for a time; single: it has one stage."""
        return cls(appliance, length_ms if single else None, cycle if single else None, scheduled)


@dataclass(frozen=True, slots=True, eq=False)
class Stages:
    """Programmes with their stages.

    appliance, first, count: per programme, the place of its appliance, its first stage and how many it has.
    row, from_ms, until_ms, cycling, scheduled: per stage; scheduled: its start, if it has one, is at its
    beginning. cycle_ms: shape (stages, 3), as in `StageRows`. steps: of everything certain.
    """

    appliance: Instants
    first: Instants
    count: Instants
    row: Instants
    from_ms: Instants
    until_ms: Instants
    cycling: NDArray[np.bool_]
    scheduled: NDArray[np.bool_]
    cycle_ms: Instants
    steps: Programmes


@lru_cache(maxsize=32)
def compiled(rows: StageRows, programmes: tuple[Wanted, ...]) -> Stages:
    """Compile programmes of a library; the last ones are kept, for a tap changes when they run and not what."""
    appliance = np.array([one.appliance for one in programmes], dtype=np.int64)
    count = np.diff(rows.first, append=len(rows.appliance))[appliance]
    first = count.cumsum() - count
    owner = np.repeat(np.arange(len(programmes)), count)
    row = (rows.first[appliance] - first)[owner] + np.arange(len(owner))
    until_ms, cycle_ms = rows.until_ms[row], rows.cycle_ms[row]
    for number, one in enumerate(programmes):
        if one.length_ms is not None:
            until_ms[first[number]] = one.length_ms
            cycle = one.cycle
            cycle_ms[first[number]] = (0, 0, 0) if cycle is None else (cycle.on_ms, cycle.period_ms, cycle.longest_ms)
    cycling = cycle_ms[:, 1] > 0
    scheduled = np.array([one.scheduled for one in programmes], dtype=bool)[owner] & ~cycling
    from_ms = rows.from_ms[row]
    certain = ~cycling
    steps = _steps(
        rows, owner[certain], row[certain], from_ms[certain], until_ms[certain], scheduled[certain], len(programmes)
    )
    return Stages(appliance, first, count, row, from_ms, until_ms, cycling, scheduled, cycle_ms, steps)


def _steps(
    rows: StageRows, owner: Instants, row: Instants, from_ms: Instants, until_ms: Instants,
    scheduled: NDArray[np.bool_], programmes: int,
) -> Programmes:  # fmt: skip
    """The steps of certain stages, with and without their starts, and after a cut."""
    run = rows.running
    power = run.p_w[row] + 1j * run.q_var[row]
    beside = run.d_va[row] + 1j * run.spread_w2[row]
    cold = rows.cold_p_w[row] + 1j * rows.cold_q_var[row]
    cold_beside = rows.cold_d_va[row] + 0j
    on = np.stack([power, beside, power, beside, cold, cold_beside])
    starts = scheduled & (rows.start_ms[row] > 0)
    kick = np.zeros((6, int(starts.sum())), dtype=complex)
    kick[DRAWN] = rows.start_p_w[row[starts]] + 1j * rows.start_q_var[row[starts]] - power[starts]
    kick[DRAWN_BESIDE] = -beside[starts]
    kick_end_ms = np.minimum(from_ms[starts] + rows.start_ms[row[starts]], until_ms[starts])
    return compile_programmes(
        np.concatenate([owner, owner, owner[starts], owner[starts]]),
        np.concatenate([from_ms, until_ms, from_ms[starts], kick_end_ms]),
        np.concatenate([on, -on, kick, -kick], axis=1),
        programmes,
    )
