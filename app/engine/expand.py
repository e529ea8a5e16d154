"""From a plan to all that stands on its day: runs, always-on loads, follow-ons and the pump, as pieces.

A piece is one stage of one appliance from one instant to another. Appliances are taken callers first, so
that whatever a piece sets off has not been laid yet.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from graphlib import TopologicalSorter
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from app.engine.results import Instants
from app.engine.rows import CycleMs, StageRows, to_ms
from app.engine.spans import Span, one_machine
from app.engine.stack import Programmes, compile_programmes
from app.engine.water import fill_ms, pump_cycle_for_draw, pump_cycle_for_taps
from app.household.errors import Fault, HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.household.supply import Water

# Channels of change in the compiled programmes, one complex number each.
DRAWN, DRAWN_BESIDE, RUNNING, RUNNING_BESIDE, COLD, COLD_BESIDE = range(6)
_LOAD_STRIDE = 1 << 10  # more than the stages an appliance may have


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """All stages on the day, shape (n,) each; ends are clipped to the horizon.

    row: the stage's row. occurrence: which laying of a programme it is part of. run: place of its run or -1.
    load: pieces of one load come on together. cycling, set_off, scheduled: flags; scheduled: its start, if it
    has one, happens at its beginning. on_ms, period_ms, longest_ms: its cycle, zero where it has none.
    """

    row: Instants
    begin_ms: Instants
    end_ms: Instants
    run: Instants
    load: Instants
    cycling: NDArray[np.bool_]
    set_off: NDArray[np.bool_]
    scheduled: NDArray[np.bool_]
    on_ms: Instants
    period_ms: Instants
    longest_ms: Instants


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """The day laid out.

    programmes, which, begin_ms: what `stack_runs` needs for everything certain.
    appliance: per laying, place of its appliance.
    """

    rows: StageRows
    pieces: Pieces
    programmes: Programmes
    which: Instants
    begin_ms: Instants
    appliance: Instants
    horizon_ms: int


@dataclass
class _Layout:
    """Programmes met so far, and where each is laid."""

    rows: StageRows
    stages: list[tuple[int, int, int, int, CycleMs | None, bool]] = field(default_factory=list)
    first: list[int] = field(default_factory=list)
    known: dict[tuple[int, int | None, CycleMs | None, bool], int] = field(default_factory=dict)
    laid: list[tuple[int, int, int, int, bool]] = field(default_factory=list)

    def lay(self, appliance: int, span: Span, length_ms: int | None, cycle: CycleMs | None, *, scheduled: bool) -> int:
        """Lay an appliance's programme; a length or a cycle of its own only for what has one stage."""
        key = (appliance, length_ms, cycle, scheduled)
        programme = self.known.get(key)
        if programme is None:
            programme = self.known[key] = self._compile(appliance, length_ms, cycle, scheduled)
        self.laid.append((programme, span.begin_ms, span.run, span.load, span.set_off))
        return len(self.laid) - 1

    def _compile(self, appliance: int, length_ms: int | None, cycle: CycleMs | None, scheduled: bool) -> int:
        programme = len(self.first)
        self.first.append(len(self.stages))
        row, offset_ms = int(self.rows.first[appliance]), 0
        for _ in self.rows.appliances[appliance].stages:
            end_ms = offset_ms + (self.rows.duration_ms[row] if length_ms is None else length_ms)  # type: ignore[operator]
            own = self.rows.cycle[row] if length_ms is None else cycle
            self.stages.append((programme, row, offset_ms, end_ms, own, scheduled))
            row, offset_ms = row + 1, end_ms
        return programme


def expand(resolved: Resolved, rows: StageRows) -> Laid:
    """Lay a plan on its day, from midnight to the horizon.

    Raises HouseholdFaults if a machine with a programme of several stages would be set off while it runs.
    """
    household, day, frame = resolved.household, resolved.day, resolved.frame
    layout = _Layout(rows)
    place = {appliance.id: index for index, appliance in enumerate(rows.appliances)}
    water = household.supply.water
    pump = place.get(water.pump) if water is not None else None
    wanted: dict[int, list[Span]] = {}
    runs_of: dict[int, list[int]] = {}
    for index, run in enumerate(day.runs):
        if run.on:
            runs_of.setdefault(place[run.appliance], []).append(index)
    if water is not None and pump is not None and water.taps_between is not None:
        begin_ms, end_ms = (frame.at_ms(wall_clock_s(clock)) for clock in water.taps_between)
        cycle = pump_cycle_for_taps(water, end_ms - begin_ms)
        if cycle is not None:
            wanted[pump] = [Span(begin_ms, end_ms, cycle, -1, -1, True)]
    off = frozenset(day.off)
    for index in _callers_first(rows, place, pump):
        appliance = rows.appliances[index]
        spans = wanted.get(index, [])
        if appliance.id in off or not (spans or appliance.always_on or index in runs_of):
            continue
        row = int(rows.first[index])
        own: list[Span] = []
        if appliance.always_on:
            own.append(Span(0, frame.horizon_ms, rows.cycle[row], -1, -1, False))
        for number in runs_of.get(index, ()):
            run = day.runs[number]
            begin_ms = frame.at_ms(wall_clock_s(run.start))
            length_ms = _length_ms(rows, index) if run.duration_s is None else to_ms(run.duration_s)
            own.append(Span(begin_ms, begin_ms + length_ms, rows.cycle[row], number, -1, False))
        single = len(appliance.stages) == 1
        if spans and single:
            laid = list(one_machine([*own, *spans]))
        else:
            laid = sorted([*own, *spans], key=lambda span: span.begin_ms)
            if spans:
                _refuse_overlap(laid, appliance.name, resolved)
        for span in laid:
            own_length_ms = span.end_ms - span.begin_ms if single else None
            cycle = span.cycle if single else None
            occurrence = layout.lay(index, span, own_length_ms, cycle, scheduled=not appliance.always_on)
            if index in rows.callers:
                for called, called_span in _set_off_by(rows, index, span, occurrence, place, water, pump):
                    wanted.setdefault(called, []).append(called_span)
    return _laid(layout, frame.horizon_ms)


def _set_off_by(
    rows: StageRows,
    index: int,
    span: Span,
    occurrence: int,
    place: dict[str, int],
    water: Water | None,
    pump: int | None,
) -> Iterator[tuple[int, Span]]:
    """What a laid programme sets off: (place of the appliance, when and how)."""
    appliance = rows.appliances[index]
    begin_ms = span.begin_ms
    for number, stage in enumerate(appliance.stages):
        row = int(rows.first[index]) + number
        own_ms = rows.duration_ms[row]
        single = len(appliance.stages) == 1
        length_ms = span.end_ms - span.begin_ms if single or own_ms is None else own_ms
        cycle = span.cycle if single else rows.cycle[row]
        for called in stage.sets_off:
            target = place[called.appliance]
            from_ms = begin_ms + to_ms(called.after_s)
            target_row = int(rows.first[target])
            target_ms = _length_ms(rows, target) or length_ms
            load = -1
            shared = rows.cycle[target_row]
            if cycle is not None:
                shared = cycle
                load = span.load if span.load >= 0 else occurrence * _LOAD_STRIDE + number
            yield target, Span(from_ms, from_ms + target_ms, shared, span.run, load, True)
        if stage.water_l and water is not None and pump is not None:
            pumped = pump_cycle_for_draw(water, stage.water_l, length_ms / 1000)
            yield pump, Span(begin_ms, begin_ms + length_ms + fill_ms(water), pumped, span.run, -1, True)
        begin_ms += length_ms


def _length_ms(rows: StageRows, index: int) -> int:
    """A programme's own length; 0 where its one stage has none."""
    first = int(rows.first[index])
    return sum(rows.duration_ms[row] or 0 for row in range(first, first + len(rows.appliances[index].stages)))


def _callers_first(rows: StageRows, place: dict[str, int], pump: int | None) -> Iterator[int]:
    """Places of all appliances, whatever sets another off before it."""
    called_by: dict[int, set[int]] = {index: set() for index in place.values()}
    for index in rows.callers:
        for stage in rows.appliances[index].stages:
            for called in stage.sets_off:
                called_by[place[called.appliance]].add(index)
            if stage.water_l and pump is not None:
                called_by[pump].add(index)
    return iter(TopologicalSorter(called_by).static_order())


def _refuse_overlap(spans: list[Span], name: str, resolved: Resolved) -> None:
    for before, after in pairwise(spans):
        if after.begin_ms < before.end_ms:
            at = resolved.frame.local(after.begin_ms).strftime("%H:%M:%S")
            why = f"{name!r} is one machine and would be set off at {at} while it still runs; move one of the runs"
            raise HouseholdFaults([Fault("", why)])


def _laid(layout: _Layout, horizon_ms: int) -> Laid:
    rows = layout.rows
    stages = np.array([stage[:4] for stage in layout.stages], dtype=np.int64).reshape(-1, 4)
    owner, row, from_ms, until_ms = stages.T
    scheduled = np.array([stage[5] for stage in layout.stages], dtype=bool)
    cycles = np.array(
        [(0, 0, 0) if c is None else (c.on_ms, c.period_ms, c.longest_ms) for *_, c, _ in layout.stages],
        dtype=np.int64,
    ).reshape(-1, 3)
    cycling = cycles[:, 1] > 0
    laid = np.array(layout.laid, dtype=np.int64).reshape(-1, 5)
    which, begin_ms, run, load, set_off = laid.T
    programmes = _compiled(rows, owner, row, from_ms, until_ms, scheduled, cycling, len(layout.first))

    # Every laying's stages, in one gather.
    first = np.array(layout.first, dtype=np.int64)
    count = np.diff(np.append(first, len(stages)))[which]
    total_before = np.cumsum(count) - count
    occurrence = np.repeat(np.arange(len(laid)), count)
    number = np.arange(int(count.sum())) - np.repeat(total_before, count)
    stage = np.repeat(first[which], count) + number
    begin = from_ms[stage] + begin_ms[occurrence]
    end = np.minimum(until_ms[stage] + begin_ms[occurrence], horizon_ms)
    own_load = np.where(load[occurrence] >= 0, load[occurrence], occurrence * _LOAD_STRIDE + number)
    kept = begin < end
    stage, occurrence = stage[kept], occurrence[kept]
    pieces = Pieces(
        row=row[stage], begin_ms=begin[kept], end_ms=end[kept], run=run[occurrence], load=own_load[kept],
        cycling=cycling[stage], set_off=set_off[occurrence].astype(bool), scheduled=scheduled[stage] & ~cycling[stage],
        on_ms=cycles[stage, 0], period_ms=cycles[stage, 1], longest_ms=cycles[stage, 2],
    )  # fmt: skip
    appliance = rows.appliance[row[first]][which] if len(first) else which
    return Laid(rows, pieces, programmes, which, begin_ms, appliance, horizon_ms)


def _compiled(
    rows: StageRows, owner: Instants, row: Instants, from_ms: Instants, until_ms: Instants,
    scheduled: NDArray[np.bool_], cycling: NDArray[np.bool_], programmes: int,
) -> Programmes:  # fmt: skip
    """The steps of everything certain in the programmes, with and without its starts, and after a cut."""
    certain = ~cycling
    owner, row, from_ms, until_ms = owner[certain], row[certain], from_ms[certain], until_ms[certain]
    scheduled = scheduled[certain]
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
