"""What a day has already, as columns to put guests beside: running, and in starts; worst, and what is certain."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from app.engine.draw import Draws
from app.engine.everything import everything_on, most_on
from app.engine.locked import Side
from app.engine.readings import View
from app.engine.results import Flags, Floats, Instants
from app.engine.sums import Sums, plain
from app.engine.under_way import UnderWay, planned_start_s


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """Draws of the day, one column each, shape (n,).

    stretch: of the view. seconds: how long a start lasts, 0 for running draws. starter: place of the appliance whose
    unscheduled start it is, else -1. planned: what the plan draws as it is, where that is another figure.
    under_way: planned starts that are in the draws, though the columns are none.
    """

    t_ms: Floats
    end_ms: Floats
    stretch: Instants
    seconds: Floats
    starter: Instants
    sums: Sums
    planned: Sums | None = None
    under_way: UnderWay | None = None

    @property
    def as_planned(self) -> Sums:
        """What the plan draws as it is."""
        return self.sums if self.planned is None else self.planned

    def take(self, index: Instants) -> "Columns":
        """Some of them."""
        return Columns(
            self.t_ms[index], self.end_ms[index], self.stretch[index], self.seconds[index], self.starter[index],
            self.sums.take(index), None if self.planned is None else self.planned.take(index), self.under_way,
        )  # fmt: skip


_NONE, _NO_TIME = np.empty(0, dtype=np.int64), np.empty(0)
NO_COLUMNS = Columns(_NO_TIME, _NO_TIME, _NONE, _NO_TIME, _NONE, Sums(np.empty((5, 0))))


class Most(NamedTuple):
    """Watts for limits, and nominal volt-amperes, which none of some draws exceeds."""

    use_w: float
    va: float

    def least(self, other: "Most") -> "Most":
        """The lower of both, each."""
        return Most(min(self.use_w, other.use_w), min(self.va, other.va))

    def and_va(self, more_va: float) -> "Most":
        """With more volt-amperes."""
        return Most(self.use_w, self.va + more_va)


def most_of(sums: Sums) -> Most:
    """Of some draws."""
    p_w, one_var, other_var, d_va, spread_w2 = sums.figures
    if not p_w.size:
        return Most(0.0, 0.0)
    most_va2 = (p_w * p_w + np.maximum(one_var * one_var, other_var * other_var) + d_va * d_va).max()
    return Most(max(float(p_w.max()), 0.0) + math.sqrt(max(float(spread_w2.max()), 0.0)), math.sqrt(most_va2))


class Day:
    """A view's columns from an instant on: running, and in starts; in the worst case, and of what is certain.

    Each kind is made when it is first asked for, which for many views is never.
    """

    def __init__(self, view: View, from_ms: float, *, everything: bool, side: Side | None = None) -> None:
        """everything: what interlocks keep off is on all the same, for one who is a member of one.

        side: of a member's interlock; then only what the others keep off is off.
        """
        scope = view.scope
        self.view, self.side = view, side
        self.first = int(scope.stretch_at(from_ms))  # the view's stretch they begin with
        self._chosen = np.arange(self.first, len(scope.t_ms) - 1)
        self._as_kept_apart, self._everything = bool(scope.interlocked) and not everything, everything

    @cached_property
    def running(self) -> Columns:
        """Every stretch, in the worst case."""
        return self._columns(self._worst, self._as_planned(self.view.scope.worst))

    @cached_property
    def starts(self) -> Columns:
        """Every stretch in which something starts that is scheduled."""
        planned = self._as_planned(self.view.scope.worst_started)
        return self._columns(self._worst_started, planned, only_starts=True)

    @cached_property
    def started(self) -> Columns:
        """Every stretch with the scheduled starts in it, for a guest's own start."""
        planned = self._as_planned(self.view.scope.worst_started)
        return replace(self._columns(self._worst_started, planned), under_way=self._under_way(self._worst_started))

    @cached_property
    def certain(self) -> Columns:
        """Every stretch, certain draws alone."""
        return self._columns(plain(self.view.scope.certain))

    @cached_property
    def certain_starts(self) -> Columns:
        """As `starts`, certain draws alone."""
        return self._columns(plain(self.view.scope.certain_started), only_starts=True)

    @cached_property
    def certain_started(self) -> Columns:
        """As `started`, certain draws alone."""
        sums = plain(self.view.scope.certain_started)
        return replace(self._columns(sums), under_way=self._under_way(sums))

    @cached_property
    def unscheduled(self) -> Columns:
        """Starts that come by themselves, each in every stretch in which it may."""
        scope, worst = self.view.scope, self._worst
        if not self.view.unscheduled:
            return NO_COLUMNS
        parts = []
        for start in self.view.unscheduled:
            place = int(self.view.laid.pieces.appliance[start.piece])
            later = np.flatnonzero((start.stretch >= self.first) & self.may_start(place, start.stretch))
            index = start.stretch[later]
            more = worst.take(index) - plain(scope.worst).take(index)
            if not self._everything:
                # Beside a guest the other side of zero may count. What a start is reckoned beside may be another
                # choice of members than a side's: nothing is taken off.
                by_hand = False if self.side is None else self.side.by_hand(self.view)[index]
                more = Sums(np.where(by_hand, more.figures, more.further_out().figures))
            total = plain(start.total).take(later) + more
            parts.append(
                Columns(
                    scope.t_ms[index], scope.t_ms[index + 1], index, np.full(len(index), start.duration_s),
                    np.full(len(index), place), total, self._as_planned(start.total.take(later)),
                )
            )  # fmt: skip
        return _joined(parts)

    @cached_property
    def most_running(self) -> Most:
        """Of running draws, in the worst case."""
        return most_of(Sums(self._worst.figures[:, self.first :]))

    @cached_property
    def most_started(self) -> Most:
        """Of running draws and starts, in the worst case."""
        each = [self.most_running]
        if self._worst_started is not self._worst:
            each.append(most_of(Sums(self._worst_started.figures[:, self.first :])))
        if self.view.unscheduled:
            each.append(most_of(self.unscheduled.sums))
        return Most(*map(max, zip(*each, strict=True)))

    def may_start(self, place: int, stretch: Instants) -> Flags:
        """Whether an appliance at a place may start by itself in stretches."""
        side = self.side
        return np.ones(len(stretch), dtype=bool) if side is None else side.may_start(self.view, place, stretch)

    @cached_property
    def _worst(self) -> Sums:
        scope = self.view.scope
        if self.side is not None:
            return self.side.worst(self.view)
        return most_on(scope) if self._everything else everything_on(scope, kept_apart=self._as_kept_apart)

    @cached_property
    def _worst_started(self) -> Sums:
        scope = self.view.scope
        if scope.certain_started is scope.certain:
            return self._worst  # nothing starts at an instant that is known
        if self._as_kept_apart and self.side is None:
            return self._worst + plain(scope.worst_started - scope.worst)
        return self._worst + plain(scope.certain_started - scope.certain)

    def _under_way(self, sums: Sums) -> UnderWay | None:
        return UnderWay(self.view, sums, self._start_s) if len(self.view.scheduled) else None

    @cached_property
    def _start_s(self) -> Floats:
        return planned_start_s(self.view)

    def _as_planned(self, draws: Draws) -> Sums | None:
        """What the plan draws, where guests are put beside more: beside all that interlocks may let on at once."""
        return plain(draws) if self.view.scope.interlocks else None

    def _columns(self, sums: Sums, planned: Sums | None = None, *, only_starts: bool = False) -> Columns:
        scope, index = self.view.scope, self._chosen
        seconds = np.zeros(len(index))
        if only_starts:
            index = index[self._start_s[index] > 0]
            seconds = self._start_s[index]
        nobody = np.full(len(index), -1)
        planned = None if planned is None else planned.take(index)
        return Columns(scope.t_ms[index], scope.t_ms[index + 1], index, seconds, nobody, sums.take(index), planned)


def _joined(parts: Sequence[Columns]) -> Columns:
    def joined(name: str) -> Floats:
        return np.concatenate([getattr(one, name) for one in parts])

    planned = [one.planned for one in parts if one.planned is not None]
    return Columns(
        joined("t_ms"), joined("end_ms"), joined("stretch").astype(np.int64), joined("seconds"),
        joined("starter").astype(np.int64),
        _in_a_row([part.sums for part in parts]), _in_a_row(planned) if planned else None,
    )  # fmt: skip


def _in_a_row(sums: Sequence[Sums]) -> Sums:
    return Sums(np.concatenate([one.figures for one in sums], axis=1))
