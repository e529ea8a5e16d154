"""What a plan needs at least, in words: one line for each figure of the supply, and why where no size would do."""

from dataclasses import dataclass

from app.household.resolve import Resolved
from app.planner.needs.found import Need, What
from app.web.figures import SPACE, at_least, clock, duration

CAUTION = (
    "The least that carries this plan, found by trying; a real supply wants more than the least. What is chosen and"
    " built is for a licensed person, after the local code."
)
BESIDE = (
    "Everything runs and starts as in the plan, and all that comes and goes by itself is on at once. Battery and panels"
    " make up for one another: each is told beside the other as the plan has it. A"
    " battery of another size begins the day at the same share of charge."
)
NO_GENERATOR = "Battery and panels are worked out without the generator: it is never counted on."
ENOUGH, NOT_ENOUGH, NONE_WOULD_DO = "enough", "not enough", "no size would do"
LESS_LEFT = "less left at midnight"

_NAMES: dict[What, str] = {
    "continuous_w": "Inverter, for hours",
    "rated_va": "Inverter, for hours, in VA",
    "surge_va": "Inverter, for a start",
    "restart_va": "Inverter, after a power cut",
    "bank_a": "Battery, for hours",
    "bank_peak_a": "Battery, for a start",
    "usable_wh": "Battery, above the reserve",
    "array_w": "Solar panels, all together",
}
_WHY = {
    "cold": "It is too cold for the battery to give or take any current, whatever its size.",
    "cannot_deliver": "The battery’s resistance lets no such current through; the modules’ amperes are not what is"
    " missing.",
    "voltage": "The battery’s voltage falls below the inverter’s cut-off, whatever this figure is.",
    "begins_below": "The day begins with no more charge than the reserve, so no size keeps it.",
    "night": "The reserve is passed before any sun comes, whatever the size of the panels.",
    "no_array": "The plan has no panels that could be larger. Add one to the supply to see how much is needed.",
    "dark_day": "No sun comes on this day, whatever the size of the panels.",
    "charger": "The battery takes no more current than it has already; more panels bring nothing.",
    "full": "Even filled by the sun, the battery is too small for what is drawn after it.",
}


@dataclass(frozen=True, slots=True)
class NeedWords:
    """One line: `Inverter, for a start`, `8.2 kVA for 0.6 s`, `has 10.0 kVA for 5 s`, `enough`, how it was found.

    least: `no size would do` where none would.
    """

    name: str
    least: str
    has: str
    enough: str
    how: str


def notes(with_generator: bool) -> tuple[str, ...]:
    """What stands under the table. with_generator: some plan in it has one."""
    return (BESIDE, NO_GENERATOR, CAUTION) if with_generator else (BESIDE, CAUTION)


def need_words(need: Need, resolved: Resolved) -> NeedWords:
    """A need of a plan in words."""
    name = _NAMES[need.what]
    if need.what == "continuous_w" and len(resolved.household.supply.inverter.continuous_w) > 1:
        name += f", at 25{SPACE}°C"
    least, has = at_least(need.has if need.least is None else need.least, need.has, need.unit)
    if need.least is None:
        least = NONE_WOULD_DO
    elif need.for_s:
        least += f" for {duration(need.for_s)}"
    if need.has_s is not None:
        has += f" for {duration(need.has_s)}"
    return NeedWords(name, least, f"has {has}", _standing(need), _how(need, resolved))


def _standing(need: Need) -> str:
    if need.enough:
        return ENOUGH
    return LESS_LEFT if need.limit == "midnight" else NOT_ENOUGH


def _how(need: Need, resolved: Resolved) -> str:
    """`With less it would be too much at 11:30, when Vacuum cleaner draws most.`"""
    if need.why:
        return _WHY[need.why]
    if need.least == 0 or need.at_ms is None:
        return "The plan needs next to nothing of it."
    at = clock(resolved.frame, need.at_ms)
    found = None if need.appliance is None else resolved.appliance(need.appliance)
    who = None if found is None else found.name
    if need.what in ("usable_wh", "array_w"):
        most = "" if who is None else f"; most of it goes into {who}"
        if need.limit == "midnight":
            return f"With less the battery would have less at midnight than the day began with{most}."
        return f"With less the charge would pass the reserve at {at}{most}."
    if need.what == "restart_va":
        first = "" if who is None else f", {who} before all"
        return f"With less it would be too much for what comes back together at {at}{first}."
    if need.what in ("surge_va", "bank_peak_a"):
        if not need.for_s:
            return "No start needs more than what is needed for hours."
        return f"With less the start of {who} at {at} would be too much." if who else f"With less {at} is too much."
    draws = "when the inverter itself draws most" if who is None else f"when {who} draws most"
    return f"With less it would be too much at {at}, {draws}."
