"""Limits by their names on screen, their figures, and which of them decides."""

from app.engine.bank import VOLTAGE_MARGIN
from app.engine.cables import DROP_TIGHT_POINTS
from app.engine.readings import START_MARGIN
from app.engine.reserve import TIGHT_POINTS
from app.engine.results import LADDER, Assessment, HeatReading, LimitReading, Verdict
from app.engine.traces import LimitThen
from app.household.household import Household
from app.web.figures import SPACE, against, duration, number, quantity

_WORD: dict[Verdict, str] = {
    "fits": "It fits",
    "tight": "Only just",
    "short_time": "Fine, but only for a while",
    "chance": "Could cut out",
    "over": "Too much",
}

_FIXED_NAMES = {
    "inverter_continuous": "Inverter, for hours",
    "inverter_apparent": "Inverter, for hours, in VA",
    "inverter_overload": "Inverter, for a start",
    "leg:A": "Leg A of the inverter",
    "leg:B": "Leg B of the inverter",
    "battery_continuous": "Battery, for hours",
    "battery_peak": "Battery, for a start",
    "battery_voltage": "Battery voltage",
    "dc_fuse": "Battery fuse",
    "cold_restart": "After a power cut",
    "reserve": "Battery reserve",
    "generator": "Generator",
}


def verdict_word(verdict: Verdict) -> str:
    """The step of the ladder on screen."""
    return _WORD[verdict]


def limit_name(limit_id: str, household: Household) -> str:
    """A limit's name on screen."""
    if limit_id in _FIXED_NAMES:
        return _FIXED_NAMES[limit_id]
    name = circuit_name(limit_id, household)
    return f"Voltage lost on the way to {name}" if limit_id.startswith("voltage_drop:") else f"Circuit {name}"


def reading_name(reading: LimitReading, household: Household) -> str:
    """A limit's name; where the time above a level decides nothing need start: `Inverter, for a short time`."""
    by_time = reading.decided_by_time is not None
    return (passing_name if by_time else limit_name)(reading.id, household)


def passing_name(limit_id: str, household: Household) -> str:
    """A limit's name where it is not told whether a start passes it or too long a time above a level."""
    name = limit_name(limit_id, household)
    return name.replace(", for a start", ", for a short time") if limit_id in _FIXED_NAMES else name


def level_name(reading: LimitReading, heat: HeatReading, household: Household) -> str:
    """What is passed for a time, where that decides: `Inverter, above 5.8 kVA`."""
    who = limit_name(reading.id, household).partition(",")[0]
    return f"{who}, above {against(heat.use, heat.limit, heat.unit)[1]}"


def circuit_name(limit_id: str, household: Household) -> str:
    """The name of the circuit a limit is about; its id where it has none."""
    circuit_id = limit_id.partition(":")[2]
    return next((one.name for one in household.supply.circuits if one.id == circuit_id and one.name), circuit_id)


def reading_phrase(reading: LimitReading | LimitThen) -> str:
    """Use and limit: `6.3 kVA of 6.0 kVA`, for a floor `49.8 V, not below 46.0 V`."""
    use, limit = against(reading.use, reading.limit, reading.unit)
    return f"{use}, not below {limit}" if reading.direction == "floor" else f"{use} of {limit}"


def per_cent_beside(percent: float, allowed: float) -> str:
    """So many per cent with a decimal, and with more where it would read as what is allowed and is not."""
    if percent != allowed and number(percent, 1) == number(allowed, 1):
        return against(percent, allowed, "%")[0]
    return f"{number(percent, 1)}{SPACE}%"


def apart(difference: float, unit: str) -> str:
    """How far a use is from its limit, without a sign: where it is not on it, nothing that reads as nought."""
    shown = quantity(abs(difference), unit)
    if difference == 0 or _counts(shown):
        return shown
    finer = against(abs(difference), 0.0, unit)[0]
    return finer if _counts(finer) else f"less than {0.001 if unit in ('V', 'A', '%') else 1:g}{SPACE}{unit}"


def _counts(figure: str) -> bool:
    return any(sign in "123456789" for sign in figure)


def decisive(assessment: Assessment, wanted_margin: float) -> LimitReading:
    """The limit that decides the verdict: the worst, and of those the one nearest to (or past) being tight.

    What needs a power cut first is told where nothing else is as bad, and what is sure where more could be on at
    another hour.
    """

    def rank(reading: LimitReading) -> tuple[int, bool, float]:
        share = reading.margin / abs(reading.limit) if reading.limit else 1.0
        pressed = -share / max(_tight_share(reading, wanted_margin), 0.01) if share > 0 else -share
        if reading.heat is not None and reading.verdict in ("short_time", "chance", "over"):
            pressed = max(pressed, reading.heat.lasts_s / reading.heat.allowed_s)
        return LADDER.index(reading.verdict), reading.id != "cold_restart", pressed

    return max((one.sure or one for one in assessment.limits), key=rank)


def _tight_share(reading: LimitReading, wanted_margin: float) -> float:
    """What share of a limit must be left for it not to be tight."""
    kind = reading.id.partition(":")[0]
    if kind == "voltage_drop":
        return DROP_TIGHT_POINTS / reading.limit
    if kind == "battery_voltage":
        return VOLTAGE_MARGIN
    if kind == "reserve":
        return TIGHT_POINTS / max(reading.limit, TIGHT_POINTS)
    return START_MARGIN if kind in ("inverter_overload", "battery_peak", "cold_restart") else wanted_margin


def mark_words(reading: LimitReading) -> str:
    """What stands over the stretch that decides: `6.3 kVA for 4 min of 1 min`, `10.3 kVA of 9.0 kVA`."""
    heat = reading.decided_by_time
    if heat is None:
        return reading_phrase(reading)
    level = against(heat.use, heat.limit, heat.unit)[1]
    return f"above {level} for {duration(heat.held_s)} of {duration(heat.allowed_s)}"
