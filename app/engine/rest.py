"""What is left of a day: its limits from an instant on, with what stores of time hold by then."""

from dataclasses import replace

from app.engine.levels import cold_until_ms, levels_of
from app.engine.moment import Inspection
from app.engine.odds.odds import odds_of, talked_down
from app.engine.part import part_of
from app.engine.power import power_limits
from app.engine.results import Assessment, worst_of
from app.engine.sure import with_sure


def rest_of(inspection: Inspection, from_ms: int) -> Assessment:
    """The assessment of a plan as it is from an instant on; what follows the energy is told of the whole day.

    Where certain draws have filled stores by then, it begins when they were last empty: what was too long counts until
    that has cooled.
    """
    day, whole = inspection.day, inspection.assessment
    begin_ms = min([float(from_ms), *(cold_until_ms(levels, from_ms) for levels in levels_of(day))])
    part = part_of(day, begin_ms, float(whole.horizon_ms))
    readings = power_limits(part)[1]
    odds = odds_of(part, readings)
    limits = with_sure(part, [talked_down(reading, odds) for reading in readings])
    told = {reading.id for reading in limits}
    limits += [reading for reading in whole.limits if reading.id not in told]
    return replace(whole, limits=tuple(limits), verdict=worst_of(*(reading.verdict for reading in limits)))
