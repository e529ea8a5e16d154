"""A plan's day as people really take it: what they tapped on or off today, laid over what was planned.

The plan itself stays as it is. What comes out is a household and a day like any other, checked in the same way: a tap
is a run, or the end of one.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from app.household.appliance import Appliance
from app.household.checks import check_plan
from app.household.day import DAY_S
from app.household.errors import Faults
from app.household.fields import wall_clock_s
from app.household.gaps import clock_text, run_length_s
from app.household.resolve import DAY_FIELDS, Resolved, resolve
from app.household.scenario import Run, Scenario
from app.household.stopped import cut_short

LAST_S = DAY_S - 1  # the last start a day's clock can name


class Tap(NamedTuple):
    """Somebody said that an appliance is on, or off, from a time of day on: seconds on the clock since 00:00."""

    appliance: str
    on: bool
    clock_s: int


@dataclass(frozen=True)
class Beside:
    """A plan with what was tapped.

    resolved: the effective household and day then.
    begun: by run id, the tap that began it. stopped: by appliance, the tap that switched it off last, if it is off
    since. planned_until: by appliance, until when the plan has on what was stopped, milliseconds since midnight.
    dropped: planned runs that are left out, because the appliance runs already when they would begin.
    missing: ids that were tapped and are in the library no longer. stand_ins: ids of appliances that are none, but
    what ran of a programme until it was stopped.
    """

    resolved: Resolved
    begun: Mapping[str, Tap]
    stopped: Mapping[str, Tap]
    planned_until: Mapping[str, int]
    dropped: tuple[Run, ...]
    missing: tuple[str, ...]
    stand_ins: frozenset[str]


@dataclass(frozen=True, slots=True)
class _Span:
    """A run from one instant to another. whole_ms: when it ends if nobody stops it. tap: what began it."""

    run: Run
    begin_ms: int
    end_ms: int
    whole_ms: int
    tap: Tap | None = None

    def stands(self, at_ms: int) -> bool:
        return self.begin_ms <= at_ms < self.end_ms


class _Line:
    """One appliance's runs of the day, as taps go by in the order in which they were made."""

    def __init__(self, resolved: Resolved, appliance: Appliance, prefix: str) -> None:
        self._frame, self._appliance, self._prefix = resolved.frame, appliance, prefix
        is_silenced = appliance.id in resolved.day.off
        self.spans = [] if is_silenced else list(_planned(resolved, appliance, prefix))
        self.dropped: list[_Span] = []
        self.stopped: tuple[Tap, _Span] | None = None

    def is_on(self, clock_s: int) -> bool:
        return self._standing(self._frame.at_ms(clock_s)) is not None

    def take(self, tap: Tap) -> None:
        """What is on already cannot be switched on, nor off what is off."""
        at_ms = self._frame.at_ms(tap.clock_s)
        standing = self._standing(at_ms)
        if tap.on and standing is None:
            self._begin(tap, at_ms)
        elif not tap.on and standing is not None:
            self._end(tap, standing, at_ms)

    def _standing(self, at_ms: int) -> _Span | None:
        return next((span for span in self.spans if span.stands(at_ms)), None)

    def _begin(self, tap: Tap, at_ms: int) -> None:
        end_ms = self._frame.horizon_ms if self._appliance.always_on else self._frame.day_ms
        if length_s := run_length_s(self._appliance):
            end_ms = at_ms + round(length_s * 1000)
        number = sum(span.tap is not None for span in self.spans) + 1
        run = _run(f"{self._prefix}tapped {number}", self._appliance, tap.clock_s, at_ms, end_ms)
        later = [span for span in self.spans if at_ms < span.begin_ms < end_ms]
        self.dropped += [span for span in later if not self._appliance.always_on]
        self.spans = [span for span in self.spans if span not in later]
        self.spans.append(_Span(run, at_ms, end_ms, end_ms, tap))
        self.stopped = None

    def _end(self, tap: Tap, standing: _Span, at_ms: int) -> None:
        place = self.spans.index(standing)
        self.spans[place] = replace(standing, end_ms=at_ms)
        self.stopped = tap, standing
        # What was left out for it, and is still to come, is to run again.
        back = [span for span in self.dropped if span.begin_ms > at_ms]
        self.dropped = [span for span in self.dropped if span not in back]
        self.spans += back
        again_ms = self._frame.at_ms(LAST_S)
        if self._appliance.always_on and at_ms < again_ms:
            # At midnight the plan holds again. No run can begin after the day, so this one begins a second before.
            end_ms = self._frame.horizon_ms
            run = _run(f"{self._prefix}again", self._appliance, LAST_S, again_ms, end_ms)
            self.spans.append(_Span(run, again_ms, end_ms, end_ms))


def beside_plan(resolved: Resolved, taps: Sequence[Tap]) -> Beside:
    """A plan's day with what was tapped on it, in the order in which it was.

    What is on begins a run of its own length, or until midnight where it has none; what is off ends the run that
    stands then. What ran before stays. A planned run that would begin while the appliance runs already is left out,
    until that is switched off.
    What the plan has off for the day counts as off, and may be tapped on. What others set off cannot be tapped.
    Raises HouseholdFaults where that cannot be.
    """
    by_appliance: dict[str, list[Tap]] = {one: [] for one in resolved.day.off}
    for tap in taps:
        by_appliance.setdefault(tap.appliance, []).append(tap)
    missing = tuple(one for one in by_appliance if resolved.appliance(one) is None)
    by_itself = runs_by_itself(resolved)
    lines: dict[str, _Line] = {}
    prefix = _free_prefix(resolved)
    for appliance_id, made in by_appliance.items():
        appliance = resolved.appliance(appliance_id)
        if appliance is None or appliance_id in by_itself:
            continue
        line = lines[appliance_id] = _Line(resolved, appliance, f"{prefix}{len(lines)} ")
        for tap in made:
            line.take(tap)
    return _put_together(resolved, lines, missing, prefix)


def is_on(resolved: Resolved, taps: Sequence[Tap], appliance_id: str, clock_s: int) -> bool:
    """Whether a run of an appliance stands at a time of day, with what was tapped before."""
    appliance = resolved.appliance(appliance_id)
    if appliance is None:
        return False
    line = _Line(resolved, appliance, "")
    for tap in taps:
        if tap.appliance == appliance_id:
            line.take(tap)
    return line.is_on(clock_s)


def runs_by_itself(resolved: Resolved) -> frozenset[str]:
    """Ids of what no hand switches: the pump, and what lasts as long as what sets it off."""
    called = {
        call.appliance for one in resolved.household.appliances for stage in one.stages for call in stage.sets_off
    }
    open_ended = {one.id for one in resolved.household.appliances if one.stages[0].duration_s is None}
    water = resolved.household.supply.water
    return frozenset((called & open_ended) | ({water.pump} if water is not None else set()))


def _planned(resolved: Resolved, appliance: Appliance, prefix: str) -> Iterator[_Span]:
    frame = resolved.frame
    if appliance.always_on:
        end_ms = frame.horizon_ms
        yield _Span(_run(f"{prefix}always", appliance, 0, 0, end_ms), 0, end_ms, end_ms)
        return
    for run in resolved.day.runs:
        if run.on and run.appliance == appliance.id:
            begin_ms = frame.at_ms(wall_clock_s(run.start))
            end_ms = begin_ms + round(run_length_s(appliance, run) * 1000)
            yield _Span(run, begin_ms, end_ms, end_ms)


def _run(run_id: str, appliance: Appliance, clock_s: int, begin_ms: int, end_ms: int) -> Run:
    is_open = appliance.stages[0].duration_s is None
    length_s = (end_ms - begin_ms) / 1000
    return Run(id=run_id, appliance=appliance.id, start=clock_text(clock_s), duration_s=length_s if is_open else None)


def _put_together(resolved: Resolved, lines: Mapping[str, _Line], missing: tuple[str, ...], prefix: str) -> Beside:
    appliances = {one.id: one for one in resolved.household.appliances}
    switched: dict[str, Appliance] = {}  # what is always on, as something that is switched
    runs = {run.id: run for run in resolved.day.runs}
    stand_ins: dict[str, Appliance] = {}
    for appliance_id, line in lines.items():
        appliance = appliances[appliance_id]
        if appliance.always_on:
            appliance = switched[appliance_id] = appliance.model_copy(update={"always_on": False})
        own = {run.id: run.model_copy(update={"on": False}) for run in runs.values() if run.appliance == appliance_id}
        for span in line.spans:
            if span.begin_ms < span.end_ms:
                run, stand_in = span.run, None
                if span.end_ms < span.whole_ms:
                    length_s = (span.end_ms - span.begin_ms) / 1000
                    run, stand_in = cut_short(
                        span.run, length_s, appliance, f"{prefix}{len(stand_ins)} until", resolved
                    )
                own[run.id] = run
                stand_ins |= {stand_in.id: stand_in} if stand_in else {}
        runs |= own
    # What others set off stays off for the day unless somebody taps it on: else they would.
    called = {call.appliance for one in appliances.values() for stage in one.stages for call in stage.sets_off}
    off = tuple(one for one in resolved.day.off if one not in lines or (one in called and not lines[one].spans))
    stopped = {one: line.stopped for one, line in lines.items() if line.stopped is not None}
    library = _library(resolved.household.appliances, (*switched.values(), *stand_ins.values()))
    return Beside(
        resolved=_checked(resolved, library, tuple(runs.values()), off) if lines else resolved,
        begun={span.run.id: span.tap for line in lines.values() for span in line.spans if span.tap is not None},
        stopped={one: tap for one, (tap, _) in stopped.items()},
        planned_until={one: span.whole_ms for one, (_, span) in stopped.items() if span.tap is None},
        dropped=tuple(span.run for line in lines.values() for span in line.dropped),
        missing=missing,
        stand_ins=frozenset(stand_ins),
    )


def over_midnight(resolved: Resolved) -> Iterator[tuple[str, str, int]]:
    """Runs that last until the day's midnight or longer: run, appliance, and when they end on the day's axis.

    resolved: a plan with what was tapped.
    """
    frame = resolved.frame
    for run in resolved.day.runs:
        appliance = resolved.appliance(run.appliance)
        if appliance is None or not run.on or appliance.id in resolved.day.off:
            continue
        end_ms = frame.at_ms(wall_clock_s(run.start)) + round(run_length_s(appliance, run) * 1000)
        if end_ms >= frame.day_ms:
            yield run.id, appliance.id, end_ms


Library = tuple[Appliance, ...]
_KEPT: list[tuple[Library, Library, Library]] = []  # of what, what else, and both: the last ones


def _library(appliances: Library, other: Library) -> Library:
    """Appliances with some replaced by their ids, and some more: the very same as last time where it can be.

    Whoever reads a library keeps what was made of it as long as that stays.
    """
    if not other:
        return appliances
    for base, with_these, made in _KEPT:
        if base is appliances and with_these == other:
            return made
    made = tuple(({one.id: one for one in appliances} | {one.id: one for one in other}).values())
    _KEPT[:] = [(appliances, other, made), *_KEPT[:7]]
    return made


def _checked(resolved: Resolved, appliances: Library, runs: tuple[Run, ...], off: tuple[str, ...]) -> Resolved:
    day = resolved.day
    fields = {name: getattr(day, name) for name in DAY_FIELDS}
    plan = Scenario(id=day.scenario_id, name=day.name, date=day.date, off=off, runs=runs, **fields)
    household = resolved.household.model_copy(update={"appliances": appliances, "scenarios": (plan,)})
    faults, with_taps = Faults(), resolve(household)
    check_plan(faults, with_taps, "scenarios[0]", original=household)
    faults.raise_if_any()
    return with_taps


def _free_prefix(resolved: Resolved) -> str:
    """What no run and no appliance is called, nor begins with."""
    taken = {run.id for run in resolved.day.runs} | {one.id for one in resolved.household.appliances}
    prefix = "="
    while any(one.startswith(prefix) for one in taken):
        prefix += "="
    return prefix
