"""Every stage of every appliance as a row of figures, so that a day is computed in whole columns."""

from dataclasses import dataclass
from operator import is_

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

    names: its appliance's id and its own name. appliance: place of its appliance.
    first: per appliance, the row of its first stage.
    running: the running draw. start_p_w, start_q_var, start_va, start_ms: its start, zero where it has none.
    cold_p_w, cold_q_var, cold_d_va: what it draws when power comes back, zero where it does not start.
    cycle: per stage, its cycle or None. duration_ms: per stage, None where it has no length of its own.
    cycle_ms: shape (stages, 3), its time on, period and longest time, zeros where it has none.
    from_ms, until_ms: when each stage runs in its programme. length_ms: per appliance, how long its programme
    takes; 0 where its one stage has no length.
    callers: places of the appliances that set something off or draw water.
    longer_than: the rows of a library that this one begins with and goes on after; None where none is known.
    """

    appliances: tuple[Appliance, ...]
    names: tuple[tuple[str, str | None], ...]
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
    cycle_ms: Instants
    from_ms: Instants
    until_ms: Instants
    length_ms: tuple[int, ...]
    callers: frozenset[int]
    longer_than: "StageRows | None" = None

    @property
    def cold(self) -> Draws:
        """What each stage draws when power comes back."""
        return Draws(self.cold_p_w, self.cold_q_var, self.cold_d_va, np.zeros_like(self.cold_p_w))

    @property
    def beginning(self) -> "StageRows":
        """The library that this one begins with, or itself: what was made of those appliances holds here too."""
        return self if self.longer_than is None else self.longer_than


_KEPT: list[StageRows] = []  # of the libraries seen last; a tap changes a run and not the library


def stage_rows(appliances: tuple[Appliance, ...]) -> StageRows:
    """The rows of a library, appliance by appliance, stage by stage."""
    for kept in _KEPT:
        if kept.appliances is appliances:
            return kept
    rows = _compiled_rows(appliances, _begins(appliances))
    _KEPT[:] = [rows, *_KEPT[:3]]
    return rows


def _begins(appliances: tuple[Appliance, ...]) -> StageRows | None:
    """The rows of a shorter library that this one begins with."""
    for kept in _KEPT:
        one = kept.beginning
        if len(one.appliances) < len(appliances) and all(map(is_, one.appliances, appliances)):
            return one
    return None


def _compiled_rows(appliances: tuple[Appliance, ...], longer_than: StageRows | None) -> StageRows:
    figures: list[tuple[float, ...]] = []
    kinds: list[str] = []
    cycles: list[CycleMs | None] = []
    durations: list[int | None] = []
    first: list[int] = []
    from_ms: list[int] = []
    until_ms: list[int] = []
    for number, appliance in enumerate(appliances):
        first.append(len(figures))
        begin_ms = 0
        starts_again = appliance.restarts == "starts"
        for stage in appliance.stages:
            start = stage.start
            kick = (0.0, 1.0, 0)
            if start is not None and start.duration_s >= SHORTEST_START_S:
                kick = (start.va, start.power_factor, to_ms(start.duration_s))
            figure = (appliance.uncertainty, starts_again, stage.watts, stage.power_factor)
            figures.append((number, *figure, *kick))
            kinds.append(stage.power_factor_kind)
            cycles.append(CycleMs.of(stage.cycle))
            durations.append(None if stage.duration_s is None else to_ms(stage.duration_s))
            from_ms.append(begin_ms)
            begin_ms += durations[-1] or 0
            until_ms.append(begin_ms)
    columns = np.array(figures, dtype=float).reshape(len(figures), 8).T
    owner, uncertainty, again, watts, power_factor, start_va, start_factor, start_ms = columns
    running = Draws(*draw_of(watts, power_factor, np.array(kinds, dtype=str)), np.square(uncertainty * watts))
    start_p_w, start_q_var, _ = draw_of(start_va * start_factor, start_factor, "lagging")
    kicks = start_ms > 0
    return StageRows(
        appliances=appliances,
        names=tuple((appliance.id, stage.name) for appliance in appliances for stage in appliance.stages),
        appliance=owner.astype(np.int64),
        first=np.array(first, dtype=np.int64),
        running=running,
        start_p_w=start_p_w,
        start_q_var=start_q_var,
        start_va=start_va,
        start_ms=start_ms.astype(np.int64),
        cold_p_w=again * np.where(kicks, start_p_w, watts),
        cold_q_var=again * np.where(kicks, start_q_var, running.q_var),
        cold_d_va=again * np.where(kicks, 0.0, running.d_va),
        cycle=tuple(cycles),
        duration_ms=tuple(durations),
        cycle_ms=np.array(
            [(0, 0, 0) if one is None else (one.on_ms, one.period_ms, one.longest_ms) for one in cycles],
            dtype=np.int64,
        ).reshape(-1, 3),
        from_ms=np.array(from_ms, dtype=np.int64),
        until_ms=np.array(until_ms, dtype=np.int64),
        length_ms=tuple(until_ms[after - 1] for after in [*first[1:], len(figures)] if after),
        callers=frozenset(
            place
            for place, appliance in enumerate(appliances)
            if any(stage.sets_off or stage.water_l for stage in appliance.stages)
        ),
        longer_than=longer_than,
    )
