"""Any-time loads: when a kettle may not be on.

Each stretch of constant schedule is tried as if it lasted the load's whole run: the heat stores begin empty,
every cycling load of the stretch comes on with it, planned starts are left out.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from app.engine.circuits import FeedPath, feed_path
from app.engine.day import PlannedDay, lay_day
from app.engine.draw import HAIR, Draws
from app.engine.expand import called_pieces
from app.engine.heat import Flags, Rule, exceeds, store_s
from app.engine.inverter import quantities as inverter_quantities
from app.engine.patterns import Quantities, leave_out
from app.engine.results import AnyTime, Floats, Instants, NotThen
from app.engine.scope import Scope, with_cyclers

_STEADY_IDS = ("inverter_continuous", "inverter_apparent")
HALF = 0.5  # of a short-time allowance: more than that is not left to chance


@dataclass(frozen=True, slots=True, eq=False)
class Guest:
    """An any-time load as it would run from now on, with all it sets off.

    edge_ms: shape (n + 1,), from 0 to its end. row: per piece, its stage's row. on: shape (pieces, n).
    starts: (phase, piece) of each start.
    """

    edge_ms: Floats
    row: Instants
    on: Flags
    starts: tuple[tuple[int, int], ...]


def any_time_loads(day: PlannedDay) -> Iterator[AnyTime]:
    """When each any-time load of a plan may not be on."""
    places = {appliance.id: place for place, appliance in enumerate(day.rows.appliances)}
    for appliance_id in day.resolved.household.any_time:
        if appliance_id not in places or appliance_id in day.resolved.day.off:
            continue
        yield AnyTime(appliance_id, tuple(_not_then(_without(day, appliance_id), places[appliance_id])))


def _without(day: PlannedDay, appliance_id: str) -> PlannedDay:
    """The day without the load's own planned runs: it is one machine."""
    planned = day.resolved.day
    if not any(run.on and run.appliance == appliance_id for run in planned.runs):
        return day
    runs = tuple(run for run in planned.runs if run.appliance != appliance_id)
    return lay_day(replace(day.resolved, day=replace(planned, runs=runs)))


def _guest(day: PlannedDay, place: int) -> Guest:
    pieces = list(called_pieces(day.resolved, day.rows, place))
    edges = np.unique([0] + [edge for _, begin, end in pieces for edge in (begin, end)]).astype(float)
    row = np.array([piece[0] for piece in pieces], dtype=np.int64)
    begin, end = (np.array([piece[k] for piece in pieces])[:, None] for k in (1, 2))
    on = (begin <= edges[:-1]) & (end > edges[:-1])
    starts = tuple(
        (int(np.argmax(on[index])), index) for index in range(len(pieces)) if day.rows.start_ms[row[index]] > 0
    )
    return Guest(edges, row, on, starts)


def _guest_draws(day: PlannedDay, guest: Guest, weight: Floats) -> Draws:
    """Its draws in a scope, phase by phase; shape (n,)."""
    own = day.rows.running.take(guest.row).times(weight[day.rows.appliance[guest.row]])
    flags = guest.on.astype(float)
    return Draws(*(one @ flags for one in (own.p_w, own.q_var, own.d_va, own.spread_w2)))


def _guest_starts(day: PlannedDay, guest: Guest, weight: Floats) -> list[tuple[float, Draws]]:
    """Its starts in a scope: (seconds, draws of all of it in that moment)."""
    phases, found = _guest_draws(day, guest, weight), []
    rows = day.rows
    for phase, index in guest.starts:
        row = guest.row[index]
        share = float(weight[rows.appliance[row]])
        own = rows.running.take(row).times(share)
        kick = Draws(rows.start_p_w[row] * share, rows.start_q_var[row] * share, np.zeros(()), np.zeros(()))
        found.append((float(rows.start_ms[row]) / 1000, phases.take(phase) - own + kick))
    return found


def _not_then(day: PlannedDay, place: int) -> Iterator[NotThen]:
    guest = _guest(day, place)
    t_ms = _grid(day, guest)
    at_ms = (t_ms[:-1] + t_ms[1:]) / 2
    refused: dict[str, Flags] = {}

    def refuse(limit: str, flags: Flags) -> None:
        refused[limit] = refused.get(limit, np.zeros(len(at_ms), dtype=bool)) | flags

    ruled: list[tuple[Scope, Rule, Quantities, tuple[str, ...], str]] = [
        (day.house.scope, day.rule, inverter_quantities, _STEADY_IDS, "inverter_overload"),
        *(
            (view.scope, day.leg_rule, inverter_quantities, (f"leg:{leg}",) * 2, f"leg:{leg}")
            for leg, view in day.legs.items()
        ),
        (day.house.scope, day.bank.rule, day.bank.quantities, ("battery_continuous",), "battery_peak"),
    ]
    for scope, rule, quantities, steady_ids, top_id in ruled:
        if _guest_draws(day, guest, scope.weight).p_w.any():
            for limit, flags in _ruled_out(day, guest, scope, rule, quantities, at_ms, steady_ids, top_id):
                refuse(limit, flags)
    for limit, flags in _bank_refuses(day, guest, at_ms):
        refuse(limit, flags)
    for limit, flags in _circuits_refuse(day, guest, at_ms):
        refuse(limit, flags)
    yield from _joined(t_ms, refused)


def _joined(t_ms: Floats, refused: dict[str, Flags]) -> Iterator[NotThen]:
    """Neighbouring stretches as one, named by the limit that refuses longest."""
    ids = list(refused)
    flags = np.array([refused[one] for one in ids]).reshape(len(ids), len(t_ms) - 1)
    edge = np.diff(np.concatenate(([0], flags.any(axis=0).astype(np.int8), [0])))
    for begin, end in zip(np.flatnonzero(edge == 1), np.flatnonzero(edge == -1), strict=True):
        held_ms = flags[:, begin:end] @ np.diff(t_ms[begin : end + 1])
        yield NotThen(int(np.ceil(t_ms[begin])), int(np.ceil(t_ms[end])), ids[int(np.argmax(held_ms))])


def _grid(day: PlannedDay, guest: Guest) -> Floats:
    """Stretches of constant schedule, cut also where a limit passes through a total with the guest."""
    cuts = [day.house.scope.t_ms]
    seen = [
        (day.house.scope, day.rule, inverter_quantities),
        (day.house.scope, day.bank.rule, day.bank.quantities),
    ]
    seen += [(view.scope, day.leg_rule, inverter_quantities) for view in day.legs.values()]
    for scope, rule, quantities in seen:
        if all(check.line.is_flat for check in rule.checks):
            continue
        phases = _guest_draws(day, guest, scope.weight)
        extra = [phases.take(phase) for phase in range(len(phases.p_w))]
        extra += [draws for _, draws in _guest_starts(day, guest, scope.weight)]
        for one in extra:
            use = quantities(scope.worst + one)
            for check in rule.checks:
                limit = check.line.at(scope.t_ms)
                begin, end, total = limit[:-1], limit[1:], use[check.quantity]
                through = np.flatnonzero((total - begin) * (total - end) < 0)
                part = (total[through] - begin[through]) / (end[through] - begin[through])
                cuts.append(scope.t_ms[through] + part * np.diff(scope.t_ms)[through])
    return np.unique(np.concatenate(cuts))


def _ruled_out(
    day: PlannedDay, guest: Guest, scope: Scope, rule: Rule, quantities: Quantities, at_ms: Floats,
    steady_ids: tuple[str, ...], top_id: str,
) -> Iterator[tuple[str, Flags]]:  # fmt: skip
    """Where a rule with levels and times refuses the guest."""
    worst = scope.worst.take(scope.stretch_at(at_ms))
    phases = _guest_draws(day, guest, scope.weight)
    limits = [check.line.at(at_ms) for check in rule.checks]
    for start_s, draws in _guest_starts(day, guest, scope.weight):
        use = quantities(worst + draws)
        for check, limit in zip(rule.checks, limits, strict=True):
            allowed_s = 0.0 if check.store is None else rule.allowed_s[check.store]
            if start_s > allowed_s * (1 + HAIR):
                yield top_id, exceeds(use[check.quantity], limit)
    # With everything on at once nothing is above any level: then no pattern is either.
    busy = np.zeros(len(at_ms), dtype=bool)
    for phase in range(len(phases.p_w)):
        use = quantities(worst + phases.take(phase))
        for check, limit in zip(rule.checks, limits, strict=True):
            busy |= exceeds(use[check.quantity], limit)
    chosen = np.flatnonzero(busy)
    if not len(chosen):
        return
    t_ms, draws = _together(guest, scope, at_ms[chosen], phases)
    use = quantities(draws)
    above = [
        exceeds(use[check.quantity], limit[chosen][:, None]) for check, limit in zip(rule.checks, limits, strict=True)
    ]
    seconds = np.broadcast_to(np.diff(t_ms) / 1000, use[0].shape)
    for check, flags in zip(rule.checks, above, strict=True):
        if check.store is None:
            yield top_id, _placed(at_ms, chosen, np.asarray(flags.any(axis=1)))
    for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
        own = [(check, flags) for check, flags in zip(rule.checks, above, strict=True) if check.store == store]
        filling = np.asarray(np.any([flags for _, flags in own], axis=0))
        held = store_s(seconds, filling, allowed_s, cooling_s)
        too_much = exceeds(held.max(axis=1), HALF * allowed_s)
        if store > 0:
            yield top_id, _placed(at_ms, chosen, too_much)
            continue
        for check, flags in own:
            yield steady_ids[check.quantity], _placed(at_ms, chosen, np.asarray(too_much & flags.any(axis=1)))


def _together(guest: Guest, scope: Scope, at_ms: Floats, phases: Draws) -> tuple[Floats, Draws]:
    """The guest with every cycling load of each stretch coming on with it.

    Returns edges from the guest's beginning, shape (n + 1,), and draws, shape (stretches, n).
    """
    cyclers = scope.cyclers
    end_ms = float(guest.edge_ms[-1])
    there = (cyclers.begin_ms[:, None] <= at_ms) & (cyclers.end_ms[:, None] > at_ms)
    edges = [guest.edge_ms]
    for place in np.flatnonzero(there.any(axis=1)):
        cycles = np.arange(int(end_ms / cyclers.period_ms[place]) + 1) * float(cyclers.period_ms[place])
        goes_off = cyclers.longest_ms[place] + cycles
        goes_on = goes_off + float(cyclers.period_ms[place] - cyclers.on_ms[place])
        edges += [goes_off[goes_off < end_ms], goes_on[goes_on < end_ms]]
    t_ms = np.unique(np.concatenate(edges))
    since_ms = (t_ms[:-1] + t_ms[1:]) / 2
    longest, period, on = (one[:, None] for one in (cyclers.longest_ms, cyclers.period_ms, cyclers.on_ms))
    running = (since_ms < longest) | (np.mod(since_ms - longest, np.maximum(period, 1)) >= period - on)
    flags = there[:, :, None] & running[:, None, :]
    phase = np.clip(np.searchsorted(guest.edge_ms, since_ms, side="right") - 1, 0, len(guest.edge_ms) - 2)
    stretch = scope.stretch_at(at_ms)
    shape = (len(at_ms), len(since_ms))
    own = scope.certain.take(stretch)
    draws = with_cyclers(own.take((slice(None), None)) + phases.take(phase), cyclers.draws, flags)
    return t_ms, leave_out(draws, scope, cyclers, flags, np.broadcast_to(at_ms[:, None], shape))


def _bank_refuses(day: PlannedDay, guest: Guest, at_ms: Floats) -> Iterator[tuple[str, Flags]]:
    """Where the voltage or the fuse refuses the guest."""
    scope, bank = day.house.scope, day.bank
    supply = day.resolved.household.supply
    worst = scope.worst.take(scope.stretch_at(at_ms))
    phases = _guest_draws(day, guest, scope.weight)
    cut_off_v, delay_s = supply.inverter.cut_off_v * (1 - HAIR), supply.inverter.cut_off_delay_s * (1 - HAIR)
    seconds = np.diff(guest.edge_ms) / 1000
    dip_s = np.zeros(len(at_ms))
    for phase in range(len(phases.p_w)):
        draws = worst + phases.take(phase)
        below = bank.terminal_v(draws) < cut_off_v
        dip_s = np.where(below, dip_s + seconds[phase], 0.0)
        yield "battery_voltage", (below & (dip_s >= delay_s)) | bank.collapses(draws)
        if supply.battery.dc_fuse_a is not None:
            yield "dc_fuse", exceeds(bank.current_a(draws), supply.battery.dc_fuse_a)
    for start_s, draws in _guest_starts(day, guest, scope.weight):
        total = worst + draws
        yield (
            "battery_voltage",
            ((bank.terminal_v(total) < cut_off_v) & (start_s >= delay_s)) | bank.collapses(total),
        )


def _circuits_refuse(day: PlannedDay, guest: Guest, at_ms: Floats) -> Iterator[tuple[str, Flags]]:
    """Where a breaker or a cable refuses the guest."""
    rules = day.resolved.household.supply.rules
    for one in day.wired.values():
        circuit = one.circuit
        touched = [c for c in one.conductors if _guest_draws(day, guest, c.view.scope.weight).p_w.any()]
        for conductor in touched if circuit.breaker_a is not None else ():
            scope = conductor.view.scope
            worst = scope.worst.take(scope.stretch_at(at_ms))
            phases = _guest_draws(day, guest, scope.weight)
            assert circuit.breaker_a is not None  # of the loop above
            for phase in range(len(phases.p_w)):
                current_a = conductor.current_a(worst + phases.take(phase))
                yield f"circuit:{circuit.id}", exceeds(current_a, circuit.breaker_a)
            trip_a = circuit.breaker_a * getattr(rules.trip_multiple, circuit.curve)
            for _, draws in _guest_starts(day, guest, scope.weight):
                yield f"circuit:{circuit.id}", exceeds(conductor.current_a(worst + draws), trip_a)
        if circuit.cable_m is not None:
            yield from _cable_refuses(day, guest, feed_path(one, day.wired), circuit.id, at_ms)


def _cable_refuses(
    day: PlannedDay, guest: Guest, path: FeedPath, circuit_id: str, at_ms: Floats
) -> Iterator[tuple[str, Flags]]:
    rules = day.resolved.household.supply.rules
    scopes = [conductor.view.scope for _, conductor in path.parts]
    phases = [_guest_draws(day, guest, scope.weight) for scope in scopes]
    if not any(one.p_w.any() for one in phases):
        return
    for phase in range(len(phases[0].p_w)):
        percent = path.percent(at_ms, extra=tuple(one.take(phase) for one in phases))
        yield f"voltage_drop:{circuit_id}", exceeds(percent, 100 * rules.drop_running)
    starts = [_guest_starts(day, guest, scope.weight) for scope in scopes]
    for number in range(len(guest.starts)):
        percent = path.percent(at_ms, extra=tuple(one[number][1] for one in starts))
        yield f"voltage_drop:{circuit_id}", exceeds(percent, 100 * rules.drop_starting)


def _placed(at_ms: Floats, chosen: Instants, flags: Flags) -> Flags:
    """Flags of some stretches, among all of them."""
    placed = np.zeros(len(at_ms), dtype=bool)
    placed[chosen] = flags
    return placed
