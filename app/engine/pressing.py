"""Which limits guests press on, whenever they come: every one that an assessment reads, but for the energy's."""

from collections.abc import Iterator

import numpy as np

from app.engine.bank import Bank
from app.engine.beside import VOLT_AMPERES, WATTS, Beside, Comparison, Passing
from app.engine.circuits import Wired
from app.engine.columns import Columns, Most, most_of
from app.engine.curve import Line
from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.drops import drop_passing
from app.engine.everything import coming_back
from app.engine.guests import Guests
from app.engine.heat import Rule
from app.engine.inverter import VOLT_AMPERES as VA_OF_RULE
from app.engine.left_behind import left_behind
from app.engine.locked import Locked, Side, rows_in, starting_in, without
from app.engine.own_runs import CERTAIN, DrawnAs
from app.engine.readings import View
from app.engine.results import Instants
from app.engine.seen import Seen
from app.engine.told import (
    CAREFUL,
    FITS,
    NEVER,
    NOTHING,
    UNSURE,
    Limits,
    amperes,
    in_watts,
    most_w,
    terminal_volts,
    watts_for,
)

STARTED, CERTAIN_STARTED, COLD = DrawnAs(started=True), DrawnAs(certain=True, started=True), DrawnAs(cold=True)
JUST_ABOVE = 1e-6  # a start as long as the inverter waits is long enough to cut out


class Comparisons:
    """The tests of one view: of running draws, of starts, and of both with certain draws alone."""

    def __init__(self, view: View) -> None:
        self.running: list[Comparison] = []
        self.starting: list[Comparison] = []
        self.certain: list[Comparison] = []
        self.certain_starting: list[Comparison] = []
        # Of what tests running draws, and of what tests starts.
        self.lowest_running = self.lowest_starting = Most(np.inf, np.inf)
        self.weight = view.scope.weight
        self._t_ms = view.scope.t_ms

    def add(
        self, told: int, quantity: int, line: Line | float, *, level: int | Instants,
        longer_than_s: float | None = None, certain: bool = False, unbroken: bool = False,
    ) -> None:  # fmt: skip
        """certain: a test of certain draws. longer_than_s: of starts. unbroken: as in `Comparison`."""
        value = line.at(self._t_ms) if isinstance(line, Line) else np.full(len(self._t_ms), float(line))
        limit = Most(np.inf, float(value.min())) if quantity == VOLT_AMPERES else Most(float(value.min()), np.inf)
        if longer_than_s is None:
            self.lowest_running = self.lowest_running.least(limit)
        else:
            self.lowest_starting = self.lowest_starting.least(limit)
        levels = np.full(len(self._t_ms) - 1, level, dtype=np.int64)
        test = Comparison(told, quantity, value[:-1], value[1:], longer_than_s, levels, unbroken)
        lists = (self.certain, self.certain_starting) if certain else (self.running, self.starting)
        lists[longer_than_s is not None].append(test)


def locked_pressing(beside: Beside, limits: Limits, one: Locked) -> Iterator[Passing]:
    """The same of guests that an interlock keeps apart from others: with these off, and in their stead."""
    guests, members = beside.guests, np.array(one.which, dtype=np.int64)
    rows = np.flatnonzero(np.isin(guests.which, members) & rows_in(guests, one.members))
    yield from _pressing(beside, limits, rows, everything=False, side=Side(one.members, others_off=True))
    left = np.flatnonzero(np.isin(guests.which, members) & ~starting_in(guests, one.members))
    others = Beside(beside.day, without(guests, one.members), beside.from_ms)
    yield from _pressing(others, limits, left, everything=False, side=Side(one.members, others_off=False))
    # Along several conductors each has its own worst case, whichever of them is on in another: there all count.
    rows = np.flatnonzero(np.isin(guests.which, members))
    seen = Seen(beside, *_phases_and_starts(guests, rows), everything=True)
    yield from drop_passing(seen, limits, of_several=True)


def pressing(beside: Beside, limits: Limits, members: Instants, *, everything: bool) -> Iterator[Passing]:
    """Where some of the guests pass a limit.

    members: which guests. everything: what interlocks keep off counts all the same.
    """
    rows = np.flatnonzero(np.isin(beside.guests.which, members))
    yield from _pressing(beside, limits, rows, everything=everything)


def _pressing(
    beside: Beside, limits: Limits, rows: Instants, *, everything: bool, side: Side | None = None
) -> Iterator[Passing]:
    phases, (sure, free) = _phases_and_starts(beside.guests, rows)
    seen = Seen(beside, phases, (sure, free), everything=everything, side=side)
    for view, tests in tests_of(beside.day, limits):
        mine, there = seen.mine(view), seen.day(view)
        if not any(mine.started):
            continue  # they draw nothing there
        runs_free = beside.never(mine.running, there.most_running, tests.lowest_running)
        starts_free = beside.never(mine.started, there.most_started, tests.lowest_starting)
        own = beside.drawn(view)
        running = own.rows(phases)
        if not runs_free:
            yield from beside.passing(view, phases, running, there.running, tests.running)
            yield from left_behind(beside, view, seen.which, there.running, tests.running)
        if not starts_free:
            yield from beside.passing(view, phases, running, there.starts, tests.starting, STARTED)
            yield from beside.passing(view, phases, running, there.unscheduled, tests.starting)
            yield from beside.passing(view, sure, own.rows(sure), there.started, tests.starting, STARTED)
            yield from beside.passing(view, free, own.rows(free), there.running, tests.starting)
            yield from left_behind(beside, view, seen.which, there.starts, tests.starting, STARTED)
            yield from left_behind(beside, view, seen.which, there.unscheduled, tests.starting)
        if not tests.certain and not tests.certain_starting:
            continue
        if runs_free and starts_free and not view.scope.interlocked:
            continue  # of what is certain there is no more
        own = beside.drawn(view, certain=True)
        running, kicks = own.rows(phases), own.rows(sure)
        yield from beside.passing(view, phases, running, there.certain, tests.certain, CERTAIN)
        yield from left_behind(beside, view, seen.which, there.certain, tests.certain, CERTAIN)
        starting = there.certain_starts, tests.certain_starting, CERTAIN_STARTED
        yield from left_behind(beside, view, seen.which, *starting)
        for some, sums, columns in (
            (phases, running, there.certain_starts), (sure, kicks, there.certain_started)
        ):  # fmt: skip
            yield from beside.passing(view, some, sums, columns, tests.certain_starting, CERTAIN_STARTED)
    of_several = None if side is None else False
    yield from drop_passing(seen, limits, of_several=of_several)
    yield from _cold(seen, limits)


def _phases_and_starts(guests: Guests, rows: Instants) -> tuple[Instants, tuple[Instants, Instants]]:
    """Rows that are phases, and of those that are starts the ones that are sure and the others.

    What comes and goes starts at no known instant, and so beside no start that has one.
    """
    starting = guests.starting[rows] >= 0
    starts = rows[starting]
    cycling = guests.cycling[guests.starting[starts]]
    return rows[~starting], (starts[~cycling], starts[cycling])


def tests_of(day: PlannedDay, limits: Limits) -> Iterator[tuple[View, Comparisons]]:
    """Every view that some limit sees, with its tests."""
    house = Comparisons(day.house)
    _of_rule(house, limits, day.rule, ("inverter_continuous", "inverter_apparent"), "inverter_overload")
    _of_bank(house, limits, day)
    yield day.house, house
    for leg, view in day.legs.items():
        tests = Comparisons(view)
        _of_rule(tests, limits, day.leg_rule, (f"leg:{leg}",) * 2, f"leg:{leg}")
        yield view, tests
    for wired in day.wired.values():
        if wired.circuit.breaker_a is not None:
            for conductor in wired.conductors:
                tests = Comparisons(conductor.view)
                _of_breaker(tests, limits, day, wired, conductor.volts)
                yield conductor.view, tests


def _of_rule(tests: Comparisons, limits: Limits, rule: Rule, steady: tuple[str, str], top: str) -> None:
    """The inverter's levels, or a leg's."""
    for check in rule.checks:
        unit = rule.units[check.quantity]
        quantity = VOLT_AMPERES if check.quantity == VA_OF_RULE else WATTS
        running, alike = (steady[check.quantity], steady) if check.store == 0 else (top, ())
        allowed_s = 0.0 if check.store is None else rule.allowed_s[check.store]
        weight = tests.weight
        passed = UNSURE if check.store is None else CAREFUL
        level = limits.level(running, passed, *alike)
        tests.add(limits.add(running, unit, weight=weight), quantity, check.line, level=level)
        told = limits.add(top, unit, weight=weight)
        tests.add(told, quantity, check.line, level=limits.level(top, UNSURE), longer_than_s=allowed_s)
        tests.add(told, quantity, check.line, level=NEVER, longer_than_s=allowed_s, certain=True)
        if top in limits.broken:  # there a start makes it worse, however short it is
            worse = limits.add(top, unit, weight=weight, lesser=True)
            tests.add(worse, quantity, check.line, level=limits.level(top, NOTHING), longer_than_s=0.0)
        # Above a level certain draws alone may fill its store: `holding` says whether too much.
        tests.add(told, quantity, check.line, level=NEVER if check.store is None else FITS, certain=True)


def _of_bank(tests: Comparisons, limits: Limits, day: PlannedDay) -> None:
    """Currents, voltage and fuse: all follow the watts."""
    bank, supply = day.bank, day.resolved.household.supply
    current_a = amperes(bank)
    steady, peak = (in_watts(bank, line) for line in (bank.continuous_a, bank.peak_a))
    hours, moments = limits.add("battery_continuous", "A", current_a), limits.add("battery_peak", "A", current_a)
    tests.add(hours, WATTS, steady, level=limits.level("battery_continuous", CAREFUL))
    tests.add(moments, WATTS, peak, level=limits.level("battery_peak", UNSURE))
    tests.add(moments, WATTS, peak, level=NEVER, certain=True)
    tests.add(hours, WATTS, steady, level=FITS, certain=True)
    for line, allowed_s in ((steady, bank.peak_s), (peak, 0.0)):
        tests.add(moments, WATTS, line, level=limits.level("battery_peak", UNSURE), longer_than_s=allowed_s)
        tests.add(moments, WATTS, line, level=NEVER, longer_than_s=allowed_s, certain=True)
    cut_off_v = supply.inverter.cut_off_v
    volts = limits.add("battery_voltage", "V", terminal_volts(bank), cut_off_v)
    endless, low_w = most_w(bank), low_voltage_w(bank, cut_off_v)
    waits_s = supply.inverter.cut_off_delay_s * (1 - JUST_ABOVE) - JUST_ABOVE
    for limit_w, longer_than_s in ((low_w, waits_s), (endless, -1.0)):
        tests.add(volts, WATTS, limit_w, level=NEVER)
        tests.add(volts, WATTS, limit_w, level=NEVER, longer_than_s=longer_than_s, unbroken=True)
    # Dips that follow on one another may last too long between them: `dipping` says whether they do.
    tests.add(volts, WATTS, low_w, level=FITS, longer_than_s=0.0, unbroken=True)
    fuse_a = supply.battery.dc_fuse_a
    if fuse_a is not None:
        tests.add(limits.add("dc_fuse", "A", current_a), WATTS, watts_for(bank, fuse_a), level=NEVER)


def low_voltage_w(bank: Bank, cut_off_v: float) -> float:
    """The AC watts above which the voltage at the inverter is below its cut-off; below zero where it always is."""
    if bank.resistance_ohm:
        return watts_for(bank, (bank.rest_v - cut_off_v * (1 - HAIR)) / bank.resistance_ohm)
    return -1.0 if bank.rest_v < cut_off_v * (1 - HAIR) else most_w(bank)


def _of_breaker(tests: Comparisons, limits: Limits, day: PlannedDay, wired: Wired, volts: float) -> None:
    """What a breaker carries, and what trips it at once."""
    circuit, limit = wired.circuit, f"circuit:{wired.circuit.id}"
    assert circuit.breaker_a is not None  # of the caller

    def figure(use_va: float) -> float:
        return use_va / volts

    told = limits.add(limit, "A", figure, weight=tests.weight)
    trip_a = circuit.breaker_a * getattr(day.resolved.household.supply.rules.trip_multiple, circuit.curve)
    tests.add(told, VOLT_AMPERES, circuit.breaker_a * volts, level=NEVER)
    tests.add(told, VOLT_AMPERES, trip_a * volts, level=NEVER, longer_than_s=0.0)


def _cold(seen: Seen, limits: Limits) -> Iterator[Passing]:
    """What comes back at once after a power cut."""
    beside, phases = seen.beside, seen.phases
    day, scope = beside.day, beside.day.house.scope
    own = beside.guests.draws(day, scope.weight, cold=True).rows(phases)
    if not own.p_w.any():
        return
    first = int(scope.stretch_at(beside.from_ms))
    index = np.arange(first, len(scope.t_ms) - 1)
    cold = coming_back(scope).take(index)
    columns = Columns(
        scope.t_ms[index], scope.t_ms[index + 1], index, np.zeros(len(index)), np.full(len(index), -1), cold
    )
    tests = Comparisons(day.house)
    top = day.rule.of_store(None)[0].line
    told = limits.add("cold_restart", "VA")
    tests.add(told, VOLT_AMPERES, top, level=UNSURE)
    bank, inverter = day.bank, day.resolved.household.supply.inverter
    longest_s = float(day.rows.start_ms.max(initial=0)) / 1000
    if longest_s >= inverter.cut_off_delay_s * (1 - JUST_ABOVE):
        tests.add(limits.add("cold_restart", "VA"), WATTS, low_voltage_w(bank, inverter.cut_off_v), level=UNSURE)
    most = most_of(own).and_va(beside.made_up_va(day.house, cold=True))
    if not beside.never(most, most_of(cold), tests.lowest_running):
        yield from beside.passing(day.house, phases, own, columns, tests.running, COLD)
        yield from left_behind(beside, day.house, seen.which, columns, tests.running, COLD)
