"""Ways out of a plan that does not fit, in words."""

from app.household.resolve import Resolved
from app.planner.ways import Way
from app.web.figures import SPACE
from app.web.words.limits import decisive, limit_name, verdict_word


def way_sentence(way: Way, resolved: Resolved) -> str:
    """`Move Bread oven from 12:30 to 13:25.`"""
    run = next(one for one in resolved.day.runs if one.id == way.run_id)
    appliance = resolved.appliance(run.appliance)
    name = appliance.name if appliance else run.appliance
    if way.start is None:
        return f"Leave {name} at {run.start[:5]} off."
    return f"Move {name} from {run.start[:5]} to {way.start[:5]}."


def way_outcome(way: Way, resolved: Resolved) -> str:
    """How the plan would stand then: `Only just: 12 % left of Inverter, for a start.`"""
    reading = decisive(way.assessment, resolved.day.wanted_margin)
    word = verdict_word(way.assessment.verdict)
    if reading.margin <= 0 or not reading.limit:
        return f"{word}."
    share = round(100 * reading.margin / abs(reading.limit))
    return f"{word}: {share}{SPACE}% left of {limit_name(reading.id, resolved.household)}."


def way_button(way: Way) -> str:
    """What the button that does it says."""
    return "Leave it off" if way.start is None else f"Move it to {way.start[:5]}"
