"""A workshop judged: which limit decides, and what a thicker cable would lose."""

from collections.abc import Iterable, Iterator
from typing import Literal, NamedTuple

from app.engine.cables import DROP_TIGHT_POINTS, cable_limits
from app.engine.day import lay_day
from app.engine.draw import HAIR
from app.engine.results import LADDER, Assessment, DropReading, LimitReading, Verdict
from app.household.resolve import Resolved
from app.household.supply import Circuit, Supply

# Nominal cross-sections of conductors, mm2: IEC 60228, as far as workshops go.
SIZES_MM2 = (2.5, 4.0, 6.0, 10.0, 16.0)

Way = Literal["limit", "cable_running", "cable_start"]


class Decider(NamedTuple):
    """One limit that could decide. way: what of the reading it is; a cable is read running and at a start.

    use, limit, unit: at the instant of the smallest margin. left: of the limit, as a share of it.
    """

    way: Way
    reading: LimitReading
    use: float
    limit: float
    left: float
    verdict: Verdict


class Sized(NamedTuple):
    """A size of wire, and what would be lost on the way to the circuit with it; None where the engine says nothing."""

    conductor_mm2: float
    drop: DropReading | None


def deciders(assessment: Assessment, supply: Supply, circuit_id: str) -> tuple[Decider, ...]:
    """Every limit that what is on a circuit takes part in, the worst first, of those the one with the least left."""
    path = set(feed_path_of(supply, circuit_id))
    found: list[Decider] = []
    for reading in assessment.limits:
        kind, _, of = reading.id.partition(":")
        if kind in ("circuit", "voltage_drop") and of not in path:
            continue
        found += _of_cable(reading, supply) if reading.drop is not None else [_whole(reading)]
    return tuple(sorted(found, key=lambda one: (-LADDER.index(one.verdict), one.left)))


def feed_path_of(supply: Supply, circuit_id: str) -> Iterator[str]:
    """A circuit, and those it is fed through."""
    by_id = {one.id: one for one in supply.circuits}
    wanted: str | None = circuit_id
    seen: set[str] = set()
    while wanted in by_id and wanted not in seen:
        assert wanted is not None  # it is an id
        seen.add(wanted)
        yield wanted
        wanted = by_id[wanted].fed_from


def drops_by_size(resolved: Resolved, circuit_id: str, sizes: Iterable[float] = SIZES_MM2) -> tuple[Sized, ...]:
    """The engine's voltage drop on a circuit of the plan with each of some sizes of wire in place of its own."""
    return tuple(Sized(size, _drop(_with_size(resolved, circuit_id, size), circuit_id)) for size in sizes)


def _drop(resolved: Resolved, circuit_id: str) -> DropReading | None:
    readings = cable_limits(resolved, lay_day(resolved).wired)
    return next((one.drop for one in readings if one.id == f"voltage_drop:{circuit_id}"), None)


def _with_size(resolved: Resolved, circuit_id: str, conductor_mm2: float) -> Resolved:
    def sized(circuit: Circuit) -> Circuit:
        return circuit.model_copy(update={"conductor_mm2": conductor_mm2}) if circuit.id == circuit_id else circuit

    supply = resolved.household.supply
    changed = supply.model_copy(update={"circuits": tuple(map(sized, supply.circuits))})
    household = resolved.household.model_copy(update={"supply": changed})
    return Resolved(household, resolved.day, resolved.frame)


def _whole(reading: LimitReading) -> Decider:
    left = reading.margin / abs(reading.limit) if reading.limit else 1.0
    return Decider("limit", reading, reading.use, reading.limit, left, reading.verdict)


def _of_cable(reading: LimitReading, supply: Supply) -> Iterator[Decider]:
    assert reading.drop is not None  # asked before
    ways: tuple[tuple[Way, float, float], ...] = (
        ("cable_start", reading.drop.starting_percent, 100 * supply.rules.drop_starting),
        ("cable_running", reading.drop.running_percent, 100 * supply.rules.drop_running),
    )
    for way, use, limit in ways:
        yield Decider(way, reading, use, limit, (limit - use) / limit, drop_verdict(use, limit))


def drop_verdict(use: float, limit: float) -> Verdict:
    """How the engine judges so many per cent, running or at a start."""
    if use > limit * (1 + HAIR):
        return "over"
    return "tight" if limit - use < DROP_TIGHT_POINTS * (1 - HAIR) else "fits"
