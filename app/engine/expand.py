"""From a plan to all that stands on its day: runs, always-on loads, follow-ons and the pump, as pieces.

A piece is one stage of one appliance from one instant to another. Appliances are taken callers first, so
that whatever a piece sets off has not been laid yet.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from graphlib import TopologicalSorter
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.programmes import Wanted, compiled
from app.engine.results import Instants
from app.engine.rows import StageRows, to_ms
from app.engine.spans import Span, one_machine
from app.engine.stack import Programmes
from app.engine.water import fill_ms, pump_cycle_for_draw, pump_cycle_for_taps
from app.household.day import DayFrame
from app.household.errors import Fault, HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.household.supply import Water

_LOAD_STRIDE = 1 << 10  # more than the stages an appliance may have
_UNSEEN = 1 << 50  # and more than all loads that are laid: those of whom nothing is


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """All stages on the day, shape (n,) each; ends are clipped to the horizon.

    row: the stage's row. appliance: place of its appliance. run: place of its run or -1.
    load: pieces of one load come on together. cycling, set_off, scheduled: flags; scheduled: its start, if it
    has one, happens at its beginning. on_ms, period_ms, longest_ms: its cycle, zero where it has none.
    """

    row: Instants
    appliance: Instants
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

    met: dict[Wanted, int] = field(default_factory=dict)
    laid: list[tuple[int, int, int, int, bool]] = field(default_factory=list)

    def meet(self, programme: Wanted) -> int:
        """The number of a programme, whether or not it is laid."""
        return self.met.setdefault(programme, len(self.met))

    def lay(self, programme: Wanted, span: Span) -> int:
        """Lay a programme; returns the number of this laying."""
        self.laid.append((self.meet(programme), span.begin_ms, span.run, span.load, span.set_off))
        return len(self.laid) - 1


def expand(resolved: Resolved, rows: StageRows) -> Laid:
    """Lay a plan on its day, from midnight to the horizon.

    Raises HouseholdFaults if a machine with a programme of several stages would be set off while it runs.
    """
    day = resolved.day
    return lay_out(rows, day.runs, day.off, resolved.household.supply.water, resolved.frame)


def lay_out(rows: StageRows, runs: tuple[Run, ...], off: tuple[str, ...], water: Water | None, frame: DayFrame) -> Laid:
    """Lay runs and what stands or runs by itself on a day; as `expand`.

    off: ids of what is switched off.
    """
    layout = _Layout()
    place = {appliance.id: index for index, appliance in enumerate(rows.appliances)}
    pump = place.get(water.pump) if water is not None else None
    wanted: dict[int, list[Span]] = {}
    runs_of: dict[int, list[int]] = {}
    for index, run in enumerate(runs):
        runs_of.setdefault(place[run.appliance], []).append(index)
    if water is not None and pump is not None and water.taps_between is not None:
        begin_ms, end_ms = (_at_ms(frame, clock) for clock in water.taps_between)
        cycle = pump_cycle_for_taps(water, end_ms - begin_ms)
        if cycle is not None:
            wanted[pump] = [Span(begin_ms, end_ms, cycle, -1, -1, True)]
    for index in _callers_first(rows, pump):
        appliance = rows.appliances[index]
        spans = wanted.get(index, [])
        if appliance.id in off or not (spans or appliance.always_on or index in runs_of):
            continue
        row = int(rows.first[index])
        single, scheduled = len(appliance.stages) == 1, not appliance.always_on
        own: list[Span] = []
        if appliance.always_on:
            own.append(Span(0, frame.horizon_ms, rows.cycle[row], -1, -1, False))
        for number in runs_of.get(index, ()):
            run = runs[number]
            length_ms = rows.length_ms[index] if run.duration_s is None else to_ms(run.duration_s)
            if run.on:
                begin_ms = _at_ms(frame, run.start)
                own.append(Span(begin_ms, begin_ms + length_ms, rows.cycle[row], number, -1, False))
            else:
                # Met all the same, so that one tap more or less finds the programmes compiled.
                layout.meet(Wanted.of(index, single, length_ms, rows.cycle[row], scheduled))
        if spans and single:
            laid = list(one_machine([*own, *spans]))
        else:
            laid = sorted([*own, *spans], key=lambda span: span.begin_ms)
            if spans:
                _refuse_overlap(laid, appliance.name, frame)
        occurrences = [
            layout.lay(Wanted.of(index, single, span.end_ms - span.begin_ms, span.cycle, scheduled), span)
            for span in laid
        ]
        if index in rows.callers:
            for caller in _callers([*own, *spans], laid, occurrences):
                for called, called_span in _set_off_by(rows, index, caller, place, water, pump):
                    wanted.setdefault(called, []).append(called_span)
    return _laid(rows, layout, frame.horizon_ms)


class _Caller(NamedTuple):
    """What sets others off. load: what these share its cycle with, stage by stage from this on.

    throughout: those that last as long as it does. once: those that have a length of their own, and water.
    """

    span: Span
    load: int
    throughout: bool
    once: bool


def _callers(wanted: list[Span], laid: list[Span], occurrences: list[int]) -> Iterator[_Caller]:
    """Of a machine: as it is wanted, by each who wants it, whoever else does too.

    But what lasts as long as it runs in a cycle of its own comes and goes with it, and so does as it is laid.
    """
    first: dict[int, int] = {}
    for span, occurrence in zip(laid, occurrences, strict=True):
        is_itself = span.wanted is None
        yield _Caller(span, occurrence * _LOAD_STRIDE, throughout=is_itself or _has_own_cycle(span), once=is_itself)
        first.setdefault(id(span.wanted), occurrence)
    if any(span.wanted is not None for span in laid):
        for number, span in enumerate(wanted):
            found = first[id(span)] if id(span) in first else _joined_to(span, laid, occurrences)
            load = _UNSEEN + (occurrences[0] << 20) + number if found is None else found * _LOAD_STRIDE
            yield _Caller(span, load, throughout=not _has_own_cycle(span), once=True)


def _joined_to(wanted: Span, laid: list[Span], occurrences: list[int]) -> int | None:
    """The laying of the run that one goes on with, where two that come and go alike are one."""
    alike = (
        occurrence
        for span, occurrence in zip(laid, occurrences, strict=True)
        if span.begin_ms <= wanted.begin_ms < span.end_ms and (span.cycle, span.load) == (wanted.cycle, wanted.load)
    )
    return next(alike, None)


def _has_own_cycle(span: Span) -> bool:
    return span.cycle is not None and span.load < 0


def _set_off_by(
    rows: StageRows, index: int, caller: _Caller, place: dict[str, int], water: Water | None, pump: int | None
) -> Iterator[tuple[int, Span]]:
    """What a programme sets off: (place of the appliance, when and how)."""
    appliance, span = rows.appliances[index], caller.span
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
            lasts_ms = rows.length_ms[target]
            if not (caller.once if lasts_ms else caller.throughout):
                continue
            load = -1
            shared = rows.cycle[target_row]
            if cycle is not None:
                shared = cycle
                load = span.load if span.load >= 0 else caller.load + number
            yield target, Span(from_ms, from_ms + (lasts_ms or length_ms), shared, span.run, load, True)
        if stage.water_l and water is not None and pump is not None and caller.once:
            pumped = pump_cycle_for_draw(water, stage.water_l, length_ms / 1000)
            yield pump, Span(begin_ms, begin_ms + length_ms + fill_ms(water), pumped, span.run, -1, True)
        begin_ms += length_ms


@lru_cache(maxsize=4096)
def _at_ms(frame: DayFrame, clock: str) -> int:
    """When a clock of that day shows this."""
    return frame.at_ms(wall_clock_s(clock))


@lru_cache(maxsize=8)
def _callers_first(rows: StageRows, pump: int | None) -> tuple[int, ...]:
    """Places of all appliances, whatever sets another off before it."""
    place = {appliance.id: index for index, appliance in enumerate(rows.appliances)}
    called_by: dict[int, set[int]] = {index: set() for index in place.values()}
    for index in rows.callers:
        for stage in rows.appliances[index].stages:
            for called in stage.sets_off:
                called_by[place[called.appliance]].add(index)
            if stage.water_l and pump is not None:
                called_by[pump].add(index)
    return tuple(TopologicalSorter(called_by).static_order())


def _refuse_overlap(spans: list[Span], name: str, frame: DayFrame) -> None:
    for before, after in pairwise(spans):
        if after.begin_ms < before.end_ms:
            at = frame.local(after.begin_ms).strftime("%H:%M:%S")
            why = f"{name!r} is one machine and would be set off at {at} while it still runs; move one of the runs"
            raise HouseholdFaults([Fault("", why)])


def _laid(rows: StageRows, layout: _Layout, horizon_ms: int) -> Laid:
    stages = compiled(rows, tuple(layout.met))
    laid = np.array(layout.laid, dtype=np.int64).reshape(-1, 5)
    which, begin_ms, run, load, set_off = laid.T.copy()

    # Every laying's stages, in one gather.
    count = stages.count[which]
    occurrence = np.repeat(np.arange(len(laid)), count)
    number = np.arange(len(occurrence)) - np.repeat(count.cumsum() - count, count)
    stage = stages.first[which][occurrence] + number
    begin = stages.from_ms[stage] + begin_ms[occurrence]
    end = np.minimum(stages.until_ms[stage] + begin_ms[occurrence], horizon_ms)
    kept = (begin < end).nonzero()[0]
    stage, occurrence, number = stage[kept], occurrence[kept], number[kept]
    shared = load[occurrence]
    on_ms, period_ms, longest_ms = stages.cycle_ms[stage].T
    row = stages.row[stage]
    pieces = Pieces(
        row=row, appliance=rows.appliance[row], begin_ms=begin[kept], end_ms=end[kept], run=run[occurrence],
        load=np.where(shared >= 0, shared, occurrence * _LOAD_STRIDE + number), cycling=stages.cycling[stage],
        set_off=set_off[occurrence].astype(bool), scheduled=stages.scheduled[stage], on_ms=on_ms,
        period_ms=period_ms, longest_ms=longest_ms,
    )  # fmt: skip
    return Laid(rows, pieces, stages.steps, which, begin_ms, stages.appliance[which], horizon_ms)
