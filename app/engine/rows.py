"""Every stage of every appliance as a row of figures, so that a day is computed in whole columns."""

from dataclasses import dataclass

import numpy as np

from app.engine.draw import Draws, draw_of
from app.engine.results import Floats, Instants
from app.household.appliance import Appliance, Cycle

SHORTEST_START_S = 0.02  # transformers and chargers: below this a start is left out of every figure


def to_ms(seconds: float) -> int:
    """Seconds as whole milliseconds."""
    return round(seconds * 1000)


@dataclass(frozen=True, slots=True)
class CycleMs:
    """A cycle in whole milliseconds; `load` tells apart what comes on together and what does not."""

    on_ms: int
    period_ms: int
    longest_ms: int

    @classmethod
    def of(cls, cycle: Cycle | None) -> "CycleMs | None":
        """A stage's cycle, if it has one."""
        if cycle is None:
            return None
        return cls(to_ms(cycle.on_s), to_ms(cycle.period_s), to_ms(cycle.longest_s))


@dataclass(frozen=True, slots=True, eq=False)
class StageRows:
    """Figures per stage; shape (stages,) each.

    appliance: place of its appliance. first: per appliance, the row of its first stage.
    running: the running draw. start_p_w, start_q_var, start_va, start_ms: its start, zero where it has none.
    cold_p_w, cold_q_var, cold_d_va: what it draws when power comes back, zero where it does not start.
    cycle: per stage, its cycle or None. duration_ms: per stage, None where it has no length of its own.
    """

    appliances: tuple[Appliance, ...]
    appliance: Instants
    first: Instants
    running: Draws
    start_p_w: Floats
    start_q_var: Floats
    start_va: Floats
    start_ms: Instants
    cold_p_w: Floats
    cold_q_var: Floats
    cold_d_va: Floats
    cycle: tuple[CycleMs | None, ...]
    duration_ms: tuple[int | None, ...]


def stage_rows(appliances: tuple[Appliance, ...]) -> StageRows:
    """The rows of a library, appliance by appliance, stage by stage."""
    figures: list[tuple[float, ...]] = []
    cycles: list[CycleMs | None] = []
    durations: list[int | None] = []
    first: list[int] = []
    for place, appliance in enumerate(appliances):
        first.append(len(figures))
        restarts = appliance.restarts == "starts"
        for stage in appliance.stages:
            p_w, q_var, d_va = draw_of(stage.watts, stage.power_factor, stage.power_factor_kind)
            start_p = start_q = start_va = start_ms = 0.0
            cold = (p_w, q_var, d_va)
            if stage.start is not None and stage.start.duration_s >= SHORTEST_START_S:
                start_va, start_ms = stage.start.va, to_ms(stage.start.duration_s)
                start_p, start_q, _ = draw_of(start_va * stage.start.power_factor, stage.start.power_factor, "lagging")
                cold = (start_p, start_q, 0.0)
            if not restarts:
                cold = (0.0, 0.0, 0.0)
            spread = (appliance.uncertainty * p_w) ** 2
            figures.append((place, p_w, q_var, d_va, spread, start_p, start_q, start_va, start_ms, *cold))
            cycles.append(CycleMs.of(stage.cycle))
            durations.append(None if stage.duration_s is None else to_ms(stage.duration_s))
    columns = np.array(figures, dtype=float).reshape(len(figures), 12).T.copy()
    return StageRows(
        appliances=appliances,
        appliance=columns[0].astype(np.int64),
        first=np.array(first, dtype=np.int64),
        running=Draws(*columns[1:5]),
        start_p_w=columns[5],
        start_q_var=columns[6],
        start_va=columns[7],
        start_ms=columns[8].astype(np.int64),
        cold_p_w=columns[9],
        cold_q_var=columns[10],
        cold_d_va=columns[11],
        cycle=tuple(cycles),
        duration_ms=tuple(durations),
    )
