"""Guests' own runs to come: which of them a guest is, put on sooner, and what of the day goes with them."""

from collections.abc import Iterator
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from app.engine.day import PlannedDay
from app.engine.expand import Laid, lay_out
from app.engine.guests import Guests
from app.engine.readings import View
from app.engine.results import Flags, Floats, Instants
from app.engine.sums import Sums, sums_of

A_HAIR_MS = 0.5  # instants are whole milliseconds


class Span(NamedTuple):
    """Beginnings of a guest, from one to another, with which the same of its own runs are this one, moved.

    numbers: of these runs.
    """

    which: int
    numbers: tuple[int, ...]
    from_ms: float
    until_ms: float


class DrawnAs(NamedTuple):
    """As what draws are asked for. certain: those alone. started: with planned starts. cold: after a power cut."""

    certain: bool = False
    started: bool = False
    cold: bool = False


RUNNING, CERTAIN = DrawnAs(), DrawnAs(certain=True)


class _Run(NamedTuple):
    """A run of the plan: its place there, and its time, of one appliance's pieces alone."""

    place: int
    begin_ms: float
    end_ms: float


class OwnRuns:
    """Of some guests, on a day, from an instant on. `which` is a guest, `numbers` some of its own runs to come."""

    def __init__(self, day: PlannedDay, guests: Guests, from_ms: float) -> None:
        self.day, self.guests, self.from_ms = day, guests, from_ms
        self.places = np.array([one.place for one in guests.guests], dtype=np.int64)
        pieces = day.laid.pieces
        theirs = np.zeros(len(day.rows.appliances), dtype=bool)
        theirs[self.places] = True
        later = np.flatnonzero((pieces.begin_ms >= from_ms) & theirs[pieces.appliance])
        self._later: dict[int, Instants] = {
            place: later[pieces.appliance[later] == place] for place in self.places.tolist()
        }
        self._runs: dict[int, tuple[_Run, ...]] = {}
        self._without: dict[tuple[int, tuple[int, ...]], Laid] = {}
        self._gone: dict[tuple[View, int, tuple[int, ...], DrawnAs], Sums] = {}

    def overlapped(self, which: int, begin_ms: float) -> tuple[int, ...]:
        """Numbers of those that it would overlap, beginning then: they are this one, moved."""
        runs = self._runs_of(which)
        if not runs:
            return ()
        ends_ms = begin_ms + self._own_ms(which)
        return tuple(number for number, one in enumerate(runs) if one.begin_ms < ends_ms and one.end_ms > begin_ms)

    def instead_ms(self, which: int, begin_ms: float) -> tuple[int, ...]:
        """When these would begin."""
        runs = self._runs_of(which)
        return tuple(int(runs[number].begin_ms) for number in self.overlapped(which, begin_ms))

    def turns_ms(self, which: int) -> list[float]:
        """Beginnings from which on it overlaps another number of them."""
        runs = self._runs_of(which)
        own_ms = self._own_ms(which) if runs else 0.0
        return [at_ms for one in runs for at_ms in (one.begin_ms - own_ms, one.end_ms)]

    def spans(self, which: int) -> list[Span]:
        """Between all these, whenever it begins from now on; the very instants are of the span on their side of it."""
        turns_ms = sorted({one for one in self.turns_ms(which) if one >= self.from_ms})
        if not turns_ms:
            return []
        middles_ms = [(one + then) / 2 for one, then in pairwise([self.from_ms, *turns_ms])]
        between = [self.overlapped(which, at_ms) for at_ms in [*middles_ms, turns_ms[-1] + 1.0]]
        found, from_ms = list[Span](), -np.inf
        for turn_ms, before, after in zip(turns_ms, between[:-1], between[1:], strict=True):
            then = self.overlapped(which, turn_ms)
            found.append(Span(which, before, from_ms, turn_ms + A_HAIR_MS if then == before else turn_ms))
            if then not in (before, after):
                found.append(Span(which, then, turn_ms - A_HAIR_MS, turn_ms + A_HAIR_MS))
            from_ms = turn_ms - A_HAIR_MS if then == after else turn_ms
        return [*found, Span(which, between[-1], from_ms, np.inf)]

    def moving(self, which: Instants) -> Iterator[Span]:
        """Beginnings of some guests with which runs are moved."""
        for one in which.tolist():
            yield from (span for span in self.spans(one) if span.numbers)

    def made_up_va(self, view: View, own: Sums, *, cold: bool = False) -> float:
        """How much more others come to, at most, without a run that is moved: what leads makes up for what lags.

        own: what each row of the guests draws. cold: after a power cut.
        """
        rows, stages = self.day.rows, self._stages
        if not len(stages):
            return 0.0
        some = np.flatnonzero(self.has_runs[self.guests.which])
        weight = view.scope.weight[rows.appliance[stages]]
        q_var = (rows.cold if cold else rows.running).q_var[stages] * weight
        lag_var = float(np.maximum(q_var, rows.start_q_var[stages] * weight).clip(0.0).sum())
        lead_var = -float(q_var.clip(max=0.0).sum())
        own_lag_var, own_lead_var = float(own.figures[1, some].max()), -float(own.figures[2, some].min())
        return max(min(own_lag_var, lead_var), min(own_lead_var, lag_var), 0.0)

    def moved(self, which: int, begin_ms: Floats) -> Iterator[tuple[tuple[int, ...], Flags]]:
        """Numbers of those that are moved, and by which of some beginnings."""
        each = [self.overlapped(which, one) for one in begin_ms.tolist()]
        for numbers in dict.fromkeys(each):
            yield numbers, np.array([one == numbers for one in each], dtype=bool)

    def take_others(self, which: int) -> bool:
        """They set others off, which go with them."""
        guest = self.guests.guests[which]
        return bool((guest.machine != guest.place).any()) and bool(self._runs_of(which))

    def without(self, which: int, numbers: tuple[int, ...]) -> Laid:
        """The day laid without some of them, and without what these set off."""
        asked = int(self.places[which]), numbers
        if numbers and asked not in self._without:
            resolved, runs = self.day.resolved, self._runs_of(which)
            gone = {runs[number].place for number in numbers}
            left = tuple(run for place, run in enumerate(resolved.day.runs) if place not in gone)
            supply = resolved.household.supply
            self._without[asked] = lay_out(self.day.rows, left, resolved.day.off, supply.water, resolved.frame)
        return self._without[asked] if numbers else self.day.laid

    def gone(self, view: View, which: int, numbers: tuple[int, ...], draws: DrawnAs = RUNNING) -> Sums | None:
        """What some of them draw, with what they set off, in each stretch of a view; None for none."""
        if not numbers:
            return None
        asked = view, which, numbers, draws
        if asked not in self._gone:
            machines = np.unique(self.guests.guests[which].machine)
            before, after = (
                self._of_machines(view, laid, machines, 0.0, draws)
                for laid in (self.day.laid, self.without(which, numbers))
            )
            self._gone[asked] = before - after
        return self._gone[asked]

    def set_off(self, view: View, which: int, numbers: tuple[int, ...], draws: DrawnAs = RUNNING) -> Sums:
        """What others set off of its appliance to come, in each stretch of a view: one machine with it."""
        laid, place = self.without(which, numbers), self.places[which : which + 1]
        return self._of_machines(view, laid, place, self.from_ms, draws)

    def alone(self, view: View, which: Instants, stretch: Instants, draws: DrawnAs) -> Sums | None:
        """What guests' appliances draw later on, whoever sets them off, but nothing that they set off.

        which, stretch: of any shapes that go together, which is that of each figure. None for nothing at all.
        """
        whose = np.unique(self.places[which])
        own = np.concatenate([self._later[place] for place in whose.tolist()])
        found = self._drawn_by(view, self.day.laid, whose, own, draws)
        return None if found is None else Sums(found[:, whose.searchsorted(self.places[which]), stretch])

    @cached_property
    def _stages(self) -> Instants:
        """Stages of the day, if a run that is moved may make up for others at all: some lag, and some lead."""
        rows, stages = self.day.rows, np.unique(self.day.laid.pieces.row)
        q_var = rows.running.q_var[stages]
        lags, leads = (q_var > 0).any() or rows.start_q_var[stages].any(), (q_var < 0).any()
        return stages if lags and leads and self.has_runs.any() else stages[:0]

    @cached_property
    def has_runs(self) -> Flags:
        """Which guests have runs to come; shape (guests,)."""
        return np.array([bool(self._runs_of(which)) for which in range(len(self.places))], dtype=bool)

    def _own_ms(self, which: int) -> float:
        guest = self.guests.guests[which]
        return float(guest.pieces.end_ms[guest.machine == guest.place].max())

    def _runs_of(self, which: int) -> tuple[_Run, ...]:
        if which not in self._runs:
            pieces, own = self.day.laid.pieces, self._later[int(self.places[which])]
            if not len(own):
                return self._runs.setdefault(which, ())
            own = own[~pieces.set_off[own]]  # what another sets off is a run of that
            each = [own[pieces.run[own] == run] for run in np.unique(pieces.run[own]).tolist()]
            self._runs[which] = tuple(
                _Run(int(pieces.run[one[0]]), float(pieces.begin_ms[one].min()), float(pieces.end_ms[one].max()))
                for one in each
            )
        return self._runs[which]

    def _of_machines(self, view: View, laid: Laid, machines: Instants, since_ms: float, draws: DrawnAs) -> Sums:
        """What pieces of some appliances draw that begin from an instant on, in each stretch of a view."""
        own = np.flatnonzero(np.isin(laid.pieces.appliance, machines) & (laid.pieces.begin_ms >= since_ms))
        found = self._drawn_by(view, laid, machines, own, draws)
        return Sums(np.zeros((5, len(view.scope.begin_ms))) if found is None else found.sum(axis=1))

    def _drawn_by(self, view: View, laid: Laid, whose: Instants, own: Instants, draws: DrawnAs) -> Floats | None:
        """Figures of what pieces of some appliances draw, shape (5, whose, stretches). whose: places, rising."""
        day, scope, pieces = self.day, view.scope, laid.pieces
        if not len(own):
            return None
        own = own[scope.weight[pieces.appliance[own]] > 0]
        if draws.certain:
            own = own[~pieces.cycling[own]]
        if not len(own):
            return None
        row = pieces.row[own]
        part = scope.weight[pieces.appliance[own]]
        each = (day.rows.cold if draws.cold else day.rows.running).take(row).times(part)
        figures = sums_of(each, pieces.cycling[own]).figures
        which = whose.searchsorted(pieces.appliance[own])
        steps = [(pieces.begin_ms[own], which, figures), (pieces.end_ms[own], which, -figures)]
        kicks = pieces.scheduled[own] & (day.rows.start_ms[row] > 0)
        if draws.started and kicks.any():
            start_p_w, start_q_var = day.rows.start_p_w[row] * part, day.rows.start_q_var[row] * part
            nothing = np.zeros_like(start_p_w)
            kick = (np.array([start_p_w, start_q_var, start_q_var, nothing, nothing]) - figures)[:, kicks]
            over_ms = np.minimum(pieces.begin_ms[own] + day.rows.start_ms[row], pieces.end_ms[own])[kicks]
            steps += [(pieces.begin_ms[own][kicks], which[kicks], kick), (over_ms, which[kicks], -kick)]
        sums = np.zeros((5, len(whose), len(scope.t_ms) + 1))
        for at_ms, one, change in steps:
            np.add.at(sums, (slice(None), one, scope.t_ms.searchsorted(at_ms)), change)  # type: ignore[arg-type]
        return np.asarray(sums.cumsum(axis=2)[:, :, : len(scope.t_ms) - 1])


WHENEVER = Span(-1, (), -np.inf, np.inf)  # of those whose runs take nothing along


def begins_in(span: Span, after_ms: Floats, before_ms: Floats) -> Flags:
    """Of which beginnings between two instants each some lie in a span."""
    return np.asarray((after_ms < span.until_ms) & (before_ms > span.from_ms))
