"""One instant of a plan: who draws what then, what is left of every limit, what may be switched on."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from typing import NamedTuple

import numpy as np

from app.engine.contributors import contributors_at, left_out_at
from app.engine.day import PlannedDay
from app.engine.guest import guest_of
from app.engine.levels import Levels, sure_breaks
from app.engine.reserve import energy_traces, generator_carries_w
from app.engine.results import AnyTime, Assessment, BankDay, Contributor, Flags, Instants
from app.engine.told import watts_for
from app.engine.traces import LimitThen, Trace, inverter_traces, traces_of


class MayStart(NamedTuple):
    """Whether an any-time load may be on at an instant.

    until_ms: when that changes, None if it does not before the horizon. limit: the one that refuses, now if it
    may not be on, else from then on; None if none ever does. lasts_ms: how long a run lasts, all it sets off
    included: one that lasts past a change to the worse is not yet over then.
    """

    appliance: str
    allowed: bool
    until_ms: int | None
    limit: str | None
    lasts_ms: int


class Left(NamedTuple):
    """How much more may be on at an instant, in the worst case; negative where too much is.

    inverter_w: for hours. start_va: for a moment, beside the worst start that may come then. generator_w: of what the
    generator carries beside its charger; infinitely much while it does not run. bank_w: for hours, at its reserve;
    infinitely much while the generator runs.
    """

    inverter_w: float
    start_va: float
    generator_w: float
    bank_w: float

    @property
    def room_w(self) -> float:
        """How many more watts inverter, or generator, carries for hours."""
        return min(self.inverter_w, self.generator_w)

    @property
    def room_for_hours_w(self) -> float:
        """The same of inverter, or generator, and bank."""
        return min(self.room_w, self.bank_w)


@dataclass(frozen=True, slots=True)
class Moment:
    """One instant of a plan, in the worst case.

    draws: what draws then, the largest first; a scheduled start in progress stands in place of its running draw.
    w and va sum to total_w and total_va. left_out: what stands then and does not count, for an interlock keeps it
    off; each with its own watts and volt-amperes.
    certain_w, worst_w, worst_va: running draws. total_w, total_va: with the scheduled starts in progress.
    All of these are nominal; limits have the uncertainty in them, in the assessment's order.
    """

    at_ms: int
    draws: tuple[Contributor, ...]
    left_out: tuple[Contributor, ...]
    certain_w: float
    worst_w: float
    worst_va: float
    total_w: float
    total_va: float
    left: Left
    limits: tuple[LimitThen, ...]
    may_start: tuple[MayStart, ...]

    def limit(self, limit_id: str) -> LimitThen | None:
        """The limit of that id, if it applies."""
        return next((one for one in self.limits if one.id == limit_id), None)


class Inspection:
    """A plan laid open: made once, then asked for instant after instant."""

    def __init__(self, day: PlannedDay, assessment: Assessment) -> None:
        """Both of the same plan."""
        self.day = day
        self._assessment = assessment

    @property
    def assessment(self) -> Assessment:
        """Everything that is said about the plan."""
        return self._assessment

    @property
    def battery(self) -> BankDay | None:
        """Sun and bank over the day; None while the sun has not been worked out."""
        return self.assessment.battery

    @cached_property
    def sure(self) -> dict[str, tuple[Levels, Flags]]:
        """As `sure_breaks`."""
        return sure_breaks(self.day, self.assessment.limits)

    @cached_property
    def traces(self) -> tuple[Trace, ...]:
        """Every limit over the day, as the assessment lists them."""
        return tuple(self._each_trace())

    def trace(self, limit: str) -> Trace | None:
        """The one of a limit, without those that come after it; None where it has none."""
        if limit not in self._found:
            self._found[limit] = next((one for one in self._each_trace() if one.id == limit), None)
        return self._found[limit]

    @cached_property
    def _found(self) -> dict[str, Trace | None]:
        """Those that were asked for, each by itself."""
        return {}

    def _each_trace(self) -> Iterator[Trace]:
        yield from traces_of(self.day)
        if self.battery is not None:
            yield from energy_traces(self.day.house, self.battery)

    @cached_property
    def _inverter_traces(self) -> tuple[Trace, ...]:
        return tuple(inverter_traces(self.day))

    @cached_property
    def events_ms(self) -> Instants:
        """As `events`."""
        return events(self.assessment)

    @cached_property
    def _any_time(self) -> tuple[tuple[AnyTime, int], ...]:
        """Each any-time load, and how long a run of it lasts, in milliseconds."""
        places = {appliance.id: place for place, appliance in enumerate(self.day.rows.appliances)}
        return tuple(
            (load, int(guest_of(self.day, places[load.appliance]).edge_ms[-1])) for load in self.assessment.any_time
        )

    def at(self, at_ms: int, *, every_limit: bool = True) -> Moment:
        """The plan at an instant; one outside the day is the nearest inside.

        every_limit: else the inverter's own alone, which is quicker.
        """
        day, scope = self.day, self.day.house.scope
        at_ms = min(max(at_ms, 0), self.assessment.horizon_ms - 1)
        stretch = scope.stretch_at(at_ms)
        certain, worst, total = (one.take(stretch) for one in (scope.certain, scope.worst, scope.worst_started))
        return Moment(
            at_ms=at_ms,
            draws=contributors_at(day.resolved, day.laid, scope, at_ms, starts=True),
            left_out=tuple(self._left_out(at_ms)),
            certain_w=float(certain.p_w),
            worst_w=float(worst.p_w),
            worst_va=float(worst.va),
            total_w=float(total.p_w),
            total_va=float(total.va),
            left=self.left_at(at_ms),
            limits=tuple(
                trace.at(at_ms)
                for trace in (self.traces if every_limit else self._inverter_traces)
                if at_ms >= trace.t_ms[0]
            ),
            may_start=tuple(_may_start(load, lasts_ms, at_ms) for load, lasts_ms in self._any_time),
        )

    def left_at(self, at_ms: int) -> Left:
        """How much more may be on at an instant of the day."""
        margins = {trace.id: trace.at(at_ms).margin for trace in self._inverter_traces}
        return Left(
            margins["inverter_continuous"], margins["inverter_overload"],
            self._beside_generator_w(at_ms), self._beside_bank_w(at_ms),
        )  # fmt: skip

    def _beside_generator_w(self, at_ms: int) -> float:
        house, battery = self.day.house, self.battery
        if battery is None or not any(spell.from_ms <= at_ms < spell.to_ms for spell in battery.generator):
            return np.inf
        return generator_carries_w(house) - float(house.scope.worst.use_w[house.scope.stretch_at(at_ms)])

    def _beside_bank_w(self, at_ms: int) -> float:
        scope, bank = self.day.house.scope, self.day.bank
        if np.isfinite(self._beside_generator_w(at_ms)):
            return np.inf
        most_w = watts_for(bank, float(bank.continuous_a.at(float(at_ms))))
        return most_w - float(scope.worst.use_w[scope.stretch_at(at_ms)])

    def _left_out(self, at_ms: int) -> Iterator[Contributor]:
        day = self.day
        pieces, rows, runs = day.laid.pieces, day.rows, day.resolved.day.runs
        for piece in np.unique(left_out_at(day.house.scope, at_ms, starts=True)).tolist():
            row, run = int(pieces.row[piece]), int(pieces.run[piece])
            (appliance, stage), draws = rows.names[row], rows.running.take(row)
            run_id = runs[run].id if run >= 0 else None
            certain = not pieces.cycling[piece]
            yield Contributor(appliance, run_id, stage, certain, float(draws.p_w), float(draws.va))


def _may_start(load: AnyTime, lasts_ms: int, at_ms: int) -> MayStart:
    # Stretches are in order, and neighbours are one.
    coming = next((one for one in load.not_then if at_ms < one.to_ms), None)
    if coming is None:
        return MayStart(load.appliance, True, None, None, lasts_ms)
    if at_ms < coming.from_ms:
        return MayStart(load.appliance, True, coming.from_ms, coming.limit, lasts_ms)
    return MayStart(load.appliance, False, coming.to_ms, coming.limit, lasts_ms)


def events(assessment: Assessment) -> Instants:
    """The exact instants at which something changes, in order, each once, from 0 to before the horizon.

    A stage or a scheduled start begins or ends, a limit is at its tightest or is broken, an any-time load may no
    longer be on, or may again; there is sun to spare, or the generator runs, from then or until then.
    """
    battery = assessment.battery
    spells = () if battery is None else (*battery.spare, *battery.generator)
    starts = ((one.at_ms, one.at_ms + round(one.duration_s * 1000)) for one in assessment.surges if one.scheduled)
    instants = chain(
        (0,),
        chain.from_iterable((piece.begin_ms, piece.end_ms) for piece in assessment.pieces),
        chain.from_iterable(starts),
        (reading.at_ms for reading in assessment.limits),
        (reading.broken_at_ms for reading in assessment.limits if reading.broken_at_ms is not None),
        chain.from_iterable((one.from_ms, one.to_ms) for load in assessment.any_time for one in load.not_then),
        chain.from_iterable((spell.from_ms, spell.to_ms) for spell in spells),
    )
    at_ms = np.unique(np.fromiter(instants, dtype=np.int64))
    return at_ms[(at_ms >= 0) & (at_ms < assessment.horizon_ms)]


def previous_event(events_ms: Instants, at_ms: int) -> int | None:
    """The last event before an instant, None before the first."""
    place = int(events_ms.searchsorted(at_ms, side="left")) - 1
    return int(events_ms[place]) if place >= 0 else None


def next_event(events_ms: Instants, at_ms: int) -> int | None:
    """The first event after an instant, None after the last."""
    place = int(events_ms.searchsorted(at_ms, side="right"))
    return int(events_ms[place]) if place < len(events_ms) else None
