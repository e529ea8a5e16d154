"""What is broken when: what certain draws break, where a reading tells of another hour at which more could be on."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from app.engine.answers import MaySwitch
from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.levels import Levels, cold_until_ms, levels_of, sure_breaks
from app.engine.moment import Inspection
from app.engine.part import part_of
from app.engine.power import power_limits
from app.engine.results import Flags, LimitReading

BROKEN_AT_ONCE = ("inverter_overload", "battery_peak")  # limits whose trace is held against what may not be passed


def with_sure(day: PlannedDay, limits: Sequence[LimitReading]) -> list[LimitReading]:
    """Readings of a day's limits; those that are sure at another hour only with that hour's, as `sure`."""
    sure = sure_breaks(day, limits)
    parts: dict[tuple[float, float], dict[str, LimitReading]] = {}

    def sure_of(reading: LimitReading) -> LimitReading | None:
        if reading.id not in sure or _tells_of(reading, *sure[reading.id]):
            return None
        for span in _spans_ms(*sure[reading.id]):
            if span not in parts:
                parts[span] = {one.id: one for one in power_limits(part_of(day, *span))[1]}
            found = parts[span][reading.id]
            if found.verdict_certain == "over" and _tells_of(found, *sure[reading.id]):
                return found
        return None

    return [replace(one, sure=sure_of(one)) if one.id in sure else one for one in limits]


def is_broken_without(inspection: Inspection, may: MaySwitch, from_ms: int) -> bool:
    """The limit that refuses something is broken, or passed, at that time whether or not it runs.

    For sure, or as the answer itself has it, if everything happens to be on. from_ms: when it was asked; what was
    before is no reason.
    """
    if may.limit is None or may.at_ms is None:
        return False
    if may.limit == "reserve":
        reading = inspection.assessment.limit("reserve")
        return reading is not None and reading.verdict == "over"
    if may.above_s is not None:
        until_ms = may.at_ms + round(1000 * may.above_s)
        return _is_passed(inspection, may.limit, max(may.at_ms, from_ms), until_ms)
    return is_broken_at(inspection, may.limit, may.at_ms, surely=may.answer == "not_now")


def is_broken_at(inspection: Inspection, limit: str, at_ms: int, *, surely: bool) -> bool:
    """A limit is broken at an instant, by what certainly draws or in the worst case.

    Odds do not talk down what has no levels and times: of that the worst case is sure.
    """
    reading, day = inspection.assessment.limit(limit), inspection.day
    if reading is None or reading.verdict not in ("chance", "over"):
        return False
    has_levels = {one: levels for levels in levels_of(day) for one in (*levels.steady, levels.top)}
    if surely and limit in has_levels:
        levels, flags = sure_breaks(day, [reading]).get(limit, (has_levels[limit], None))
        stretch = levels.view.scope.stretch_at(at_ms)
        return flags is not None and bool(flags[stretch]) and _is_above(levels, int(stretch), at_ms)
    if limit == "battery_voltage":
        return _is_down(day, at_ms)
    heat = reading.heat
    tripped = heat is not None and heat.trips_at_ms is not None and heat.since_ms <= at_ms < heat.until_ms
    if limit in has_levels and tripped:
        return True
    if limit in has_levels and limit not in BROKEN_AT_ONCE:
        return False
    trace = inspection.trace(limit)
    return trace is not None and trace.at(at_ms).beyond


def _is_above(levels: Levels, stretch: int, at_ms: int) -> bool:
    """Certain draws, starts among them, exceed some level at an instant; a line that moves is what it is then."""
    use = levels.quantities(levels.view.scope.certain_started)
    return any(use[one.quantity][stretch] > one.line.at(np.array([at_ms]))[0] for one in levels.rule.checks)


def _is_down(day: PlannedDay, at_ms: int) -> bool:
    """The bank's voltage is below the cut-off at an instant, for as long as the inverter waits."""
    scope, inverter = day.house.scope, day.resolved.household.supply.inverter
    low = day.bank.terminal_v(scope.worst_started) < inverter.cut_off_v * (1 - HAIR)
    stretch = int(scope.stretch_at(at_ms))
    if not low[stretch]:
        return False
    well_before, well_after = np.flatnonzero(~low[:stretch]), np.flatnonzero(~low[stretch:])
    first = int(well_before[-1]) + 1 if len(well_before) else 0
    last = stretch + int(well_after[0]) if len(well_after) else len(low)
    return bool(scope.t_ms[last] - scope.t_ms[first] >= 1000 * inverter.cut_off_delay_s * (1 - HAIR))


def _is_passed(inspection: Inspection, limit: str, from_ms: int, to_ms: int) -> bool:
    """A limit is passed at some instant between two, in the worst case."""
    trace = inspection.trace(limit)
    assert trace is not None  # it was told
    edges_ms = trace.t_ms[(trace.t_ms > from_ms) & (trace.t_ms < to_ms)]
    return any(trace.at(at_ms).beyond for at_ms in (from_ms, *edges_ms.tolist()))


def _tells_of(reading: LimitReading, levels: Levels, broken: Flags) -> bool:
    """Certain draws break it in the time that the reading is of."""
    heat, t_ms = reading.decided_by_time, levels.view.scope.t_ms
    from_ms, to_ms = (reading.at_ms, reading.at_ms + 1) if heat is None else (heat.since_ms, heat.until_ms)
    return bool((broken & (t_ms[:-1] < to_ms) & (t_ms[1:] > from_ms)).any())


def _spans_ms(levels: Levels, broken: Flags) -> Iterator[tuple[float, float]]:
    """The first time in which certain draws break it: from when every store was last empty, to when they no longer do.

    Then the same from when they do, for in the time before something else could be told.
    broken: stretches in which they do.
    """
    t_ms = levels.view.scope.t_ms
    first = int(broken.argmax())
    well_after = np.flatnonzero(~broken[first:])
    end = first + int(well_after[0]) if len(well_after) else len(broken)
    yield cold_until_ms(levels, float(t_ms[first])), float(t_ms[end])
    yield float(t_ms[first]), float(t_ms[end])
