"""Moments at which a start is too much; and whether there was one in what went before a moment."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.engine.draw import HAIR, Draws
from app.engine.heat import Check
from app.engine.kinds import Flags, Floats
from app.engine.odds.broken import Broken, since_at_random, together
from app.engine.odds.entries import Stood, instants
from app.engine.odds.evenly import evenly
from app.engine.odds.many import likelier, passes, toward
from app.engine.odds.past import NOTHING_CAME, Spans
from app.engine.odds.starting import (
    broken_by,
    each_overloading_start,
    instants_too_much,
    lines_for,
    overloading_planned_starts,
    part_too_much,
    places_from,
    stand_ms,
)
from app.engine.odds.tables import Table, beside_start, on_in, states_as_they_start, table_of
from app.engine.odds.under import TooMuch, UnderRule
from app.engine.readings import View
from app.engine.starts import Unscheduled

IN_A_CROWD = 4  # states drawn for each moment that is wanted
AT_ONCE = 8192  # spans whose starts are looked at together
MOST_TRIED = 1 << 23  # states, one by one, for moments of starts where lines move or a load may lower the use


class _Chosen(NamedTuple):
    """A start, where it is too much, and which of that was chosen: places among its `held_ms`, shape (m,)."""

    start: Unscheduled
    where: TooMuch
    places: NDArray[np.intp]


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

    def _checks(self, start: Unscheduled) -> tuple[Check, ...]:
        return tuple(lines_for(self.under.rule, start.duration_s))

    def _load(self, start: Unscheduled) -> int:
        return int(self.under.loads.of_piece[start.place])

    # -- in the past ----------------------------------------------------------------------------------------

    def began(self, past: Spans) -> NDArray[np.intp]:
        """With how many starts that were too much each span began; shape of the spans."""
        found, scope = np.zeros(len(past.came), dtype=np.intp), self.under.loads.scope
        for checks, of_load in self._sets:
            some = np.flatnonzero(of_load[past.came] >= 0)  # the last of them is of no load
            start = of_load[past.came[some]]
            stands = self.under.loads.stands[start, past.stretch[some]]
            some, start = some[stands], start[stands]
            for first in range(0, len(some), AT_ONCE):
                part = slice(first, first + AT_ONCE)
                found[some[part]] += self._were_too_much(start[part], checks, past.of(some[part]))
        for places in self.planned:
            first = int(self.view.scheduled.first[places[0]])
            begun = (past.stretch == first) & (past.from_ms == scope.t_ms[first])
            some = np.flatnonzero(begun & (past.came == NOTHING_CAME))
            if len(some):
                beside = past.draws.take(some) - scope.certain.take(past.stretch[some])
                found[some] += broken_by(self.view, self.under, places, beside)
        return found

    @cached_property
    def _sets(self) -> list[tuple[tuple[Check, ...], NDArray[np.intp]]]:
        """Starts by load in sets of which no two are of one load: what none may pass, and per load the piece it is of.

        Shape (loads + 1,), -1 where none is. With interlocks each start is by itself, for it has a way of its own in
        which others are kept off.
        """
        loads = self.under.loads
        found: list[tuple[tuple[Check, ...], NDArray[np.intp]]] = []
        for start in self.by_load:
            checks, load = self._checks(start), self._load(start)
            for of_checks, of_load in found:
                if of_checks == checks and of_load[load] < 0 and not loads.scope.interlocked:
                    of_load[load] = start.place
                    break
            else:
                of_load = np.full(len(loads.on_ms) + 1, -1)
                of_load[load] = start.place
                found.append((checks, of_load))
        return found

    def _were_too_much(self, start: NDArray[np.intp], checks: Sequence[Check], past: Spans) -> Flags:
        """Whether a start was too much as each of some spans began; start: the piece it is of."""
        under, scope = self.under, self.under.loads.scope
        drawn = past.draws
        if scope.interlocked:
            on = past.on.T[under.loads.of_piece] & under.loads.stands[:, past.stretch]
            starters, certain = under.loads.starters(int(start[0])), scope.certain.take(past.stretch)
            drawn = under.loads.drawn(certain, on, past.from_ms, starters=starters)
        total = drawn + Draws(*under.loads.more_as_it_starts.take(start, axis=1))
        if len(self.view.scheduled):
            total += scope.certain_started.take(past.stretch) - scope.certain.take(past.stretch)
        found = np.zeros(len(start), dtype=bool)
        for check in checks:
            found |= under.quantities[check.quantity](total) > check.line.at(past.from_ms) * (1 + HAIR)
        return found

    # -- moments --------------------------------------------------------------------------------------------

    def moments_by_load(self, count: int, random: np.random.Generator) -> Broken | None:
        """Moments at which a load starts and breaks the rule; None where none could be drawn."""
        loads = self.under.loads
        where = [
            (start, one) for start in self.by_load for one in self.under.starts_known[start.place, self._checks(start)]
        ]
        period_ms = loads.on_ms + loads.off_ms
        often = [one.held_ms / period_ms[self._load(start)] for start, one in where]
        chosen = evenly(np.concatenate(often), count, random)
        ends = np.cumsum([len(one) for one in often])
        places = np.searchsorted(chosen, ends).tolist()
        parts, on_stairs = list[Broken](), dict[tuple[int, tuple[Check, ...]], list[_Chosen]]()
        for (start, one), first, last, end in zip(where, [0, *places[:-1]], places, ends, strict=True):
            some = chosen[first:last]
            mine = _Chosen(start, one, some - (end - len(one.held_ms)))
            if not len(some):
                continue
            if table_of(loads, int(one.stretches[0])).gain_per_ms is not None:
                parts += self._in_a_crowd(mine, random)
            elif one.stairs is None:
                parts += self._one_by_one(mine, random)
            else:
                on_stairs.setdefault((id(one.stairs), self._checks(start)), []).append(mine)
        parts += [self._on_stairs(group, checks, random) for (_, checks), group in on_stairs.items()]
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
            on = on_in(loads, table, evenly(likely, some, random)).T
            at_ms = np.full(some, float(loads.scope.t_ms[first]))
            parts.append(Broken(at_ms, np.full(some, first), on, since_at_random(loads, on, random), np.ones(some)))
        return together(parts)

    def _one_by_one(self, chosen: _Chosen, random: np.random.Generator) -> Iterator[Broken]:
        """Moments of one start in some stretches, for each of which the states are looked at."""
        start, where, places = chosen
        under, checks = self.under, self._checks(start)
        table = table_of(under.loads, int(where.stretches[0]))
        weight, draws = beside_start(under.loads, table, int(where.stretches[0]), start.place)
        tried = places[:: -(-len(places) * len(weight) // MOST_TRIED)]
        for place, some in zip(*np.unique(tried, return_counts=True), strict=True):
            stretch = where.stretches[[place]]
            others = evenly(weight * part_too_much(under, draws, checks, stretch)[:, 0], int(some), random)
            at_ms = instants_too_much(under, draws.take(others), checks, int(stretch[0]), random)
            piece = np.full(int(some), start.place)
            states = states_as_they_start(under.loads, table, piece, others)
            moments = self._as_it_starts(table, piece, states, np.repeat(stretch, some), at_ms, random)
            yield moments._replace(weight=moments.weight * (len(places) / len(tried)))

    def _on_stairs(self, group: Sequence[_Chosen], checks: Sequence[Check], random: np.random.Generator) -> Broken:
        """Moments of starts in stretches of one kind, with some states of the other loads."""
        under, loads = self.under, self.under.loads
        stretches, stairs = group[0].where.stretches, group[0].where.stairs
        assert stairs is not None, "others are looked at one by one"
        table, lasts_ms = table_of(loads, int(stretches[0])), stand_ms(under, stretches)
        count = [len(one.places) for one in group]
        piece = np.repeat([one.start.place for one in group], count)
        states = states_as_they_start(loads, table, piece, np.concatenate([one.places for one in group]))
        draws = table.draws.take(states) + Draws(*loads.more_as_it_starts.take(piece, axis=1))
        first = places_from(under, draws, checks, stretches, stairs)
        end = np.broadcast_to(stairs.first + stairs.width - 1, first.shape)
        place, left_ms = instants(first, end, random.random(), *Stood.of(stairs, lasts_ms, lasts_ms))
        at_ms = loads.scope.t_ms[stretches[place]] + lasts_ms[place] - left_ms
        return self._as_it_starts(table, piece, states, stretches[place], at_ms, random)

    def _in_a_crowd(self, chosen: _Chosen, random: np.random.Generator) -> Iterator[Broken]:
        """Moments of one start where the states of the others are too many to be written down: drawn, and weighed."""
        start, where, places = chosen
        under, loads, checks, load = self.under, self.under.loads, self._checks(start), self._load(start)
        others = table_of(loads, int(where.stretches[0])).loads
        others = others[others != load]
        lasts_ms, likely = stand_ms(under, where.stretches), self._likely(start, where)
        place = evenly(likely * lasts_ms, IN_A_CROWD * len(places), random)
        stretch, at_random = where.stretches[place], random.random(len(place))
        at_ms = loads.scope.t_ms[stretch] + at_random * lasts_ms[place]
        sure = loads.stand[:, stretch] & (loads.off_ms <= 0)[:, None]
        sure[load] = True
        certain = loads.scope.certain_started.take(stretch).figures + loads.more_as_it_starts[:, [start.place]]
        certain += np.einsum("klm,lm->km", loads.each[:, :, stretch], sure.astype(float))
        each, share = loads.each[:, others][:, :, stretch], loads.share[others]
        tilted = toward(under, checks, certain, each, share, at_ms)
        on = random.random(tilted.shape) < tilted
        total = Draws(*(certain + np.einsum("klm,lm->km", each, on.astype(float))))
        weight = passes(under, checks, total, at_ms) * likelier(on, share, tilted) / likely[place]
        some = np.flatnonzero(weight)
        if len(some):
            on_of_all = sure[:, some].T
            on_of_all[:, others] = on[:, some].T
            since_ms = since_at_random(loads, on_of_all, random)
            since_ms[:, load] = 0
            yield Broken(at_ms[some], stretch[some], on_of_all, since_ms, weight[some] * len(places) / weight.sum())

    def _likely(self, start: Unscheduled, where: TooMuch) -> Floats:
        """How likely a start is too much in each of some stretches, in the midst of it or on the mean."""
        if where.stairs is None:
            return np.asarray(where.held_ms / stand_ms(self.under, where.stretches))
        stairs, first = where.stairs, int(where.stretches[0])
        weight, draws = beside_start(self.under.loads, table_of(self.under.loads, first), first, start.place)
        place = places_from(self.under, draws, self._checks(start), where.stretches, stairs)
        size = len(stairs.height) * stairs.width
        found = np.zeros(size)
        for of_stair in place.T:
            found += np.bincount(of_stair, weight, minlength=size)
        return np.asarray(found.reshape(-1, stairs.width).cumsum(axis=1).ravel()[stairs.of_item])

    def _as_it_starts(
        self,
        table: Table,
        piece: NDArray[np.intp],
        states: NDArray[np.intp],
        stretch: NDArray[np.intp],
        at_ms: Floats,
        random: np.random.Generator,
    ) -> Broken:
        """Moments at which pieces start, in states of a table in which their loads are on."""
        loads = self.under.loads
        on = on_in(loads, table, states).T
        since_ms = since_at_random(loads, on, random)
        since_ms[np.arange(len(piece)), loads.of_piece[piece]] = 0
        return Broken(at_ms, stretch, on, since_ms, np.ones(len(at_ms)))
