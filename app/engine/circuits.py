"""Circuits: how they are wired, and the current in their conductors against breaker and cable."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from app.engine.draw import HAIR, Draws
from app.engine.expand import Laid
from app.engine.heat import exceeds
from app.engine.readings import View, view_of
from app.engine.results import CircuitReading, Flags, Floats, Instants, LimitReading, Verdict
from app.engine.scope import Scope, scope_of
from app.household.resolve import Resolved
from app.household.supply import Circuit, Supply

# IEC 60898-1 Table 2: at the upper multiple of its rating a breaker must trip at once.
UPPER_TRIP_MULTIPLE = {"B": 5, "C": 10, "D": 20}

LONG_HOURS_MS, LONG_SHARE = 3 * 3_600_000, 0.8


@dataclass(frozen=True, slots=True, eq=False)
class Conductor:
    """One conductor of a circuit: on which leg ("" in a house with one), what it carries, at what volts.

    of_v: what its voltage drop is told in per cent of. back: what surely is on the other leg alone, and so takes from
    its drop; None where nothing is, or does not count.
    """

    leg: str
    view: View
    volts: float
    of_v: float
    back: Scope | None = None

    def current_a(self, draws: Draws) -> Floats:
        """Amperes, uncertainty included."""
        return draws.use_va / self.volts


@dataclass(frozen=True, slots=True, eq=False)
class Wired:
    """A circuit with its conductors and the circuits it is fed through, itself first.

    losing: the conductors as they lose voltage. What one leg carries beyond the other comes back by the neutral: what
    is on one leg alone loses there and back, of half the volts, and what surely is on the other alone takes from that.
    What lies over both loses on either leg, of half the volts, a quarter as much as it would on one alone.
    """

    circuit: Circuit
    conductors: tuple[Conductor, ...]
    path: tuple[str, ...]
    losing: tuple[Conductor, ...]


def has_cable(circuit: Circuit) -> bool:
    """Its cable is known: both its length and its size."""
    return circuit.cable_m is not None and circuit.conductor_mm2 is not None


def breaker_limits(resolved: Resolved, wired: dict[str, Wired]) -> Iterator[LimitReading]:
    """The readings `circuit:ID`, of circuits with a breaker."""
    for one in wired.values():
        if one.circuit.breaker_a is not None:
            yield _breaker_reading(resolved, one)


def wire(resolved: Resolved, laid: Laid, interlocks: Sequence[tuple[int, Instants]]) -> dict[str, Wired]:
    """Every circuit that carries something, or could, by id."""
    supply = resolved.household.supply
    two_legs = supply.inverter.legs == 2
    by_id = {circuit.id: circuit for circuit in supply.circuits}
    paths = {circuit.id: _path(circuit, by_id) for circuit in supply.circuits}
    wired: dict[str, Wired] = {}
    there = np.bincount(laid.pieces.appliance, minlength=len(laid.rows.appliances)) > 0
    fed = [
        _Fed(place, by_id[appliance.circuit].leg, paths[appliance.circuit])
        for place, appliance in enumerate(laid.rows.appliances)
        if appliance.circuit is not None
    ]
    idle: View | None = None  # what nothing draws on that day looks alike

    def seen(weight: Floats) -> View:
        nonlocal idle
        if weight[there].any():
            return view_of(resolved, laid, scope_of(laid, weight, np.empty(0), interlocks))
        idle = idle or view_of(resolved, laid, scope_of(laid, weight, np.empty(0), interlocks))
        return replace(idle, scope=replace(idle.scope, weight=weight))

    sure = _sure(resolved, laid, interlocks)
    conductor_v = supply.inverter.ac_voltage / (2 if two_legs else 1)
    for circuit in supply.circuits:
        both = two_legs and circuit.leg == "AB"
        weights = {leg: _weights(len(there), fed, circuit.id, leg) for leg in (circuit.leg if two_legs else ("",))}
        of_v = supply.inverter.ac_voltage if both else conductor_v
        conductors = tuple(Conductor(leg, seen(weight), conductor_v, of_v) for leg, weight in weights.items())
        losing, alone = conductors, {leg: weight == 1 for leg, weight in weights.items()}
        if both and has_cable(circuit) and any(on_it.any() for on_it in alone.values()):
            losing = tuple(
                Conductor(
                    leg,
                    seen(np.where(alone[leg], 1.0, weight / 2)),
                    conductor_v,
                    conductor_v,
                    _scope_of(laid, sure & alone["B" if leg == "A" else "A"]),
                )
                for leg, weight in weights.items()
            )
        wired[circuit.id] = Wired(circuit, conductors, paths[circuit.id], losing)
    return wired


def _sure(resolved: Resolved, laid: Laid, interlocks: Sequence[tuple[int, Instants]]) -> Flags:
    """Which appliances do run whenever the plan says so: none that something keeps off, or that runs when one likes."""
    household = resolved.household
    by_id = {appliance.id: appliance for appliance in laid.rows.appliances}
    free, asked = set(), list(household.any_time)
    while asked:
        one = asked.pop()
        if one in by_id and one not in free:
            free.add(one)
            asked += [call.appliance for stage in by_id[one].stages for call in stage.sets_off]
    if household.supply.water is not None:
        free.add(household.supply.water.pump)
    sure = np.array([appliance.id not in free for appliance in laid.rows.appliances], dtype=bool)
    for _, members in interlocks:
        sure[members] = False
    return sure


def _scope_of(laid: Laid, which: Flags) -> Scope | None:
    """The scope of some appliances; None where they draw nothing for sure."""
    pieces = laid.pieces
    if not (which[pieces.appliance] & ~pieces.cycling).any():
        return None
    return scope_of(laid, which.astype(float), np.empty(0))


def leg_weights(resolved: Resolved, laid: Laid, leg: str) -> Floats:
    """What each appliance puts on a leg: all of what is wired to it, half of what lies between both."""
    legs = {circuit.id: circuit.leg for circuit in resolved.household.supply.circuits}
    shares = {leg: 1.0, "AB": 0.5}
    return np.array(
        [shares.get("AB" if one.circuit is None else legs[one.circuit], 0.0) for one in laid.rows.appliances]
    )


class _Fed(NamedTuple):
    """An appliance on a circuit: its place, its circuit's leg, and the circuits it is fed through."""

    place: int
    leg: str
    path: tuple[str, ...]


def _weights(appliances: int, fed: list[_Fed], circuit_id: str, leg: str) -> Floats:
    """What each appliance puts on a conductor of a circuit."""
    weight = np.zeros(appliances)
    for one in fed:
        if circuit_id in one.path:
            weight[one.place] = 1.0 if not leg or one.leg == leg else 0.5 if one.leg == "AB" else 0.0
    return weight


def _path(circuit: Circuit, by_id: dict[str, Circuit]) -> tuple[str, ...]:
    path = [circuit.id]
    while (feeder := by_id[path[-1]].fed_from) is not None:
        path.append(feeder)
    return tuple(path)


def _breaker_reading(resolved: Resolved, wired: Wired) -> LimitReading:
    circuit, rules = wired.circuit, resolved.household.supply.rules
    breaker_a = circuit.breaker_a
    assert breaker_a is not None  # only circuits with a breaker are read here
    trip_a = breaker_a * getattr(rules.trip_multiple, circuit.curve)
    wanted = resolved.day.wanted_margin
    cable_too_thin = circuit.cable_a is not None and breaker_a > circuit.cable_a

    def verdict(use_a: float, start_a: float, long: bool) -> Verdict:
        if cable_too_thin or use_a > breaker_a * (1 + HAIR) or start_a > trip_a * (1 + HAIR):
            return "over"
        return "tight" if long or breaker_a - use_a < wanted * breaker_a * (1 - HAIR) else "fits"

    worst = [conductor.current_a(conductor.view.scope.worst) for conductor in wired.conductors]
    certain = [conductor.current_a(conductor.view.scope.certain) for conductor in wired.conductors]
    start_a = max(_largest_start_a(conductor, certain=False) for conductor in wired.conductors)
    certain_start_a = max(_largest_start_a(conductor, certain=True) for conductor in wired.conductors)
    heaviest = max(range(len(worst)), key=lambda index: worst[index].max())
    conductor = wired.conductors[heaviest]
    scope = conductor.view.scope
    use_a = float(worst[heaviest].max())
    stretch = int((worst[heaviest] >= use_a * (1 - HAIR)).argmax())
    at_ms = int(scope.t_ms[stretch])
    certain_a = max(float(one.max()) for one in certain)
    long = any(_long_above(c.view.scope.t_ms, a, breaker_a) for c, a in zip(wired.conductors, worst, strict=True))
    certain_long = any(
        _long_above(c.view.scope.t_ms, a, breaker_a) for c, a in zip(wired.conductors, certain, strict=True)
    )
    found = verdict(use_a, start_a, long)
    return LimitReading(
        id=f"circuit:{circuit.id}", direction="ceiling", limit=breaker_a, unit="A", use=use_a,
        margin=breaker_a - use_a, at_ms=at_ms, verdict=found,
        verdict_certain=verdict(certain_a, certain_start_a, certain_long), use_certain=certain_a,
        contributors=conductor.view.contributors(at_ms),
        circuit=CircuitReading(start_a, trip_a, circuit.cable_a),
        broken_at_ms=at_ms if found == "over" else None,
    )  # fmt: skip


def _largest_start_a(conductor: Conductor, *, certain: bool) -> float:
    scope = conductor.view.scope
    largest = float(conductor.current_a(scope.certain_started if certain else scope.worst_started).max())
    if not certain:
        for start in conductor.view.unscheduled:
            if len(start.stretch):
                largest = max(largest, float(conductor.current_a(start.total).max()))
    return largest


def _long_above(t_ms: Floats, current_a: Floats, breaker_a: float) -> bool:
    """Three hours or more on end above 80 % of the breaker."""
    above = exceeds(current_a, LONG_SHARE * breaker_a)
    if not above.any():
        return False
    edge = np.diff(np.concatenate(([0], above.astype(np.int8), [0])))
    lengths_ms = t_ms[np.flatnonzero(edge == -1)] - t_ms[np.flatnonzero(edge == 1)]
    return bool((lengths_ms >= LONG_HOURS_MS).any())


def source_current_a(supply: Supply) -> float:
    """The most the inverter gives into a fault: its top level over its voltage."""
    return supply.inverter.overload[-1][0] / supply.inverter.ac_voltage
