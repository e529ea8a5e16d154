"""A plan with something more in it that no library knows yet, and whether the plan still holds with it."""

from typing import NamedTuple

from app.engine.assess import assess_day
from app.engine.day import lay_day
from app.engine.moment import Inspection
from app.engine.pressed import passes_further, pressed
from app.engine.results import LADDER, Assessment, LimitReading, Surge
from app.engine.sun import known_suns
from app.household.appliance import Appliance
from app.household.gaps import clock_text
from app.household.resolve import DAY_FIELDS, Resolved, resolve
from app.household.scenario import Run, Scenario
from app.planner.growth.hours import Added

# What is asked for. A start is that of a motor: 0.3 to 0.6 of its volt-amperes are watts, for half a second (common
# practice, no source).
STEADY = Added(1.0, 0.0)
START_POWER_FACTOR, START_S = 0.5, 0.5
START = Added(START_POWER_FACTOR, (1 - START_POWER_FACTOR**2) ** 0.5)
NAME = "added"
TOLD_BESIDE = "reserve"  # beside the figures, and no limit of theirs; what a generator does not carry goes dark
TIGHT = LADDER.index("tight")


class Grown(NamedTuple):
    """A plan with something more. holds: no limit is broken or passed that was not without it."""

    holds: bool
    assessment: Assessment


def steady(steady_w: float) -> Appliance:
    """Something that draws so much as long as it is on."""
    return Appliance.model_validate(
        {"id": NAME, "name": NAME, "basis": "measured", "after_cut": "starts", "stages": [{"watts": steady_w}]}
    )


def starting(start_va: float) -> Appliance:
    """Something that starts again and again, whenever it likes, and draws nothing in between."""
    start = {"va": start_va, "power_factor": START_POWER_FACTOR, "duration_s": START_S}
    stage = {"watts": 0, "cycle": {"on_s": 10, "period_s": 600}, "start": start}
    return Appliance.model_validate(
        {"id": NAME, "name": NAME, "basis": "measured", "after_cut": "stays_off", "stages": [stage]}
    )


def grown(before: Inspection, added: Appliance, from_ms: int, to_ms: int) -> Grown:
    """The plan with something on from one instant of its day to another, assessed without its odds."""
    resolved = before.day.resolved
    named = added.model_copy(update={"id": _free(added.id, {one.id for one in resolved.household.appliances})})
    run_id = _free(NAME, {run.id for run in resolved.day.runs})
    moment = resolved.frame.local(from_ms)
    start = clock_text(moment.hour * 3600 + moment.minute * 60 + moment.second)
    run = Run(id=run_id, appliance=named.id, start=start, duration_s=(to_ms - from_ms) / 1000)
    day = lay_day(_with(resolved, named, run))
    after = assess_day(day, None if before.assessment.battery is None else known_suns(day.resolved), closely=False)
    return Grown(_holds(before, Inspection(day, after), run_id, (from_ms, to_ms)), after)


def _with(resolved: Resolved, added: Appliance, run: Run) -> Resolved:
    day = resolved.day
    fields = {name: getattr(day, name) for name in DAY_FIELDS}
    plan = Scenario(id=day.scenario_id, name=day.name, date=day.date, off=day.off, runs=(*day.runs, run), **fields)
    more = {"scenarios": (plan,), "appliances": (*resolved.household.appliances, added)}
    return resolve(resolved.household.model_copy(update=more))


def _free(wanted: str, taken: set[str]) -> str:
    return next(name for name in (wanted, *(f"{wanted}-{n}" for n in range(len(taken) + 1))) if name not in taken)


def _holds(before: Inspection, after: Inspection, run_id: str, while_ms: tuple[int, int]) -> bool:
    """Every limit it presses on fits or is tight, but for what the day has by itself at other times.

    `pressed` names a limit that is broken elsewhere as soon as less of it is left here; that breaks nothing.
    """
    was, now = ({trace.id: trace for trace in one.traces} for one in (before, after))
    for reading in pressed(before, after, run_id, while_ms):
        if LADDER.index(reading.verdict) <= TIGHT or reading.id == TOLD_BESIDE:
            continue
        if _is_worse(reading, before.assessment.limit(reading.id)):
            return False
        if reading.id not in was or passes_further(now[reading.id], was[reading.id], *while_ms):
            return False
    return not (_breaking(after.assessment) - _breaking(before.assessment))


def _is_worse(after: LimitReading, before: LimitReading | None) -> bool:
    return before is None or LADDER.index(after.verdict) > LADDER.index(before.verdict)


def _breaking(assessment: Assessment) -> set[tuple[str, str | None, int | None]]:
    """Starts that break something; of one at no known instant, whose it is."""

    def named(surge: Surge) -> tuple[str, str | None, int | None]:
        return surge.appliance, surge.run, surge.at_ms if surge.scheduled else None

    return {named(surge) for surge in assessment.surges if surge.verdict in ("chance", "over")}
