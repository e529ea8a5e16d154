"""Ways out of a plan that does not fit, in words."""

from app.engine.results import Assessment, LimitReading
from app.household.resolve import Resolved
from app.planner.ways import RED, Way
from app.web.figures import SPACE
from app.web.words.limits import decisive, reading_name, verdict_word
from app.web.words.verdict import by_volts, headline, pulled_below

# What there is to do about a limit where nothing planned makes it too much.
_A_LOWER_START, _LESS = "a machine with a lower start", "less that is on by itself"
_WOULD_HELP = {
    "inverter": "a larger inverter",
    "leg": "a larger inverter, or another leg for one of them",
    "battery": "a larger battery",
    "dc_fuse": "a battery of a higher voltage",
    "cold_restart": "a larger inverter",
    "reserve": "more sun, or a larger battery",
    "generator": "a larger generator",
    "circuit": "a circuit of its own for one of them",
    "voltage_drop": "a thicker cable",
}


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
    return f"{word}: {share}{SPACE}% left of {reading_name(reading, resolved.household)}."


def no_way(resolved: Resolved, by_itself: Assessment) -> tuple[str, str]:
    """What is said first, and after it, where no single change makes a plan fit.

    by_itself: the plan with every run left off; where that does not fit either, there is nothing to be moved.
    """
    if by_itself.verdict not in RED:
        return (
            "No single change makes it fit.",
            "Leave off two or more of those that run at the hours that are too much, or move them apart.",
        )
    reading = decisive(by_itself, resolved.day.wanted_margin)
    what = headline(resolved, by_itself).rest
    if by_volts(reading):
        what = f"{what} {pulled_below(resolved.household)}"
    return "It does not fit even with every run left off.", f"{what} What would help: {_would_help(reading)}."


def _would_help(reading: LimitReading) -> str:
    kind = "battery" if by_volts(reading) else reading.id.partition(":")[0]
    larger = _WOULD_HELP.get(kind) or _WOULD_HELP[kind.partition("_")[0]]
    starting = any(one.starting for one in reading.contributors)
    if kind == "reserve":
        return f"{larger}, or {_LESS}"
    return f"{_A_LOWER_START}, or {larger}" if starting else f"{_LESS}, or {larger}"


def way_button(way: Way) -> str:
    """What the button that does it says."""
    return "Leave it off" if way.start is None else f"Move it to {way.start[:5]}"
