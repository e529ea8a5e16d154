"""Limits with levels and times, each with the view it sees; and where certain draws alone break them."""

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
    yield Levels(
        day.house, day.bank.rule, day.bank.quantities, ("battery_continuous",), "battery_peak", bank=True
    )  # fmt: skip


def surely_broken(levels: Levels, t_ms: Floats | None = None) -> dict[str, Floats]:
    """How far certain draws are beyond each limit in stretches, shape (n,): running too high, too long, starting.

    t_ms: shape (n + 1,), edges of the stretches, the view's own among them; these alone if not given.
    0 where they break nothing; where they last too long, for how many seconds as the stretch ends; else infinite.
    Too long: from the stretch on in which a store comes to hold too much, for as long as the draw exceeds its level.
    A line that moves counts at its lowest in each stretch.
    """
    view, rule = levels.view, levels.rule
    scope = view.scope
    edges_ms = scope.t_ms if t_ms is None else t_ms
    stretch = scope.stretch_at((edges_ms[:-1] + edges_ms[1:]) / 2)
    running, started = levels.quantities(scope.certain), list(levels.quantities(scope.certain_started))
    above = [exceeds(running[one.quantity], lowest(one.line.at(scope.t_ms)))[stretch] for one in rule.checks]
    seconds = np.diff(edges_ms)[None, :] / 1000
    at_all = np.zeros(len(stretch))
    steady = [at_all.copy() for _ in levels.steady]
    for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
        filling = [(check, flags) for check, flags in zip(rule.checks, above, strict=True) if check.store == store]
        any_of = np.logical_or.reduce([flags for _, flags in filling])
        if not any_of.any():
            continue
        held_s = store_s(seconds, any_of[None, :], allowed_s, cooling_s)[0]
        beyond_s = np.where(any_of & exceeds(held_s, allowed_s), held_s - allowed_s, 0.0)
        at_all = np.maximum(at_all, beyond_s)
        for check, flags in filling if store == 0 else ():
            steady[check.quantity] = np.maximum(steady[check.quantity], np.where(flags, beyond_s, 0.0))
    for check, flags in zip(rule.checks, above, strict=True):
        if check.store is None:
            at_all[flags] = np.inf
    for start in np.flatnonzero(view.scheduled.broken(scope, started, rule)).tolist():
        at_all[(stretch >= view.scheduled.first[start]) & (stretch < view.scheduled.last[start])] = np.inf
    found = {levels.top: at_all}
    for limit, beyond in zip(levels.steady, steady, strict=True):
        found[limit] = np.maximum(found.get(limit, 0.0), beyond)
    return found


def sure_breaks(day: PlannedDay, limits: Iterable[LimitReading]) -> dict[str, tuple[Levels, Flags]]:
    """Of limits that certain draws alone break, by id: in which stretches of their view they do."""
    broken = {one.id for one in limits if one.verdict_certain == "over"}
    found: dict[str, tuple[Levels, Flags]] = {}
    for levels in levels_of(day):
        if broken & {*levels.steady, levels.top}:
            found |= {limit: (levels, far > 0) for limit, far in surely_broken(levels).items() if far.any()}
    return found


def warm_until_ms(levels: Levels) -> Floats:
    """For stretches of the view, until when some store holds something of what certainly drew in them; shape (n,).

    The beginning of the stretch where nothing does. Later ones may fill them again before.
    """
    scope, rule = levels.view.scope, levels.rule
    use, t_ms = levels.quantities(scope.certain), scope.t_ms
    found = t_ms[:-1].copy()
    for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
        checks = rule.of_store(store)
        above = np.any([exceeds(use[one.quantity], lowest(one.line.at(t_ms))) for one in checks], axis=0)
        if above.any():
            held_s = store_s(np.diff(t_ms)[None, :] / 1000, above[None, :], allowed_s, cooling_s)[0]
            empty_ms = t_ms[1:] + held_s * cooling_s / allowed_s * 1000
            found = np.maximum(found, np.where(held_s > 0, empty_ms, 0.0))
    return found


def cold_until_ms(levels: Levels, at_ms: float) -> float:
    """The last instant up to one at which no store holds anything by what certainly draws."""
    t_ms, until_ms = levels.view.scope.t_ms, warm_until_ms(levels)
    before = np.flatnonzero(t_ms[:-1] < at_ms)
    for stretch in before[::-1].tolist():
        if until_ms[stretch] <= min(at_ms, t_ms[stretch + 1]):
            # Nothing was filled in it: cold from when what was there before has gone, if that is in it.
            earlier_ms = float(until_ms[:stretch].max(initial=0.0))
            if earlier_ms < min(at_ms, t_ms[stretch + 1]):
                return float(min(at_ms, t_ms[stretch + 1]))
    return 0.0 if len(before) else at_ms
