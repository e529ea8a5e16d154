"""Circuits: the current in their conductors against breaker and cable, and the voltage lost on the way."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from app.engine.draw import HAIR, Draws
from app.engine.expand import Laid
from app.engine.heat import exceeds
from app.engine.readings import View, view_of
from app.engine.results import CircuitReading, DropReading, Floats, Instants, LimitReading, Verdict, worst_of
from app.engine.scope import scope_of
from app.engine.starts import Unscheduled
from app.household.resolve import Resolved
from app.household.supply import Circuit, Supply

# IEC 60364-5-52 Annex G: copper at working temperature, 1.25 times its 20 degC value; reactance per metre.
COPPER_OHM_MM2_PER_M = 0.0225
REACTANCE_OHM_PER_M = 0.08e-3
# IEC 60898-1 Table 2: at the upper multiple of its rating a breaker must trip at once.
UPPER_TRIP_MULTIPLE = {"B": 5, "C": 10, "D": 20}

LONG_HOURS_MS, LONG_SHARE = 3 * 3_600_000, 0.8
DROP_TIGHT_POINTS = 0.5


def drop_v(current_a: Floats | float, cable_m: float, conductor_mm2: float, cos_phi: Floats | float) -> Floats:
    """Volts lost in a single-phase cable, there and back: 2 I (rho L/A cos phi + lambda L sin phi).

    Source: IEC 60364-5-52 Annex G, with b = 2, copper. Never a gain: sin phi counts as inductive.
    """
    sin_phi = np.sqrt(np.maximum(1 - np.square(cos_phi), 0.0))
    resistance_ohm = COPPER_OHM_MM2_PER_M * cable_m / conductor_mm2
    along_ohm = resistance_ohm * np.asarray(cos_phi) + REACTANCE_OHM_PER_M * cable_m * sin_phi
    return np.asarray(2 * np.asarray(current_a) * along_ohm)


@dataclass(frozen=True, slots=True, eq=False)
class Conductor:
    """One conductor of a circuit: on which leg ("" in a house with one), what it carries, at what volts."""

    leg: str
    view: View
    volts: float

    def current_a(self, draws: Draws) -> Floats:
        """Amperes, uncertainty included."""
        return draws.use_va / self.volts


@dataclass(frozen=True, slots=True, eq=False)
class Wired:
    """A circuit with its conductors and the circuits it is fed through, itself first."""

    circuit: Circuit
    conductors: tuple[Conductor, ...]
    volts: float
    path: tuple[str, ...]


def circuit_limits(resolved: Resolved, wired: dict[str, Wired]) -> Iterator[LimitReading]:
    """The readings `circuit:ID` and `voltage_drop:ID`."""
    for one in wired.values():
        if one.circuit.breaker_a is not None:
            yield _breaker_reading(resolved, one)
    for one in wired.values():
        if one.circuit.cable_m is not None:
            yield _drop_reading(resolved, one, wired)


def wire(resolved: Resolved, laid: Laid, interlocks: Sequence[tuple[int, Instants]]) -> dict[str, Wired]:
    """Every circuit that carries something, or could, by id."""
    supply = resolved.household.supply
    two_legs = supply.inverter.legs == 2
    by_id = {circuit.id: circuit for circuit in supply.circuits}
    paths = {circuit.id: _path(circuit, by_id) for circuit in supply.circuits}
    wired: dict[str, Wired] = {}
    for circuit in supply.circuits:
        halves = two_legs and circuit.leg != "AB"
        volts = supply.inverter.ac_voltage / (2 if halves else 1)
        conductors = []
        for leg in circuit.leg if two_legs else ("",):
            weight = _weights(laid, circuit, leg, by_id, paths)
            scope = scope_of(laid, weight, np.empty(0), interlocks)
            conductor_v = supply.inverter.ac_voltage / (2 if two_legs else 1)
            conductors.append(Conductor(leg, view_of(resolved, laid, scope), conductor_v))
        wired[circuit.id] = Wired(circuit, tuple(conductors), volts, paths[circuit.id])
    return wired


def leg_weights(resolved: Resolved, laid: Laid, leg: str) -> Floats:
    """What each appliance puts on a leg: all of what is wired to it, half of what lies between both."""
    legs = {circuit.id: circuit.leg for circuit in resolved.household.supply.circuits}
    shares = {leg: 1.0, "AB": 0.5}
    return np.array(
        [shares.get("AB" if one.circuit is None else legs[one.circuit], 0.0) for one in laid.rows.appliances]
    )


def _weights(
    laid: Laid, circuit: Circuit, leg: str, by_id: dict[str, Circuit], paths: dict[str, tuple[str, ...]]
) -> Floats:
    """What each appliance puts on a conductor of a circuit."""
    weight = np.zeros(len(laid.rows.appliances))
    for place, appliance in enumerate(laid.rows.appliances):
        if appliance.circuit is None or circuit.id not in paths[appliance.circuit]:
            continue
        its_leg = by_id[appliance.circuit].leg
        weight[place] = 1.0 if not leg or its_leg == leg else 0.5 if its_leg == "AB" else 0.0
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
    stretch = int(np.flatnonzero(worst[heaviest] >= use_a * (1 - HAIR))[0])
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
    running = scope.certain if certain else scope.worst
    largest = float(conductor.current_a(running + scope.kick).max())
    if not certain:
        for start in conductor.view.unscheduled:
            if len(start.stretch):
                largest = max(largest, float(conductor.current_a(start.total).max()))
    return largest


def _long_above(t_ms: Floats, current_a: Floats, breaker_a: float) -> bool:
    """Three hours or more on end above 80 % of the breaker."""
    above = exceeds(current_a, LONG_SHARE * breaker_a)
    edge = np.diff(np.concatenate(([0], above.astype(np.int8), [0])))
    lengths_ms = t_ms[np.flatnonzero(edge == -1)] - t_ms[np.flatnonzero(edge == 1)]
    return bool((lengths_ms >= LONG_HOURS_MS).any())


@dataclass(frozen=True, slots=True, eq=False)
class FeedPath:
    """A circuit's feed path on one grid: per cabled circuit of it, per conductor, its running draws."""

    t_ms: Floats
    own: tuple[Conductor, ...]
    parts: tuple[tuple[Wired, Conductor], ...]

    def percent(self, at_ms: Floats, *, certain: bool = False, extra: tuple[Draws, ...] | None = None) -> Floats:
        """Drop along the path at instants, each circuit by its larger conductor; extra: draws per part, on top."""
        largest: dict[str, Floats] = {}
        for place, (wired, conductor) in enumerate(self.parts):
            scope = conductor.view.scope
            draws = (scope.certain if certain else scope.worst).take(scope.stretch_at(at_ms))
            if extra is not None:
                draws = draws + extra[place]
            percent = _percent(wired, conductor, draws)
            largest[wired.circuit.id] = np.maximum(largest.get(wired.circuit.id, percent), percent)
        return np.asarray(np.sum(list(largest.values()), axis=0))

    def behind(self, own: Sequence[Draws], nothing: Draws) -> tuple[Draws, ...]:
        """What stands behind the circuit, given per own conductor, as every part of the path carries it."""
        legs = [conductor.leg for conductor in self.own]
        return tuple(
            own[legs.index(conductor.leg)] if conductor.leg in legs else nothing for _, conductor in self.parts
        )


def feed_path(wired: Wired, all_wired: dict[str, Wired]) -> FeedPath:
    """The feed path of a circuit with a cable."""
    cabled = [all_wired[one] for one in wired.path if all_wired[one].circuit.cable_m is not None]
    parts = tuple((one, conductor) for one in cabled for conductor in one.conductors)
    t_ms = np.unique(np.concatenate([conductor.view.scope.t_ms for _, conductor in parts]))
    return FeedPath(t_ms, wired.conductors, parts)


def _percent(wired: Wired, conductor: Conductor, draws: Draws) -> Floats:
    circuit = wired.circuit
    assert circuit.cable_m is not None  # only cabled circuits lose voltage
    assert circuit.conductor_mm2 is not None
    cos_phi = draws.p_w / np.maximum(draws.va, HAIR)
    volts = drop_v(conductor.current_a(draws), circuit.cable_m, circuit.conductor_mm2, np.clip(cos_phi, 0, 1))
    return 100 * volts / wired.volts


def _drop_reading(resolved: Resolved, wired: Wired, all_wired: dict[str, Wired]) -> LimitReading:
    rules = resolved.household.supply.rules
    path = feed_path(wired, all_wired)
    begin_ms = path.t_ms[:-1]
    running = path.percent(begin_ms)
    running_certain = path.percent(begin_ms, certain=True)
    kicks = [c.view.scope.kick.take(c.view.scope.stretch_at(begin_ms)) for c in wired.conductors]
    starting, starting_certain = running, running_certain
    if any(kick.p_w.any() or kick.q_var.any() for kick in kicks):
        extra = path.behind(kicks, kicks[0].times(0.0))
        starting = path.percent(begin_ms, extra=extra)
        starting_certain = path.percent(begin_ms, certain=True, extra=extra)
    start_percent, start_at_ms, starter = _first_largest(starting, begin_ms)
    for start, percent, at_ms in _unscheduled_percent(path):
        if (percent, -at_ms) > (start_percent, -start_at_ms):
            start_percent, start_at_ms, starter = percent, at_ms, start
    running_percent, running_at_ms, _ = _first_largest(running, begin_ms)
    limits = (100 * rules.drop_running, 100 * rules.drop_starting)
    margins = (limits[0] - running_percent, limits[1] - start_percent)
    certain = (float(running_certain.max()), float(starting_certain.max()))
    chosen = 0 if margins[0] <= margins[1] else 1
    use = (running_percent, start_percent)[chosen]
    at_ms = (running_at_ms, start_at_ms)[chosen]
    certain_chosen = 0 if limits[0] - certain[0] <= limits[1] - certain[1] else 1
    verdict = worst_of(*map(_drop_verdict, margins, limits))
    return LimitReading(
        id=f"voltage_drop:{wired.circuit.id}", direction="ceiling", limit=limits[chosen], unit="%", use=use,
        margin=margins[chosen], at_ms=at_ms, verdict=verdict,
        verdict_certain=worst_of(*(_drop_verdict(b - a, b) for a, b in zip(certain, limits, strict=True))),
        use_certain=certain[certain_chosen],
        contributors=wired.conductors[0].view.contributors(
            at_ms, starter if chosen else None, starts=bool(chosen) and starter is None
        ),
        drop=DropReading(running_percent, start_percent), broken_at_ms=at_ms if verdict == "over" else None,
    )  # fmt: skip


def _unscheduled_percent(path: FeedPath) -> Iterator[tuple[Unscheduled, float, int]]:
    """The largest drop with each unscheduled start behind the circuit, and its first instant."""
    by_piece: dict[int, list[tuple[int, Unscheduled]]] = {}
    for index, conductor in enumerate(path.own):
        for start in conductor.view.unscheduled:
            by_piece.setdefault(start.piece, []).append((index, start))
    for starts in by_piece.values():
        head = starts[0][1]
        scope = path.own[starts[0][0]].view.scope
        begin, end = scope.cyclers.begin_ms[head.place], scope.cyclers.end_ms[head.place]
        at_ms = path.t_ms[(path.t_ms >= begin) & (path.t_ms < end)]
        if not len(at_ms):
            continue
        nothing = Draws(*(np.zeros(len(at_ms)) for _ in range(4)))
        kicks = [nothing for _ in path.own]
        for index, start in starts:
            own = path.own[index].view.scope
            where = np.searchsorted(start.stretch, own.stretch_at(at_ms))
            kicks[index] = start.total.take(where) - own.worst.take(own.stretch_at(at_ms))
        percent, first_ms, _ = _first_largest(path.percent(at_ms, extra=path.behind(kicks, nothing)), at_ms)
        yield head, percent, first_ms


def _first_largest(percent: Floats, at_ms: Floats) -> tuple[float, int, Unscheduled | None]:
    largest = float(percent.max())
    return largest, int(at_ms[np.flatnonzero(percent >= largest * (1 - HAIR))[0]]), None


def _drop_verdict(margin: float, limit: float) -> Verdict:
    if margin < -HAIR * limit:
        return "over"
    return "tight" if margin < DROP_TIGHT_POINTS * (1 - HAIR) else "fits"


def source_current_a(supply: Supply) -> float:
    """The most the inverter gives into a fault: its top level over its voltage."""
    return supply.inverter.overload[-1][0] / supply.inverter.ac_voltage
