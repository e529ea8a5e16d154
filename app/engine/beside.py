"""Guests beside what the day has already: where a limit would be passed with them, whenever they come."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from app.engine.columns import Columns
from app.engine.day import PlannedDay
from app.engine.draw import HAIR
from app.engine.expand import Laid, lay_out
from app.engine.guests import Guests, called_as
from app.engine.readings import View
from app.engine.results import Flags, Floats, Instants
from app.engine.sums import Sums, sums_of

WATTS, VOLT_AMPERES = 0, 1


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """One comparison: what draws or starts against a limit in watts or volt-amperes.

    begin, end: the limit at the beginning and at the end of each stretch of the view. longer_than_s: for starts,
    those that last longer break it; None for running draws. level: what it means to pass it there, as in `Passing`.
    told: index of the limit among those told.
    """

    told: int
    quantity: int
    begin: Floats
    end: Floats
    longer_than_s: float | None
    level: Instants


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


class _Run(NamedTuple):
    """A run of the plan: its place there, and its time, of one appliance's pieces alone."""

    place: int
    begin_ms: float
    end_ms: float


class Beside:
    """Some guests beside a day; asked view after view."""

    def __init__(self, day: PlannedDay, guests: Guests, from_ms: float) -> None:
        self.day, self.guests, self.from_ms = day, guests, from_ms
        self.uncertainty = max((one.uncertainty for one in day.rows.appliances), default=0.0)
        self.places = np.array([one.place for one in guests.guests], dtype=np.int64)
        self._drawn: dict[tuple[View, bool], Sums] = {}
        self._lowest: dict[tuple[int, int], tuple[Sequence[Comparison], Floats]] = {}
        self._called = guests.called
        terms = zip(guests.standing, guests.coming, strict=True)
        self._on_terms = np.array([bool(standing or coming) for standing, coming in terms], dtype=bool)
        pieces = day.laid.pieces
        # Its own runs to come are this one, moved; set off while it runs, it is one machine all the same.
        theirs = np.zeros(len(day.rows.appliances), dtype=bool)
        theirs[self.places] = True
        later = np.flatnonzero((pieces.begin_ms >= from_ms) & theirs[pieces.appliance])
        self._runs: dict[int, tuple[_Run, ...]] = {}
        self._without: dict[tuple[int, tuple[int, ...]], Laid] = {}
        self._own: dict[int, Instants] = {
            place: later[pieces.appliance[later] == place] for place in self.places.tolist()
        }

    def overlapped(self, which: int, begin_ms: float) -> tuple[int, ...]:
        """Numbers of a guest's own runs to come that it would overlap, beginning then: they are this one, moved."""
        runs = self._later_runs(which)
        if not runs:
            return ()
        ends_ms = begin_ms + self._own_ms(which)
        return tuple(number for number, one in enumerate(runs) if one.begin_ms < ends_ms and one.end_ms > begin_ms)

    def overlaps_turn_ms(self, which: int) -> list[float]:
        """Beginnings of a guest from which on it overlaps another number of its own runs."""
        runs = self._later_runs(which)
        own_ms = self._own_ms(which) if runs else 0.0
        return [at_ms for one in runs for at_ms in (one.begin_ms - own_ms, one.end_ms)]

    def without(self, which: int, numbers: tuple[int, ...]) -> Laid:
        """The day laid without some of a guest's own runs to come, and without what these set off."""
        asked = int(self.places[which]), numbers
        if numbers and asked not in self._without:
            resolved, runs = self.day.resolved, self._later_runs(which)
            gone = {runs[number].place for number in numbers}
            left = tuple(run for place, run in enumerate(resolved.day.runs) if place not in gone)
            supply = resolved.household.supply
            self._without[asked] = lay_out(self.day.rows, left, resolved.day.off, supply.water, resolved.frame)
        return self._without[asked] if numbers else self.day.laid

    def numbers(self, which: int) -> tuple[int, ...]:
        """All of a guest's own runs to come."""
        return tuple(range(len(self._later_runs(which))))

    def _own_ms(self, which: int) -> float:
        guest = self.guests.guests[which]
        return float(guest.pieces.end_ms[guest.machine == guest.place].max())

    def _later_runs(self, which: int) -> tuple[_Run, ...]:
        if which not in self._runs:
            pieces, own = self.day.laid.pieces, self._own[int(self.places[which])]
            own = own[~pieces.set_off[own]]  # what another sets off is a run of that
            each = [own[pieces.run[own] == run] for run in np.unique(pieces.run[own]).tolist()]
            self._runs[which] = tuple(
                _Run(int(pieces.run[one[0]]), float(pieces.begin_ms[one].min()), float(pieces.end_ms[one].max()))
                for one in each
            )
        return self._runs[which]

    def drawn(self, view: View, *, certain: bool = False) -> Sums:
        """What each row of the guests draws in a view."""
        asked = (view, certain)
        if asked not in self._drawn:
            self._drawn[asked] = self.guests.draws(self.day, view.scope.weight, certain=certain)
        return self._drawn[asked]

    def passing(
        self, view: View, rows: Instants, own: Sums, columns: Columns, tests: Sequence[Comparison],
        *, certain: bool = False, started: bool = False, cold: bool = False,
    ) -> Iterator[Passing]:  # fmt: skip
        """Where rows of the guests, beside each column, pass what is tested.

        own: their draws. started: the columns have scheduled starts in them. cold: they are of what comes back after a
        power cut.
        """
        guests = self.guests
        if not len(rows) or not len(columns.t_ms) or not tests:
            return
        kept = tests
        if any(one.longer_than_s is not None for one in tests):
            # Of starts that nobody makes long enough nothing need be reckoned.
            longest_s = max(float(guests.seconds[rows].max()), float(columns.seconds.max())) * (1 - HAIR)
            kept = [one for one in tests if one.longer_than_s is None or one.longer_than_s < longest_s]
            if not kept:
                return
        low = self._low(tests, kept)[:, columns.stretch]
        tests = kept
        place, column = _near(own, columns.sums, low, self.uncertainty)
        if not len(place):
            return
        if self._on_terms[rows[place]].any():
            asked, back = np.unique(rows[place], return_inverse=True)
            where = guests.applies(asked, self.stands(columns.t_ms, self.day.laid))
            if where is not None:
                place, column = (one[where[back, column]] for one in (place, column))
        starter = columns.starter[column]
        others = (starter < 0) | (starter != self.places[guests.which[rows[place]]])
        place, column = place[others], column[others]
        if not len(place):
            return
        row = rows[place]
        before, own = columns.sums.take(column), own.take(place)
        gone = self.moved(view, columns.take(column), row, certain=certain, started=started, cold=cold, paired=True)
        before = before if gone is None else before - gone
        total = own + before
        use, was = (total.use_w, total.use_va), (before.use_w, before.use_va)
        seconds = np.maximum(guests.seconds[row], columns.seconds[column])
        stretch = columns.stretch[column]
        for test in tests:
            begin, end = test.begin[stretch], test.end[stretch]
            drawn = use[test.quantity]
            over = (drawn > np.minimum(begin, end) * (1 + HAIR)) & (drawn > was[test.quantity] * (1 + HAIR))
            if test.longer_than_s is not None:
                over &= seconds > test.longer_than_s * (1 + HAIR)
            one = over.nonzero()[0]
            if len(one):
                level = test.level[stretch[one]]
                yield self.found(test, row[one], columns, column[one], begin[one], end[one], level, drawn[one])

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
        self,
        test: Comparison,
        row: Instants,
        columns: Columns,
        column: Instants,
        begin: Floats,
        end: Floats,
        level: Instants,
        use: Floats,
    ) -> Passing:
        """Pairs of a row and a column in which a test is failed; begin, end: the limit there; level: as it is there."""
        from_ms, to_ms = columns.t_ms[column], columns.end_ms[column]
        # A limit that moves is passed in a part of the stretch only.
        moves = begin != end
        with np.errstate(divide="ignore", invalid="ignore"):
            at_ms = from_ms + np.where(moves, (use - begin) / (end - begin), 0.0) * (to_ms - from_ms)
        later, sooner = moves & (use < begin), moves & (use < end)
        from_ms, to_ms = np.where(later, at_ms, from_ms), np.where(sooner, at_ms, to_ms)
        guests = self.guests
        return Passing(
            which=guests.which[row], after_ms=from_ms - guests.until_ms[row], before_ms=to_ms - guests.from_ms[row],
            level=level, told=np.full(len(row), test.told), row=row, from_ms=from_ms,
            to_ms=to_ms, use=use, most_first=np.where(later, use, begin), most_last=np.where(sooner, use, end),
        )  # fmt: skip

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

    def moved(
        self, view: View, columns: Columns, rows: Instants, *, certain: bool, started: bool, cold: bool = False,
        paired: bool = False,
    ) -> Sums | None:  # fmt: skip
        """What the guests' own later runs draw in each column; shape (rows, n), None for nothing at all.

        cold: as they come back after a power cut. paired: one column for each row, shape (rows,).
        """
        whose = np.unique(self.places[self.guests.which[rows]])
        own = np.concatenate([self._own[place] for place in whose.tolist()])
        gone = self._drawn_by(view, self.day.laid, whose, own, certain=certain, started=started, cold=cold)
        if gone is None:
            return None
        place = np.zeros(len(self.day.rows.appliances), dtype=np.int64)
        place[whose] = np.arange(len(whose))
        asked = place[self.places[self.guests.which[rows]]]
        if paired:
            return Sums(gone[:, asked, columns.stretch])
        return Sums(gone[:, :, columns.stretch][:, asked])

    def gone_in(self, view: View, which: int, numbers: tuple[int, ...], *, certain: bool = False) -> Sums | None:
        """What some of a guest's own runs to come draw, with what they set off, in each stretch of a view."""
        if not numbers:
            return None
        machines = np.unique(self.guests.guests[which].machine)
        before, after = (
            self._of_machines(view, laid, machines, 0.0, certain=certain)
            for laid in (self.day.laid, self.without(which, numbers))
        )
        return before - after

    def set_off_in(self, view: View, which: int, numbers: tuple[int, ...], *, certain: bool = False) -> Sums:
        """What others set off of a guest's appliance to come, in each stretch of a view: one machine with it."""
        laid, place = self.without(which, numbers), self.places[which : which + 1]
        return self._of_machines(view, laid, place, self.from_ms, certain=certain)

    def phases_in(self, view: View, which: int, laid: Laid, *, certain: bool = False) -> Sums:
        """What a guest draws in each of its phases in each stretch of a view, figures (5, phases, stretches).

        What it sets off is one machine each, and not counted again where that stands.
        """
        guests, stretches = self.guests, len(view.scope.begin_ms)
        rows = np.flatnonzero((guests.which == which) & (guests.starting < 0))
        own = self.drawn(view, certain=certain).rows(rows).figures
        applies = guests.applies(rows, self.stands(view.scope.begin_ms, laid))
        here = np.ones((len(rows), stretches), dtype=bool) if applies is None else applies
        begins_ms = guests.from_ms[rows]
        each = [own[:, begins_ms == begin_ms] for begin_ms in np.unique(begins_ms).tolist()]
        where = [here[begins_ms == begin_ms].astype(float) for begin_ms in np.unique(begins_ms).tolist()]
        return Sums(np.stack([one @ flags for one, flags in zip(each, where, strict=True)], axis=1))

    def _of_machines(self, view: View, laid: Laid, machines: Instants, since_ms: float, *, certain: bool) -> Sums:
        """What pieces of some appliances draw that begin from an instant on, in each stretch of a view."""
        own = np.flatnonzero(np.isin(laid.pieces.appliance, machines) & (laid.pieces.begin_ms >= since_ms))
        found = self._drawn_by(view, laid, machines, own, certain=certain, started=False, cold=False)
        stretches = len(view.scope.begin_ms)
        return Sums(np.zeros((5, stretches)) if found is None else found.sum(axis=1)[:, :stretches])

    def _drawn_by(
        self, view: View, laid: Laid, whose: Instants, own: Instants, *, certain: bool, started: bool, cold: bool
    ) -> Floats | None:
        """Figures of what pieces of some appliances draw, shape (5, whose, stretches + 1). whose: places, rising."""
        day, scope, pieces = self.day, view.scope, laid.pieces
        if not len(own):
            return None
        own = own[scope.weight[pieces.appliance[own]] > 0]
        if certain:
            own = own[~pieces.cycling[own]]
        if not len(own):
            return None
        row = pieces.row[own]
        part = scope.weight[pieces.appliance[own]]
        draws = (day.rows.cold if cold else day.rows.running).take(row).times(part)
        # What comes back after a power cut is on one side of zero already.
        figures = sums_of(draws, pieces.cycling[own] & (not cold)).figures
        which = whose.searchsorted(pieces.appliance[own])
        steps = [(pieces.begin_ms[own], which, figures), (pieces.end_ms[own], which, -figures)]
        kicks = pieces.scheduled[own] & (day.rows.start_ms[row] > 0)
        if started and kicks.any():
            start_p_w, start_q_var = day.rows.start_p_w[row] * part, day.rows.start_q_var[row] * part
            nothing = np.zeros_like(start_p_w)
            kick = (np.array([start_p_w, start_q_var, start_q_var, nothing, nothing]) - figures)[:, kicks]
            over_ms = np.minimum(pieces.begin_ms[own] + day.rows.start_ms[row], pieces.end_ms[own])[kicks]
            steps += [(pieces.begin_ms[own][kicks], which[kicks], kick), (over_ms, which[kicks], -kick)]
        sums = np.zeros((5, len(whose), len(scope.t_ms) + 1))
        for at_ms, one, change in steps:
            np.add.at(sums, (slice(None), one, scope.t_ms.searchsorted(at_ms)), change)  # type: ignore[arg-type]
        return np.asarray(sums.cumsum(axis=2))


def _near(own: Sums, base: Sums, low: Floats, fraction: float) -> tuple[Instants, Instants]:
    """Pairs of a row and a column that may come up to a limit; low: shape (2, columns).

    Watts with their uncertainty are at most the sum of both; volt-amperes too, by the largest fraction
    that any is uncertain.
    """
    left_w, left_va = low[WATTS] - base.use_w, low[VOLT_AMPERES] / (1 + fraction) - base.va
    own_w, own_va = own.use_w, own.va
    rows = np.flatnonzero(own.drawing & ((own_w > left_w.min()) | (own_va > left_va.min())))
    if not len(rows):
        return rows, rows
    columns = np.flatnonzero((left_w < own_w[rows].max()) | (left_va < own_va[rows].max()))
    near = (own_w[rows][:, None] > left_w[columns]) | (own_va[rows][:, None] > left_va[columns])
    row, column = near.nonzero()
    return rows[row], columns[column]
