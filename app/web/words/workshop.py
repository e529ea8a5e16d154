"""The workshop in words: what decides, what would help, what may hurt."""

from collections.abc import Sequence

from app.engine.results import Verdict
from app.household.appliance import Appliance
from app.household.household import Household
from app.household.supply import Rules
from app.planner.workshop import Decider, Sized, drop_verdict
from app.web.figures import SPACE, against, quantity
from app.web.words.limits import apart, circuit_name, limit_name, per_cent_beside
from app.web.words.plain import listed

HOW = {
    "whole": "all the time it is used",
    "bursts": "on and off, by hand or by itself",
    "follows": "only when another sets it off",
    "programme": "as its programme says",
}
NO_SETTING_OFF = "nothing else"
ITSELF = "itself"
NOT_PICKED = "one that is not picked"
NEW_CIRCUIT = "a new one"
THE_BOARD = "the board"
LEGS = (("AB", "both legs"), ("A", "leg A"), ("B", "leg B"))

# Whole sentences
NO_CABLE = "Give the cable’s length and its wire size to see how much voltage is lost on the way."
CHANGED = "The plan was changed meanwhile, so nothing was stored. Look again: what you chose still stands below."
UNKNOWN = "There is no machine ‘{key}’ to pick, or no longer. Pick another below."
TWICE = "it is picked twice; pick each machine once. A second one like it is an appliance of its own"
FULL = "{most} machines are as many as one workshop takes here."
TOO_MANY = "There are {count} machines here; a workshop takes {most} at most. Take out {over}."
LEFT_OUT = "The address names more machines than can be shown. Left out: {names}."
TOO_LONG = "That is longer than {most} letters. One word of a machine is enough, such as saw."
NAME_IT = "Give the what-if a name, such as {such_as}."
NOT_SIZING = (
    "Voltage drop is not cable sizing. How thick a cable has to be for its breaker, and how it is laid, is for a"
    " licensed electrician and the local code."
)
DARK = "A short circuit in the workshop may darken the whole house instead of tripping its breaker."
STARTS_UNSURE = "Starts are known within a factor of two, unless measured."
WAIT = "Wait 5 minutes before starting a compressor again."
LOOKS_ONLY = "This link may look, but not make a plan of it."


def decider_name(one: Decider, household: Household) -> str:
    """What could decide: `Cable to Workshop, at a start`."""
    if one.way == "limit":
        return limit_name(one.reading.id, household)
    at = "at a start" if one.way == "cable_start" else "running"
    return f"Cable to {circuit_name(one.reading.id, household)}, {at}"


def decider_figure(one: Decider) -> str:
    """Use and limit: `13.2 % of 10.0 %`."""
    use, limit = against(one.use, one.limit, one.reading.unit)
    return f"{use}, not below {limit}" if one.reading.direction == "floor" else f"{use} of {limit}"


def left_words(one: Decider) -> str:
    """What is left, in the limit's unit; of per cent in points."""
    left = one.limit - one.use if one.reading.direction == "ceiling" else one.use - one.limit
    shown = apart(left, one.reading.unit)
    if one.reading.unit == "%":
        shown = f"{shown.removesuffix('%')}points"
    if left >= 0:
        return f"{shown} left"
    return f"{shown} too {'much' if one.reading.direction == 'ceiling' else 'little'}"


def starting_figure(percent: float, rules: Rules) -> str:
    """What is lost at a start: `8.3 %`."""
    return per_cent_beside(percent, 100 * rules.drop_starting)


def running_figure(percent: float, rules: Rules) -> str:
    """What is lost while running: `4.0 %`."""
    return per_cent_beside(percent, 100 * rules.drop_running)


def thicker_words(decides: Decider, sizes: Sequence[tuple[str, Sized]], present_mm2: float, rules: Rules) -> str:
    """What a thicker cable would do, where the cable decides; empty where something else does.

    sizes: each with its name on screen.
    """
    if decides.way == "limit" or decides.verdict == "fits":
        return ""
    larger = [(name, one.drop) for name, one in sizes if one.conductor_mm2 > present_mm2 and one.drop is not None]
    for name, drop in larger:
        if all_fit(drop.running_percent, drop.starting_percent, rules):
            return (
                f"{name} would lose {starting_figure(drop.starting_percent, rules)} at a start and"
                f" {running_figure(drop.running_percent, rules)} running, which is enough."
            )
    return "No size in this table is enough; a shorter way, or a softer start, would help more."


def allowed_words(rules: Rules) -> str:
    """What may be lost: `Allowed: 10 % at a start, 5 % running.`"""
    starting, running = (f"{100 * share:g}{SPACE}%" for share in (rules.drop_starting, rules.drop_running))
    return f"Allowed: {starting} at a start, {running} running."


def all_fit(running_percent: float, starting_percent: float, rules: Rules) -> bool:
    """Whether so much may be lost, running and at a start."""
    return size_verdict(running_percent, starting_percent, rules) != "over"


def size_verdict(running_percent: float, starting_percent: float, rules: Rules) -> Verdict:
    """The worse of both."""
    pairs = ((running_percent, rules.drop_running), (starting_percent, rules.drop_starting))
    found = [drop_verdict(use, 100 * share) for use, share in pairs]
    return next((one for one in ("over", "tight") if one in found), "fits")


def restart_words(without_release: Sequence[str], starting: Sequence[str]) -> tuple[str, ...]:
    """What comes back by itself after a power cut.

    without_release: names of machines that may lack a no-volt release; starting: of those planned to start again.
    """
    found = []
    if starting:
        verb = "starts" if len(starting) == 1 else "start"
        found.append(
            f"After a power cut {listed(starting)} {verb} again by {'itself' if len(starting) == 1 else 'themselves'}."
            " Switch off at the machine before power comes back."
        )
    others = [one for one in without_release if one not in starting]
    if others:
        has = "has" if len(others) == 1 else "have"
        found.append(
            f"The plan takes it that {listed(others)} {has} a no-volt release. Without one a machine starts again by"
            " itself when power comes back, with hands near it."
        )
    return tuple(found)


def other_voltage_words(names: Sequence[str], made_for: str, gets_v: float) -> str:
    """Machines on a circuit whose voltage they are not made for."""
    are = "is" if len(names) == 1 else "are"
    gives = quantity(gets_v, "V").replace(".0", "")
    return f"{listed(names)} {are} made for {made_for}; this circuit gives {gives}. Choose its leg, or another machine."


def workshop_title(machines: Sequence[Appliance]) -> str:
    """What was added, for the log's reader: `Band saw, 1 hp and 2 more`."""
    first = machines[0].name
    return first if len(machines) == 1 else f"{first} and {len(machines) - 1} more"


def plan_name(plan: str) -> str:
    """The name that is offered: `An ordinary day with a workshop`."""
    return f"{plan} with a workshop"
