"""What to know that no limit says, as codes."""

from collections.abc import Iterator
from functools import lru_cache

from app.engine.circuits import UPPER_TRIP_MULTIPLE, source_current_a
from app.engine.expand import Laid
from app.engine.results import Caution, Params
from app.engine.rows import SHORTEST_START_S, StageRows
from app.household.resolve import Resolved


def cautions_of(resolved: Resolved, laid: Laid) -> Iterator[Caution]:
    """Every caution of a plan, each once."""
    yield from _short_starts(laid)
    yield from _breakers(resolved)
    yield from _interlocks(resolved, laid)
    yield from _order(resolved, laid)


def _short_starts(laid: Laid) -> Iterator[Caution]:
    """A start that is over too soon to be planned for, of something that is on that day."""
    short = _short_starts_of(laid.rows)
    if short:
        used = set(laid.pieces.appliance.tolist())
        yield from (caution for place, caution in short if place in used)


@lru_cache(maxsize=8)
def _short_starts_of(rows: StageRows) -> tuple[tuple[int, Caution], ...]:
    """Such starts of a library, each with the place of its appliance."""
    found: list[tuple[int, Caution]] = []
    for place, appliance in enumerate(rows.appliances):
        for stage in appliance.stages:
            if stage.start is not None and stage.start.duration_s < SHORTEST_START_S:
                params: Params = {
                    "appliance": appliance.id, "va": stage.start.va, "duration_s": stage.start.duration_s,
                }  # fmt: skip
                found.append((place, Caution("start_too_short", params)))
    return tuple(found)


def _breakers(resolved: Resolved) -> Iterator[Caution]:
    """A breaker that a short circuit behind it cannot trip at once, for the inverter gives too little."""
    supply = resolved.household.supply
    source_a = source_current_a(supply)
    for circuit in supply.circuits:
        if circuit.breaker_a is None:
            continue
        lower_a = circuit.breaker_a * getattr(supply.rules.trip_multiple, circuit.curve)
        upper_a = circuit.breaker_a * UPPER_TRIP_MULTIPLE[circuit.curve]
        if source_a < upper_a:
            params: Params = {
                "circuit": circuit.id, "breaker_a": circuit.breaker_a, "curve": circuit.curve,
                "source_a": source_a, "from_a": lower_a, "to_a": upper_a,
            }  # fmt: skip
            yield Caution("breaker_may_not_trip", params)


def _interlocks(resolved: Resolved, laid: Laid) -> Iterator[Caution]:
    """Runs that an interlock forbids at once."""
    pieces, rows = laid.pieces, laid.rows
    names = {appliance.id: place for place, appliance in enumerate(rows.appliances)}
    for interlock in resolved.household.interlocks:
        members = {names[one]: one for one in interlock.of if one in names}
        placed = [
            (int(begin_ms), int(end_ms), int(place))
            for place, run, begin_ms, end_ms in zip(
                pieces.appliance, pieces.run, pieces.begin_ms, pieces.end_ms, strict=True
            )
            if run >= 0 and int(place) in members
        ]
        for begin_ms, _, _ in sorted(placed):
            at_once = sorted({place for begin, end, place in placed if begin <= begin_ms < end})
            if len(at_once) > interlock.at_most:
                together = tuple(members[one] for one in at_once)
                params: Params = {"appliances": together, "at_most": interlock.at_most, "at_ms": begin_ms}
                yield Caution("interlocked_at_once", params)
                break


def _order(resolved: Resolved, laid: Laid) -> Iterator[Caution]:
    """Runs before what they wait for has ended, or later than they may be."""
    pieces = laid.pieces
    places = {run.id: place for place, run in enumerate(resolved.day.runs)}
    for place, run in enumerate(resolved.day.runs):
        if run.after is None or not run.on:
            continue
        mine = ~pieces.set_off & (pieces.run == place)
        before = ~pieces.set_off & (pieces.run == places[run.after])
        if not mine.any() or not before.any():
            continue
        begin_ms, ended_ms = int(pieces.begin_ms[mine].min()), int(pieces.end_ms[before].max())
        params: Params = {
            "run": run.id,
            "after": run.after,
            "begin_ms": begin_ms,
            "ended_ms": ended_ms,
        }
        if begin_ms < ended_ms:
            yield Caution("runs_before_its_turn", params)
        elif run.within_s is not None and begin_ms > ended_ms + run.within_s * 1000:
            yield Caution("runs_too_late", {**params, "within_s": run.within_s})
