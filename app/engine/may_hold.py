"""How long a guest may keep levels passed beside what comes and goes, in whatever order that comes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple

import numpy as np

from app.engine.at_most import Cycles, Limit, Needed, Uses, base_of, cycles_of, lines_of, needed_of
from app.engine.beside import Beside
from app.engine.everything import most_on
from app.engine.expand import Laid
from app.engine.guest import Guest
from app.engine.heat import exceeds
from app.engine.inverter import VOLT_AMPERES
from app.engine.levels import Levels, levels_of
from app.engine.locked import Members, Side, rows_in, without
from app.engine.objections import members_of
from app.engine.readings import View
from app.engine.results import Flags, Floats, Instants
from app.engine.scope import Scope
from app.engine.sums import Sums, plain, sums_of
from app.engine.traces import Unit

OTHER_VAR = 2  # of the figures of sums


class MayHoldMore(NamedTuple):
    """A store that may come to hold more than is allowed. at_ms: not before then.

    limit, unit: what it is told as. use, most: the draw then, in the worst case, and what it passes; watts or
    volt-amperes.
    """

    limit: str
    unit: Unit
    at_ms: float
    use: float
    most: float


class Longest(NamedTuple):
    """For how long levels may be passed at a time, of the store that comes nearest to what is allowed.

    higher: what is told then, where they are not the limit's own that is asked about.
    """

    from_ms: float
    until_ms: float
    allowed_s: float
    higher: MayHoldMore | None = None

    @property
    def above_s(self) -> float:
        """How long it is."""
        return (self.until_ms - self.from_ms) / 1000


class MayHold:
    """Asked for one guest and one beginning at a time; few are worth asking for."""

    def __init__(self, beside: Beside) -> None:
        self._beside = beside
        self._levels = list(levels_of(beside.day))
        self._asked: dict[tuple[int, View, tuple[int, ...]], _Together] = {}
        self._lines: dict[str, list[list[Limit]]] = {}

    def too_long(self, which: int, begin_ms: float) -> MayHoldMore | None:
        """What first may come to hold too much because a guest begins then."""
        each = (self._of(which, levels, begin_ms).too_long(begin_ms) for levels in self._levels)
        return min((one for one in each if one is not None), key=lambda one: one.at_ms, default=None)

    def longest(self, which: int, begin_ms: float, limit: str) -> Longest | None:
        """For how long a limit's levels may be passed while a guest is there that begins then; None if it has none."""
        levels = next((one for one in self._levels if limit in {*one.steady, one.top}), None)
        return None if levels is None else self._of(which, levels, begin_ms).longest(begin_ms, limit)

    def _of(self, which: int, levels: Levels, begin_ms: float) -> "_Held":
        moved, _ = next(self._beside.own_runs.moved(which, np.array([begin_ms])))
        asked = which, levels.view, moved
        if asked not in self._asked:  # inverter and bank see the same
            self._asked[asked] = _together(self._beside, levels.view, which, moved)
        if levels.top not in self._lines:
            stores = range(len(levels.rule.allowed_s))
            self._lines[levels.top] = [lines_of(self._beside.day, levels, store) for store in stores]
        return _Held(levels, self._lines[levels.top], self._asked[asked])


@dataclass(frozen=True, eq=False)
class _Together:
    """A guest beside what a view has.

    others: everything on, without those of the guest's own runs that are moved, figures of shape (5, stretches);
    certain: so what is surely drawn. with_it: everything with the guest in each phase, figures (5, phases, stretches);
    by_it: so, but nothing in its stead where only that is on which an interlock keeps apart from others.
    needed: what comes and goes with it, and is not the guest's. own_needed: what of the guest does that begins at some
    instant, figures (5, loads, phases).
    """

    scope: Scope
    guest: Guest
    others: Sums
    certain: Sums
    with_it: Sums
    by_it: Sums
    needed: Callable[[], Needed]
    own_needed: Callable[[float], Needed]
    _uses: dict[float, Uses] = field(default_factory=dict)  # asked before

    def phase_at(self, begin_ms: float, at_ms: Floats) -> tuple[Instants, Flags]:
        """In which phase a guest is that begins then, at some instants, and whether it is there; the first if not."""
        phase = (begin_ms + self.guest.edge_ms).searchsorted(at_ms, side="right") - 1
        there = (phase >= 0) & (phase < len(self.guest.edge_ms) - 1)
        return phase * there, there

    def uses(self, begin_ms: float) -> Uses:
        """What is drawn over the day with a guest that begins then."""
        if begin_ms not in self._uses:
            self._uses[begin_ms] = self._used(begin_ms)
        return self._uses[begin_ms]

    def _used(self, begin_ms: float) -> Uses:
        scope, own_ms = self.scope, begin_ms + self.guest.edge_ms
        t_ms = np.union1d(scope.t_ms.astype(float), own_ms[own_ms < scope.t_ms[-1]])
        stretch = scope.stretch_at(t_ms[:-1])
        phase, there = self.phase_at(begin_ms, t_ms[:-1])
        whole = np.where(there, self.with_it.figures[:, phase, stretch], self.others.figures[:, stretch])

        def of_loads() -> Needed:
            needed, own = self.needed(), self.own_needed(begin_ms)
            cycles = Cycles(*map(np.concatenate, zip(needed.cycles, own.cycles, strict=True)))
            here = np.where(there, own.sums.figures[:, :, phase], 0.0)
            return Needed(cycles, Sums(np.concatenate((needed.sums.figures[:, :, stretch], here), axis=1)))

        return Uses(t_ms, Sums(whole), of_loads)


@dataclass(frozen=True, eq=False)
class _Held:
    """A guest under levels of the view that it is seen in. lines: of each store."""

    levels: Levels
    lines: list[list[Limit]]
    together: _Together

    def too_long(self, begin_ms: float) -> MayHoldMore | None:
        """The store that first may come to hold too much because the guest begins then.

        Whatever it may hold without the guest: how much that is at least, in the same order of all else, nobody knows.
        """
        rule, uses, found = self.levels.rule, self.together.uses(begin_ms), list[MayHoldMore]()
        for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
            lines = self.lines[store]
            if uses.too_much(lines, allowed_s, cooling_s):
                from_ms = uses.t_ms[:-1][self._may_matter(begin_ms, uses, lines)]
                at_ms = uses.passed(lines).holds_more_by(from_ms, allowed_s, cooling_s)
                if at_ms is not None:
                    found.append(self._told(store, uses, at_ms))
        return min(found, key=lambda one: one.at_ms, default=None)

    def _told(self, store: int, uses: Uses, at_ms: float) -> MayHoldMore:
        """How it is told, as of when some of its lines is passed next."""
        levels, lines = self.levels, self.lines[store]
        flags = uses.all_the_while(lines)
        part = int(uses.t_ms.searchsorted(at_ms, side="right")) - 1
        part += int(flags[part:].argmax())
        at_ms = max(at_ms, float(uses.t_ms[part]))
        whole = uses.whole.take(np.array([part]))
        told = [
            (quantity, float((whole.use_va if quantity == VOLT_AMPERES else whole.use_w)[0]), float(line.at(at_ms)))
            for quantity, line in lines
        ]
        quantity, use, most = max(told, key=lambda one: one[1] / max(one[2], 1e-9))
        unit: Unit = "A" if levels.bank else ("W", "VA")[quantity]
        return MayHoldMore(levels.steady[quantity] if store == 0 else levels.top, unit, at_ms, use, most)

    def _may_matter(self, begin_ms: float, uses: Uses, lines: Sequence[Limit]) -> Flags:
        """In which parts of the day it may be passed with the guest, and else surely is not."""
        middle_ms = (uses.t_ms[:-1] + uses.t_ms[1:]) / 2
        together, (phase, there) = self.together, self.together.phase_at(begin_ms, middle_ms)
        stretch = together.scope.stretch_at(middle_ms)
        certain, is_sure = together.certain.take(stretch), np.zeros(len(stretch), dtype=bool)
        for quantity, line in lines:
            limit, use = line.at(uses.t_ms), certain.use_va if quantity == VOLT_AMPERES else certain.use_w
            is_sure |= exceeds(use, np.maximum(limit[:-1], limit[1:]))
        is_on = there & together.guest.on[:, phase].any(axis=0)
        by_it = Uses(uses.t_ms, Sums(together.by_it.figures[:, phase, stretch]), together.needed)
        return np.asarray(is_on & ~is_sure & by_it.all_the_while(lines))

    def longest(self, begin_ms: float, limit: str) -> Longest:
        """For how long a limit for hours may be passed, or what is above it, where that is nearer to its time."""
        levels, uses, found = self.levels, self.together.uses(begin_ms), list[Longest]()
        for store, allowed_s in enumerate(levels.rule.allowed_s):
            # The first store is filled by each limit's own level; a leg's are watts and volt-amperes.
            lines = [one for one in self.lines[store] if store or levels.steady[one[0]] == limit]
            from_ms, until_ms = self._longest_ms(begin_ms, uses, lines) if lines else (begin_ms, begin_ms)
            one = Longest(from_ms, until_ms, allowed_s)
            if store and 0 < one.above_s <= allowed_s:  # what is above it for longer is so without the guest
                found.append(one._replace(higher=self._told(store, uses, from_ms)))
            elif not store:
                found.append(one)
        return max(found, key=lambda one: one.above_s / one.allowed_s)

    def _longest_ms(self, begin_ms: float, uses: Uses, lines: Sequence[Limit]) -> tuple[float, float]:
        """From when to when some lines may be passed, the longest that the guest takes part in."""
        middle_ms = (uses.t_ms[:-1] + uses.t_ms[1:]) / 2
        there = self.together.phase_at(begin_ms, middle_ms)[1] & uses.all_the_while(lines)
        found = uses.passed(lines).longest_ms(middle_ms[there]) if there.any() else None
        if found is None:
            return begin_ms, begin_ms
        from_ms, to_ms = found
        if from_ms >= begin_ms + self.together.guest.edge_ms[-1] or to_ms <= begin_ms:
            # It is as long while the guest is there, at another point of what comes and goes.
            from_ms, to_ms = uses.t_ms[there.argmax()], uses.t_ms[there.argmax()] + to_ms - from_ms
        return float(from_ms), float(to_ms)


def _together(beside: Beside, view: View, which: int, numbers: tuple[int, ...]) -> _Together:
    scope, guest = view.scope, beside.guests.guests[which]
    day, base = beside.day, base_of(scope)
    members = beside.kept_apart(which)
    if members is not None:
        others, (with_it, by_it) = base, _on_either_side(beside, view, which, members, numbers)
    else:
        # Where it is in an interlock itself, what was kept off for a run that is moved is on.
        everything = most_on(scope) if members_of(beside)[which] else base
        moved, with_it = beside.with_phases(everything, view, which, numbers)
        is_moved = (moved.figures != everything.figures).any(axis=0)
        others, by_it = Sums(np.where(is_moved, moved.figures, base.figures)), with_it
    appliance = day.laid.pieces.appliance
    free = ~np.isin(appliance, sorted({*guest.machine.tolist(), *(members or ())}))
    certain, _ = beside.with_phases(plain(scope.certain), view, which, numbers, certain=True)
    needed = cache(lambda: needed_of(scope, np.flatnonzero(free)))
    laid = beside.own_runs.without(which, numbers)
    own_needed = cache(lambda begin_ms: _own_needed(scope, guest, members or frozenset(), laid, begin_ms))
    return _Together(scope, guest, others, certain, with_it, by_it, needed, own_needed)


def _on_either_side(
    beside: Beside, view: View, which: int, members: Members, numbers: tuple[int, ...]
) -> tuple[Sums, Sums]:
    """With a guest that an interlock keeps apart from others in each phase: no less than with it on, or with these.

    Then so where more of it is on than what is kept apart, else with it on alone.
    """
    guests = beside.guests
    alone = Beside(beside.day, without(guests, members), beside.from_ms)
    _, with_others = alone.with_phases(Side(members, others_off=False).worst(view), view, which, numbers)
    _, with_it = beside.with_phases(Side(members, others_off=True).worst(view), view, which, numbers)
    rows = (guests.which == which) & (guests.starting < 0)
    phases_ms = np.unique(guests.from_ms[rows])
    has_more = np.bincount(alone.guests.entry_row, minlength=len(rows)) > 0
    is_on, is_more = (
        np.isin(phases_ms, guests.from_ms[rows & one])[:, None] for one in (rows_in(guests, members), has_more)
    )
    larger = np.maximum(with_it.figures, with_others.figures)
    larger[OTHER_VAR] = np.minimum(with_it.figures[OTHER_VAR], with_others.figures[OTHER_VAR])
    either = np.where(is_on, larger, with_others.figures)
    return Sums(either), Sums(np.where(is_more, either, with_it.figures))


def _own_needed(scope: Scope, guest: Guest, members: Members, laid: Laid, begin_ms: float) -> Needed:
    """What of a guest comes and goes, phase by phase; not what an interlock may keep off for others.

    Nor what others set off too, for as long or longer: that is one machine, and on as they say.
    """
    pieces, rows = guest.pieces, laid.rows
    draws = sums_of(rows.running.take(pieces.row).times(scope.weight[guest.machine]), pieces.cycling)
    loads = dict.fromkeys(pieces.load[pieces.cycling].tolist())
    groups = [np.flatnonzero(pieces.cycling & (pieces.load == load)) for load in loads]
    as_it_says = ~_set_off_for_longer(guest, laid, begin_ms)
    groups = [one[as_it_says[one]] for one in groups if not np.isin(guest.machine[one], list(members)).any()]
    groups = [one for one in groups if len(one)]
    each = np.array([draws.figures[:, one] @ guest.on[one].astype(float) for one in groups])
    figures = each.reshape(-1, 5, guest.on.shape[1]).swapaxes(0, 1)
    return Needed(cycles_of(pieces, groups), Sums(figures))


def _set_off_for_longer(guest: Guest, laid: Laid, begin_ms: float) -> Flags:
    """Which pieces of a guest that begins at an instant are of machines that others set off meanwhile, for as long."""
    own, theirs = guest.pieces, laid.pieces
    on_ms = np.where(theirs.cycling, theirs.on_ms, np.inf)
    meanwhile = (theirs.begin_ms < begin_ms + own.end_ms[:, None]) & (theirs.end_ms > begin_ms + own.begin_ms[:, None])
    same = theirs.appliance == guest.machine[:, None]
    return np.asarray((same & meanwhile & (on_ms >= own.on_ms[:, None])).any(axis=1))
