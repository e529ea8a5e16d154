"""Days played through: when a rule is broken, stores of time running on all the while; counted, not reckoned.

What is reckoned (`app.engine.odds.odds`) takes excursions above a level one by one. Around one run it matters what a
store holds of those before. Days with the run and without it have the same loads come and go at the same instants.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from app.engine.draw import HAIR, Draws
from app.engine.heat import store_s
from app.engine.kinds import Flags, Floats
from app.engine.odds.days import Days, Time, once
from app.engine.odds.loads import Loads
from app.engine.odds.passing import SEED, Passing
from app.engine.odds.starting import broken_by, lines_for, risky_planned_starts, risky_starts
from app.engine.odds.under import UnderRule
from app.engine.readings import View
from app.engine.starts import Unscheduled

A_MOMENT_MS = 1e-3
MOST_OF_ALL = 0.3  # of the instants of a day


@dataclass(frozen=True, eq=False)
class Played:
    """A view of a part of the day under some rules; stores are empty as it begins."""

    view: View
    rules: Sequence[UnderRule]

    @property
    def loads(self) -> Loads:
        """What comes and goes in it."""
        return self.rules[0].loads

    @property
    def size(self) -> int:
        """How many instants it has, on a day."""
        return self._time.size(self.loads)

    @cached_property
    def _time(self) -> Time:
        scope, loads = self.view.scope, self.loads
        moving = np.flatnonzero(loads.stand.any(axis=1) & (loads.off_ms > 0))
        time = Time(float(scope.t_ms[0]), float(scope.t_ms[-1]), np.arange(len(scope.t_ms) - 1), moving)
        # One that comes and goes by the second would make up most of all instants: it is asked whether it matters.
        often = [load for load in moving.tolist() if time.size_of(loads, load) > MOST_OF_ALL * time.size(loads)]
        return replace(time, small=frozenset(load for load in often if not self._matters(load)))

    def _matters(self, load: int) -> bool:
        """It ever takes the draw past a line by coming on, as far as that is known."""
        for under in self.rules:
            if any(block.table.gain_per_ms is not None or not block.rises for block in under.blocks()):
                return True
            for store in (*range(len(under.rule.allowed_s)), None):
                if Passing(under, under.rule.of_store(store)).by_each_load[load] > 0:
                    return True
        return False

    def days(self, count: int, round_no: int) -> Days:
        """So many days; round_no: others give others. A load that stands in another plan as well does there the same.

        Each load's beginnings are spread evenly over its period, in any order. (Latin hypercube sampling.)
        """
        loads, scope, pieces = self.loads, self.view.scope, self.view.laid.pieces
        phase_ms = np.empty((len(self._time.loads), count))
        for place, load in enumerate(self._time.loads.tolist()):
            piece = int(scope.cyclers.piece[np.flatnonzero(loads.of_piece == load)[0]])
            which = int(pieces.row[piece]), int(pieces.begin_ms[piece]) % (1 << 32)
            random = np.random.default_rng((SEED, round_no, *which))
            parts = (random.permutation(count) + random.random(count)) / count
            phase_ms[place] = parts * (loads.on_ms + loads.off_ms)[load]
        return Days(loads, self._time, phase_ms)


@dataclass(frozen=True, eq=False)
class Breaking:
    """When a rule is broken on days of a view."""

    view: View
    under: UnderRule

    def broken_ms(self, days: Days) -> Floats:
        """When it is, all days together.

        What one excursion above the lowest level breaks in several ways counts once; a store that came to hold too
        much counts again once it was empty. A start too much outside any excursion counts for itself.
        """
        rule, (passed, top) = self.under.rule, self._passed(days)
        begin_ms, seconds = days.edges_ms[:, :-1], days.seconds
        lasts = seconds > 0
        at_ms = np.where((top & lasts) | self._started(days), begin_ms, np.inf)
        for flags, allowed_s, cooling_s in zip(passed, rule.allowed_s, rule.cooling_s, strict=True):
            if not flags.any():
                continue
            holds_s = store_s(seconds, flags, allowed_s, cooling_s)
            counted, _ = once(holds_s > allowed_s * (1 + HAIR), holds_s <= 0)
            full_ms = np.maximum(days.edges_ms[:, 1:] - (holds_s - allowed_s) * 1000, begin_ms)
            at_ms = np.where(counted, np.minimum(at_ms, full_ms), at_ms)
        ends = ~passed[0] & lasts
        # What breaks it outside any excursion is over by the next instant.
        ends[:, 1:] |= ends[:, :-1].copy()
        counted, _ = once(np.isfinite(at_ms), ends)
        return at_ms[counted]

    def _passed(self, days: Days) -> tuple[list[Flags], Flags]:
        """Whether the level of each store is passed in each span, and whether the top is; shape (days, n) each."""
        under, at_ms = self.under, days.middle_ms
        use = under.used(days.draws)
        passed = [np.zeros(at_ms.shape, dtype=bool) for _ in range(len(under.rule.allowed_s) + 1)]
        for check in under.rule.checks:
            flags = passed[-1 if check.store is None else check.store]
            flags |= use[check.quantity] > check.line.at(at_ms) * (1 + HAIR)
        return passed[:-1], passed[-1]

    @cached_property
    def _by_themselves(self) -> list[Unscheduled]:
        return risky_starts(self.view, self.under)

    @cached_property
    def _as_planned(self) -> list[tuple[int, ...]]:
        return risky_planned_starts(self.view, self.under)

    def _started(self, days: Days) -> Flags:
        """In which spans something starts, as they begin, that is too much; shape (days, n)."""
        found = np.zeros(days.seconds.shape, dtype=bool)
        for day, at_ms in [*self._by_load(days), *self._planned(days)]:
            # Instants of one day after those of the day before it: looked up all at once.
            apart_ms = days.time.to_ms - days.time.from_ms + 1
            edges_ms = (days.edges_ms[:, :-1] - days.time.from_ms + apart_ms * np.arange(len(found))[:, None]).ravel()
            place = edges_ms.searchsorted(at_ms - days.time.from_ms + apart_ms * day + A_MOMENT_MS, side="right") - 1
            found.ravel()[place] = True
        return found

    def _by_load(self, days: Days) -> Iterator[tuple[Floats, Floats]]:
        """On which day and when loads start that are too much."""
        under, scope, loads = self.under, self.view.scope, self.under.loads
        for start in self._by_themselves:
            comes_ms = days.comes_ms(int(loads.of_piece[start.place]))
            inside = (comes_ms >= days.time.from_ms) & (comes_ms < days.time.to_ms)
            at_ms = np.clip(comes_ms + A_MOMENT_MS, days.time.from_ms, days.time.to_ms - A_MOMENT_MS)
            stretch = scope.stretch_at(at_ms)
            drawn = days.drawn(at_ms, starters=loads.starters(start.place) if scope.interlocked else ())
            more = loads.more_as_it_starts[:, start.place]
            total = drawn + (scope.certain_started.take(stretch) - scope.certain.take(stretch))
            use = under.used(Draws(*(one + figure for one, figure in zip(total.figures, more, strict=True))))
            too_much = np.zeros(at_ms.shape, dtype=bool)
            for check in lines_for(under.rule, start.duration_s):
                too_much |= use[check.quantity] > check.line.at(at_ms) * (1 + HAIR)
            day, number = (too_much & inside & loads.stands[start.place][stretch]).nonzero()
            yield day.astype(float), comes_ms[day, number]

    def _planned(self, days: Days) -> Iterator[tuple[Floats, Floats]]:
        """The same of planned starts."""
        scope = self.view.scope
        for places in self._as_planned:
            first = min(int(self.view.scheduled.first[place]) for place in places)
            at_ms = float(scope.t_ms[first])
            instants = np.full((len(days.seconds), 1), at_ms + A_MOMENT_MS)
            beside = days.drawn(instants).take((slice(None), 0)) - scope.certain.take(np.full(len(instants), first))
            day = np.flatnonzero(broken_by(self.view, self.under, places, beside))
            yield day.astype(float), np.full(len(day), at_ms)
