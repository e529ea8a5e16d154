"""What is left of a day: its limits from an instant on."""

from dataclasses import replace

from app.engine.levels import Levels, broken_in, cold_until_ms, levels_of
from app.engine.moment import Inspection
from app.engine.odds.odds import odds_of, talked_down
from app.engine.part import part_of
from app.engine.power import power_limits
from app.engine.results import LADDER, Assessment, LimitReading, worst_of
from app.engine.sure import with_sure

CHANCE = LADDER.index("chance")


def rest_of(inspection: Inspection, from_ms: int) -> Assessment:
    """The assessment of a plan as it is from an instant on; what follows the energy is told of the whole day.

    A limit that breaks from then on only because of what its stores hold by then is told from when they were empty.
    """
    whole = inspection.assessment
    limits = _from(inspection, float(from_ms))
    for levels in levels_of(inspection.day):
        for certain in (True, False):
            limits |= _still_hot(inspection, levels, limits, from_ms, certain=certain)
    limits |= {reading.id: reading for reading in whole.limits if reading.id not in limits}
    return replace(whole, limits=tuple(limits.values()), verdict=worst_of(*(one.verdict for one in limits.values())))


def _from(inspection: Inspection, from_ms: float) -> dict[str, LimitReading]:
    """Limits of power from an instant on, by id, as if nothing had been before."""
    part = part_of(inspection.day, from_ms, float(inspection.assessment.horizon_ms))
    readings = power_limits(part)[1]
    odds = odds_of(part, readings)
    return {one.id: one for one in with_sure(part, [talked_down(reading, odds) for reading in readings])}


def _still_hot(
    inspection: Inspection, levels: Levels, limits: dict[str, LimitReading], from_ms: int, *, certain: bool
) -> dict[str, LimitReading]:
    """Limits that are worse from an instant on for what was before it. limits: as if nothing had been."""
    later = levels.view.scope.t_ms[1:] > from_ms
    verdict = "over" if certain else "chance"
    hot = {
        limit
        for limit, flags in broken_in(levels, certain=certain).items()
        if (flags & later).any() and LADDER.index(limits[limit].verdict) < LADDER.index(verdict)
    }
    if not hot:
        return {}
    before = _from(inspection, cold_until_ms(levels, from_ms, certain=certain))
    return {limit: before[limit] for limit in hot if LADDER.index(before[limit].verdict) >= CHANCE}
