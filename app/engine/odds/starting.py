"""Starts that are too much: of loads that come on by themselves, and planned ones with whatever is on then."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR
from app.engine.heat import Check, Rule, exceeds
from app.engine.odds.cells import cut
from app.engine.odds.tables import beside_start, table_of
from app.engine.odds.under import AT_ONCE, Block, UnderRule, Used
from app.engine.readings import View
from app.engine.starts import Unscheduled, lowest


def too_much_for(rule: Rule, seconds: float) -> list[Check]:
    """The lines that a start of that length may not pass: the top, and each level whose time is shorter."""
    return [check for check in rule.checks if check.store is None or seconds > rule.allowed_s[check.store] * (1 + HAIR)]


def overloading_starts(view: View, under: UnderRule, *, top_alone: bool = False) -> dict[int, float]:
    """Starts per day, by load, whose total breaks a rule; top_alone: whose total passes its top level."""
    found: dict[int, float] = {}
    for start in view.unscheduled:
        load = int(under.loads.of_piece[start.place])
        period_ms = float(under.loads.on_ms[load] + under.loads.off_ms[load])
        if under.loads.off_ms[load] <= 0:
            continue  # it never goes off, so it never starts again
        checks = tuple(under.rule.of_store(None) if top_alone else too_much_for(under.rule, start.duration_s))
        asked = (start.place, checks)
        if asked not in under.starts_known:
            under.starts_known[asked] = sum(_too_much_ms(under, start, checks)) / period_ms
        found[load] = found.get(load, 0.0) + under.starts_known[asked]
    return found


def _too_much_ms(under: UnderRule, start: Unscheduled, checks: Sequence[Check]) -> Iterator[float]:
    """How long, as expected, a start would be too much, kind of stretch by kind of stretch."""
    scope, quantities = under.loads.scope, under.quantities
    only = replace(under.rule, checks=tuple(checks))
    kick = scope.certain_started.take(start.stretch) - scope.certain.take(start.stretch)
    most = quantities(start.total + kick)
    hot = np.zeros(len(start.stretch), dtype=bool)
    for check in checks:
        hot |= exceeds(most[check.quantity], lowest(check.line.at(scope.t_ms))[start.stretch])
    stretches = start.stretch[hot & (scope.begin_ms[start.stretch] < under.day_ms)]
    for group in under.loads.kinds_of_stretch(stretches):
        table = beside_start(under.loads, table_of(under.loads, int(group[0])), int(group[0]), start.place)
        cells = cut(scope, group, (), under.day_ms)
        size = max(AT_ONCE // len(table.weight), 1)
        for first in range(0, len(group), size):
            some = np.arange(first, min(first + size, len(group)))
            certain = scope.certain_started.take(group[some])
            used = Used(table, certain, only, under.quantities)
            block = Block(group[some], cells.of(some), used, some - first)
            yield float(block.cells.lasts_ms @ block.likely(checks))


def overloading_planned_starts(view: View, under: UnderRule) -> float:
    """Planned starts, per day, that break a rule with whatever happens to be on; starts that overlap are one."""
    starts, scope = view.scheduled, under.loads.scope
    if not len(starts) or not len(under.loads.on_ms):
        return 0.0
    lines = {check: lowest(check.line.at(scope.t_ms)) for check in under.rule.checks}
    worst = under.quantities(scope.worst_started)
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
    use = under.quantities(scope.certain_started.take(stretches).with_each(table.draws))
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
