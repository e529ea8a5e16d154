"""How long a guest may keep levels passed beside what comes and goes, in whatever order that comes."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from app.engine.at_most import Cycles, Limit, Needed, Uses, base_of, cycles_of, lines_of, needed_of
from app.engine.beside import Beside
from app.engine.everything import most_on
from app.engine.guest import Guest
from app.engine.heat import exceeds, store_s
from app.engine.levels import Levels, levels_of
from app.engine.locked import Members, Side, rows_in, without
from app.engine.objections import members_of
from app.engine.readings import View
from app.engine.results import Flags, Floats
from app.engine.sums import Sums, sums_of

OTHER_VAR = 2  # of the figures of sums
WITHOUT = 1e-6  # of what is allowed: what holds no more than this beyond what it does without a guest


class MayHold:
    """Asked for one guest and one beginning at a time; few are worth asking for."""

    def __init__(self, beside: Beside) -> None:
        self._beside = beside
        self._levels = list(levels_of(beside.day))
        self._asked: dict[tuple[int, int, tuple[int, ...]], _Together] = {}

    def too_long(self, which: int, begin_ms: float) -> bool:
        """Some store may come to hold too much because a guest begins then."""
        return any(self._of(which, number, begin_ms).too_long(begin_ms) for number in range(len(self._levels)))

    def longest_ms(self, which: int, begin_ms: float, limit: str) -> tuple[float, float]:
        """From when to when a limit for hours may be passed while a guest is there that begins then: the longest."""
        number = next(number for number, one in enumerate(self._levels) if limit in one.steady)
        return self._of(which, number, begin_ms).longest_ms(begin_ms, self._levels[number].steady.index(limit))

    def _of(self, which: int, number: int, begin_ms: float) -> "_Together":
        moved, _ = next(self._beside.own_runs.moved(which, np.array([begin_ms])))
        if (which, number, moved) not in self._asked:
            self._asked[which, number, moved] = _together(self._beside, self._levels[number], which, moved)
        return self._asked[which, number, moved]


@dataclass(frozen=True, eq=False)
class _Together:
    """A guest beside what a view has.

    others: everything on, without those of the guest's own runs that are moved, figures of shape (5, stretches).
    with_it: so with the guest in each phase, figures (5, phases, stretches). needed, needed_alone: what comes and
    goes with it and without it, and is not the guest's. own_needed: what of the guest does, figures (5, loads, phases).
    """

    levels: Levels
    guest: Guest
    others: Sums
    with_it: Sums
    needed: Callable[[], Needed]
    needed_alone: Callable[[], Needed]
    own_needed: Callable[[], Needed]
    lines: list[list[Limit]]

    def too_long(self, begin_ms: float) -> bool:
        """Some store may come to hold too much because the guest begins then."""
        rule, beside, alone = self.levels.rule, self._uses(begin_ms, with_it=True), None
        for lines, allowed_s, cooling_s in zip(self.lines, rule.allowed_s, rule.cooling_s, strict=True):
            if not beside.too_much(lines, allowed_s, cooling_s):
                continue
            alone = alone or self._uses(begin_ms, with_it=False)
            with_it, without = beside.passed(lines), alone.passed(lines)
            t_ms = np.union1d(with_it[0], without[0])
            held_s, was_s = (_held_s(one, t_ms, allowed_s, cooling_s) for one in (with_it, without))
            if (exceeds(held_s, allowed_s) & (held_s > was_s + WITHOUT * allowed_s)).any():
                return True
        return False

    def longest_ms(self, begin_ms: float, quantity: int) -> tuple[float, float]:
        """From when to when a quantity may be above its limit for hours, the longest that the guest takes part in."""
        lines = [one for one in self.lines[0] if one[0] == quantity]
        edges_ms, flags = self._uses(begin_ms, with_it=True).passed(lines)
        turns = np.diff(np.concatenate(([False], flags, [False])).astype(np.int8))
        from_ms, to_ms = edges_ms[(turns == 1).nonzero()[0]], edges_ms[(turns == -1).nonzero()[0]]
        there = (from_ms < begin_ms + self.guest.edge_ms[-1]) & (to_ms > begin_ms)
        if not there.any():
            return begin_ms, begin_ms
        place = int(np.where(there, to_ms - from_ms, -1.0).argmax())
        return float(from_ms[place]), float(to_ms[place])

    def _uses(self, begin_ms: float, *, with_it: bool) -> Uses:
        """What is drawn over the day, with a guest that begins then or without it."""
        scope, own_ms = self.levels.view.scope, begin_ms + self.guest.edge_ms
        t_ms = np.union1d(scope.t_ms.astype(float), own_ms[own_ms < scope.t_ms[-1]])
        stretch = scope.stretch_at(t_ms[:-1])
        phase = own_ms.searchsorted(t_ms[:-1], side="right") - 1
        there = (phase >= 0) & (phase < len(own_ms) - 1)
        whole, place = self.others.figures[:, stretch], phase * there
        if with_it:
            whole = np.where(there, self.with_it.figures[:, place, stretch], whole)

        def of_loads() -> Needed:
            needed = self.needed() if with_it else self.needed_alone()
            others = needed.sums.figures[:, :, stretch]
            if not with_it:
                return Needed(needed.cycles, Sums(others))
            own = self.own_needed()
            cycles = Cycles(*map(np.concatenate, zip(needed.cycles, own.cycles, strict=True)))
            here = np.where(there, own.sums.figures[:, :, place], 0.0)
            return Needed(cycles, Sums(np.concatenate((others, here), axis=1)))

        return Uses(t_ms, Sums(whole), of_loads)


def _held_s(passed: tuple[Floats, Flags], t_ms: Floats, allowed_s: float, cooling_s: float) -> Floats:
    """What a store holds as each of some parts of the day ends, which are finer."""
    edges_ms, flags = passed
    middle_ms = (t_ms[:-1] + t_ms[1:]) / 2
    return store_s(np.diff(t_ms)[None] / 1000, flags[None, edges_ms.searchsorted(middle_ms) - 1], allowed_s, cooling_s)


def _together(beside: Beside, levels: Levels, which: int, numbers: tuple[int, ...]) -> _Together:
    view, scope, guest = levels.view, levels.view.scope, beside.guests.guests[which]
    day, base = beside.day, base_of(scope)
    members = beside.kept_apart(which)
    if members is not None:
        others, with_it = base, _on_either_side(beside, view, which, members, numbers)
    else:
        # Where it is in an interlock itself, what was kept off for a run that is moved is on.
        everything = most_on(scope) if members_of(beside)[which] else base
        moved, with_it = beside.with_phases(everything, view, which, numbers)
        is_moved = (moved.figures != everything.figures).any(axis=0)
        others = Sums(np.where(is_moved, moved.figures, base.figures))
    appliance = day.laid.pieces.appliance
    free = ~np.isin(appliance, sorted({*guest.machine.tolist(), *(members or ())}))
    theirs = ~beside.own_runs.pieces_of(which, numbers)
    lines = [lines_of(day, levels, store) for store in range(len(levels.rule.allowed_s))]
    needed = cache(lambda: needed_of(scope, np.flatnonzero(free)))
    # Without it no longer than it may be for sure: what an interlock keeps off comes and goes like all else.
    needed_alone = cache(lambda: needed_of(scope, np.flatnonzero(theirs), apart=False))
    own_needed = cache(lambda: _own_needed(beside, levels, guest, members))
    return _Together(levels, guest, others, with_it, needed, needed_alone, own_needed, lines)


def _on_either_side(beside: Beside, view: View, which: int, members: Members, numbers: tuple[int, ...]) -> Sums:
    """With a guest that an interlock keeps apart from others in each phase: no less than with it on, or with these."""
    guests = beside.guests
    alone = Beside(beside.day, without(guests, members), beside.from_ms)
    _, with_others = alone.with_phases(Side(members, others_off=False).worst(view), view, which, numbers)
    _, with_it = beside.with_phases(Side(members, others_off=True).worst(view), view, which, numbers)
    rows = (guests.which == which) & (guests.starting < 0)
    is_on = np.isin(np.unique(guests.from_ms[rows]), guests.from_ms[rows & rows_in(guests, members)])
    larger = np.maximum(with_it.figures, with_others.figures)
    larger[OTHER_VAR] = np.minimum(with_it.figures[OTHER_VAR], with_others.figures[OTHER_VAR])
    return Sums(np.where(is_on[:, None], larger, with_others.figures))


def _own_needed(beside: Beside, levels: Levels, guest: Guest, members: Members | None) -> Needed:
    """What of a guest comes and goes, phase by phase; not what an interlock may keep off for others."""
    pieces, rows = guest.pieces, beside.day.rows
    draws = sums_of(rows.running.take(pieces.row).times(levels.view.scope.weight[guest.machine]), pieces.cycling)
    loads = dict.fromkeys(pieces.load[pieces.cycling].tolist())
    groups = [np.flatnonzero(pieces.cycling & (pieces.load == load)) for load in loads]
    groups = [one for one in groups if not np.isin(guest.machine[one], list(members or ())).any()]
    each = np.array([draws.figures[:, one] @ guest.on[one].astype(float) for one in groups])
    figures = each.reshape(-1, 5, guest.on.shape[1]).swapaxes(0, 1)
    return Needed(cycles_of(pieces, groups), Sums(figures))
