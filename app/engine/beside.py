"""Guests beside what the day has already: where a limit would be passed with them, whenever they come."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from app.engine.columns import Columns, Most
from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.expand import Laid, Pieces
from app.engine.guests import Guests, called_as
from app.engine.locked import Locked, Members, locked
from app.engine.own_runs import CERTAIN, RUNNING, WHENEVER, DrawnAs, OwnRuns, Span, begins_in
from app.engine.readings import View
from app.engine.results import Flags, Floats, Instants
from app.engine.sums import Sums
from app.engine.told import NEVER

WATTS, VOLT_AMPERES = 0, 1


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """One comparison: what draws or starts against a limit in watts or volt-amperes.

    begin, end: the limit at the beginning and at the end of each stretch of the view. longer_than_s: for starts,
    those that last longer break it; None for running draws. level: what it means to pass it there, as in `Passing`.
    told: index of the limit among those told. unbroken: that long without a break; else a start adds to the time for
    which a planned one is above it meanwhile.
    """

    told: int
    quantity: int
    begin: Floats
    end: Floats
    longer_than_s: float | None
    level: Instants
    unbroken: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Passing:
    """Where guests pass limits, shape (n,) each: beginning between two instants, neither included, they do.

    level: 1 where that may be gone into knowingly, 2 where it must not be. row: of the guests. from_ms, to_ms: the
    time in which the draw of that row is too much. use: with the guest; most_first, most_last: the limit as that time
    begins and as it ends; watts or volt-amperes.
    """

    which: Instants
    after_ms: Floats
    before_ms: Floats
    level: Instants
    told: Instants
    row: Instants
    from_ms: Floats
    to_ms: Floats
    use: Floats
    most_first: Floats
    most_last: Floats

    def most_between(self, places: Instants, from_ms: Floats, until_ms: Floats) -> Floats:
        """The limit of some of them at its lowest between two instants each."""
        first, last, begin_ms = self.most_first[places], self.most_last[places], self.from_ms[places]
        lasts_ms = np.maximum(self.to_ms[places] - begin_ms, 1.0)
        more = np.where(first == last, 0.0, last - first)
        ends = [first + more * np.clip((at_ms - begin_ms) / lasts_ms, 0.0, 1.0) for at_ms in (from_ms, until_ms)]
        return np.asarray(np.minimum(*ends))

    def where(self, flags: Flags) -> "Passing":
        """Those whose flags hold."""
        return self.take(np.flatnonzero(flags))

    def take(self, index: Instants | slice) -> "Passing":
        """Some of them, in this order."""
        return Passing(*(getattr(self, name)[index] for name in self.__slots__))


def together(parts: Sequence[Passing]) -> Passing:
    """All of them."""
    return Passing(*(np.concatenate([getattr(one, name) for one in parts]) for name in Passing.__slots__))


NOBODY = Passing(*(np.empty(0, dtype=kind) for kind in (int, float, float, int, int, int, *[float] * 5)))


class _Lasting(NamedTuple):
    """Of a machine at n instants: for how long it is on at a time, for what part of the time, and how long at most."""

    on_ms: Floats
    share: Floats
    most_ms: Floats


class Beside:
    """Some guests beside a day; asked view after view."""

    def __init__(self, day: PlannedDay, guests: Guests, from_ms: float) -> None:
        self.day, self.guests, self.from_ms = day, guests, from_ms
        self.uncertainty = max((one.uncertainty for one in day.rows.appliances), default=0.0)
        self.places = np.array([one.place for one in guests.guests], dtype=np.int64)
        self._drawn: dict[tuple[View, bool], Sums] = {}
        self._made_up_va: dict[tuple[View, bool], float] = {}
        self._lowest: dict[tuple[int, int], tuple[Sequence[Comparison], Floats]] = {}
        self._called = guests.called
        self.own_runs = OwnRuns(day, guests, from_ms)
        along = [self.own_runs.take_others(which) for which in range(len(guests.guests))]
        self._spans = {which: self.own_runs.spans(which) for which in np.flatnonzero(along).tolist()}
        self._along = np.array(along, dtype=bool)
        own = guests.machine[guests.entry_piece] == self.places[guests.which[guests.entry_row]]
        self._is_own = np.bincount(guests.entry_row[own], minlength=len(guests.which)) > 0

    @cached_property
    def locked(self) -> tuple[Locked, ...]:
        """Guests that an interlock keeps apart from others."""
        return tuple(locked(self.day, self.guests, self.from_ms))

    def kept_apart(self, which: int) -> Members | None:
        """The members of the interlock that keeps a guest apart from others; None for none."""
        return next((one.members for one in self.locked if which in one.which), None)

    def drawn(self, view: View, *, certain: bool = False) -> Sums:
        """What each row of the guests draws in a view."""
        asked = (view, certain)
        if asked not in self._drawn:
            self._drawn[asked] = self.guests.draws(self.day, view.scope.weight, certain=certain)
        return self._drawn[asked]

    def made_up_va(self, view: View, *, cold: bool = False) -> float:
        """How much more others come to there, at most, without a run of some guest that is moved."""
        asked = (view, cold)
        if asked not in self._made_up_va:
            own = self.guests.draws(self.day, view.scope.weight, cold=True) if cold else self.drawn(view)
            self._made_up_va[asked] = self.own_runs.made_up_va(view, own, cold=cold)
        return self._made_up_va[asked]

    def never(self, own: Most, most: Most, limit: Most) -> bool:
        """However they fall together, no row comes up to a limit.

        own: of rows. most: of the day. limit: the lowest of all limits.
        """
        in_va = (own.va + most.va) * (1 + self.uncertainty)  # as in `_near`
        return own.use_w + most.use_w <= limit.use_w and in_va <= limit.va

    def passing(
        self, view: View, rows: Instants, own: Sums, columns: Columns, tests: Sequence[Comparison],
        draws: DrawnAs = RUNNING,
    ) -> Iterator[Passing]:  # fmt: skip
        """Where rows of the guests, beside each column, pass what is tested.

        own: their draws. draws: as what the columns are.
        """
        guests = self.guests
        if not len(rows) or not len(columns.t_ms) or not tests:
            return
        kept = tests
        if any(one.longer_than_s is not None for one in tests):
            # Of starts that nobody makes long enough nothing need be reckoned.
            longest_s = max(float(guests.seconds[rows].max()), float(columns.seconds.max())) * (1 - HAIR)
            if columns.under_way is not None:
                longest_s += float(columns.under_way.lasts_s.max())
            kept = [one for one in tests if one.longer_than_s is None or one.longer_than_s < longest_s]
            if not kept:
                return
        low = self._low(tests, kept)[:, columns.stretch]
        tests, is_running = kept, draws == RUNNING and any(one.longer_than_s is None for one in kept)
        also, made_up_va = guests.is_answered[rows] & is_running, self.made_up_va(view, cold=draws.cold)
        if made_up_va:
            also |= self.own_runs.has_runs[guests.which[rows]]
        place, column = _near(own, columns.sums.use_w, columns.sums.va + made_up_va, low, self.uncertainty, also)
        if not len(place):
            return
        row = rows[place]
        after_ms, before_ms = columns.t_ms[column] - guests.until_ms[row], columns.end_ms[column] - guests.from_ms[row]
        for span, theirs in self.by_span(row):
            pairs = np.flatnonzero(theirs & begins_in(span, after_ms, before_ms))
            pairs = pairs[self.there(span, row[pairs], columns, column[pairs])]
            if len(pairs):
                chosen = columns.take(column[pairs])
                gone = self.gone(view, span, row[pairs], chosen.stretch, draws)
                before = chosen.sums if gone is None else chosen.sums - gone
                longer = self._longer(span, row[pairs], chosen.t_ms) if is_running else None
                yield from self._failing(tests, span, row[pairs], own.take(place[pairs]), chosen, before, longer)

    def _failing(
        self, tests: Sequence[Comparison], span: Span, row: Instants, own: Sums, columns: Columns, before: Sums,
        longer: Flags | None,
    ) -> Iterator[Passing]:  # fmt: skip
        """Pairs of a row and a column, one for each, that fail what is tested. before: what is there without it.

        longer: of which something is on for longer with it.
        """
        total = own + before
        use, was = (total.use_w, total.use_va), (before.use_w, before.use_va)
        planned = columns.as_planned
        if planned is not before:  # what is gone may have made up for others; where nothing changes nothing is more
            changes = own.drawing | (before.figures != columns.sums.figures).any(axis=0)
            less = np.minimum(was[WATTS], planned.use_w), np.minimum(was[VOLT_AMPERES], planned.use_va)
            was = np.where(changes, less[WATTS], was[WATTS]), np.where(changes, less[VOLT_AMPERES], was[VOLT_AMPERES])
        seconds = np.maximum(self.guests.seconds[row], columns.seconds)
        for test in tests:
            begin, end = test.begin[columns.stretch], test.end[columns.stretch]
            drawn = use[test.quantity]
            is_more = drawn > was[test.quantity] * (1 + HAIR)
            if test.longer_than_s is None and longer is not None:
                is_more |= longer & (test.level[columns.stretch] < NEVER)  # that knows no time
            over = (drawn > np.minimum(begin, end) * (1 + HAIR)) & is_more
            if test.longer_than_s is not None:
                over &= seconds + _above_s(test, columns) > test.longer_than_s * (1 + HAIR)
            one = over.nonzero()[0]
            if len(one):
                level = test.level[columns.stretch[one]]
                yield self.found(test, span, row[one], columns.take(one), begin[one], end[one], level, drawn[one])

    def _low(self, tests: Sequence[Comparison], kept: Sequence[Comparison]) -> Floats:
        """The lowest of the limits that are asked for, per quantity and stretch of the view; infinite for none."""
        asked = id(tests), len(kept)  # of one list those are kept that longer starts break: so many say which
        if asked not in self._lowest:
            low = np.full((2, len(tests[0].begin)), np.inf)
            for test in kept:
                np.minimum(low[test.quantity], np.minimum(test.begin, test.end), out=low[test.quantity])
            self._lowest[asked] = tests, low  # a list that is kept is no other list's name
        return self._lowest[asked][1]

    def found(
        self, test: Comparison, span: Span, row: Instants, columns: Columns, begin: Floats, end: Floats,
        level: Instants, use: Floats, when: tuple[float, float] | None = None,
    ) -> Passing:  # fmt: skip
        """Rows and columns, one for each, that fail a test; begin, end: the limit there; level: as it is there.

        when: from when until when after the guest begins, if not as its rows say.
        """
        from_ms, to_ms = columns.t_ms, columns.end_ms
        # A limit that moves is passed in a part of the stretch only.
        moves = begin != end
        with np.errstate(divide="ignore", invalid="ignore"):
            at_ms = from_ms + np.where(moves, (use - begin) / (end - begin), 0.0) * (to_ms - from_ms)
        later, sooner = moves & (use < begin), moves & (use < end)
        from_ms, to_ms = np.where(later, at_ms, from_ms), np.where(sooner, at_ms, to_ms)
        guests = self.guests
        since_ms, until_ms = (guests.from_ms[row], guests.until_ms[row]) if when is None else when
        after_ms = np.maximum(from_ms - until_ms, span.from_ms)
        before_ms = np.minimum(to_ms - since_ms, span.until_ms)
        found = Passing(
            which=guests.which[row], after_ms=after_ms, before_ms=before_ms,
            level=level, told=np.full(len(row), test.told), row=row, from_ms=from_ms,
            to_ms=to_ms, use=use, most_first=np.where(later, use, begin), most_last=np.where(sooner, use, end),
        )  # fmt: skip
        return found if span is WHENEVER else found.where(after_ms < before_ms)

    def by_span(self, row: Instants) -> Iterator[tuple[Span, Flags]]:
        """Which of some rows are of each span of beginnings; all at once those whose own runs take nothing along."""
        which = self.guests.which[row]
        along = self._along[which]
        if not along.all():
            yield WHENEVER, ~along
        for one in np.unique(which[along]).tolist():
            theirs = which == one
            for span in self.spans(one):
                yield span, theirs

    def spans(self, which: int) -> list[Span]:
        """Of beginnings of a guest, in each of which the same of its own runs are moved."""
        return self._spans.get(which, [WHENEVER])

    def there(self, span: Span, row: Instants, columns: Columns, column: Instants) -> Flags:
        """Which pairs there are: what it sets off, and what starts by itself, is one machine with its like.

        row, column: of any shapes that go together.
        """
        guests = self.guests
        starter = columns.starter[column]
        found = (starter < 0) | (starter != self.places[guests.which[row]])
        laid = self.own_runs.without(span.which, span.numbers) if span.numbers else self.day.laid
        if guests.is_on_terms[row].any():
            asked, back = np.unique(row, return_inverse=True)
            where = guests.applies(asked, self.stands(columns.t_ms, laid))
            if where is not None:
                found = found & where[back.reshape(row.shape), column]
        if span.numbers:  # nor does what has gone with a run that is moved
            went = np.intersect1d(starter, guests.guests[span.which].machine)
            for machine, stands in self.stands(columns.t_ms, laid, went.tolist()).items():
                found = found & ((starter != machine) | stands[column])
        return np.asarray(found)

    def gone(self, view: View, span: Span, row: Instants, stretch: Instants, draws: DrawnAs = RUNNING) -> Sums | None:
        """What the day has not, of their own runs, beside rows in stretches; None for nothing at all.

        row, stretch: of any shapes that go together, which is that of each figure.
        """
        own_runs, which = self.own_runs, self.guests.which[row]
        if span is WHENEVER:
            return own_runs.alone(view, which, stretch, draws)
        row, stretch = np.broadcast_arrays(row, stretch)
        one_machine = own_runs.set_off(view, span.which, span.numbers, draws).figures[:, stretch] * self._is_own[row]
        moved = own_runs.gone(view, span.which, span.numbers, draws)
        return Sums(one_machine if moved is None else one_machine + moved.figures[:, stretch])

    def _longer(self, span: Span, row: Instants, at_ms: Floats) -> Flags:
        """Of which pairs of a row and an instant what stands already is on for longer with the row's guest."""
        found = np.zeros(len(row), dtype=bool)
        laid = self.own_runs.without(span.which, span.numbers) if span.numbers else self.day.laid
        for one in np.unique(row[self.guests.is_answered[row]]).tolist():
            guest, pairs = self.guests.guests[self.guests.which[one]], row == one
            since_ms = np.array([self.guests.from_ms[one]])
            for machine in self.guests.standing[one]:
                own, theirs = _lasting(guest.pieces, machine, since_ms), _lasting(laid.pieces, machine, at_ms[pairs])
                # Of equals either may be what the machine goes by.
                longer = (own.on_ms == theirs.on_ms) & ((own.share > theirs.share) | (own.most_ms > theirs.most_ms))
                found[pairs] |= np.isfinite(own.on_ms) & (longer | (own.on_ms > theirs.on_ms))
        return found

    def stands(self, at_ms: Floats, laid: Laid, machines: Iterable[int] | None = None) -> dict[int, Flags]:
        """Whether machines stand already at instants, those that guests set off if not told; see `guests.called_as`."""
        found: dict[int, Flags] = {}
        pieces = laid.pieces
        for called in self._called if machines is None else machines:
            machine, always_on = called_as(called)
            there = np.flatnonzero((pieces.appliance == machine) & ~(pieces.cycling & always_on))
            begin_ms, end_ms = pieces.begin_ms[there][:, None], pieces.end_ms[there][:, None]
            found[called] = np.asarray(((begin_ms <= at_ms) & (end_ms > at_ms)).any(axis=0))
        return found

    def with_phases(
        self, base: Sums, view: View, which: int, numbers: tuple[int, ...], *, certain: bool = False
    ) -> tuple[Sums, Sums]:
        """A day without some of a guest's own runs to come, and so with the guest in each of its phases.

        base: the day, figures of shape (5, stretches). With it: (5, phases, stretches); what sets off and what is set
        off is one machine each, and not counted again where that stands.
        """
        guests, own_runs, stretches = self.guests, self.own_runs, len(view.scope.begin_ms)
        draws = CERTAIN if certain else RUNNING
        gone = own_runs.gone(view, which, numbers, draws)
        moved = base if gone is None else base - gone
        rows = np.flatnonzero((guests.which == which) & (guests.starting < 0))
        applies = guests.applies(rows, self.stands(view.scope.begin_ms, own_runs.without(which, numbers)))
        there = np.ones((len(rows), stretches), dtype=bool) if applies is None else applies
        own = self.drawn(view, certain=certain).rows(rows).figures
        one_machine = own_runs.set_off(view, which, numbers, draws).figures
        begins_ms = guests.from_ms[rows]
        with_it = np.stack([
            moved.figures + own[:, phase] @ there[phase].astype(float) - one_machine * self._is_own[rows[phase]].any()
            for phase in (begins_ms == begin_ms for begin_ms in np.unique(begins_ms).tolist())
        ], axis=1)  # fmt: skip
        return moved, Sums(with_it)


def _lasting(pieces: Pieces, machine: int, at_ms: Floats) -> _Lasting:
    """Of a machine at instants; on for an infinite time where it is on throughout, for none where it is not wanted."""
    there = np.flatnonzero(pieces.appliance == machine)
    is_there = (pieces.begin_ms[there, None] <= at_ms) & (pieces.end_ms[there, None] > at_ms)
    on_ms = np.where(pieces.cycling[there], pieces.on_ms[there], np.inf)
    share = pieces.on_ms[there] / np.maximum(pieces.period_ms[there], 1)
    figures = (on_ms, share, pieces.longest_ms[there])
    return _Lasting(*(np.where(is_there, one[:, None], 0.0).max(axis=0, initial=0.0) for one in figures))


def _above_s(test: Comparison, columns: Columns) -> Floats | float:
    """For how long planned starts in columns are above what is tested, by themselves."""
    if test.unbroken or columns.under_way is None:
        return 0.0
    above = columns.under_way.above_va if test.quantity == VOLT_AMPERES else columns.under_way.above_w
    return above(test.begin, test.end)[columns.stretch]


def _near(
    own: Sums, day_w: Floats, day_va: Floats, low: Floats, fraction: float, also: Flags
) -> tuple[Instants, Instants]:
    """Pairs of a row and a column that may come up to a limit. also: rows that draw nothing.

    day_w, day_va: the most of each column, watts for limits and nominal volt-amperes. low: shape (2, columns).
    Watts with their uncertainty are at most the sum of both; volt-amperes too, by the largest fraction
    that any is uncertain.
    """
    left_w, left_va = low[WATTS] - day_w, low[VOLT_AMPERES] / (1 + fraction) - day_va
    own_w, own_va = own.use_w, own.va
    rows = np.flatnonzero((own.drawing | also) & ((own_w > left_w.min()) | (own_va > left_va.min())))
    if not len(rows):
        return rows, rows
    columns = np.flatnonzero((left_w < own_w[rows].max()) | (left_va < own_va[rows].max()))
    near = (own_w[rows][:, None] > left_w[columns]) | (own_va[rows][:, None] > left_va[columns])
    row, column = near.nonzero()
    return rows[row], columns[column]
