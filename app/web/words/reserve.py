"""The verdict where the battery's reserve decides it."""

from app.engine.results import Assessment, ChargeReading, LimitReading
from app.household.fields import wall_clock_s
from app.household.resolve import Resolved
from app.web.figures import against, clock, quantity
from app.web.words.plain import Headline


def reserve_headline(
    lead: str, resolved: Resolved, assessment: Assessment, reading: LimitReading, charge: ChargeReading
) -> Headline:
    """The verdict sentence of a plan whose lowest charge decides."""
    if charge.below_ms is None and charge.dark_ms is not None:
        at = clock(resolved.frame, charge.dark_ms)
        rest = f"At {at} the house goes dark: the battery is empty, or its voltage below what the inverter needs."
        return Headline(lead, rest, _to_do(resolved, assessment, charge.dark_ms))
    if charge.below_ms is None:
        return Headline(lead, f"Nearest to a limit: {sinks(resolved, reading)}", _room(resolved, reading, charge))
    below, limit = clock(resolved.frame, charge.below_ms), quantity(reading.limit, "%")
    rest = f"At {below} the battery is below the {limit} you never plan to go below; {_down_to(resolved, reading)}."
    dark = f"The house goes dark at {clock(resolved.frame, charge.dark_ms)}. " if charge.dark_ms is not None else ""
    return Headline(lead, rest, f"{dark}{_to_do(resolved, assessment, charge.below_ms)}")


def sinks(resolved: Resolved, reading: LimitReading) -> str:
    """How low the charge goes, and what it should not fall below."""
    use, limit = against(reading.use, reading.limit, "%")
    return f"at {clock(resolved.frame, reading.at_ms)} the battery is down to {use}, where {limit} is your reserve."


def _down_to(resolved: Resolved, reading: LimitReading) -> str:
    return f"at {clock(resolved.frame, reading.at_ms)} it is down to {quantity(reading.use, '%')}"


def _room(resolved: Resolved, reading: LimitReading, charge: ChargeReading) -> str:
    """What is left, and what a darker day would leave."""
    left = quantity(reading.margin, "%").removesuffix("%").rstrip()
    if charge.pessimistic_below_ms is None:
        return f"Room left: {left} points."
    at = clock(resolved.frame, charge.pessimistic_below_ms)
    return f"Room left: {left} points; with more cloud and every draw at its upper end it is below that at {at}."


def _to_do(resolved: Resolved, assessment: Assessment, by_ms: int) -> str:
    """One thing to do and a time: the run that takes the most until then."""
    battery = assessment.battery
    since_ms = 0.0 if battery is None else float(battery.edges_ms[0])  # what is over by then is no help any more
    if by_ms <= since_ms:
        return "Charge the battery some other way, and use as little as you can."
    taken_wh: dict[str, float] = {}
    for piece in assessment.pieces:
        if piece.run is not None and piece.begin_ms < by_ms and piece.end_ms > since_ms:
            hours = (min(piece.end_ms, by_ms) - max(piece.begin_ms, since_ms)) / 3_600_000
            taken_wh[piece.run] = taken_wh.get(piece.run, 0.0) + piece.w * hours
    by = clock(resolved.frame, by_ms)
    runs = {run.id: run for run in resolved.day.runs}
    largest = max((run for run in taken_wh if run in runs), key=lambda run: taken_wh[run], default=None)
    if largest is None:
        return f"Use less, or charge the battery some other way, before {by}."
    names = {appliance.id: appliance.name for appliance in resolved.household.appliances}
    run = runs[largest]
    begun = resolved.frame.at_ms(wall_clock_s(run.start)) < since_ms
    what = f"Switch off {names[run.appliance]}" if begun else f"Leave off {names[run.appliance]} at {run.start}"
    return f"{what}, or charge the battery some other way before {by}."
