"""From a household, a plan and a wish to the task a search works on."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from app.engine.day import PlannedDay, lay_day
from app.engine.dc import bank_current_a, input_w, open_circuit_v
from app.engine.draw import Draws
from app.engine.expand import Laid, Pieces, lay_out
from app.engine.heat import Rule
from app.engine.inverter import VOLT_AMPERES, WATTS, steady_line, top_line
from app.engine.readings import View
from app.engine.results import Floats
from app.engine.sun import Sun, suns_of
from app.engine.typical import share_on, typical_draw
from app.household.clocks import clock_of
from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.planner.laundry.placing import placed
from app.planner.laundry.task import CELL_MS, CELLS, SLOT_MS, Load, Shape, Sight, Task, Together
from app.planner.laundry.wish import Wish

# A level that may be passed for less is never planned into, for programmes do not stop in minutes. Whatever touches
# five minutes of a slot overlaps with whatever else does for three, so that beside the search the proof rests on it.
BRIEF_S = 180.0
WAKING = ("06:00", "23:00")  # common practice, no source: nobody is sent to a machine at night


def read_task(resolved: Resolved, wish: Wish) -> tuple[Task, PlannedDay]:
    """What the search works on, and the day without the loads that may be moved.

    The wish has been checked. Raises HouseholdFaults where what stands cannot be laid.
    """
    base = lay_day(placed(resolved, {}, off=wish.movable))
    cells = -(-resolved.frame.horizon_ms // CELL_MS)
    cells = -(-cells // CELLS) * CELLS
    sun = suns_of(resolved).expected
    room_w = _room_w(base, sun, cells // CELLS)
    seen = list(_sights(base, wish, cells))
    runs = {run.id: run for run in resolved.day.runs}
    wanted = [runs[one] for one in wish.movable]
    laid = [_alone(base, run) for run in wanted]
    used = {place for one in laid for place in one.pieces.appliance[one.pieces.run == 0].tolist()}
    seen = [(sight, weight) for sight, weight in seen if sight.limit.startswith("inverter") or weight[list(used)].any()]
    places = {run.id: place for place, run in enumerate(wanted)}
    loads = tuple(
        _load(base, wish, run, one, [weight for _, weight in seen], places)
        for run, one in zip(wanted, laid, strict=True)
    )
    loads = tuple(_with_gap(load, run, loads) for load, run in zip(loads, wanted, strict=True))
    steady_w = least_in_cells(base.house.scope.t_ms, steady_line(base.rule, WATTS).at(base.house.scope.t_ms), cells)
    task = Task(loads, room_w, tuple(sight for sight, _ in seen), tuple(_together(base, loads, room_w)), steady_w)
    return task, base


def slot_clock(resolved: Resolved, slot: int) -> str:
    """HH:MM of a slot's beginning."""
    clock = clock_of(resolved, slot * SLOT_MS)
    assert clock is not None
    return clock[:5]


def length_ms(resolved: Resolved, run: Run) -> int:
    """How long a run takes, what it sets off not included."""
    appliance = resolved.appliance(run.appliance)
    assert appliance is not None
    length_s = run.duration_s or sum(stage.duration_s or 0 for stage in appliance.stages)
    return round(length_s * 1000)


def bounds_ms(resolved: Resolved, run: Run, wish: Wish) -> tuple[int, int]:
    """From when until when a run may be going, quiet hours apart."""
    frame = resolved.frame
    first, last = (wall_clock_s(edge) for edge in run.window or WAKING)
    if last <= first:
        last += 24 * 3600
    begin_ms, end_ms = frame.at_ms(first), frame.at_ms(last)
    if wish.not_before is not None:
        begin_ms = max(begin_ms, frame.at_ms(wall_clock_s(wish.not_before)))
    if wish.done_by is not None:
        end_ms = min(end_ms, frame.at_ms(wall_clock_s(wish.done_by) or 24 * 3600))
    return begin_ms, min(end_ms, frame.horizon_ms)


def quiet_ms(resolved: Resolved, wish: Wish) -> Iterator[tuple[int, int]]:
    """The quiet stretches of the day and of the nights around it."""
    for first, last in wish.quiet:
        from_s, to_s = wall_clock_s(first), wall_clock_s(last)
        length_s = (to_s - from_s) % (24 * 3600) or 24 * 3600
        for day_s in (-24 * 3600, 0, 24 * 3600):
            yield resolved.frame.at_ms(from_s + day_s), resolved.frame.at_ms(from_s + day_s + length_s)


def begins_of(resolved: Resolved, run: Run, wish: Wish) -> np.ndarray:
    """In which of the day's slots a run may begin: shape (day's slots,), what it waits for not considered."""
    slots = -(-resolved.frame.day_ms // SLOT_MS)
    at_ms = np.arange(slots) * SLOT_MS
    ends_ms = at_ms + length_ms(resolved, run)
    first_ms, last_ms = bounds_ms(resolved, run, wish)
    may = (at_ms >= first_ms) & (ends_ms <= last_ms)
    for from_ms, to_ms in quiet_ms(resolved, wish):
        may &= (ends_ms <= from_ms) | (at_ms >= to_ms)
    for slot in np.flatnonzero(may).tolist():
        if clock_of(resolved, slot * SLOT_MS) is None:  # an hour that comes twice has one name only
            may[slot] = False
    others = {one.id: one for one in resolved.day.runs}
    # What stands bounds what waits for it, and what it waits for.
    if run.after is not None and run.after not in wish.movable and others[run.after].on:
        before = others[run.after]
        ended_ms = resolved.frame.at_ms(wall_clock_s(before.start)) + length_ms(resolved, before)
        may &= at_ms >= ended_ms
        if run.within_s is not None:
            may &= at_ms <= ended_ms + run.within_s * 1000
    for one in resolved.day.runs:
        if one.after == run.id and one.on and one.id not in wish.movable:
            begin_ms = resolved.frame.at_ms(wall_clock_s(one.start))
            may &= ends_ms <= begin_ms
            if one.within_s is not None:
                may &= ends_ms >= begin_ms - one.within_s * 1000
    return may


def most_in_cells(t_ms: Floats, values: Floats, cells: int) -> Floats:
    """The largest value of a step function in each minute: shape (n,) with edges (n + 1,) to (cells,)."""
    begins_ms = np.arange(cells) * CELL_MS
    stretch = np.minimum(np.searchsorted(t_ms, begins_ms, side="right") - 1, len(values) - 1)
    found = values[stretch].copy()
    np.maximum.at(found, np.minimum((t_ms[:-1] // CELL_MS).astype(int), cells - 1), values)
    return np.asarray(found)


def least_in_cells(t_ms: Floats, values: Floats, cells: int) -> Floats:
    """The least value of a line with corners at t_ms in each minute, shape (cells,)."""
    edges = np.interp(np.arange(cells + 1) * CELL_MS, t_ms, values)
    found = np.minimum(edges[:-1], edges[1:])
    np.minimum.at(found, np.minimum((t_ms // CELL_MS).astype(int), cells - 1), values)
    return np.asarray(found)


def _room_w(base: PlannedDay, sun: Sun, slots: int) -> Floats:
    """What the sun gives on the AC side beyond what stands, in every slot."""
    resolved = base.resolved
    edges_ms = np.arange(slots + 1, dtype=float) * SLOT_MS
    load_w = typical_draw(base.laid).mean_on(edges_ms)
    # A controller gives its amperes at the volts of the bank as the day finds it.
    volts = open_circuit_v(resolved.household.supply.battery, resolved.day.start_state_of_charge)
    controlled_w = np.minimum(sun.dc_w, np.array(sun.controller_a).reshape(-1, 1) * volts).sum(axis=0)
    given_ms = np.asarray(sun.edges_ms)
    dc_w = _means(given_ms, controlled_w, edges_ms) - resolved.household.supply.battery.dc_load_w
    ac_w = _means(given_ms, sun.ac_w, edges_ms)
    # What the inverter makes of it: its losses turned round.
    out_w = np.linspace(0.0, resolved.household.supply.inverter.overload[-1][0], 2001)
    carried_w = np.interp(dc_w, input_w(base.bank.losses, out_w), out_w, left=0.0)
    return np.asarray(carried_w + ac_w - load_w)


def _means(given_ms: Floats, watts: Floats, edges_ms: Floats) -> Floats:
    summed = np.concatenate(([0.0], np.cumsum(watts * np.diff(given_ms))))
    return np.asarray(np.diff(np.interp(edges_ms, given_ms, summed)) / np.diff(edges_ms))


def _sights(base: PlannedDay, wish: Wish, cells: int) -> Iterator[tuple[Sight, Floats]]:
    """Each sight with the weight of every appliance in it."""
    yield (
        _ruled_sight("inverter_continuous", base, base.house, base.rule, wish, cells, _bank_w(base, cells)),
        (base.house.scope.weight),
    )
    endless = np.full(cells, np.inf)
    for leg, view in base.legs.items():
        yield _ruled_sight(f"leg:{leg}", base, view, base.leg_rule, wish, cells, endless), view.scope.weight
    for wired in base.wired.values():
        if wired.circuit.breaker_a is None:
            continue
        for conductor in wired.conductors:
            draws, kick = _standing(base, conductor.view, wish, cells)
            most_va = np.full(cells, wired.circuit.breaker_a * conductor.volts)
            sight = Sight(
                f"circuit:{wired.circuit.id}", draws, kick, endless, most_va, endless, endless, endless, 1.0, 1.0
            )
            yield sight, conductor.view.scope.weight


def _ruled_sight(limit: str, base: PlannedDay, view: View, rule: Rule, wish: Wish, cells: int, hard_w: Floats) -> Sight:
    t_ms = base.house.scope.t_ms

    def least(quantity: int, store: int | None) -> Floats:
        check = next(one for one in rule.of_store(store) if one.quantity == quantity)
        return least_in_cells(t_ms, check.line.at(t_ms), cells)

    draws, kick = _standing(base, view, wish, cells)
    brief = [store for store, allowed_s in enumerate(rule.allowed_s) if allowed_s < BRIEF_S]
    hard_va = least(VOLT_AMPERES, min(brief) if brief else None)
    if 0 in brief:
        hard_w = np.minimum(hard_w, least(WATTS, 0))
    top_va = least_in_cells(t_ms, top_line(rule).at(t_ms), cells)
    return Sight(
        limit, draws, kick, hard_w, hard_va, least(WATTS, 0), least(VOLT_AMPERES, 0), top_va, rule.allowed_s[0],
        rule.cooling_s[0],
    )  # fmt: skip


def _bank_w(base: PlannedDay, cells: int) -> Floats:
    """The watts the bank carries for hours: its peak current lasts seconds, so programmes keep below."""
    bank = base.bank
    if bank.peak_s >= BRIEF_S:
        return np.full(cells, np.inf)  # the engine's word alone
    drawn_w = np.linspace(0.0, 2 * base.resolved.household.supply.inverter.overload[-1][0], 4001)
    amps = bank_current_a(bank.rest_v, bank.resistance_ohm, input_w(bank.losses, drawn_w) + bank.dc_load_w)
    fuse_a = base.resolved.household.supply.battery.dc_fuse_a or np.inf
    t_ms = base.house.scope.t_ms
    most_a = np.minimum(least_in_cells(t_ms, bank.continuous_a.at(t_ms), cells), fuse_a)
    rising = np.concatenate(([True], np.diff(amps) > 0))
    return np.asarray(np.interp(most_a, amps[rising], drawn_w[rising]))


def _standing(base: PlannedDay, view: View, wish: Wish, cells: int) -> tuple[Floats, Floats]:
    """What stands in a sight, minute by minute: draws and the largest kick."""
    draws = view.scope.certain if wish.chance else view.scope.worst
    t_ms = view.scope.t_ms
    columns = [most_in_cells(t_ms, one, cells) for one in (draws.p_w, np.abs(draws.q_var), draws.d_va, draws.spread_w2)]
    return np.array(columns), _kicks(base.laid, view.scope.weight, cells, certain=wish.chance)


def _alone(base: PlannedDay, run: Run) -> Laid:
    """A run laid by itself from midnight on, with all it sets off; the pump's taps apart."""
    resolved = base.resolved
    water = resolved.household.supply.water
    dry = None if water is None else water.model_copy(update={"taps_l_per_day": 0.0})
    alone = run.model_copy(update={"start": "00:00", "on": True})
    return lay_out(base.rows, (alone,), resolved.day.off, dry, resolved.frame)


def _load(base: PlannedDay, wish: Wish, run: Run, laid: Laid, weights: list[Floats], places: dict[str, int]) -> Load:
    resolved = base.resolved
    pieces = laid.pieces
    own = pieces.run == 0
    whole_ms = int(pieces.end_ms[own].max(initial=length_ms(resolved, run)))
    slots = -(-whole_ms // SLOT_MS)
    edges_ms = np.arange(slots + 1) * SLOT_MS
    w = (laid.rows.running.p_w[pieces.row] * share_on(pieces))[own]
    begin_ms, end_ms = pieces.begin_ms[own][:, None], pieces.end_ms[own][:, None]
    overlap_ms = np.clip(np.minimum(end_ms, edges_ms[1:]) - np.maximum(begin_ms, edges_ms[:-1]), 0, None)
    slots_w = (w[:, None] * overlap_ms).sum(axis=0) / SLOT_MS
    # Where taps run the pump may come on all day: it is counted there, and is one machine.
    pump = None
    water = resolved.household.supply.water
    if water is not None and water.taps_between is not None and water.taps_l_per_day > 0:
        pump = next(place for place, one in enumerate(laid.rows.appliances) if one.id == water.pump)
    drawn = own & (pieces.appliance != pump) if pump is not None else own
    drawn &= ~pieces.cycling if wish.chance else True
    shapes = tuple(_shape(laid, drawn, weight, slots * CELLS, certain=wish.chance) for weight in weights)
    before = places.get(run.after) if run.after is not None else None
    return Load(
        run.id, run.appliance, length_ms(resolved, run), slots_w, begins_of(resolved, run, wish), shapes, before
    )


def _with_gap(load: Load, run: Run, loads: tuple[Load, ...]) -> Load:
    if load.before is None:
        return load
    first_ms = loads[load.before].length_ms
    last_ms = first_ms + (run.within_s * 1000 if run.within_s is not None else 10**9)
    return replace(load, gap=(-(-first_ms // SLOT_MS), int(last_ms // SLOT_MS)))


def _shape(laid: Laid, drawn: np.ndarray, weight: Floats, cells: int, *, certain: bool) -> Shape | None:
    """What pieces put on a sight, minute by minute: each appliance at its largest within the minute."""
    pieces, rows = laid.pieces, laid.rows
    chosen = np.flatnonzero(drawn & (weight[pieces.appliance] > 0))
    if not len(chosen):
        return None
    draws = np.zeros((4, cells))
    for appliance in np.unique(pieces.appliance[chosen]).tolist():
        most = np.zeros((4, cells))
        share = weight[appliance]
        for piece in chosen[pieces.appliance[chosen] == appliance].tolist():
            row = pieces.row[piece]
            one: Draws = rows.running.take(row)
            figures = np.array([one.p_w * share, abs(one.q_var) * share, one.d_va * share, one.spread_w2 * share**2])
            span = slice(int(pieces.begin_ms[piece] // CELL_MS), int(-(-pieces.end_ms[piece] // CELL_MS)))
            np.maximum(most[:, span], figures[:, None], out=most[:, span])
        draws += most
    return Shape(draws, _kicks(laid, weight, cells, certain=certain, only=drawn))


def _kicks(laid: Laid, weight: Floats, cells: int, *, certain: bool, only: np.ndarray | None = None) -> Floats:
    """The largest that a start adds in each minute, W and var: shape (2, cells)."""
    pieces: Pieces = laid.pieces
    rows = laid.rows
    kick, size = np.zeros((2, cells)), np.zeros(cells)
    starts = (rows.start_ms[pieces.row] > 0) & (weight[pieces.appliance] > 0) & (pieces.scheduled | pieces.cycling)
    if only is not None:
        starts &= only
    if certain:
        starts &= ~pieces.cycling
    for piece in np.flatnonzero(starts).tolist():
        row, share = pieces.row[piece], weight[pieces.appliance[piece]]
        p_w = (rows.start_p_w[row] - rows.running.p_w[row]) * share
        q_var = (rows.start_q_var[row] - abs(rows.running.q_var[row])) * share
        lasts_ms = pieces.end_ms[piece] - pieces.begin_ms[piece] if pieces.cycling[piece] else rows.start_ms[row]
        begin_ms = int(pieces.begin_ms[piece])
        span = slice(begin_ms // CELL_MS, int(-(-(begin_ms + lasts_ms) // CELL_MS)))
        larger = size[span] < np.hypot(p_w, q_var)
        kick[0, span][larger], kick[1, span][larger] = p_w, q_var
        size[span][larger] = np.hypot(p_w, q_var)
    return kick


def _together(base: PlannedDay, loads: tuple[Load, ...], room_w: Floats) -> Iterator[Together]:
    """One machine each, and the interlocks."""
    slots = len(room_w)
    pieces = base.laid.pieces
    names = [appliance.id for appliance in base.rows.appliances]
    wanted: list[tuple[int, tuple[str, ...]]] = [
        (1, (load.appliance,)) for load in {load.appliance: load for load in loads}.values()
    ]
    wanted += [(one.at_most, one.of) for one in base.resolved.household.interlocks]
    for at_most, members in wanted:
        mine = tuple(place for place, load in enumerate(loads) if load.appliance in members)
        if not mine:
            continue
        taken = np.zeros(slots, dtype=np.int64)
        for member in members:
            there = np.zeros(slots, dtype=np.int64)
            of_member = (pieces.appliance == names.index(member)) & (pieces.run >= 0) if member in names else []
            for piece in np.flatnonzero(of_member).tolist():
                there[int(pieces.begin_ms[piece] // SLOT_MS) : int(-(-pieces.end_ms[piece] // SLOT_MS))] = 1
            taken += there
        yield Together(at_most, mine, taken)
