"""One more run of an appliance, tried at an instant: the whole plan with it, assessed, to hold quick answers to."""

from collections.abc import Iterator
from typing import NamedTuple

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.moment import Inspection
from app.engine.pressed import passes_further, pressed
from app.engine.results import LADDER, Assessment, Caution, Piece, Verdict
from app.engine.sun import known_suns
from app.engine.traces import Trace
from app.household.clocks import clock_of
from app.household.errors import HouseholdFaults
from app.household.replanned import free_id, replanned
from app.household.scenario import Run
from tests.engine.generator_truth import with_run

ABOUT_LATER = ("reserve", "cold_restart")
NEVER_BY_CHANCE = ("dc_fuse", "circuit:", "voltage_drop:", "generator")


class Trial(NamedTuple):
    """One more run of an appliance, tried.

    begin_ms, end_ms: when it would run, all it sets off included. verdict: the worst of the limits it presses on,
    `fits` where it presses on none; None if it cannot be tried then, for it, or what it sets off, is one machine
    that runs already before this run would be over. limit: the one of that verdict, None where it fits.
    cautions: those the plan would have more. trace: that limit's with the run, where there is one.
    """

    appliance: str
    begin_ms: int
    end_ms: int
    verdict: Verdict | None
    limit: str | None
    cautions: tuple[Caution, ...] = ()
    trace: Trace | None = None


def could_start(
    inspection: Inspection, appliance_id: str, at_ms: int, duration_s: float | None = None, *, own_doing: bool = False
) -> Trial:
    """Whether a run of an appliance could begin within the second of an instant: the plan with it is assessed.

    Stages, follow-ons, heat stores and starts all count.
    own_doing: what the plan comes to by itself at other hours is left out; else a limit that the run makes worse counts
    with the whole day's verdict.
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
        day = lay_day(replanned(resolved, (*resolved.day.runs, run)))
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
    both = inspection, Inspection(day, after)
    if own_doing:
        found = list(_own_doing(*both, run.id, (begin_ms, end_ms)))
    else:
        found = [(one.id, one.verdict) for one in pressed(*both, run.id, (begin_ms, end_ms))]
    worst = max(found, key=lambda one: LADDER.index(one[1]), default=None)
    more = tuple(one for one in after.cautions if one not in inspection.assessment.cautions)
    if worst is None or worst[1] == "fits":
        return Trial(appliance_id, begin_ms, end_ms, "fits", None, more)
    return Trial(appliance_id, begin_ms, end_ms, worst[1], worst[0], more, both[1].trace(worst[0]))


def as_tapped(inspection: Inspection, appliance_id: str, at_ms: int) -> Trial:
    """The same of the day as if somebody tapped it on then: planned runs that would begin meanwhile are left out.

    What the plan comes to by itself is left out, until those that are moved would have been over.
    """
    tapped = with_run(inspection, appliance_id, at_ms)
    if tapped is None:
        return Trial(appliance_id, at_ms, at_ms, None, None)
    day, after, end_ms = tapped
    left = {one.id for one in day.resolved.day.runs}
    run_id = next(iter(left - {one.id for one in inspection.day.resolved.day.runs}))
    gone_ms = [
        piece.end_ms for piece in inspection.assessment.pieces if piece.run is not None and piece.run not in left
    ]
    with_it, until_ms = Inspection(day, after), max([round(end_ms), *gone_ms])
    found = list(_own_doing(inspection, with_it, run_id, (at_ms, until_ms)))
    worst = max(found, key=lambda one: LADDER.index(one[1]), default=None)
    if worst is None or worst[1] == "fits":
        return Trial(appliance_id, at_ms, until_ms, "fits", None)
    return Trial(appliance_id, at_ms, until_ms, worst[1], worst[0], (), with_it.trace(worst[0]))


def _own_doing(
    before: Inspection, after: Inspection, run_id: str, while_ms: tuple[int, int]
) -> Iterator[tuple[str, Verdict]]:
    """Limits that the run presses on, and what it makes of each, at the least.

    Of one that the plan passes or breaks by itself the whole day's verdict is not the run's: there it is passed by the
    run as well, if it is; what odds never talk down is broken then.
    """
    were = {reading.id: reading.verdict for reading in before.assessment.limits}
    traces = [{trace.id: trace for trace in one.traces} for one in (before, after)]
    for reading in pressed(before, after, run_id, while_ms):
        was = were.get(reading.id)
        if was in (None, "fits", "tight") or was != reading.verdict or reading.id in ABOUT_LATER:
            yield reading.id, reading.verdict
        elif reading.id != "battery_voltage" and passes_further(*(one[reading.id] for one in traces[::-1]), *while_ms):
            yield reading.id, "over" if reading.id.startswith(NEVER_BY_CHANCE) else "short_time"


def _running(assessment: Assessment, at_ms: int) -> set[str]:
    return {piece.appliance for piece in assessment.pieces if _stands(piece, at_ms)}


def _stands(piece: Piece, at_ms: int) -> bool:
    return piece.begin_ms <= at_ms < piece.end_ms
