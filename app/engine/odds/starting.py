"""Starts that are too much: of loads that come on by themselves, and planned ones with whatever is on then."""

from collections.abc import Iterator, Sequence
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR, Draws
from app.engine.heat import Check, Rule, exceeds, part_above
from app.engine.kinds import Flags, Floats
from app.engine.odds.block import every_sum
from app.engine.odds.first_step import first_passed
from app.engine.odds.loads import Loads
from app.engine.odds.parted import parted
from app.engine.odds.stairs import Stairs, stairs_of
from app.engine.odds.tables import beside_start, beside_starts, table_of
from app.engine.odds.under import TooMuch, UnderRule
from app.engine.readings import View
from app.engine.starts import Unscheduled, lowest

AT_A_TIME = 1 << 18  # states times stretches that are worked out together


def lines_for(rule: Rule, seconds: float) -> list[Check]:
    """The lines that a start of that length may not pass: the top, and each level whose time is shorter."""
    return [check for check in rule.checks if check.store is None or seconds > rule.allowed_s[check.store] * (1 + HAIR)]


def each_overloading_start(view: View, under: UnderRule, *, top_alone: bool = False) -> dict[Unscheduled, float]:
    """Starts per day whose total breaks a rule; top_alone: whose total passes its top level.

    Of parts of a load that come on together, the one that is too much most often.
    """
    found: dict[tuple[int, int], tuple[Unscheduled, float]] = {}  # by load, and when its part begins
    unknown: dict[tuple[bytes, tuple[Check, ...]], list[Unscheduled]] = {}
    wanted = list[tuple[tuple[int, int], Unscheduled, tuple[int, tuple[Check, ...]]]]()
    for start in view.unscheduled:
        load = int(under.loads.of_piece[start.place])
        if under.loads.off_ms[load] <= 0:
            continue  # it never goes off, so it never starts again
        checks = tuple(under.rule.of_store(None) if top_alone else lines_for(under.rule, start.duration_s))
        asked = (start.place, checks)
        begin_ms = int(under.loads.scope.cyclers.begin_ms[start.place])
        wanted.append(((load, begin_ms), start, asked))
        if asked not in under.starts_known:
            unknown.setdefault((start.stretch.tobytes(), checks), []).append(start)
    for (_, checks), starts in unknown.items():
        for start, where in zip(starts, _where_too_much(under, starts, checks), strict=True):
            under.starts_known[start.place, checks] = where
    for beginning, start, asked in wanted:
        period_ms = float((under.loads.on_ms + under.loads.off_ms)[beginning[0]])
        per_day = sum(float(one.held_ms.sum()) for one in under.starts_known[asked]) / period_ms
        if beginning not in found or found[beginning][1] < per_day:
            found[beginning] = start, per_day
    return dict(found.values())


def risky_starts(view: View, under: UnderRule) -> list[Unscheduled]:
    """Starts that come by themselves and may break a rule, with everything on."""
    return [
        start
        for start in view.unscheduled
        if under.loads.off_ms[under.loads.of_piece[start.place]] > 0
        and _hot(under, [start], lines_for(under.rule, start.duration_s)).any()
    ]


def risky_stretches(view: View, under: UnderRule) -> NDArray[np.intp]:
    """Stretches in which a rule may be broken at all, or come to be, in order."""
    found = [under.cells.stretch]
    for start in view.unscheduled:
        found.append(start.stretch[_hot(under, [start], lines_for(under.rule, start.duration_s))[0]])
    for places in risky_planned_starts(view, under):
        found += [np.arange(view.scheduled.first[place], view.scheduled.last[place]) for place in places]
    return np.unique(np.concatenate(found))


def _where_too_much(under: UnderRule, starts: list[Unscheduled], checks: Sequence[Check]) -> list[list[TooMuch]]:
    """Where each of some starts that may be in the same stretches would be too much."""
    hot = _hot(under, starts, checks)
    if not (under.rises and under.flat):
        return [list(_slowly(under, start, checks, start.stretch[one])) for start, one in zip(starts, hot, strict=True)]
    some = [number for number, one in enumerate(hot) if one.any()]
    found: list[list[TooMuch]] = [[] for _ in starts]
    for group, stairs in _groups(under, starts[0].stretch) if some else []:
        table = table_of(under.loads, int(group[0]))
        size = max(AT_A_TIME // (len(table.weight) * len(stairs.height)), 1)
        for first in range(0, len(some), size):
            part = some[first : first + size]
            pieces = [starts[number].place for number in part]
            weight, draws, count = beside_starts(under.loads, table, int(group[0]), pieces)
            held_ms = weight * _held_ms(under, draws, checks, group, stairs)
            for number, of_start in zip(part, parted(held_ms, count), strict=True):
                found[number].append(TooMuch(group, stairs, of_start))
    return found


def _hot(under: UnderRule, starts: list[Unscheduled], checks: Sequence[Check]) -> Flags:
    """In which of their stretches starts pass a line if everything is on that can be; shape (starts, stretches)."""
    scope, stretch = under.loads.scope, starts[0].stretch
    hot = np.zeros((len(starts), len(stretch)), dtype=bool)
    today = scope.begin_ms[stretch] < under.day_ms
    if not under.rises:
        return hot | today  # with less on, reactive power of the start may be offset by less
    total = Draws(*np.stack([start.total.figures for start in starts], axis=1))
    most = total + (scope.certain_started.take(stretch) - scope.certain.take(stretch))
    for check in checks:
        hot |= exceeds(under.quantities[check.quantity](most), lowest(check.line.at(scope.t_ms))[stretch])
    return np.asarray(hot & today)


def _slowly(
    under: UnderRule, start: Unscheduled, checks: Sequence[Check], stretches: NDArray[np.intp]
) -> Iterator[TooMuch]:
    """Where one start would be too much among some stretches, each state with each of them."""
    for group, _ in _groups(under, stretches):
        weight, draws = beside_start(under.loads, table_of(under.loads, int(group[0])), int(group[0]), start.place)
        held_ms, size = stand_ms(under, group), max(AT_A_TIME // len(weight), 1)
        for first in range(0, len(group), size):
            part = slice(first, first + size)
            likely = weight @ part_too_much(under, draws, checks, group[part])
            yield TooMuch(group[part], None, held_ms[part] * likely)


def stand_ms(under: UnderRule, stretches: NDArray[np.intp]) -> Floats:
    """How long stretches are, up to the end of the day."""
    return np.diff(np.minimum(under.loads.scope.t_ms, under.day_ms))[stretches]


_Grouped = list[tuple[NDArray[np.intp], Stairs]]
_STARTED: WeakKeyDictionary[Loads, dict[bytes, _Grouped]] = WeakKeyDictionary()  # inverter and bank ask for the same


def _groups(under: UnderRule, stretches: NDArray[np.intp]) -> _Grouped:
    """Stretches by their kind, with what is certain in them as stairs; most starts ask for the same ones."""
    asked = stretches.tobytes()
    started = _STARTED.setdefault(under.loads, {})
    if asked not in started:
        groups = [stretches[places] for places in under.loads.groups(stretches)]
        certain = [under.loads.scope.certain_started.take(group) for group in groups]
        stairs = [stairs_of(one.figures, alone=not under.rises) for one in certain]
        started[asked] = list(zip(groups, stairs, strict=True))
    return started[asked]


def places_from(
    under: UnderRule, draws: Draws, checks: Sequence[Check], stretches: NDArray[np.intp], stairs: Stairs
) -> NDArray[np.intp]:
    """Per state, from which place on each stair one of some lines, which do not move, is passed with it.

    Shape (states, stairs); as `block.Passed` has it.
    """
    certain = under.loads.scope.certain_started.take(stretches)
    first = np.full((len(draws.p_w), len(stairs.height)), stairs.width)
    for check in checks:
        limit = np.full(len(stretches), check.line.value[0] * (1 + HAIR))
        steps = first_passed(draws, certain, stairs, under.quantities[check.quantity], [limit])
        first = np.minimum(first, steps[0])
    return np.asarray(first + stairs.first)


def _held_ms(
    under: UnderRule, draws: Draws, checks: Sequence[Check], stretches: NDArray[np.intp], stairs: Stairs
) -> Floats:
    """Per state, how long a day one of some lines is passed with it."""
    places = places_from(under, draws, checks, stretches, stairs)
    lasts_ms = np.bincount(stairs.of_item, stand_ms(under, stretches), minlength=len(stairs.height) * stairs.width)
    from_here_ms = lasts_ms.reshape(-1, stairs.width)[:, ::-1].cumsum(axis=1)[:, ::-1]
    return np.asarray(from_here_ms.ravel()[places].sum(axis=1))


def part_too_much(under: UnderRule, draws: Draws, checks: Sequence[Check], stretches: NDArray[np.intp]) -> Floats:
    """For which part of stretches some line is passed, with states on top of what is certain; (states, stretches)."""
    part, _ = _parts_too_much(under, draws, checks, stretches)
    return part


def instants_too_much(
    under: UnderRule, draws: Draws, checks: Sequence[Check], stretch: int, random: np.random.Generator
) -> Floats:
    """An instant of a stretch for each of some states at which a line is passed with it, ms; shape (states,)."""
    part, from_begin = (one[:, 0] for one in _parts_too_much(under, draws, checks, np.array([stretch])))
    into = np.where(from_begin, 0.0, 1 - part) + random.random(len(part)) * part
    return np.asarray(under.loads.scope.t_ms[stretch] + into * stand_ms(under, np.array([stretch])))


def _parts_too_much(
    under: UnderRule, draws: Draws, checks: Sequence[Check], stretches: NDArray[np.intp]
) -> tuple[Floats, Flags]:
    """As `part_too_much`; and whether that part is the stretch's beginning, not its end."""
    scope, day_ms = under.loads.scope, under.day_ms
    edges_ms = [np.minimum(scope.t_ms[stretches + more], day_ms) for more in (0, 1)]
    sums = every_sum(draws, scope.certain_started.take(stretches))
    part, from_begin = np.zeros((1, 1)), np.ones((1, 1), dtype=bool)
    for check in checks:
        begin, end = (check.line.at(edge_ms) for edge_ms in edges_ms)
        use = under.quantities[check.quantity](sums)
        mine = part_above(use, begin, end)
        from_begin = np.where(mine > part, exceeds(use, begin), from_begin)
        part = np.maximum(part, mine)
    return part, from_begin


def overloading_planned_starts(view: View, under: UnderRule) -> dict[tuple[int, ...], float]:
    """Planned starts that may break a rule, and how often they do with whatever happens to be on."""
    return {together: _likely(view, under, together) for together in risky_planned_starts(view, under)}


def risky_planned_starts(view: View, under: UnderRule) -> list[tuple[int, ...]]:
    """Planned starts that may break a rule, with everything on that comes and goes.

    Starts that overlap are one; each by its places among those of the view.
    """
    starts, scope = view.scheduled, under.loads.scope
    if not len(starts) or not len(under.loads.on_ms):
        return []
    lines = {check: lowest(check.line.at(scope.t_ms)) for check in under.rule.checks}
    worst = under.used(scope.worst_started)
    risky = [
        place
        for place in np.flatnonzero(starts.begin_ms < under.day_ms).tolist()
        if any(
            exceeds(worst[check.quantity], line)[starts.first[place] : starts.last[place]].any()
            for check, line in lines.items()
        )
    ]
    found, together = list[tuple[int, ...]](), list[int]()
    for place in risky:
        if together and starts.begin_ms[place] >= max(starts.end_ms[one] for one in together):
            found.append(tuple(together))
            together = []
        together.append(place)
    return [*found, tuple(together)] if together else found


def _likely(view: View, under: UnderRule, places: Sequence[int]) -> float:
    """How likely it is that one of some starts that overlap breaks the rule."""
    table = table_of(under.loads, int(view.scheduled.first[places[0]]))
    return float(table.weight[broken_by(view, under, places, table.draws)].sum())


def broken_by(view: View, under: UnderRule, places: Sequence[int], draws: Draws) -> Flags:
    """Whether one of some starts that overlap breaks the rule with each of some draws, which stay as they are.

    draws: on top of what is certain, shape (n,).
    """
    starts, scope = view.scheduled, under.loads.scope
    first, last = min(starts.first[place] for place in places), max(starts.last[place] for place in places)
    stretches: NDArray[np.intp] = np.arange(first, last)
    use = under.used(scope.certain_started.take(stretches).with_each(draws))
    seconds = np.diff(scope.t_ms)[stretches] / 1000
    broken = np.zeros(len(draws.p_w), dtype=bool)
    for place in places:
        within = (stretches >= starts.first[place]) & (stretches < starts.last[place])
        for check in under.rule.checks:
            allowed_s = 0.0 if check.store is None else under.rule.allowed_s[check.store]
            line = lowest(check.line.at(scope.t_ms))[stretches]
            above = exceeds(use[check.quantity], line[:, None]) & within[:, None]
            broken |= seconds @ above > allowed_s * (1 + HAIR)
    return broken
