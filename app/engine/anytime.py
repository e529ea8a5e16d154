"""Any-time loads: when a kettle may not be on.

Each stretch of constant schedule is tried as if it lasted the load's whole run: the heat stores begin empty,
every cycling load of the stretch comes on with it, planned starts are left out.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain

import numpy as np

from app.engine.charge import BankDay
from app.engine.day import PlannedDay, lay_day
from app.engine.draw import HAIR, Draws
from app.engine.guest import drawn_by, edges_of, guest_of
from app.engine.heat import Rule, exceeds, store_s
from app.engine.inverter import quantities as inverter_quantities
from app.engine.patterns import Quantities, cycled
from app.engine.refusals import bank_refuses, circuits_refuse
from app.engine.reserve import generator_carries_w, generator_runs, with_generator_edges
from app.engine.results import AnyTime, Flags, Floats, Instants, NotThen
from app.engine.shortfall import charge_taken
from app.engine.starts import lowest
from app.engine.visit import Stay, Visit
from app.engine.worst import worst_case

_STEADY_IDS = ("inverter_continuous", "inverter_apparent")
MINUTE_MS, DAY_MS = 60_000, 86_400_000
HALF = 0.5  # of a short-time allowance: more than that is not left to chance


def any_time_loads(day: PlannedDay, bank: BankDay | None = None) -> Iterator[AnyTime]:
    """When each any-time load of a plan may not be on; bank: how the plan's day goes, as far as it is known."""
    places = {appliance.id: place for place, appliance in enumerate(day.rows.appliances)}
    for appliance_id in day.resolved.household.any_time:
        if appliance_id not in places or appliance_id in day.resolved.day.off:
            continue
        yield AnyTime(appliance_id, tuple(_not_then(_without(day, appliance_id), places[appliance_id], bank)))


def _without(day: PlannedDay, appliance_id: str) -> PlannedDay:
    """The day without the load's own planned runs: it is one machine."""
    planned = day.resolved.day
    if not any(run.on and run.appliance == appliance_id for run in planned.runs):
        return day
    runs = tuple(run for run in planned.runs if run.appliance != appliance_id)
    return lay_day(replace(day.resolved, day=replace(planned, runs=runs)))


def _not_then(day: PlannedDay, place: int, bank: BankDay | None) -> Iterator[NotThen]:
    t_ms = day.house.scope.t_ms
    stay = Stay(day, guest_of(day, place), _middles(t_ms))
    cut_ms = _cut(stay)
    running = bank if bank is not None and bank.generator else None
    if running is not None:
        sooner_ms = _sooner_ms(stay, running)
        cut_ms = np.union1d(with_generator_edges(running, cut_ms), np.clip(sooner_ms, t_ms[0], t_ms[-1]))
    at_ms = _middles(cut_ms)
    # Draws are the same all through a stretch, and only limits that move tell its parts from one another.
    part_of = day.house.scope.stretch_at(at_ms)
    whole = ((limit, flags[part_of]) for limit, flags in chain(bank_refuses(stay), circuits_refuse(stay)))
    refused: dict[str, Flags] = {}
    generator = () if running is None else _generator_refuses(stay, cut_ms, part_of, running, sooner_ms)
    for limit, flags in chain(_rules_refuse(stay, at_ms, part_of), whole, generator):
        refused[limit] = refused[limit] | flags if limit in refused else flags
    yield from _joined(cut_ms, refused)


def _middles(t_ms: Floats) -> Floats:
    return np.asarray((t_ms[:-1] + t_ms[1:]) / 2)


def _ruled(stay: Stay) -> Iterator[tuple[Visit, Rule, Quantities, tuple[str, ...], str]]:
    """Every rule with levels and times, what it compares, and the limits it speaks for."""
    day, house = stay.day, stay.visit(stay.day.house)
    yield house, day.rule, inverter_quantities, _STEADY_IDS, "inverter_overload"
    for leg, view in day.legs.items():
        yield stay.visit(view), day.leg_rule, inverter_quantities, (f"leg:{leg}",) * 2, f"leg:{leg}"
    yield house, day.bank.rule, day.bank.quantities, ("battery_continuous",), "battery_peak"


def _joined(t_ms: Floats, refused: dict[str, Flags]) -> Iterator[NotThen]:
    """Neighbouring stretches as one, named by the limit that refuses longest."""
    ids = list(refused)
    flags = np.array([refused[one] for one in ids]).reshape(len(ids), len(t_ms) - 1)
    edge = np.diff(np.concatenate(([0], flags.any(axis=0).astype(np.int8), [0])))
    for begin, end in zip(np.flatnonzero(edge == 1), np.flatnonzero(edge == -1), strict=True):
        held_ms = flags[:, begin:end] @ np.diff(t_ms[begin : end + 1])
        yield NotThen(int(np.ceil(t_ms[begin])), int(np.ceil(t_ms[end])), ids[int(np.argmax(held_ms))])


def _cut(stay: Stay) -> Floats:
    """Edges of the stretches, and where a limit passes through a total with the guest."""
    t_ms = stay.day.house.scope.t_ms
    cuts = [t_ms]
    for visit, rule, quantities, *_ in _ruled(stay):
        moving = [check for check in rule.checks if not check.line.is_flat]
        if not moving:
            continue
        # No pattern draws more than everything on at once: where that stays below, none is crossed.
        everywhere = np.arange(len(stay.at_ms))
        chosen = _up_to(visit, rule, quantities, [lowest(check.line.at(t_ms)) for check in rule.checks], everywhere)
        totals = [(moment.total.take((slice(None), None)), everywhere) for moment in visit.moments]
        if len(chosen):
            totals.append((_together(visit, chosen)[1], chosen))
        for total, where in totals:
            use = quantities(total)
            for check in moving:
                if use[check.quantity].max() > check.line.lowest:
                    cuts.append(_crossings(t_ms, check.line.at(t_ms), where, use[check.quantity]))
    return np.unique(np.concatenate(cuts))


def _up_to(visit: Visit, rule: Rule, quantities: Quantities, limits: list[Floats], part_of: Instants) -> Instants:
    """Parts of stretches in which everything on at once, with the guest, exceeds a limit.

    limits: per check, one for each part. part_of: the stretch of each part.
    """
    busy = np.zeros(len(part_of), dtype=bool)
    for total in visit.most:
        use = quantities(total)
        if rule.never_met(use):
            continue
        for check, limit in zip(rule.checks, limits, strict=True):
            busy |= exceeds(use[check.quantity][part_of], limit)
    return busy.nonzero()[0]


def _crossings(t_ms: Floats, limit: Floats, where: Instants, use: Floats) -> Floats:
    """Where a limit passes through draws within their stretch.

    t_ms, limit: edges of all stretches, and the limit there. where: which ones these are. use: shape (where, n).
    """
    begin, end = limit[where], limit[where + 1]
    row, place = ((use - begin[:, None]) * (use - end[:, None]) < 0).nonzero()
    part = (use[row, place] - begin[row]) / (end[row] - begin[row])
    begin_ms = t_ms[where[row]]
    return np.asarray(begin_ms + part * (t_ms[where[row] + 1] - begin_ms))


def _rules_refuse(stay: Stay, at_ms: Floats, part_of: Instants) -> Iterator[tuple[str, Flags]]:
    """Where a rule with levels and times refuses the guest, at an instant of each part of a stretch."""
    for visit, rule, quantities, steady_ids, top_id in _ruled(stay):
        if visit.draws.p_w.any():
            limits = [check.line.at(at_ms) for check in rule.checks]
            for flags in _starts_refuse(visit, rule, quantities, limits, part_of):
                yield top_id, flags
            yield from _levels_refuse(visit, rule, quantities, limits, part_of, steady_ids, top_id)


def _generator_refuses(
    stay: Stay, cut_ms: Floats, part_of: Instants, bank: BankDay, sooner_ms: list[float]
) -> Iterator[tuple[str, Flags]]:
    """Where the generator runs, or starts for the guest, and does not carry it beside all else and its charger."""
    visit = stay.visit(stay.day.house)
    too_much = np.any([exceeds(total.use_w, generator_carries_w(visit.view)) for total in visit.totals], axis=0)
    yield "generator", generator_runs(bank, cut_ms) & too_much[part_of]
    for spell, from_ms in zip(bank.generator, sooner_ms, strict=True):
        starts = too_much[visit.view.scope.stretch_at(spell.from_ms)]
        before = (cut_ms[:-1] >= from_ms) & (cut_ms[1:] <= spell.from_ms)
        yield "generator", before & (too_much[part_of] | starts)


def _sooner_ms(stay: Stay, bank: BankDay) -> list[float]:
    """From when on the guest would have the generator start while it is there, before each time at which it does."""
    generator = stay.day.resolved.household.supply.generator
    assert generator is not None  # it runs
    taken, lasts_ms = charge_taken(stay.day, stay.guest), float(stay.guest.edge_ms[-1])
    found = []
    for spell in bank.generator:
        earlier_ms = spell.from_ms - MINUTE_MS * np.arange(1, DAY_MS // MINUTE_MS)
        left = np.interp(earlier_ms + lasts_ms, bank.edges_ms, bank.state_of_charge) - taken
        starts = (left <= generator.start_below) | (earlier_ms + lasts_ms >= spell.from_ms)
        from_ms = float(spell.from_ms - MINUTE_MS * int(np.argmin(np.append(starts, False))))
        found.append(max(from_ms, float(bank.edges_ms[0])))
    return found


def _starts_refuse(
    visit: Visit, rule: Rule, quantities: Quantities, limits: list[Floats], part_of: Instants
) -> Iterator[Flags]:
    for moment in visit.moments:
        use = quantities(moment.total)
        if rule.never_met(use):
            continue
        for check, limit in zip(rule.checks, limits, strict=True):
            allowed_s = 0.0 if check.store is None else rule.allowed_s[check.store]
            if moment.seconds > allowed_s * (1 + HAIR):
                yield moment.there[part_of] & exceeds(use[check.quantity][part_of], limit)


def _levels_refuse(
    visit: Visit, rule: Rule, quantities: Quantities, limits: list[Floats], part_of: Instants,
    steady_ids: tuple[str, ...], top_id: str,
) -> Iterator[tuple[str, Flags]]:  # fmt: skip
    # With everything on at once nothing is above any level: then no pattern is either.
    chosen = _up_to(visit, rule, quantities, limits, part_of)
    if not len(chosen):
        return
    t_ms, draws = _together(visit, part_of[chosen])
    use = quantities(draws)
    above = [
        exceeds(use[check.quantity], limit[chosen][:, None]) for check, limit in zip(rule.checks, limits, strict=True)
    ]
    seconds = np.broadcast_to(np.diff(t_ms) / 1000, use[0].shape)
    for check, flags in zip(rule.checks, above, strict=True):
        if check.store is None:
            yield top_id, _placed(len(part_of), chosen, np.asarray(flags.any(axis=1)))
    for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
        own = [(check, flags) for check, flags in zip(rule.checks, above, strict=True) if check.store == store]
        filling = np.asarray(np.any([flags for _, flags in own], axis=0))
        if not filling.any():
            continue
        held = store_s(seconds, filling, allowed_s, cooling_s)
        too_much = exceeds(held.max(axis=1), HALF * allowed_s)
        if store > 0:
            yield top_id, _placed(len(part_of), chosen, too_much)
            continue
        for check, flags in own:
            yield steady_ids[check.quantity], _placed(len(part_of), chosen, np.asarray(too_much & flags.any(axis=1)))


def _together(visit: Visit, chosen: Instants) -> tuple[Floats, Draws]:
    """The guest with every cycling load of each of some stretches coming on with it.

    Returns edges from the guest's beginning, shape (n + 1,), and draws, shape (stretches, n).
    """
    day, guest, scope, at_ms = visit.day, visit.guest, visit.view.scope, visit.at_ms[chosen]
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
    p_w, one_var, other_var, d_va, spread_w2 = own.figures.transpose(0, 2, 1)
    everything = certain + Draws(p_w, np.zeros(1), d_va, spread_w2)
    instants = np.broadcast_to(at_ms[:, None], (len(at_ms), len(since_ms)))
    return t_ms, worst_case(everything, cyclers, flags, scope.interlocked, instants, beside_var=(one_var, other_var))


def _placed(parts: int, chosen: Instants, flags: Flags) -> Flags:
    """Flags of some parts, among all of them."""
    placed = np.zeros(parts, dtype=bool)
    placed[chosen] = flags
    return placed
