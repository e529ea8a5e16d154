"""Moments at which a start is too much; and whether there was one in what went before a moment."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR
from app.engine.kinds import Flags, Floats
from app.engine.odds.broken import Broken, since_at_random, together
from app.engine.odds.entries import Stood, evenly, instants, spread_out
from app.engine.odds.past import NOTHING_CAME, Past, drawn_in
from app.engine.odds.starting import (
    broken_by,
    each_overloading_start,
    overloading_planned_starts,
    places_from,
    stand_ms,
    too_much,
    too_much_for,
)
from app.engine.odds.tables import beside_start, more_as_it_starts, on_in, states_with, table_of
from app.engine.odds.under import TooMuch, UnderRule
from app.engine.readings import View
from app.engine.starts import Unscheduled

MOST_TRIED = 1 << 23  # states, one by one, for moments of starts where lines move or a load may lower the use


@dataclass(frozen=True, eq=False)
class Starts:
    """The starts of a view that may break a rule."""

    view: View
    under: UnderRule

    @cached_property
    def by_load(self) -> dict[Unscheduled, float]:
        """Those of loads that come on by themselves: how often a day each breaks it."""
        return {start: often for start, often in each_overloading_start(self.view, self.under).items() if often > 0}

    @cached_property
    def planned(self) -> dict[tuple[int, ...], float]:
        """Those that are planned, as `overloading_planned_starts`."""
        return {one: often for one, often in overloading_planned_starts(self.view, self.under).items() if often > 0}

    @property
    def per_day(self) -> float:
        """How often one breaks it."""
        return sum(self.by_load.values()) + sum(self.planned.values())

    # -- in the past ----------------------------------------------------------------------------------------

    def began(self, past: Past) -> Flags:
        """Which spans began with a start that was too much."""
        found = np.zeros(len(past.came), dtype=bool)
        for start in self.by_load:
            some = np.flatnonzero(past.came == self.under.loads.of_piece[start.place])
            some = some[start.place_in(past.stretch[some])[0]]
            if len(some):
                found[some] |= self._too_much(start, past.of(some))
        for places in self.planned:
            first = int(self.view.scheduled.first[places[0]])
            begun = (past.stretch == first) & (past.from_ms == self.under.loads.scope.t_ms[first])
            some = np.flatnonzero(begun & (past.came == NOTHING_CAME))
            if len(some):
                beside = past.draws.take(some) - self.under.loads.scope.certain.take(past.stretch[some])
                found[some] |= broken_by(self.view, self.under, places, beside)
        return found

    def _too_much(self, start: Unscheduled, past: Past) -> Flags:
        """Whether a start was too much as each of some spans began."""
        under, scope = self.under, self.under.loads.scope
        places = tuple(scope.cyclers.piece[scope.cyclers.starting_with(start.place)].tolist())
        drawn = drawn_in(under, past, starters=places) if scope.interlocked else past.draws
        more = scope.certain_started.take(past.stretch) - scope.certain.take(past.stretch)
        total = drawn + more + more_as_it_starts(under.loads, start.place)
        found = np.zeros(len(past.came), dtype=bool)
        for check in too_much_for(under.rule, start.duration_s):
            line = check.line.at(past.from_ms) * (1 + HAIR)
            found |= under.quantities[check.quantity](total) > line
        return found

    # -- moments --------------------------------------------------------------------------------------------

    def moments_by_load(self, count: int, random: np.random.Generator) -> Broken | None:
        """Moments at which a load starts and breaks the rule; None where states are too many to be written down."""
        parts, starts = list[Broken](), list(self.by_load)
        many = np.bincount(evenly(np.array(list(self.by_load.values())), count, random), minlength=len(starts))
        for start, share in zip(starts, many.tolist(), strict=True):
            where = self.under.starts_known[start.place, tuple(too_much_for(self.under.rule, start.duration_s))]
            held_ms = np.array([one.held_ms.sum() for one in where])
            for place, some in zip(*np.unique(evenly(held_ms, share, random), return_counts=True), strict=True):
                if table_of(self.under.loads, int(where[place].stretches[0])).gain_per_ms is not None:
                    return None
                parts += self._of_start(start, where[place], int(some), random)
        return together(parts) if parts else None

    def moments_planned(self, count: int, random: np.random.Generator) -> Broken | None:
        """Moments at which planned starts begin that break the rule; as `moments_by_load`."""
        parts, loads = list[Broken](), self.under.loads
        many = np.bincount(evenly(np.array(list(self.planned.values())), count, random), minlength=len(self.planned))
        for places, some in zip(self.planned, many.tolist(), strict=True):
            first = int(self.view.scheduled.first[places[0]])
            table = table_of(loads, first)
            if table.gain_per_ms is not None:
                return None
            likely = table.weight * broken_by(self.view, self.under, places, table.draws)
            on = on_in(loads, table, evenly(likely, some, random))
            at_ms = np.full(some, float(loads.scope.t_ms[first]))
            parts.append(Broken(at_ms, np.full(some, first), on, since_at_random(loads, on, random), np.ones(some)))
        return together(parts) if parts else None

    def _of_start(self, start: Unscheduled, where: TooMuch, count: int, random: np.random.Generator) -> list[Broken]:
        if where.stairs is not None:
            return [self._on_stairs(start, where, evenly(where.held_ms, count, random), random)]
        table = table_of(self.under.loads, int(where.stretches[0]))
        count = min(count, max(MOST_TRIED // len(table.weight), 1))
        stretches = where.stretches[evenly(where.held_ms, count, random)]
        weight, draws = beside_start(self.under.loads, table, int(where.stretches[0]), start.place)
        checks = too_much_for(self.under.rule, start.duration_s)
        parts = []
        for stretch, some in zip(*np.unique(stretches, return_counts=True), strict=True):
            part = too_much(self.under, draws, checks, np.array([stretch]))[:, 0]
            states = evenly(weight * part, int(some), random)
            lasts_ms = stand_ms(self.under, np.array([stretch]))[0]
            at_ms = self.under.loads.scope.t_ms[stretch] + random.random(int(some)) * lasts_ms
            parts.append(self._as_it_starts(start, np.full(int(some), stretch), at_ms, states, random))
        return parts

    def _on_stairs(
        self, start: Unscheduled, where: TooMuch, states: NDArray[np.intp], random: np.random.Generator
    ) -> Broken:
        under, stairs, stretches = self.under, where.stairs, where.stretches
        assert stairs is not None
        table = table_of(under.loads, int(stretches[0]))
        _, draws = beside_start(under.loads, table, int(stretches[0]), start.place)
        checks, lasts_ms = too_much_for(under.rule, start.duration_s), stand_ms(under, stretches)
        first = places_from(under, draws.take(states), checks, stretches, stairs)
        end = np.broadcast_to(stairs.first + stairs.width - 1, first.shape)
        which, left_ms = instants(
            first, end, spread_out(len(states), random), *Stood.of(stairs, lasts_ms, lasts_ms)
        )
        stretch = stretches[which]
        at_ms = under.loads.scope.t_ms[stretch] + lasts_ms[which] - left_ms
        return self._as_it_starts(start, stretch, at_ms, states, random)

    def _as_it_starts(
        self,
        start: Unscheduled,
        stretch: NDArray[np.intp],
        at_ms: Floats,
        states: NDArray[np.intp],
        random: np.random.Generator,
    ) -> Broken:
        loads = self.under.loads
        table, load = table_of(loads, int(stretch[0])), int(loads.of_piece[start.place])
        place = int(np.flatnonzero(table.loads == load)[0])
        on = on_in(loads, table, states_with(states, place))
        since_ms = since_at_random(loads, on, random)
        since_ms[load] = 0
        return Broken(at_ms, stretch, on, since_ms, np.ones(len(at_ms)))
