"""How long a guest may keep levels passed beside what comes and goes, in whatever order that comes."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from app.engine.at_most import Cycles, Needed, at_most, base_of, cycles_of, needed_of
from app.engine.beside import VOLT_AMPERES, Beside
from app.engine.columns import Columns
from app.engine.curve import Line
from app.engine.guest import Guest
from app.engine.heat import exceeds, store_s
from app.engine.levels import Levels, levels_of
from app.engine.pressing import in_watts
from app.engine.results import Flags, Floats
from app.engine.sums import Sums, sums_of

WITHOUT = 1e-6  # of what is allowed: what holds no more than this beyond what it does without a guest


class MayHold:
    """Asked for one guest and one beginning at a time; few are worth asking for."""

    def __init__(self, beside: Beside) -> None:
        self._beside = beside
        self._levels = list(levels_of(beside.day))
        self._asked: dict[tuple[int, int], _Together] = {}

    def too_long(self, which: int, begin_ms: float) -> bool:
        """Some store may come to hold too much because a guest begins then."""
        return any(self._of(which, number).too_long(begin_ms) for number in range(len(self._levels)))

    def longest_ms(self, which: int, begin_ms: float, limit: str) -> tuple[float, float]:
        """From when to when a limit for hours may be passed while a guest is there that begins then: the longest."""
        number = next(number for number, one in enumerate(self._levels) if limit in one.steady)
        return self._of(which, number).longest_ms(begin_ms, self._levels[number].steady.index(limit))

    def _of(self, which: int, number: int) -> "_Together":
        if (which, number) not in self._asked:
            self._asked[which, number] = _together(self._beside, self._levels[number], which)
        return self._asked[which, number]


class _Uses(NamedTuple):
    """What is drawn in parts of a day: with everything on, and without each load that comes and goes."""

    t_ms: Floats
    whole: Sums
    fewer: Sums
    cycles: Cycles


@dataclass(frozen=True, eq=False)
class _Together:
    """A guest beside what a view has.

    base, moved: everything on, and so without the guest's own later runs, figures of shape (5, stretches). own: the
    guest in each phase, figures (5, phases). needed: what comes and goes, and is not the guest's.
    own_needed: what of the guest does, figures (5, loads, phases).
    """

    levels: Levels
    guest: Guest
    base: Sums
    moved: Sums
    own: Sums
    needed: Needed
    own_needed: Needed
    lines: dict[int, Line]

    def too_long(self, begin_ms: float) -> bool:
        """Some store may come to hold too much because the guest begins then."""
        rule, beside, alone = self.levels.rule, self._uses(begin_ms, with_it=True), None
        for store, (allowed_s, cooling_s) in enumerate(zip(rule.allowed_s, rule.cooling_s, strict=True)):
            with_it = self._passed(beside, store)
            if not exceeds(_held_s(with_it, with_it[0], allowed_s, cooling_s), allowed_s).any():
                continue
            alone = alone or self._uses(begin_ms, with_it=False)
            without = self._passed(alone, store)
            t_ms = np.union1d(with_it[0], without[0])
            held_s, was_s = (_held_s(one, t_ms, allowed_s, cooling_s) for one in (with_it, without))
            if (exceeds(held_s, allowed_s) & (held_s > was_s + WITHOUT * allowed_s)).any():
                return True
        return False

    def longest_ms(self, begin_ms: float, quantity: int) -> tuple[float, float]:
        """From when to when a quantity may be above its limit for hours, the longest that the guest takes part in."""
        edges_ms, flags = self._passed(self._uses(begin_ms, with_it=True), 0, quantity)
        turns = np.diff(np.concatenate(([False], flags, [False])).astype(np.int8))
        from_ms, to_ms = edges_ms[(turns == 1).nonzero()[0]], edges_ms[(turns == -1).nonzero()[0]]
        there = (from_ms < begin_ms + self.guest.edge_ms[-1]) & (to_ms > begin_ms)
        if not there.any():
            return begin_ms, begin_ms
        place = int(np.where(there, to_ms - from_ms, -1.0).argmax())
        return float(from_ms[place]), float(to_ms[place])

    def _uses(self, begin_ms: float, *, with_it: bool) -> _Uses:
        """What is drawn over the day, with a guest that begins then or without it."""
        scope, own_ms = self.levels.view.scope, begin_ms + self.guest.edge_ms
        t_ms = np.union1d(scope.t_ms.astype(float), own_ms[own_ms < scope.t_ms[-1]])
        stretch = scope.stretch_at(t_ms[:-1])
        phase = own_ms.searchsorted(t_ms[:-1], side="right") - 1
        there = (phase >= 0) & (phase < len(own_ms) - 1)
        total = np.where(there, self.moved.figures[:, stretch], self.base.figures[:, stretch])
        fewer, cycles = self.needed.sums.figures[:, :, stretch], [self.needed.cycles]
        if with_it:
            place = np.where(there, phase, 0)
            total = total + np.where(there, self.own.figures[:, place], 0.0)
            fewer = np.concatenate((fewer, np.where(there, self.own_needed.sums.figures[:, :, place], 0.0)), axis=1)
            cycles.append(self.own_needed.cycles)
        all_cycles = Cycles(*map(np.concatenate, zip(*cycles, strict=True)))
        return _Uses(t_ms, Sums(total), Sums(total[:, None] - fewer), all_cycles)

    def _passed(self, uses: _Uses, store: int, quantity: int | None = None) -> tuple[Floats, Flags]:
        """Parts of the day, and in which of them a store fills at most; quantity: by that one alone."""
        passed = np.zeros(len(uses.t_ms) - 1, dtype=bool)
        without = np.zeros((len(uses.cycles.on_ms), len(passed)), dtype=bool)
        for check in self.levels.rule.of_store(store):
            if quantity is None or check.quantity == quantity:
                limit = self.lines[id(check)].at(uses.t_ms)
                low = np.minimum(limit[:-1], limit[1:])
                whole, fewer = (
                    one.use_va if check.quantity == VOLT_AMPERES else one.use_w for one in (uses.whole, uses.fewer)
                )
                passed |= exceeds(whole, low)
                without |= exceeds(fewer, low)
        return at_most(uses.t_ms, passed, without, uses.cycles)


def _held_s(passed: tuple[Floats, Flags], t_ms: Floats, allowed_s: float, cooling_s: float) -> Floats:
    """What a store holds as each of some parts of the day ends, which are finer."""
    edges_ms, flags = passed
    middle_ms = (t_ms[:-1] + t_ms[1:]) / 2
    return store_s(np.diff(t_ms)[None] / 1000, flags[None, edges_ms.searchsorted(middle_ms) - 1], allowed_s, cooling_s)


def _together(beside: Beside, levels: Levels, which: int) -> _Together:
    view, scope, guest = levels.view, levels.view.scope, beside.guests.guests[which]
    guests, day = beside.guests, beside.day
    phases = np.flatnonzero((guests.which == which) & (guests.starting < 0))
    # What it sets off counts though it may stand already: the safe side.
    phases = phases[[not guests.standing[row] for row in phases.tolist()]]
    own = beside.drawn(view).rows(phases)
    base, stretch = base_of(scope), np.arange(len(scope.begin_ms))
    columns = Columns(scope.t_ms[:-1], scope.t_ms[1:], stretch, np.zeros(len(stretch)), stretch, base)
    gone = beside.moved(view, columns, phases[:1], certain=False, started=False)
    others = np.flatnonzero(day.laid.pieces.appliance != guest.place)
    lines = {id(one): in_watts(day.bank, one.line) if levels.bank else one.line for one in levels.rule.checks}
    return _Together(
        levels, guest, base, base if gone is None else base - gone.row(0), own, needed_of(scope, others),
        _own_needed(beside, levels, guest), lines,
    )  # fmt: skip


def _own_needed(beside: Beside, levels: Levels, guest: Guest) -> Needed:
    """What of a guest comes and goes, phase by phase."""
    pieces, rows = guest.pieces, beside.day.rows
    draws = sums_of(rows.running.take(pieces.row).times(levels.view.scope.weight[guest.machine]), pieces.cycling)
    loads = dict.fromkeys(pieces.load[pieces.cycling].tolist())
    groups = [np.flatnonzero(pieces.cycling & (pieces.load == load)) for load in loads]
    each = np.array([draws.figures[:, one] @ guest.on[one].astype(float) for one in groups])
    figures = each.reshape(-1, 5, guest.on.shape[1]).swapaxes(0, 1)
    return Needed(cycles_of(pieces, groups), Sums(figures))
