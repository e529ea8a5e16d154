"""What more runs make of a plan's limits: those that are worse with them than without."""

from collections.abc import Iterator

import numpy as np

from app.engine.draw import HAIR
from app.engine.moment import Inspection
from app.engine.results import LADDER, LimitReading
from app.engine.traces import Trace


def pressed(before: Inspection, after: Inspection, run_id: str, while_ms: tuple[int, int]) -> Iterator[LimitReading]:
    """Readings that are worse than without the run, or as bad elsewhere and broken or passed by it too."""
    readings = {reading.id: reading for reading in before.assessment.limits}
    hidden: list[LimitReading] = []  # their worst is elsewhere and hides what they are while it runs
    for reading in after.assessment.limits:
        if _only_its_cable(reading):
            continue
        # A generator that starts only because of the run has no reading without it.
        if reading.id not in readings or _is_worse(reading, readings[reading.id]):
            yield reading
        elif LADDER.index(reading.verdict) >= LADDER.index("short_time"):
            hidden.append(reading)
    if not hidden:
        return
    was, now = ({trace.id: trace for trace in one.traces} for one in (before, after))
    breaks = any(surge.run == run_id and surge.verdict in ("chance", "over") for surge in after.assessment.surges)
    for reading in hidden:
        own_start = breaks and reading.id == "inverter_overload"
        if own_start or passes_further(now[reading.id], was[reading.id], *while_ms):
            yield reading


def _only_its_cable(reading: LimitReading) -> bool:
    """A breaker above its cable is nobody's doing: what is drawn, running and starting, it would carry."""
    circuit = reading.circuit
    if circuit is None or circuit.cable_a is None or reading.limit <= circuit.cable_a:
        return False
    return reading.margin >= -HAIR * reading.limit and circuit.start_a <= circuit.trip_a * (1 + HAIR)


def _is_worse(after: LimitReading, before: LimitReading) -> bool:
    """A worse verdict, or less left, or more of its time used, or broken sooner."""
    if after.verdict != before.verdict:
        return LADDER.index(after.verdict) > LADDER.index(before.verdict)
    held_s = (before.heat.lasts_s if before.heat else 0.0, after.heat.lasts_s if after.heat else 0.0)
    broken = (before.broken_at_ms, after.broken_at_ms)
    sooner = broken[1] is not None and (broken[0] is None or broken[1] < broken[0])
    sooner &= after.broken_at_ms != after.at_ms  # broken at its worst: that may have moved there from a worse one
    starts_a = (before.circuit.start_a if before.circuit else 0.0, after.circuit.start_a if after.circuit else 0.0)
    less = after.margin < before.margin - HAIR * max(abs(after.limit), 1.0) or starts_a[1] > starts_a[0] * (1 + HAIR)
    return less or held_s[1] > held_s[0] * (1 + HAIR) or sooner


def passes_further(after: Trace, before: Trace, begin_ms: int, end_ms: int) -> bool:
    """The limit is passed at some instant between two, with less left than before."""
    edges_ms = np.concatenate([after.t_ms, before.t_ms])
    instants = np.unique(np.concatenate([[begin_ms, end_ms - 1], edges_ms, edges_ms - 1]))
    for at_ms in instants[(instants >= begin_ms) & (instants < end_ms)].tolist():
        now, was = after.at(at_ms), before.at(at_ms)
        if now.beyond and now.margin < was.margin - HAIR * max(abs(now.limit), 1.0):
            return True
    return False
