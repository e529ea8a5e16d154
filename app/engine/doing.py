"""What more runs make of the limits of a day: their own doing, and not what the day comes to without them.

Where a limit holds without them, all that becomes of it is their doing. Where it is passed or broken already, it is
looked at for as long as they make a difference, with them and without.
"""

from collections import Counter
from collections.abc import Iterator
from functools import cached_property
from typing import NamedTuple

import numpy as np

from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.levels import Levels, sure_breaks
from app.engine.moment import Inspection
from app.engine.part import part_of
from app.engine.power import power_limits
from app.engine.results import LADDER, Flags, LimitReading, Verdict
from app.engine.traces import Trace

PASSED = LADDER.index("short_time")
DAILY = 1.0  # what is expected so often a day is no chance


class Pressed(NamedTuple):
    """A limit that runs press on, and what they make of it; the reading is of the time that says so."""

    reading: LimitReading
    verdict: Verdict


def pressed(before: Inspection, after: Inspection, at_least: Verdict = "fits") -> Iterator[Pressed]:
    """Limits that are worse with more runs than without them.

    at_least: limits that come to less all day long are not asked about.
    """
    were = {reading.id: reading for reading in before.assessment.limits}
    meanwhile = _Meanwhile(before, after)
    for reading in after.assessment.limits:
        if _only_its_cable(reading) or _rank(reading.verdict) < _rank(at_least):
            continue
        was = were.get(reading.id)
        # A generator that starts only because of them has no reading without.
        if was is None or _rank(was.verdict) < PASSED or _rank(reading.verdict) > _rank(was.verdict):
            if was is None or is_worse(reading, was):
                yield Pressed(reading, reading.verdict)
            continue
        made = meanwhile.pressed(reading, was)
        if made is not None:
            yield made


def _rank(verdict: Verdict) -> int:
    return LADDER.index(verdict)


def _only_its_cable(reading: LimitReading) -> bool:
    """A breaker above its cable is nobody's doing: what is drawn, running and starting, it would carry."""
    circuit = reading.circuit
    if circuit is None or circuit.cable_a is None or reading.limit <= circuit.cable_a:
        return False
    return reading.margin >= -HAIR * reading.limit and circuit.start_a <= circuit.trip_a * (1 + HAIR)


def is_worse(after: LimitReading, before: LimitReading) -> bool:
    """A worse verdict, or less left, or more of its time used, or broken sooner."""
    if after.verdict != before.verdict:
        return _rank(after.verdict) > _rank(before.verdict)
    held_s = (before.heat.lasts_s if before.heat else 0.0, after.heat.lasts_s if after.heat else 0.0)
    broken = (before.broken_at_ms, after.broken_at_ms)
    sooner = broken[1] is not None and (broken[0] is None or broken[1] < broken[0])
    starts_a = (before.circuit.start_a if before.circuit else 0.0, after.circuit.start_a if after.circuit else 0.0)
    less = after.margin < before.margin - HAIR * max(abs(after.limit), 1.0) or starts_a[1] > starts_a[0] * (1 + HAIR)
    return less or held_s[1] > held_s[0] * (1 + HAIR) or sooner


class _Meanwhile:
    """Two plans, one with more runs, while these make a difference."""

    def __init__(self, before: Inspection, after: Inspection) -> None:
        self._both = before, after

    def pressed(self, reading: LimitReading, was: LimitReading) -> Pressed | None:
        """What becomes of a limit that is passed or broken without them too; None for no more than without."""
        return max(self._pressed(reading, was), key=lambda one: _rank(one.verdict), default=None)

    def _pressed(self, reading: LimitReading, was: LimitReading) -> Iterator[Pressed]:
        if reading.id not in self._of_power:
            if is_worse(reading, was) or any(self._passes_further(reading.id, *span) for span in self._spans):
                yield Pressed(reading, reading.verdict)
            return
        for without, with_them in self._parts:
            then = with_them[reading.id]
            if is_worse(then, without[reading.id]) and not _only_its_cable(then):
                yield Pressed(then, then.verdict)
        more_per_day = (reading.broken_per_day or 0.0) - (was.broken_per_day or 0.0)
        if self._surely_worse(reading.id) or (reading.verdict == "over" and more_per_day >= DAILY):
            yield Pressed(reading, "over")

    @cached_property
    def _spans(self) -> list[tuple[int, int]]:
        """When each of their machines draws, or one that they keep from drawing would: instants to instants.

        Machine by machine, for what is deeper while another draws may be passed on a circuit that it is not on.
        """
        before, after = (_drawing(one.day) for one in self._both)
        changed = sorted((after - before) + (before - after))
        spans: list[tuple[str, int, int]] = []
        for appliance, begin_ms, end_ms, *_ in changed:
            if spans and spans[-1][0] == appliance and begin_ms <= spans[-1][2]:
                spans[-1] = appliance, spans[-1][1], max(spans[-1][2], end_ms)
            else:
                spans.append((appliance, begin_ms, end_ms))
        return sorted({span[1:] for span in spans})

    @cached_property
    def _parts(self) -> list[tuple[dict[str, LimitReading], dict[str, LimitReading]]]:
        """Readings of each of these times, without them and with them."""
        before, after = (one.day for one in self._both)
        return [(_readings(part_of(before, *span)), _readings(part_of(after, *span))) for span in self._spans]

    @cached_property
    def _of_power(self) -> set[str]:
        energy = () if self._both[1].assessment.battery is None else ("reserve", "generator")
        return {one.id for one in self._both[0].assessment.limits} - set(energy)

    def _surely_worse(self, limit: str) -> bool:
        """Certain draws break it where they do not without them, or they draw more while certain draws break it."""
        were, are = self._sure
        if limit not in are:
            return False
        levels, flags = are[limit]
        now = levels.view.scope
        if limit not in were:
            return bool(flags.any())
        old_levels, old_flags = were[limit]
        old = old_levels.view.scope
        t_ms = np.union1d(now.t_ms, old.t_ms)
        middle_ms = (t_ms[:-1] + t_ms[1:]) / 2
        stretch, old_stretch = now.stretch_at(middle_ms), old.stretch_at(middle_ms)
        broken, was_broken = flags[stretch], old_flags[old_stretch]
        more = np.zeros(len(middle_ms), dtype=bool)
        used, was_used = (levels.quantities(one.worst_started) for one in (now, old))
        for use, was_use in zip(used, was_used, strict=True):
            more |= use[stretch] > was_use[old_stretch] * (1 + HAIR)
        return bool((broken & (~was_broken | more)).any())

    @cached_property
    def _sure(self) -> list[dict[str, tuple[Levels, Flags]]]:
        return [sure_breaks(one.day, one.assessment.limits) for one in self._both]

    @cached_property
    def _traces(self) -> list[dict[str, Trace]]:
        return [{trace.id: trace for trace in one.traces} for one in self._both]

    def _passes_further(self, limit: str, begin_ms: int, end_ms: int) -> bool:
        """It is passed at some instant between two, with less left than without them."""
        before, after = (traces[limit] for traces in self._traces)
        edges_ms = np.concatenate([after.t_ms, before.t_ms])
        instants = np.unique(np.concatenate([[begin_ms, end_ms - 1], edges_ms, edges_ms - 1]))
        for at_ms in instants[(instants >= begin_ms) & (instants < end_ms)].tolist():
            now, was = after.at(at_ms), before.at(at_ms)
            if now.beyond and now.margin < was.margin - HAIR * max(abs(now.limit), 1.0):
                return True
        return False


def _readings(day: PlannedDay) -> dict[str, LimitReading]:
    return {reading.id: reading for reading in power_limits(day)[1]}


class _Drawing(NamedTuple):
    """Something that draws or starts: whose, from when to when, which stage of it, and its cycle."""

    appliance: str
    begin_ms: int
    end_ms: int
    row: int
    on_ms: int
    period_ms: int


def _drawing(day: PlannedDay) -> Counter[_Drawing]:
    pieces, rows = day.laid.pieces, day.rows
    there = np.flatnonzero((rows.running.va[pieces.row] > 0) | (rows.start_ms[pieces.row] > 0))
    columns = (pieces.begin_ms, pieces.end_ms, pieces.row, pieces.on_ms, pieces.period_ms)
    names = [rows.appliances[place].id for place in pieces.appliance[there].tolist()]
    return Counter(map(_Drawing, names, *(one[there].tolist() for one in columns)))
