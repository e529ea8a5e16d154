"""From a plan to all that stands on its day: runs, always-on loads, follow-ons and the pump, as pieces.

A piece is one stage of one appliance from one instant to another. Appliances are taken callers first, so
that whatever a piece sets off has not been laid yet.
"""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from graphlib import TopologicalSorter

import numpy as np
from numpy.typing import NDArray

from app.engine.programmes import Wanted, compiled
from app.engine.results import Instants
from app.engine.rows import StageRows, to_ms
from app.engine.spans import Span, one_machine, with_loads
from app.engine.stack import Programmes
from app.engine.water import fill_ms, pump_cycle_for_draw, pump_cycle_for_taps
from app.household.day import DayFrame
from app.household.errors import Fault, HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.household.supply import Water

_LOAD_STRIDE = 1 << 10  # more than the stages an appliance may have
MOST_SET_OFF = 2000  # in a day, of one machine: every 43 s


@dataclass(frozen=True, eq=False)
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

    @cached_property
    def first_ms(self) -> Instants:
        """When the first piece of each one's load begins, shape (n,)."""
        first_ms = np.full(self.load.max(initial=0) + 1, np.iinfo(np.int64).max)
        np.minimum.at(first_ms, self.load, self.begin_ms)
        return first_ms[self.load]


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

    def lay(self, programme: Wanted, span: Span) -> None:
        """Lay a programme."""
        self.laid.append((self.meet(programme), span.begin_ms, span.run, span.load, span.set_off))


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
    loads = itertools.count(0, _LOAD_STRIDE)
    wanted: dict[int, dict[Span, None]] = {}  # each once, in order
    runs_of: dict[int, list[int]] = {}
    for index, run in enumerate(runs):
        runs_of.setdefault(place[run.appliance], []).append(index)
    if water is not None and pump is not None and water.taps_between is not None:
        begin_ms, end_ms = (_at_ms(frame, clock) for clock in water.taps_between)
        cycle = pump_cycle_for_taps(water, end_ms - begin_ms)
        if cycle is not None:
            wanted[pump] = {Span(begin_ms, end_ms, cycle, -1, -1, True): None}
    for index in _callers_first(rows, pump):
        appliance = rows.appliances[index]
        spans = wanted.get(index, {})
        if appliance.id in off or not (spans or appliance.always_on or index in runs_of):
            continue
        if len(spans) > MOST_SET_OFF:
            why = f"{appliance.name!r} would be set off more than {MOST_SET_OFF:,} times in a day; leave out some runs"
            raise HouseholdFaults([Fault("", why)])
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
            wants = list(with_loads([*own, *spans], loads))
            laid = list(one_machine(wants))
        else:
            laid = wants = [
                replace(span, load=next(loads)) for span in sorted([*own, *spans], key=lambda span: span.begin_ms)
            ]
            if spans:
                _refuse_overlap(laid, appliance.name, frame)
        for span in laid:
            layout.lay(Wanted.of(index, single, span.end_ms - span.begin_ms, span.cycle, scheduled), span)
        if index in rows.callers:
            # Once by each who wants it, whoever else does too.
            for one in wants:
                for called, called_span in _set_off_by(rows, index, one, place, water, pump):
                    wanted.setdefault(called, {})[called_span] = None
    return _laid(rows, layout, frame.horizon_ms)


def _set_off_by(
    rows: StageRows, index: int, span: Span, place: dict[str, int], water: Water | None, pump: int | None
) -> Iterator[tuple[int, Span]]:
    """What a programme sets off: (place of the appliance, when and how)."""
    appliance, begin_ms = rows.appliances[index], span.begin_ms
    for number, stage in enumerate(appliance.stages):
        row = int(rows.first[index]) + number
        own_ms = rows.duration_ms[row]
        single = len(appliance.stages) == 1
        length_ms = span.end_ms - span.begin_ms if single or own_ms is None else own_ms
        cycle = span.cycle if single else rows.cycle[row]
        for called in stage.sets_off:
            target = place[called.appliance]
            from_ms = begin_ms + to_ms(called.after_s)
            to = from_ms + (rows.length_ms[target] or length_ms)
            shared = (rows.cycle[rows.first[target]], -1) if cycle is None else (cycle, span.load + number)
            yield target, Span(from_ms, to, shared[0], span.run, shared[1], True)
        if stage.water_l and water is not None and pump is not None:
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
    for before, after in itertools.pairwise(spans):
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
    on_ms, period_ms, longest_ms = stages.cycle_ms[stage].T
    row = stages.row[stage]
    pieces = Pieces(
        row=row, appliance=rows.appliance[row], begin_ms=begin[kept], end_ms=end[kept], run=run[occurrence],
        load=_without_a_break(load[occurrence] + number, begin[kept], end[kept]), cycling=stages.cycling[stage],
        set_off=set_off[occurrence].astype(bool), scheduled=stages.scheduled[stage], on_ms=on_ms,
        period_ms=period_ms, longest_ms=longest_ms,
    )  # fmt: skip
    return Laid(rows, pieces, stages.steps, which, begin_ms, stages.appliance[which], horizon_ms)


def _without_a_break(load: Instants, begin_ms: Instants, end_ms: Instants) -> Instants:
    """Loads of pieces, numbered anew: one of which nothing is on the day for a while is another one afterwards."""
    order = np.lexsort((begin_ms, load))
    load, begin_ms, end_ms = load[order], begin_ms[order], end_ms[order]
    is_next = np.diff(load, prepend=-1) > 0
    # How far those reach that came before: loads set apart from one another, so that none reaches into the next.
    apart_ms = is_next.cumsum() * (2 * end_ms.max(initial=0))
    reach_ms = np.maximum.accumulate(end_ms + apart_ms) - apart_ms
    is_next[1:] |= begin_ms[1:] > reach_ms[:-1]
    numbered = np.empty_like(load)
    numbered[order] = is_next.cumsum()
    return numbered
