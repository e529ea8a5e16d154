"""Limits with levels and times, each with the view it sees; and where certain draws alone break them."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np

from app.engine.day import PlannedDay
from app.engine.heat import Rule, exceeds, store_s
from app.engine.inverter import quantities
from app.engine.patterns import Quantities
from app.engine.readings import View
from app.engine.results import Flags, LimitReading
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


def surely_broken(levels: Levels) -> dict[str, Flags]:
    """In which stretches of the view certain draws break each limit, shape (n,): running too high, too long, starting.

    Too long: from the stretch on in which a store comes to hold too much, for as long as the draw exceeds its level.
    A line that moves counts at its lowest in each stretch.
    """
    view, rule = levels.view, levels.rule
    scope = view.scope
    running, started = levels.quantities(scope.certain), list(levels.quantities(scope.certain_started))
    at_all = np.zeros(len(scope.t_ms) - 1, dtype=bool)
    steady = [at_all.copy() for _ in levels.steady]
    above = [exceeds(running[check.quantity], lowest(check.line.at(scope.t_ms))) for check in rule.checks]
    seconds = np.diff(scope.t_ms)[None, :] / 1000
    for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
        filling = [(check, flags) for check, flags in zip(rule.checks, above, strict=True) if check.store == store]
        any_of = np.logical_or.reduce([flags for _, flags in filling])
        if any_of.any():
            full = any_of & exceeds(store_s(seconds, any_of[None, :], allowed_s, cooling_s)[0], allowed_s)
            at_all |= full
            for check, flags in filling if store == 0 else ():
                steady[check.quantity] |= full & flags
    for check, flags in zip(rule.checks, above, strict=True):
        if check.store is None:
            at_all |= flags
    for start in np.flatnonzero(view.scheduled.broken(scope, started, rule)).tolist():
        at_all[view.scheduled.first[start] : view.scheduled.last[start]] = True
    found = {levels.top: at_all}
    for limit, flags in zip(levels.steady, steady, strict=True):
        found[limit] = found.get(limit, np.zeros_like(flags)) | flags
    return found


def sure_breaks(day: PlannedDay, limits: Iterable[LimitReading]) -> dict[str, tuple[Levels, Flags]]:
    """Of limits that certain draws alone break, by id: in which stretches of their view they do."""
    broken = {one.id for one in limits if one.verdict_certain == "over"}
    found: dict[str, tuple[Levels, Flags]] = {}
    for levels in levels_of(day):
        if broken & {*levels.steady, levels.top}:
            found |= {limit: (levels, flags) for limit, flags in surely_broken(levels).items() if flags.any()}
    return found
