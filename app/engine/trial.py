"""Trying one more run: what becomes of a plan if an appliance is switched on at an instant."""

from collections.abc import Iterator
from typing import NamedTuple

from app.engine.assess import assess_day
from app.engine.day import PlannedDay, lay_day
from app.engine.doing import pressed
from app.engine.moment import Inspection
from app.engine.results import LADDER, Assessment, Caution, Piece, Verdict
from app.engine.sun import known_suns
from app.household.checks import check_plan
from app.household.errors import Faults, HouseholdFaults
from app.household.fields import wall_clock_s
from app.household.resolve import DAY_FIELDS, Resolved, resolve
from app.household.scenario import Run, Scenario


class Trial(NamedTuple):
    """One more run of an appliance, tried.

    begin_ms, end_ms: when it would run, all it sets off included. verdict: the worst of the limits it presses on,
    `fits` where it presses on none; None if it cannot be tried then, for it, or what it sets off, is one machine
    that runs already before this run would be over. limit: the one of that verdict, None where it fits.
    cautions: those the plan would have more.
    """

    appliance: str
    begin_ms: int
    end_ms: int
    verdict: Verdict | None
    limit: str | None
    cautions: tuple[Caution, ...] = ()


def could_be_tried(inspection: Inspection, at_ms: int) -> Iterator[str]:
    """Ids of the appliances `could_start` answers for at an instant, in the library's order.

    All that are not always on, not switched off for the day, not running then, and no any-time loads (`Moment`
    says when those may be on). None in hours that a plan's clock cannot name.
    """
    resolved, assessment = inspection.day.resolved, inspection.assessment
    if clock_of(resolved, at_ms) is None:
        return
    out = {*_running(assessment, at_ms), *resolved.day.off, *(load.appliance for load in assessment.any_time)}
    for appliance in inspection.day.rows.appliances:
        if not appliance.always_on and appliance.id not in out:
            yield appliance.id


def clock_of(resolved: Resolved, at_ms: int) -> str | None:
    """The start, HH:MM:SS, of a run that begins within this second.

    None where a plan has no such start: after its day, and the second time around of an hour that comes twice.
    """
    begin_ms = at_ms // 1000 * 1000
    if not 0 <= begin_ms < resolved.frame.day_ms:
        return None
    clock = resolved.frame.local(begin_ms).strftime("%H:%M:%S")
    return clock if resolved.frame.at_ms(wall_clock_s(clock)) == begin_ms else None


def could_start(inspection: Inspection, appliance_id: str, at_ms: int, duration_s: float | None = None) -> Trial:
    """Whether a run of an appliance could begin within the second of an instant: the plan with it is assessed.

    What a limit comes to at other hours, or without it, is not this run's doing. Stages, follow-ons, heat stores and
    starts all count; this costs one assessment and more, so ask for few.
    duration_s: how long, for an appliance of one stage; needed where that stage has no length.
    Raises ValueError where no plan could have such a run: an appliance that is always on, off that day or unknown,
    an instant without a clock, a length that is missing or not wanted.
    """
    resolved = inspection.day.resolved
    appliance, clock = resolved.appliance(appliance_id), clock_of(resolved, at_ms)
    if appliance is None or appliance.always_on or appliance_id in resolved.day.off or clock is None:
        raise ValueError(f"no run of {appliance_id!r} can be tried at {at_ms} ms")
    lengths = [stage.duration_s for stage in appliance.stages]
    if (duration_s is not None and len(lengths) > 1) or (duration_s is None and None in lengths):
        raise ValueError(f"say how long for an appliance of one stage, and only then; {appliance_id!r} is not so")
    begin_ms = at_ms // 1000 * 1000
    run = Run(id=free_id(resolved), appliance=appliance_id, start=clock, duration_s=duration_s)
    if appliance_id in _running(inspection.assessment, begin_ms):
        return Trial(appliance_id, begin_ms, begin_ms, None, None)
    try:
        day = _with_run(resolved, run)
    except HouseholdFaults:
        return Trial(appliance_id, begin_ms, begin_ms, None, None)
    suns = None if inspection.assessment.battery is None else known_suns(day.resolved)
    after = assess_day(day, suns)
    # It may touch a stretch in which the machine is set off: then both are one, under the other's name.
    end_ms = max(
        piece.end_ms
        for piece in after.pieces
        if piece.run == run.id or (piece.appliance == appliance_id and _stands(piece, begin_ms))
    )
    worst = max(
        pressed(inspection, Inspection(day, after)), key=lambda one: LADDER.index(one.verdict), default=None
    )  # fmt: skip
    more = tuple(one for one in after.cautions if one not in inspection.assessment.cautions)
    if worst is None or worst.verdict == "fits":
        return Trial(appliance_id, begin_ms, end_ms, "fits", None, more)
    return Trial(appliance_id, begin_ms, end_ms, worst.verdict, worst.reading.id, more)


def _running(assessment: Assessment, at_ms: int) -> set[str]:
    return {piece.appliance for piece in assessment.pieces if _stands(piece, at_ms)}


def _stands(piece: Piece, at_ms: int) -> bool:
    return piece.begin_ms <= at_ms < piece.end_ms


def free_id(resolved: Resolved) -> str:
    """The id of a run that a plan does not have yet."""
    taken = {run.id for run in resolved.day.runs}
    return next(name for name in (f"trial {number}" for number in range(len(taken) + 1)) if name not in taken)


def _with_run(resolved: Resolved, run: Run) -> PlannedDay:
    """The plan with one more run in it.

    Raises HouseholdFaults if the appliance would run into itself.
    """
    return lay_day(with_runs(resolved, (*resolved.day.runs, run)))


def with_runs(resolved: Resolved, runs: tuple[Run, ...]) -> Resolved:
    """The plan with these runs.

    Raises HouseholdFaults if there can be no such plan.
    """
    day = resolved.day
    fields = {name: getattr(day, name) for name in DAY_FIELDS}
    plan = Scenario(id=day.scenario_id, name=day.name, date=day.date, off=day.off, runs=runs, **fields)
    household = resolved.household.model_copy(update={"scenarios": (plan,)})
    faults, with_it = Faults(), resolve(household)
    check_plan(faults, with_it, "scenarios[0]", original=household)
    faults.raise_if_any()
    return with_it
