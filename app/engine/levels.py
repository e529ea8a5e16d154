"""Limits with levels and times, each with the view it sees; and in which stretches of the day they are broken."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np

from app.engine.day import PlannedDay
from app.engine.heat import Rule, exceeds, store_s
from app.engine.inverter import quantities
from app.engine.patterns import Quantities
from app.engine.readings import View
from app.engine.results import Flags, Floats, LimitReading
from app.engine.starts import lowest


class Levels(NamedTuple):
    """A view under a rule, and the limits that are read there.

    steady: per quantity, the limit for hours. top: the limit for moments. bank: it is the bank's, in amperes.
    """

    view: View
    rule: Rule
    quantities: Quantities
    steady: tuple[str, ...]
    top: str
    bank: bool = False


def levels_of(day: PlannedDay) -> Iterator[Levels]:
    """Those of the house, of each leg and of the bank."""
    yield Levels(day.house, day.rule, quantities, ("inverter_continuous", "inverter_apparent"), "inverter_overload")
    for leg, view in day.legs.items():
        yield Levels(view, day.leg_rule, quantities, (f"leg:{leg}",) * 2, f"leg:{leg}")
    yield Levels(day.house, day.bank.rule, day.bank.quantities, ("battery_continuous",), "battery_peak", bank=True)


def broken_in(levels: Levels, *, certain: bool = True) -> dict[str, Flags]:
    """In which stretches of the view certain draws break each limit, shape (n,): running too high, too long, starting.

    Too long: from the stretch on in which a store comes to hold too much, for as long as the draw exceeds its level.
    A line that moves counts at its lowest in each stretch.
    certain: else everything that comes and goes is on all the time, but starts nothing.
    """
    view, rule = levels.view, levels.rule
    scope = view.scope
    started = list(levels.quantities(scope.certain_started if certain else scope.worst_started))
    at_all = np.zeros(len(scope.t_ms) - 1, dtype=bool)
    steady = [at_all.copy() for _ in levels.steady]
    for store, (above, held_s) in enumerate(_stores(levels, certain=certain)):
        full = np.any(above, axis=0) & exceeds(held_s, rule.allowed_s[store])
        at_all |= full
        for check, flags in zip(rule.of_store(store), above, strict=True) if store == 0 else ():
            steady[check.quantity] |= full & flags
    for flags in _above(levels, None, certain=certain):
        at_all |= flags
    for start in np.flatnonzero(view.scheduled.broken(scope, started, rule)).tolist():
        at_all[view.scheduled.first[start] : view.scheduled.last[start]] = True
    found = {levels.top: at_all}
    for limit, flags in zip(levels.steady, steady, strict=True):
        found[limit] = found.get(limit, np.zeros_like(flags)) | flags
    return found


def _above(levels: Levels, store: int | None, *, certain: bool) -> list[Flags]:
    """Per comparison of a store, or of the top, in which stretches it is exceeded."""
    scope = levels.view.scope
    use = levels.quantities(scope.certain if certain else scope.worst)
    return [exceeds(use[one.quantity], lowest(one.line.at(scope.t_ms))) for one in levels.rule.of_store(store)]


def _stores(levels: Levels, *, certain: bool) -> Iterator[tuple[list[Flags], Floats]]:
    """Per store, its comparisons as of `_above`, and the seconds it holds as each stretch ends."""
    rule, seconds = levels.rule, np.diff(levels.view.scope.t_ms)[None, :] / 1000
    for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
        above = _above(levels, store, certain=certain)
        yield above, store_s(seconds, np.any(above, axis=0)[None, :], allowed_s, cooling_s)[0]


def may_be_sure(day: PlannedDay) -> bool:
    """Certain draws, running or starting, come up to some level: else `sure_breaks` finds nothing."""
    return not all(
        levels.rule.never_met(list(levels.quantities(draws)))
        for levels in levels_of(day)
        for draws in (levels.view.scope.certain, levels.view.scope.certain_started)
    )


def sure_breaks(day: PlannedDay, limits: Iterable[LimitReading]) -> dict[str, tuple[Levels, Flags]]:
    """Of limits that certain draws alone break, by id: in which stretches of their view they do."""
    broken = {one.id for one in limits if one.verdict_certain == "over"}
    found: dict[str, tuple[Levels, Flags]] = {}
    for levels in levels_of(day):
        if broken & {*levels.steady, levels.top}:
            found |= {limit: (levels, flags) for limit, flags in broken_in(levels).items() if flags.any()}
    return found


def cold_until_ms(levels: Levels, at_ms: float, *, certain: bool = True) -> float:
    """The last instant up to one at which no store holds anything; certain: as in `broken_in`."""
    t_ms, until_ms = levels.view.scope.t_ms, _warm_until_ms(levels, certain=certain)
    for stretch in np.flatnonzero(t_ms[:-1] < at_ms)[::-1].tolist():
        end_ms = min(at_ms, float(t_ms[stretch + 1]))
        # Nothing was filled in it, and what was filled before has gone by its end.
        if until_ms[: stretch + 1].max() < end_ms:
            return end_ms
    return min(at_ms, 0.0)


def _warm_until_ms(levels: Levels, *, certain: bool) -> Floats:
    """For stretches of the view, until when a store would hold something of what it holds as they end, shape (n,).

    Their beginning where none holds anything.
    """
    t_ms = levels.view.scope.t_ms
    found = t_ms[:-1].copy()
    for (_, held_s), allowed_s, cooling_s in zip(
        _stores(levels, certain=certain), levels.rule.allowed_s, levels.rule.cooling_s, strict=True
    ):
        found = np.where(held_s > 0, np.maximum(found, t_ms[1:] + held_s * cooling_s / allowed_s * 1000), found)
    return found
