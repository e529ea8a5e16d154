"""Starts that are too much: of loads that come on by themselves, and planned ones with whatever is on then."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR, Draws
from app.engine.heat import Check, Rule, exceeds, part_above
from app.engine.kinds import Flags, Floats
from app.engine.odds.block import each_of, every_sum, figures_of, first_passed
from app.engine.odds.stairs import Stairs, stairs_of
from app.engine.odds.tables import beside_start, table_of
from app.engine.odds.under import UnderRule
from app.engine.readings import View
from app.engine.starts import Unscheduled, lowest

AT_A_TIME = 1 << 18  # states times stretches that are worked out together


def too_much_for(rule: Rule, seconds: float) -> list[Check]:
    """The lines that a start of that length may not pass: the top, and each level whose time is shorter."""
    return [check for check in rule.checks if check.store is None or seconds > rule.allowed_s[check.store] * (1 + HAIR)]


def overloading_starts(view: View, under: UnderRule, *, top_alone: bool = False) -> dict[int, float]:
    """Starts per day, by load, whose total breaks a rule; top_alone: whose total passes its top level."""
    found: dict[tuple[int, int], float] = {}
    unknown: dict[tuple[bytes, tuple[Check, ...]], list[Unscheduled]] = {}
    wanted = list[tuple[tuple[int, int], tuple[int, tuple[Check, ...]]]]()
    for start in view.unscheduled:
        load = int(under.loads.of_piece[start.place])
        if under.loads.off_ms[load] <= 0:
            continue  # it never goes off, so it never starts again
        checks = tuple(under.rule.of_store(None) if top_alone else too_much_for(under.rule, start.duration_s))
        asked = (start.place, checks)
        begin_ms = int(under.loads.scope.cyclers.begin_ms[start.place])
        wanted.append(((load, begin_ms), asked))
        if asked not in under.starts_known:
            unknown.setdefault((start.stretch.tobytes(), checks), []).append(start)
    for (_, checks), starts in unknown.items():
        for start, ms in zip(starts, _too_much_ms(under, starts, checks), strict=True):
            load = under.loads.of_piece[start.place]
            under.starts_known[start.place, checks] = ms / float(under.loads.on_ms[load] + under.loads.off_ms[load])
    for moment, asked in wanted:  # parts of a load that come on together are one start
        found[moment] = max(found.get(moment, 0.0), under.starts_known[asked])
    of_load: dict[int, float] = {}
    for (load, _), per_day in found.items():
        of_load[load] = of_load.get(load, 0.0) + per_day
    return of_load


def _too_much_ms(under: UnderRule, starts: list[Unscheduled], checks: Sequence[Check]) -> list[float]:
    """How long a day, as expected, each of some starts that may be in the same stretches would be too much."""
    hot = [_hot(under, start, checks) for start in starts]
    if not (under.rises and under.flat):
        return [_slowly_ms(under, start, checks, start.stretch[one]) for start, one in zip(starts, hot, strict=True)]
    some = [number for number, one in enumerate(hot) if one.any()]
    found = np.zeros(len(starts))
    for group, stairs in _groups(under, starts[0].stretch) if some else []:
        table = table_of(under.loads, int(group[0]))
        size = max(AT_A_TIME // (len(table.weight) * len(stairs.height)), 1)
        for first in range(0, len(some), size):
            part = some[first : first + size]
            states = [beside_start(under.loads, table, int(group[0]), starts[number].place) for number in part]
            draws = Draws(*map(np.concatenate, zip(*(each_of(draws) for _, draws in states), strict=True)))
            held_ms = _held_ms(under, draws, checks, group, stairs)
            ends = np.cumsum([len(weight) for weight, _ in states])
            found[part] += [
                float(weight @ ms) for (weight, _), ms in zip(states, np.split(held_ms, ends[:-1]), strict=True)
            ]
    return list(found.tolist())


def _hot(under: UnderRule, start: Unscheduled, checks: Sequence[Check]) -> Flags:
    """In which of its stretches a start passes one of some lines if everything is on that can be."""
    scope = under.loads.scope
    today = scope.begin_ms[start.stretch] < under.day_ms
    if not under.rises:
        return np.asarray(today)  # with less on, reactive power of the start may be offset by less
    most = start.total + (scope.certain_started.take(start.stretch) - scope.certain.take(start.stretch))
    hot = np.zeros(len(start.stretch), dtype=bool)
    for check in checks:
        hot |= exceeds(under.quantities[check.quantity](most), lowest(check.line.at(scope.t_ms))[start.stretch])
    return np.asarray(hot & today)


def _slowly_ms(under: UnderRule, start: Unscheduled, checks: Sequence[Check], stretches: NDArray[np.intp]) -> float:
    """How long one start would be too much in some stretches, each state with each of them."""
    found = 0.0
    for group, _ in _groups(under, stretches):
        weight, draws = beside_start(under.loads, table_of(under.loads, int(group[0])), int(group[0]), start.place)
        held_ms, size = _stand_ms(under, group), max(AT_A_TIME // len(weight), 1)
        for first in range(0, len(group), size):
            part = slice(first, first + size)
            found += float(held_ms[part] @ _likely_too_much(under, weight, draws, checks, group[part]))
    return found


def _stand_ms(under: UnderRule, stretches: NDArray[np.intp]) -> Floats:
    """How long stretches are, up to the end of the day."""
    return np.diff(np.minimum(under.loads.scope.t_ms, under.day_ms))[stretches]


def _groups(under: UnderRule, stretches: NDArray[np.intp]) -> list[tuple[NDArray[np.intp], Stairs]]:
    """Stretches by their kind, with what is certain in them as stairs; most starts ask for the same ones."""
    asked = stretches.tobytes()
    if asked not in under.started:
        groups = [stretches[places] for places in under.loads.groups(stretches)]
        certain = [under.loads.scope.certain_started.take(group) for group in groups]
        stairs = [stairs_of(figures_of(one), alone=not under.rises) for one in certain]
        under.started[asked] = list(zip(groups, stairs, strict=True))
    return under.started[asked]


def _held_ms(
    under: UnderRule, draws: Draws, checks: Sequence[Check], stretches: NDArray[np.intp], stairs: Stairs
) -> Floats:
    """Per state, how long a day one of some lines, which do not move, is passed with it; as `block.Passed` has it."""
    certain = under.loads.scope.certain_started.take(stretches)
    first = np.full((len(draws.p_w), len(stairs.height)), stairs.width)
    for check in checks:
        limit = np.full(len(stretches), check.line.value[0] * (1 + HAIR))
        steps = first_passed(draws, certain, stairs, under.quantities[check.quantity], [limit])
        first = np.minimum(first, steps[0])
    lasts_ms = np.bincount(stairs.of_item, _stand_ms(under, stretches), minlength=len(stairs.height) * stairs.width)
    from_here_ms = lasts_ms.reshape(-1, stairs.width)[:, ::-1].cumsum(axis=1)[:, ::-1]
    return np.asarray(from_here_ms.ravel()[first + stairs.first].sum(axis=1))


def _likely_too_much(
    under: UnderRule, weight: Floats, draws: Draws, checks: Sequence[Check], stretches: NDArray[np.intp]
) -> Floats:
    """How likely some line is passed in stretches, with those states on top of what is certain; shape (stretches,)."""
    scope, day_ms = under.loads.scope, under.day_ms
    edges_ms = [np.minimum(scope.t_ms[stretches + more], day_ms) for more in (0, 1)]
    sums = every_sum(draws, scope.certain_started.take(stretches))
    part: Floats = np.zeros((1, 1))
    for check in checks:
        begin, end = (check.line.at(edge_ms) for edge_ms in edges_ms)
        part = np.maximum(part, part_above(under.quantities[check.quantity](sums), begin, end))
    return np.asarray(weight @ part)


def overloading_planned_starts(view: View, under: UnderRule) -> float:
    """Planned starts, per day, that break a rule with whatever happens to be on; starts that overlap are one."""
    starts, scope = view.scheduled, under.loads.scope
    if not len(starts) or not len(under.loads.on_ms):
        return 0.0
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
    found, together = 0.0, list[int]()
    for place in risky:
        if together and starts.begin_ms[place] >= max(starts.end_ms[one] for one in together):
            found += _likely(view, under, together)
            together = []
        together.append(place)
    return found + (_likely(view, under, together) if together else 0.0)


def _likely(view: View, under: UnderRule, places: list[int]) -> float:
    """How likely it is that one of some starts that overlap breaks the rule; loads stay as they are meanwhile."""
    starts, scope = view.scheduled, under.loads.scope
    first, last = min(starts.first[place] for place in places), max(starts.last[place] for place in places)
    table = table_of(under.loads, int(first))
    stretches: NDArray[np.intp] = np.arange(first, last)
    use = under.used(scope.certain_started.take(stretches).with_each(table.draws))
    seconds = np.diff(scope.t_ms)[stretches] / 1000
    broken = np.zeros(len(table.weight), dtype=bool)
    for place in places:
        within = (stretches >= starts.first[place]) & (stretches < starts.last[place])
        for check in under.rule.checks:
            allowed_s = 0.0 if check.store is None else under.rule.allowed_s[check.store]
            line = lowest(check.line.at(scope.t_ms))[stretches]
            above = exceeds(use[check.quantity], line[:, None]) & within[:, None]
            broken |= seconds @ above > allowed_s * (1 + HAIR)
    return float(table.weight[broken].sum())
