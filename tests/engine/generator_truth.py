"""What becomes of the generator with one more run: the day as people tap it, assessed, spell by spell."""

from typing import Literal, NamedTuple

import numpy as np

from app.engine.assess import assess_day
from app.engine.day import PlannedDay, lay_day
from app.engine.moment import Inspection
from app.engine.results import Assessment
from app.engine.sun import known_suns
from app.household.beside_plan import Tap, beside_plan
from app.household.clocks import clock_of
from app.household.fields import wall_clock_s
from app.household.replanned import replanned

MINUTE_MS = 60_000
SHORT_MS = 2000  # nobody can tell an overload of so little from none
HALF_HOUR_MS, FIVE_MINUTES_MS = 30 * MINUTE_MS, 5 * MINUTE_MS
UNSURE_MS = 20_000  # as steps of time are cut elsewhere

Doing = Literal["beside", "later", "perhaps", "nothing"]
Part = tuple[float, float, float]


class Truth(NamedTuple):
    """beside: the generator runs while too much is on, the run among it. later: when the run is over.

    perhaps: what the plan overloads it with anyway lasts longer by as much as is just minded.
    """

    doing: Doing
    parts: list[Part]


def with_run(inspection: Inspection, appliance_id: str, at_ms: int) -> tuple[PlannedDay, Assessment, float] | None:
    """The day with a run that begins at an instant, and when all that it comes to is over; None while it is on.

    As if somebody tapped it on then: its planned runs that would begin while this one lasts are left out.
    """
    resolved = inspection.day.resolved
    clock = clock_of(resolved, at_ms)
    assert clock is not None
    tapped = beside_plan(resolved, [Tap(appliance_id, True, round(wall_clock_s(clock)))])
    if not tapped.begun:
        return None
    day = lay_day(tapped.resolved)
    place = next(place for place, one in enumerate(day.resolved.day.runs) if one.id in tapped.begun)
    pieces = day.laid.pieces
    return day, assess_day(day, known_suns(day.resolved)), float(pieces.end_ms[pieces.run == place].max())


def without_moved(inspection: Inspection, appliance_id: str, at_ms: int) -> Inspection:
    """The plan without the runs that are left out for one that begins at an instant."""
    resolved, clock = inspection.day.resolved, clock_of(inspection.day.resolved, at_ms)
    assert clock is not None
    dropped = beside_plan(resolved, [Tap(appliance_id, True, round(wall_clock_s(clock)))]).dropped
    ids = {one.id for one in dropped}
    day = lay_day(replanned(resolved, tuple(one for one in resolved.day.runs if one.id not in ids)))
    return Inspection(day, assess_day(day, known_suns(day.resolved)))


def overloads(day: PlannedDay, assessment: Assessment) -> list[Part]:
    """From when to when it runs with too much on, and how much is."""
    generator, battery = day.resolved.household.supply.generator, assessment.battery
    assert generator is not None
    assert battery is not None
    t_ms, use_w = day.house.scope.t_ms, day.house.scope.worst.use_w
    too_much = use_w > (generator.rated_w - generator.charger_w) * (1 + 1e-9)
    found = []
    for spell in battery.generator:
        from_ms, to_ms = np.maximum(t_ms[:-1], spell.from_ms), np.minimum(t_ms[1:], spell.to_ms)
        there = np.flatnonzero((to_ms > from_ms) & too_much)
        found += list(zip(from_ms[there].tolist(), to_ms[there].tolist(), use_w[there].tolist(), strict=True))
    return found


def generator_truth(inspection: Inspection, appliance_id: str, at_ms: int) -> Truth:
    """What a run that begins at an instant does to it."""
    begun = with_run(inspection, appliance_id, at_ms)
    if begun is None:
        return Truth("nothing", [])
    day, assessment, end_ms = begun
    was, now = overloads(inspection.day, inspection.assessment), overloads(day, assessment)
    beside = [(max(one[0], at_ms), min(one[1], end_ms), one[2]) for one in now]
    beside = [one for one in beside if one[1] - one[0] > SHORT_MS]
    if beside:
        return Truth("beside", beside)
    base = without_moved(inspection, appliance_id, at_ms)
    scope = base.day.house.scope
    always_w = float(scope.worst.use_w[int(scope.stretch_at(at_ms)) :].min()) * (1 + 1e-6)
    later = [(max(one[0], end_ms), *one[1:]) for one in now if one[2] > always_w]
    later = [one for one in later if one[1] - one[0] > SHORT_MS]
    new = [one for one in later if not any(_is_the_same(one, other) for other in was)]
    if new:
        return Truth("later", new)
    longer_ms = sum(one[1] - one[0] for one in later) - sum(
        max(one[1] - max(one[0], at_ms), 0) for one in was if one[2] > always_w
    )
    if later and longer_ms > FIVE_MINUTES_MS - UNSURE_MS:
        return Truth("later" if longer_ms > FIVE_MINUTES_MS + UNSURE_MS else "perhaps", later)
    return Truth("nothing", [])


def _is_the_same(one: Part, planned: Part) -> bool:
    """The plan has it, half an hour sooner or later at most, and as much of it."""
    near = planned[0] < one[1] + HALF_HOUR_MS and planned[1] > one[0] - HALF_HOUR_MS
    return near and planned[2] >= one[2] * (1 - 1e-6)
