"""Any-time loads: when a kettle may not be on.

Each stretch of constant schedule is tried as if it lasted the load's whole run: the heat stores begin empty,
every cycling load of the stretch comes on with it, planned starts are left out.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from app.engine.cables import FeedPath, feed_path, has_cable
from app.engine.day import PlannedDay, lay_day
from app.engine.draw import HAIR, Draws
from app.engine.guest import Guest, drawn_by, edges_of, guest_draws, guest_of, guest_starts, moments_of
from app.engine.heat import Rule, exceeds, store_s
from app.engine.inverter import quantities as inverter_quantities
from app.engine.patterns import Quantities, cycled
from app.engine.readings import View
from app.engine.results import AnyTime, Flags, Floats, Instants, NotThen
from app.engine.scope import Scope, worst_case

_STEADY_IDS = ("inverter_continuous", "inverter_apparent")
HALF = 0.5  # of a short-time allowance: more than that is not left to chance


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


def _not_then(day: PlannedDay, place: int) -> Iterator[NotThen]:
    guest = guest_of(day, place)
    t_ms = _grid(day, guest)
    at_ms = (t_ms[:-1] + t_ms[1:]) / 2
    refused: dict[str, Flags] = {}

    def refuse(limit: str, flags: Flags) -> None:
        refused[limit] = refused.get(limit, np.zeros(len(at_ms), dtype=bool)) | flags

    ruled: list[tuple[View, Rule, Quantities, tuple[str, ...], str]] = [
        (day.house, day.rule, inverter_quantities, _STEADY_IDS, "inverter_overload"),
        *(
            (view, day.leg_rule, inverter_quantities, (f"leg:{leg}",) * 2, f"leg:{leg}")
            for leg, view in day.legs.items()
        ),
        (day.house, day.bank.rule, day.bank.quantities, ("battery_continuous",), "battery_peak"),
    ]
    for view, rule, quantities, steady_ids, top_id in ruled:
        if guest_draws(day, guest, view.scope.weight, at_ms).p_w.any():
            for limit, flags in _ruled_out(day, guest, view, rule, quantities, at_ms, steady_ids, top_id):
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
    t_ms = day.house.scope.t_ms
    at_ms = (t_ms[:-1] + t_ms[1:]) / 2
    cuts = [t_ms]
    seen = [(day.house, day.rule, inverter_quantities), (day.house, day.bank.rule, day.bank.quantities)]
    seen += [(view, day.leg_rule, inverter_quantities) for view in day.legs.values()]
    for view, rule, quantities in seen:
        if all(check.line.is_flat for check in rule.checks):
            continue
        totals = [_together(day, guest, view.scope, at_ms)[1]]
        totals += [moment.total.take((slice(None), None)) for moment in moments_of(day, guest, view, at_ms)]
        limits = [(check.quantity, check.line.at(t_ms)) for check in rule.checks if not check.line.is_flat]
        for total in totals:
            use = quantities(total)
            for quantity, limit in limits:
                if use[quantity].max() > limit.min():  # else it lies below all day
                    cuts.append(_crossings(t_ms, use[quantity], limit))
    return np.unique(np.concatenate(cuts))


def _crossings(t_ms: Floats, use: Floats, limit: Floats) -> Floats:
    """Where a limit passes through draws within their stretch; use: shape (stretches, n)."""
    begin, end = limit[:-1, None], limit[1:, None]
    row, place = np.nonzero((use - begin) * (use - end) < 0)
    part = (use[row, place] - limit[row]) / (limit[row + 1] - limit[row])
    return np.asarray(t_ms[row] + part * np.diff(t_ms)[row])


def _ruled_out(
    day: PlannedDay, guest: Guest, view: View, rule: Rule, quantities: Quantities, at_ms: Floats,
    steady_ids: tuple[str, ...], top_id: str,
) -> Iterator[tuple[str, Flags]]:  # fmt: skip
    """Where a rule with levels and times refuses the guest."""
    scope = view.scope
    worst = scope.worst.take(scope.stretch_at(at_ms))
    phases = guest_draws(day, guest, scope.weight, at_ms)
    limits = [check.line.at(at_ms) for check in rule.checks]
    for moment in moments_of(day, guest, view, at_ms):
        use = quantities(moment.total)
        for check, limit in zip(rule.checks, limits, strict=True):
            allowed_s = 0.0 if check.store is None else rule.allowed_s[check.store]
            if moment.seconds > allowed_s * (1 + HAIR):
                yield top_id, moment.there & exceeds(use[check.quantity], limit)
    # With everything on at once nothing is above any level: then no pattern is either.
    busy = np.zeros(len(at_ms), dtype=bool)
    for phase in range(len(phases.p_w)):
        use = quantities(worst + phases.take(phase))
        for check, limit in zip(rule.checks, limits, strict=True):
            busy |= exceeds(use[check.quantity], limit)
    chosen = np.flatnonzero(busy)
    if not len(chosen):
        return
    t_ms, draws = _together(day, guest, scope, at_ms[chosen])
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


def _together(day: PlannedDay, guest: Guest, scope: Scope, at_ms: Floats) -> tuple[Floats, Draws]:
    """The guest with every cycling load of each stretch coming on with it.

    Returns edges from the guest's beginning, shape (n + 1,), and draws, shape (stretches, n).
    """
    cyclers = scope.cyclers
    end_ms = float(guest.edge_ms[-1])
    there = (cyclers.begin_ms[:, None] <= at_ms) & (cyclers.end_ms[:, None] > at_ms)
    edges = [guest.edge_ms, *guest.cycle_edges()]
    for place in np.flatnonzero(there.any(axis=1)):
        edges.append(edges_of(cyclers.on_ms[place], cyclers.period_ms[place], cyclers.longest_ms[place], end_ms))
    t_ms = np.unique(np.concatenate(edges))
    since_ms = (t_ms[:-1] + t_ms[1:]) / 2
    longest, period, on = (one[:, None] for one in (cyclers.longest_ms, cyclers.period_ms, cyclers.on_ms))
    flags = there[:, :, None] & cycled(since_ms, on, period, longest)[:, None, :]
    certain = scope.certain.take(scope.stretch_at(at_ms)).take((slice(None), None))
    own = drawn_by(day, guest, scope.weight, guest.on_at(since_ms), at_ms)
    everything = certain + Draws(own.p_w.T, own.q_var.T, own.d_va.T, own.spread_w2.T)
    instants = np.broadcast_to(at_ms[:, None], (len(at_ms), len(since_ms)))
    return t_ms, worst_case(everything, cyclers, flags, scope.interlocked, instants)


def _bank_refuses(day: PlannedDay, guest: Guest, at_ms: Floats) -> Iterator[tuple[str, Flags]]:
    """Where the voltage or the fuse refuses the guest."""
    scope, bank = day.house.scope, day.bank
    supply = day.resolved.household.supply
    worst = scope.worst.take(scope.stretch_at(at_ms))
    phases = guest_draws(day, guest, scope.weight, at_ms)
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
    for moment in moments_of(day, guest, day.house, at_ms):
        too_low = (bank.terminal_v(moment.total) < cut_off_v) & (moment.seconds >= delay_s)
        yield "battery_voltage", moment.there & (too_low | bank.collapses(moment.total))


def _circuits_refuse(day: PlannedDay, guest: Guest, at_ms: Floats) -> Iterator[tuple[str, Flags]]:
    """Where a breaker or a cable refuses the guest."""
    rules = day.resolved.household.supply.rules
    for one in day.wired.values():
        circuit = one.circuit
        touched = [c for c in one.conductors if c.view.scope.weight[guest.machine].any()]
        for conductor in touched if circuit.breaker_a is not None else ():
            scope = conductor.view.scope
            worst = scope.worst.take(scope.stretch_at(at_ms))
            phases = guest_draws(day, guest, scope.weight, at_ms)
            assert circuit.breaker_a is not None  # of the loop above
            for phase in range(len(phases.p_w)):
                current_a = conductor.current_a(worst + phases.take(phase))
                yield f"circuit:{circuit.id}", exceeds(current_a, circuit.breaker_a)
            trip_a = circuit.breaker_a * getattr(rules.trip_multiple, circuit.curve)
            for moment in moments_of(day, guest, conductor.view, at_ms):
                yield f"circuit:{circuit.id}", moment.there & exceeds(conductor.current_a(moment.total), trip_a)
        if has_cable(circuit) and any(
            conductor.view.scope.weight[guest.machine].any()
            for feeder in one.path
            for conductor in day.wired[feeder].conductors
        ):
            yield from _cable_refuses(day, guest, feed_path(one, day.wired), circuit.id, at_ms)


def _cable_refuses(
    day: PlannedDay, guest: Guest, path: FeedPath, circuit_id: str, at_ms: Floats
) -> Iterator[tuple[str, Flags]]:
    rules = day.resolved.household.supply.rules
    scopes = [conductor.view.scope for _, conductor in path.parts]
    phases = [guest_draws(day, guest, scope.weight, at_ms) for scope in scopes]
    for phase in range(len(phases[0].p_w)):
        percent = path.percent(at_ms, extra=tuple(one.take(phase) for one in phases))
        yield f"voltage_drop:{circuit_id}", exceeds(percent, 100 * rules.drop_running)
    starts = [guest_starts(day, guest, scope.weight, at_ms) for scope in scopes]
    everywhere = np.ones(len(at_ms), dtype=bool)
    # Its own starts count where they stand behind the circuit; on a feeder it shares it only runs.
    extras = [
        (everywhere, tuple(one[number][1] for one in starts))
        for number, (_, piece) in enumerate(guest.starts)
        if any(conductor.view.scope.weight[guest.machine[piece]] > 0 for conductor in path.own)
    ]
    for phase in range(len(phases[0].p_w)):
        for _, there, kick in path.unscheduled(at_ms):
            extras.append((there, tuple(a + b.take(phase) for a, b in zip(kick, phases, strict=True))))
    for there, extra in extras:
        percent = path.percent(at_ms, extra=extra)
        yield f"voltage_drop:{circuit_id}", there & exceeds(percent, 100 * rules.drop_starting)


def _placed(at_ms: Floats, chosen: Instants, flags: Flags) -> Flags:
    """Flags of some stretches, among all of them."""
    placed = np.zeros(len(at_ms), dtype=bool)
    placed[chosen] = flags
    return placed
