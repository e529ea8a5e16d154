"""What is on at an instant, and what is left beside it."""

from collections.abc import Iterator

import numpy as np

from app.engine.answers import OnNow, Room
from app.engine.bankday import plant_of
from app.engine.day import PlannedDay
from app.engine.flows import State, Steps, flows
from app.engine.inverter import WATTS, quantities, steady_line
from app.engine.moment import Inspection
from app.engine.reserve import generator_carries_w, generator_runs, with_generator_edges
from app.engine.results import Floats, Instants
from app.engine.typical import Profile, repeated_day, typical_draw

NOTICED_W = 50.0  # a change of the draw by less is not worth a word
DRIFT_W = 250.0  # nor is what the temperature takes or gives by and by
NIGHT_STEP_MS = 900_000
A_DAY_MS = 86_400_000


def standing(inspection: Inspection, at_ms: int) -> Iterator[OnNow]:
    """What stands at an instant, the largest draw first; one entry for each appliance."""
    day = inspection.day
    pieces, rows, runs = day.laid.pieces, day.rows, day.resolved.day.runs
    there = np.flatnonzero((pieces.begin_ms <= at_ms) & (pieces.end_ms > at_ms))
    running = rows.running.take(pieces.row[there])
    va = running.va
    for place in np.argsort(-running.p_w, kind="stable").tolist():
        piece = int(there[place])
        (appliance, stage), owner = rows.names[int(pieces.row[piece])], int(pieces.appliance[piece])
        run = int(pieces.run[piece])
        yield OnNow(
            appliance=appliance,
            run=runs[run].id if run >= 0 else None,
            stage=stage,
            until_ms=int(pieces.end_ms[piece]),
            done_ms=_done_ms(day, owner, int(pieces.end_ms[piece])),
            certain=not pieces.cycling[piece],
            by_itself=bool(pieces.set_off[piece]),
            always_on=rows.appliances[owner].always_on,
            w=float(running.p_w[place]),
            va=float(va[place]),
        )


def _done_ms(day: PlannedDay, owner: int, end_ms: int) -> int:
    """When an appliance goes off: its stages follow one another."""
    pieces = day.laid.pieces
    begins = dict(
        zip(*(one[pieces.appliance == owner].tolist() for one in (pieces.begin_ms, pieces.end_ms)), strict=True)
    )
    while end_ms in begins:
        end_ms = begins[end_ms]
    return end_ms


def room_at(inspection: Inspection, at_ms: int) -> Room:
    """What is left at an instant, and when that changes."""
    day, scope = inspection.day, inspection.day.house.scope
    left = inspection.left_at(at_ms)
    stretch = int(scope.stretch_at(at_ms))
    bank = day.bank
    room_a = float(bank.continuous_a.at(float(at_ms)) - bank.current_a(scope.worst)[stretch])
    room_w = left.room_w
    t_ms, line, use_w = _lines(inspection)
    at, then_w = _next_change(t_ms, line, use_w, at_ms, room_w)
    until_ms = day.resolved.frame.day_ms if at is None else at
    within = (t_ms[1:] > at_ms) & (t_ms[:-1] < until_ms)
    ends = np.interp(np.minimum(t_ms[1:][within], until_ms), t_ms, line)
    held_w = min(room_w, float((ends - use_w[within]).min(initial=np.inf)))
    bank_w = None if np.isinf(left.bank_w) else left.bank_w
    always = to_reserve_h(inspection, at_ms), tuple(_of_legs(day, at_ms)), bank_w
    if at is None or at >= day.resolved.frame.day_ms:
        return Room(held_w, left.start_va, room_a, None, None, None, None, False, False, False, *always)
    who = _who_changes(day, at, shrinks=then_w < held_w)
    by_generator = who[0] is None and at in _generator_edges_ms(inspection)
    # What the warmth takes by and by until somebody changes it is not promised; where it is what changes, that is told.
    room_w = room_w if who[0] is None and not by_generator else held_w
    return Room(room_w, left.start_va, room_a, at, then_w, *who, by_generator, *always)


def _of_legs(day: PlannedDay, at_ms: int) -> Iterator[tuple[str, float]]:
    """What each leg has left, in watts: more of them are at most as many volt-amperes more."""
    for leg, view in day.legs.items():
        use = [one[view.scope.stretch_at(at_ms)] for one in quantities(view.scope.worst)]
        yield leg, min(float(one.line.at(float(at_ms)) - use[one.quantity]) for one in day.leg_rule.of_store(0))


def _lines(inspection: Inspection) -> tuple[Floats, Floats, Floats]:
    """Edges of stretches, what the inverter carries at each, and the worst draw in between.

    While the generator runs, what it does not carry counts as drawn.
    """
    house, battery = inspection.day.house, inspection.battery
    t_ms, use_w = house.scope.t_ms, house.scope.worst.use_w
    line = steady_line(inspection.day.rule, WATTS).at(t_ms)
    if battery is None or not battery.generator:
        return t_ms, line, use_w
    edges_ms = with_generator_edges(battery, t_ms)
    line, use_w = np.interp(edges_ms, t_ms, line), use_w[house.scope.stretch_at(edges_ms[:-1])]
    lacks_w = np.maximum(np.maximum(line[:-1], line[1:]) - generator_carries_w(house), 0.0)
    return edges_ms, line, use_w + np.where(generator_runs(battery, edges_ms), lacks_w, 0.0)


def _generator_edges_ms(inspection: Inspection) -> set[int]:
    battery = inspection.battery
    spells = () if battery is None else battery.generator
    return {int(np.ceil(edge_ms)) for spell in spells for edge_ms in (spell.from_ms, spell.to_ms)}


def _next_change(t_ms: Floats, line: Floats, use_w: Floats, at_ms: int, room_w: float) -> tuple[int | None, float]:
    """The first instant after one at which more is noticed to be left, or less, and what it is then.

    What comes on or goes off is noticed at once, what the temperature does only once it has done much.
    """
    left = np.maximum(t_ms[:-1], at_ms)
    coming = t_ms[1:] > at_ms
    limit_w = float(np.interp(at_ms, t_ms, line))
    drawn = np.abs(use_w - (limit_w - room_w)) > NOTICED_W
    begins, ends = np.interp(left, t_ms, line) - limit_w, line[1:] - limit_w
    changed = coming & (drawn | (np.abs(ends) > DRIFT_W))
    if not changed.any():
        return None, room_w
    place = int(changed.argmax())
    begin, end = float(begins[place]), float(ends[place])
    if drawn[place]:
        return int(np.ceil(left[place])), limit_w + begin - float(use_w[place])
    drifted_w = DRIFT_W if end > 0 else -DRIFT_W
    part = (drifted_w - begin) / (end - begin)
    reached_ms = left[place] + part * (t_ms[place + 1] - left[place])
    return int(np.ceil(reached_ms)), limit_w + drifted_w - float(use_w[place])


def _who_changes(day: PlannedDay, at_ms: int, *, shrinks: bool) -> tuple[str | None, str | None, bool, bool]:
    """The largest draw that begins just then, where the room shrinks, or ends, where it grows.

    Its appliance and stage, whether it begins, and whether something else of its appliance does when it ends.
    """
    pieces, rows = day.laid.pieces, day.rows
    edges: Instants = pieces.begin_ms if shrinks else pieces.end_ms
    there = np.flatnonzero(edges == at_ms)
    if not len(there):
        return None, None, False, False
    piece = there[int(rows.running.p_w[pieces.row[there]].argmax())]
    follows = (pieces.begin_ms == at_ms) & (pieces.appliance == pieces.appliance[piece])
    return *rows.names[int(pieces.row[piece])], shrinks, not shrinks and bool(follows.any())


def to_reserve_h(inspection: Inspection, at_ms: int) -> float | None:
    """Hours until the reserve with the plan's typical draw and no sun; None for more than a day, or not known."""
    day, battery = inspection.day, inspection.battery
    if battery is None or at_ms < battery.edges_ms[0]:
        return None
    charge = battery.charge_at(at_ms)
    if charge <= battery.reserve:
        return 0.0
    onwards = _onwards(day)
    edges_ms = onwards.cut(np.arange(at_ms, at_ms + A_DAY_MS + 1, NIGHT_STEP_MS, dtype=float))
    load_w = onwards.mean_on(edges_ms)
    nothing = np.zeros(len(load_w))
    plant = plant_of(day.resolved)
    steps = Steps(edges_ms, load_w, np.zeros((0, len(load_w))), (), nothing, nothing, nothing + np.inf)
    told = flows(type(plant)(plant.cells, plant.losses, plant.dc_load_w, plant.cut_off_v, plant.restart_v, None),
                 steps, State(charge))  # fmt: skip
    below = np.flatnonzero(told.charge <= battery.reserve)
    if not len(below):
        return None
    place = int(below[0])
    before, then = float(told.charge[place - 1]), float(told.charge[place])
    part = (before - battery.reserve) / (before - then)
    reached_ms = told.edges_ms[place - 1] + part * (told.edges_ms[place] - told.edges_ms[place - 1])
    return float(reached_ms - at_ms) / 3_600_000


def _onwards(day: PlannedDay) -> Profile:
    """What is typically drawn: to the horizon as planned, after it as on the day."""
    frame = day.resolved.frame
    typical, again = typical_draw(day.laid), repeated_day(day.laid, frame.day_ms)
    edges_ms = np.concatenate((again.edges_ms + frame.day_ms, again.edges_ms[1:] + 2 * frame.day_ms))
    w = np.concatenate((again.w, again.w))
    later = edges_ms > frame.horizon_ms
    first = int(later.argmax())
    return Profile(np.concatenate((typical.edges_ms, edges_ms[first:])), np.concatenate((typical.w, w[first - 1 :])))
