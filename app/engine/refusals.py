"""Where the bank, a breaker or a cable refuses an any-time load."""

from collections.abc import Iterable, Iterator

import numpy as np

from app.engine.cables import FeedPath, feed_path
from app.engine.circuits import has_cable
from app.engine.draw import HAIR, Draws
from app.engine.heat import exceeds
from app.engine.results import Flags, Floats
from app.engine.visit import Stay, Visit


def bank_refuses(stay: Stay) -> Iterator[tuple[str, Flags]]:
    """Where the voltage or the fuse refuses the guest."""
    bank, visit, supply = stay.day.bank, stay.visit(stay.day.house), stay.day.resolved.household.supply
    cut_off_v, delay_s = supply.inverter.cut_off_v * (1 - HAIR), supply.inverter.cut_off_delay_s * (1 - HAIR)
    seconds = np.diff(stay.guest.edge_ms) / 1000
    dip_s = np.zeros(len(stay.at_ms))
    for phase, total in enumerate(visit.totals):
        loaded = bank.under(total)
        below = loaded.terminal_v < cut_off_v
        dip_s = np.where(below, dip_s + seconds[phase], 0.0)
        yield "battery_voltage", (below & (dip_s >= delay_s)) | loaded.collapses
        if supply.battery.dc_fuse_a is not None:
            yield "dc_fuse", exceeds(loaded.current_a, supply.battery.dc_fuse_a)
    for moment in visit.moments:
        loaded = bank.under(moment.total)
        too_low = (loaded.terminal_v < cut_off_v) & (moment.seconds >= delay_s)
        yield "battery_voltage", moment.there & (too_low | loaded.collapses)


def circuits_refuse(stay: Stay) -> Iterator[tuple[str, Flags]]:
    """Where a breaker or a cable refuses the guest."""
    day = stay.day
    rules = day.resolved.household.supply.rules
    touched = {
        circuit_id: [conductor for conductor in one.conductors if stay.touches(conductor.view)]
        for circuit_id, one in day.wired.items()
    }
    for circuit_id, one in day.wired.items():
        circuit = one.circuit
        for conductor in touched[circuit_id] if circuit.breaker_a is not None else ():
            visit = stay.visit(conductor.view)
            assert circuit.breaker_a is not None  # of the loop above
            for total in visit.totals:
                yield f"circuit:{circuit_id}", exceeds(conductor.current_a(total), circuit.breaker_a)
            trip_a = circuit.breaker_a * getattr(rules.trip_multiple, circuit.curve)
            for moment in visit.moments:
                yield f"circuit:{circuit_id}", moment.there & exceeds(conductor.current_a(moment.total), trip_a)
        if has_cable(circuit) and any(touched[feeder] for feeder in one.path):
            yield from _cable_refuses(stay, feed_path(one, day.wired), circuit_id)


def _cable_refuses(stay: Stay, path: FeedPath, circuit_id: str) -> Iterator[tuple[str, Flags]]:
    guest, at_ms = stay.guest, stay.at_ms
    rules = stay.day.resolved.household.supply.rules
    visits = [stay.visit(conductor.view) for _, conductor in path.parts]

    def percent(totals: Iterable[Draws]) -> Floats:
        return path.percent(at_ms, extra=tuple(map(Visit.more_than_worst, visits, totals)))

    phases = range(len(visits[0].totals))
    for phase in phases:
        lost = percent(visit.totals[phase] for visit in visits)
        yield f"voltage_drop:{circuit_id}", exceeds(lost, 100 * rules.drop_running)
    # Its own starts count where they stand behind the circuit; on a feeder it shares it only runs.
    for number, (_, piece, _) in enumerate(guest.starts):
        if any(conductor.view.scope.weight[guest.machine[piece]] > 0 for conductor in path.own):
            lost = percent(visit.starts[number].total for visit in visits)
            yield f"voltage_drop:{circuit_id}", exceeds(lost, 100 * rules.drop_starting)
    behind = {piece: moments for conductor in path.own for piece, moments in stay.visit(conductor.view).beside.items()}
    for piece, moments in behind.items():
        for phase in phases:
            lost = percent(
                visit.beside[piece][phase].total if piece in visit.beside else visit.totals[phase] for visit in visits
            )
            yield f"voltage_drop:{circuit_id}", moments[phase].there & exceeds(lost, 100 * rules.drop_starting)
