"""How much more each limit leaves, stretch by stretch: of something steady, and of one more start.

The limits are those that an assessment reads. What is added has no circuit, and what it adds has no uncertainty.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from app.engine.beside import VOLT_AMPERES, WATTS
from app.engine.curve import Line
from app.engine.draw import HAIR, Draws
from app.engine.everything import coming_back
from app.engine.heat import Rule
from app.engine.inverter import VOLT_AMPERES as VA_OF_RULE
from app.engine.inverter import top_line
from app.engine.moment import Inspection
from app.engine.readings import View
from app.engine.results import Flags, Floats
from app.engine.told import in_watts, most_w, watts_for
from app.engine.under_way import planned_start_s
from app.planner.growth.hours import Added, Cut, Hour, cut_at, more_va, more_w

A_START = 1 + 1e-9  # a start as long as a level allows is not too long


class Room(NamedTuple):
    """What one limit leaves in each stretch of a cut, shape (n,); infinite where it does not ask."""

    limit: str
    cut: Cut
    more: Floats


class _Level(NamedTuple):
    """One comparison of a rule. low: the least it is in each stretch. allowed_s: 0 where it breaks at once."""

    running: str
    starting: str
    quantity: int
    low: Floats
    allowed_s: float
    for_hours: bool


@dataclass(frozen=True)
class Rooms:
    """A plan, asked how much more."""

    inspection: Inspection
    hours: tuple[Hour, ...]

    def steady(self, added: Added) -> Iterator[Room]:
        """What may be added for a whole hour; it comes back after a power cut."""
        for view, levels, share in self._ruled():
            yield from self._running(view, levels, added.times(share))
            yield from self._beside_starts(view, levels, added.times(share))
        house = self.inspection.day.house
        cut, worst = self._cut(house), house.scope.worst
        fuse_a = self.inspection.day.resolved.household.supply.battery.dc_fuse_a
        if fuse_a is not None:
            fuse_w = np.full(len(cut.stretch), watts_for(self.inspection.day.bank, fuse_a))
            yield Room("dc_fuse", cut, more_w(worst.take(cut.stretch), fuse_w, added))
        yield from self._generator(added)
        yield from self._dips(added)
        yield from self._cold(added, start_s=0.0)

    def start(self, added: Added, start_s: float) -> Iterator[Room]:
        """What may start at any instant, beside what runs. start_s: how long that lasts."""
        for view, levels, share in self._ruled():
            cut = self._cut(view)
            worst = view.scope.worst.take(cut.stretch)
            for level in levels:
                if start_s > level.allowed_s * A_START:
                    yield Room(level.starting, cut, _more(worst, level, added.times(share)))
        house = self.inspection.day.house
        cut = self._cut(house)
        dips_w = self._low_w if start_s >= self._waits_s else self._endless_w
        most = np.full(len(cut.stretch), dips_w)
        yield Room("battery_voltage", cut, more_w(house.scope.worst.take(cut.stretch), most, added))

    def _cut(self, view: View) -> Cut:
        if view not in self._cuts:
            self._cuts[view] = cut_at(self.hours, view.scope)
        return self._cuts[view]

    @cached_property
    def _cuts(self) -> dict[View, Cut]:
        return {}

    def _ruled(self) -> Iterator[tuple[View, list[_Level], float]]:
        """Every view with levels and times, and how much of what is added it sees."""
        day = self.inspection.day
        inverter = ("inverter_continuous", "inverter_apparent")
        yield day.house, list(self._levels(day.house, day.rule, inverter, "inverter_overload")), 1.0
        for leg, view in day.legs.items():
            yield view, list(self._levels(view, day.leg_rule, (f"leg:{leg}",) * 2, f"leg:{leg}")), 0.5
        bank = list(self._levels(day.house, day.bank.rule, ("battery_continuous",), "battery_peak", amperes=True))
        yield day.house, bank, 1.0

    def _levels(
        self, view: View, rule: Rule, steady: tuple[str, ...], top: str, *, amperes: bool = False
    ) -> Iterator[_Level]:
        bank = self.inspection.day.bank
        for check in rule.checks:
            line, quantity = check.line, VOLT_AMPERES if check.quantity == VA_OF_RULE else WATTS
            running = steady[check.quantity] if check.store == 0 else top
            if amperes:
                line, quantity = in_watts(bank, line), WATTS
            allowed_s = 0.0 if check.store is None else rule.allowed_s[check.store]
            yield _Level(running, top, quantity, self._low(view, line), allowed_s, check.store in (0, None))

    def _low(self, view: View, line: Line) -> Floats:
        """The lower end of a line in each stretch of a view."""
        value = np.interp(self._cut(view).t_ms, line.t_ms, line.value)
        return np.asarray(np.minimum(value[:-1], value[1:]))

    def _running(self, view: View, levels: list[_Level], added: Added) -> Iterator[Room]:
        cut = self._cut(view)
        worst = view.scope.worst.take(cut.stretch)
        for level in levels:
            if level.for_hours:
                yield Room(level.running, cut, _more(worst, level, added))

    def _beside_starts(self, view: View, levels: list[_Level], added: Added) -> Iterator[Room]:
        """Starts of others while it runs."""
        cut, scope = self._cut(view), view.scope
        started = scope.worst_started.take(cut.stretch)
        lasts_s = planned_start_s(view)[cut.stretch]
        for level in levels:
            long = lasts_s > level.allowed_s * A_START
            if long.any():
                yield Room(level.starting, cut, np.where(long, _more(started, level, added), np.inf))
            for start in view.unscheduled:
                if start.duration_s > level.allowed_s * A_START and len(start.stretch):
                    there, place = start.place_in(cut.stretch)
                    total = start.total.take(place)
                    yield Room(level.starting, cut, np.where(there, _more(total, level, added), np.inf))

    @cached_property
    def _endless_w(self) -> float:
        """What the bank can deliver at all."""
        return most_w(self.inspection.day.bank)

    @cached_property
    def _low_w(self) -> float:
        """The watts at which the voltage is down at the cut-off."""
        bank, cut_off_v = self.inspection.day.bank, self.inspection.day.resolved.household.supply.inverter.cut_off_v
        if not bank.resistance_ohm:
            return -1.0 if bank.rest_v < cut_off_v * (1 - HAIR) else self._endless_w
        return watts_for(bank, (bank.rest_v - cut_off_v) / bank.resistance_ohm)

    @property
    def _waits_s(self) -> float:
        """How long a dip may last. On a day on which one lasts too long, none may be made deeper."""
        reading = self.inspection.assessment.limit("battery_voltage")
        if reading is not None and reading.verdict == "over":
            return 0.0
        return float(self.inspection.day.resolved.household.supply.inverter.cut_off_delay_s)

    def _dips(self, added: Added) -> Iterator[Room]:
        """The voltage, running and with starts of others."""
        house = self.inspection.day.house
        cut = self._cut(house)
        started = house.scope.worst_started.take(cut.stretch)
        more = more_w(started, np.full(len(cut.stretch), self._low_w), added)
        yield Room("battery_voltage", cut, _held(cut, more, self._waits_s * 1000))
        yield Room("battery_voltage", cut, more_w(started, np.full(len(cut.stretch), self._endless_w), added))
        for start in house.unscheduled:
            if len(start.stretch):
                there, place = start.place_in(cut.stretch)
                most = self._low_w if start.duration_s >= self._waits_s else self._endless_w
                room = more_w(start.total.take(place), np.full(len(cut.stretch), most), added)
                yield Room("battery_voltage", cut, np.where(there, room, np.inf))

    def _generator(self, added: Added) -> Iterator[Room]:
        """While it runs as the plan has it, it carries the house and its charger."""
        day, battery = self.inspection.day, self.inspection.assessment.battery
        generator = day.resolved.household.supply.generator
        if generator is None or battery is None or not battery.generator:
            return
        cut = self._cut(day.house)
        runs = np.zeros(len(cut.stretch), dtype=bool)
        for spell in battery.generator:
            runs |= (cut.t_ms[:-1] < spell.to_ms) & (cut.t_ms[1:] > spell.from_ms)
        most = np.full(len(cut.stretch), float(generator.rated_w - generator.charger_w))
        more = more_w(day.house.scope.worst.take(cut.stretch), most, added)
        yield Room("generator", cut, np.where(runs, more, np.inf))

    def _cold(self, added: Added, start_s: float) -> Iterator[Room]:
        """What comes back at once after a power cut."""
        day, house = self.inspection.day, self.inspection.day.house
        cut = self._cut(house)
        sums = coming_back(house.scope).take(cut.stretch)
        cold = sums.draws(sums.leads)
        yield Room("cold_restart", cut, more_va(cold, self._low(house, top_line(day.rule)), added))
        waits_s = day.resolved.household.supply.inverter.cut_off_delay_s
        low = np.maximum(_cold_start_s(house)[cut.stretch], start_s) >= waits_s * (1 - HAIR)
        most = np.full(len(cut.stretch), min(self._low_w, self._endless_w))
        yield Room("cold_restart", cut, np.where(low, more_w(cold, most, added), np.inf))


def _more(draws: Draws, level: _Level, added: Added) -> Floats:
    return (more_w if level.quantity == WATTS else more_va)(draws, level.low, added)


def _cold_start_s(house: View) -> Floats:
    """The longest start among what comes back in each stretch."""
    pieces, rows, t_ms = house.laid.pieces, house.laid.rows, house.scope.t_ms
    seconds = np.zeros(len(t_ms) - 1)
    comes: Flags = (rows.start_ms[pieces.row] > 0) & (rows.cold_p_w[pieces.row] > 0)
    for piece in np.flatnonzero(comes).tolist():
        first, last = t_ms.searchsorted([pieces.begin_ms[piece], pieces.end_ms[piece]]).tolist()
        lasts_s = float(rows.start_ms[pieces.row[piece]]) / 1000
        seconds[first:last] = np.maximum(seconds[first:last], lasts_s)
    return seconds


def _held(cut: Cut, more: Floats, waits_ms: float) -> Floats:
    """Where a dip may last a while: per stretch the most at which no dip of its hour that holds it lasts too long."""
    length_ms = np.diff(cut.t_ms)
    if waits_ms <= 0 or not len(more):
        return more
    found = np.full(len(more), np.inf)
    for first in range(len(more)):
        # The shortest dip from here that is long enough: at the most of its rooms all of it is one.
        last, held_ms, most = first, 0.0, 0.0
        while last < len(more) and cut.hour[last] == cut.hour[first] and held_ms < waits_ms * (1 - HAIR):
            held_ms, most = held_ms + float(length_ms[last]), max(most, float(more[last]))
            last += 1
        if held_ms >= waits_ms * (1 - HAIR):
            found[first] = most
    return found
