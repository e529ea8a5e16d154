"""The verdict sentence.

A sentence names the limit, the time, and the appliances and stages that make it; it changes when any of
these does. Whatever is too much ends in something to do and a time.
"""

from collections.abc import Iterable, Sequence

from app.engine.results import Assessment, Contributor, HeatReading, LimitReading
from app.household.household import Household
from app.household.resolve import Resolved
from app.web.figures import against, clock, duration, quantity
from app.web.words.limits import circuit_name, decisive, per_cent_beside, verdict_word
from app.web.words.odds import Of, how_often
from app.web.words.plain import Headline, listed, sentence_case
from app.web.words.reserve import reserve_headline, sinks

# Who meets a use, and how: `the inverter`, `carries`, `for hours`.
_MEETS = {
    "inverter_continuous": ("the inverter", "carries", "for hours"),
    "inverter_apparent": ("the inverter", "carries", "for hours"),
    "inverter_overload": ("the inverter", "gives", "at the very most"),
    "battery_continuous": ("the battery", "gives", "for hours"),
    "battery_peak": ("the battery", "gives", "at the very most"),
    "dc_fuse": ("the battery fuse", "carries", ""),
    "cold_restart": ("the inverter", "gives", "at the very most"),
    "generator": ("the generator", "gives", ""),
}

_MOST_NAMED = 4

_MADE_BY = 0.85  # a sentence names as many as make this share of the use


def headline(resolved: Resolved, assessment: Assessment, of: Of = "day") -> Headline:
    """The verdict sentence of a plan. of: whether it is of a day or of what is left of it."""
    reading = decisive(assessment, resolved.day.wanted_margin)
    lead = f"{verdict_word(reading.verdict)}."
    drawn = any(one.contributors for one in assessment.limits)
    if reading.verdict == "fits" and not resolved.day.runs:
        return _nothing_planned(resolved, reading, drawn=drawn)
    if reading.verdict == "fits" and not drawn:
        return Headline(lead, "Nothing is on.", "")
    heat = reading.decided_by_time
    if heat is not None:
        if reading.verdict == "short_time":
            lead = f"Fine, but only for {duration(heat.allowed_s)}."
        why = [how_often(reading, of), _most_at(resolved, reading, heat), _heat_why(resolved, reading, heat)]
        return Headline(lead, _who_heats(resolved, reading, heat), " ".join(filter(None, why)))
    if reading.charge is not None:
        return reserve_headline(lead, resolved, assessment, reading, reading.charge)
    when = f"at {clock(resolved.frame, reading.at_ms)}"
    meets = _meets(resolved, reading)
    if reading.verdict in ("fits", "tight"):
        return Headline(lead, f"Nearest to a limit {when}: {meets}", _room(reading))
    why = [how_often(reading, of), _one_after_another(reading), *_why(resolved, reading)]
    return Headline(lead, f"{sentence_case(when)}, {_condition(reading)}{meets}", " ".join(filter(None, why)))


def _condition(reading: LimitReading) -> str:
    return "if everything happens to be on, " if reading.by_chance else ""


def _one_after_another(reading: LimitReading) -> str:
    """Where not everything at once is too much, but some order in which things come is."""
    heat = reading.heat
    if heat is None or not reading.by_chance or reading.broken_at_ms is not None:
        return ""
    above, allowed = against(heat.use, heat.limit, heat.unit)[1], duration(heat.allowed_s)
    return f"One after another, what comes and goes could keep it above {above} for longer than the {allowed} allowed."


def _nothing_planned(resolved: Resolved, reading: LimitReading, *, drawn: bool) -> Headline:
    """What to do with an empty plan, and where what is always on comes nearest to a limit."""
    lead = "Nothing is planned yet."
    if not resolved.household.appliances:
        return Headline(lead, "There is no appliance to plan with either; add the first one under Appliances.", "")
    todo = "Add an appliance to see when it fits."
    if not drawn:
        return Headline(lead, todo, "")
    at = clock(resolved.frame, reading.at_ms)
    if reading.charge is not None:
        return Headline(lead, todo, f"Without it, nearest to a limit: {sinks(resolved, reading)}")
    return Headline(lead, todo, f"Without it, nearest to a limit at {at}: {_meets(resolved, reading)} {_room(reading)}")


def _meets(resolved: Resolved, reading: LimitReading) -> str:
    """Who draws how much of what: `Kettle and 2 more draw 2.9 kVA of the 6.0 kVA the inverter carries for hours.`"""
    # A circuit with nothing on it still loses what is lost on the way to it.
    who = made_by(reading.contributors, resolved.household) if reading.contributors else "others on the way"
    use, allowed = against(reading.use, reading.limit, reading.unit)
    return f"{who} {_verb(reading)} {use}{_against_limit(reading, allowed, resolved.household)}."


def sentence(resolved: Resolved, assessment: Assessment) -> str:
    """The verdict in one line, as the command line says it."""
    return headline(resolved, assessment).sentence


def made_by(contributors: Sequence[Contributor], household: Household) -> str:
    """Who makes a use, with their stages: `Washing machine (heat), Kettle and 2 more`."""
    names = {appliance.id: appliance.name for appliance in household.appliances}
    ordered = sorted(contributors, key=lambda one: -abs(one.va))
    total = sum(abs(one.va) for one in ordered)
    named: list[str] = []
    so_far = 0.0
    for one in ordered:
        if named and (so_far >= _MADE_BY * total or len(named) == _MOST_NAMED):
            break
        so_far += abs(one.va)
        named.append(_with_stage(names.get(one.appliance, one.appliance), one))
    more = len([one for one in ordered if abs(one.va) > 0]) - len(named)
    if more > 0:
        named.append(f"{more} more")
    return listed(named) or "nothing"


def _who_heats(resolved: Resolved, reading: LimitReading, heat: HeatReading) -> str:
    """Who draws while the time runs: the running draw, without the starts on top."""
    who = made_by(heat.contributors, resolved.household)
    draw = "draw" if len(heat.contributors) > 1 else "draws"
    use, since = against(heat.use, heat.limit, heat.unit)[0], clock(resolved.frame, heat.since_ms)
    return f"From {since}, {_condition(reading)}{who} {draw} up to {use} from {_carrier(reading)}."


def _most_at(resolved: Resolved, reading: LimitReading, heat: HeatReading) -> str:
    """Another moment than the one that is told, where others draw more: how often counts them all."""
    there = {one.appliance for one in heat.contributors}
    largest = max(reading.contributors, key=lambda one: abs(one.va), default=None)
    if reading.broken_per_day is None or reading.margin >= 0 or largest is None or largest.appliance in there:
        return ""
    who, at = made_by(reading.contributors, resolved.household), clock(resolved.frame, reading.at_ms)
    draw = "draw" if len(reading.contributors) > 1 else "draws"
    return f"Most of all at {at}: {who} {draw} up to {against(reading.use, reading.limit, reading.unit)[0]}."


def _heat_why(resolved: Resolved, reading: LimitReading, heat: HeatReading) -> str:
    """How long of how long, and where it is too long what to do by when."""
    above = f"Above {against(heat.use, heat.limit, heat.unit)[1]}"
    lasts, allowed = duration(heat.held_s), duration(heat.allowed_s)
    if heat.trips_at_ms is None:
        nearly = "Nearly all of it: " if heat.held_s > heat.allowed_s / 2 else ""
        text = f"{above} for {lasts} of the {allowed} allowed."
        return f"{nearly}{text[0].lower()}{text[1:]}" if nearly else text
    cut = f"and would cut out at {clock(resolved.frame, heat.trips_at_ms)}"
    return f"{above} for {lasts}; it carries that for {allowed} {cut}. {_to_do(resolved, heat)}"


def _carrier(reading: LimitReading) -> str:
    if reading.id.startswith("leg:"):
        return f"leg {reading.id[-1]} of the inverter"
    return "the battery" if reading.id.startswith("battery") else "the inverter"


def _room(reading: LimitReading) -> str:
    """What is left."""
    if reading.margin < 0:
        return "It dips below for less time than the inverter waits."
    left = quantity(reading.margin, reading.unit)
    if reading.unit == "%":
        return f"Room left: {left.removesuffix('%').rstrip()} points."
    share = 100 * reading.margin / abs(reading.limit)
    return f"Room left: {left} ({share:.0f}\u00a0%)." if share >= 20 else f"Room left: {left} ({share:.1f}\u00a0%)."


def _why(resolved: Resolved, reading: LimitReading) -> Iterable[str]:
    """What it means, and what to do by when."""
    household = resolved.household
    if reading.id == "cold_restart":
        names = {appliance.id: appliance.name for appliance in household.appliances}
        first = listed([names[one] for one in reading.switch_off or ()])
        at = clock(resolved.frame, reading.at_ms)
        if by_volts(reading):
            yield pulled_below(household)
        yield f"After a cut around {at}, switch off {first} before you switch on again."
        return
    circuit = reading.circuit
    if circuit is not None and circuit.cable_a is not None and circuit.cable_a < reading.limit:
        yield (
            f"Its cable carries {quantity(circuit.cable_a, 'A')}, less than its breaker lets through: before"
            f" {clock(resolved.frame, reading.at_ms)} have a licensed person look at it, and leave it off till then."
        )
        return
    if circuit is not None and circuit.start_a > circuit.trip_a:
        start, trip = against(circuit.start_a, circuit.trip_a, "A")
        yield f"A start takes it to {start}; from {trip} on its breaker may trip at once."
    if reading.drop is not None:
        drop, rules = reading.drop, household.supply.rules
        running = per_cent_beside(drop.running_percent, 100 * rules.drop_running)
        starting = per_cent_beside(drop.starting_percent, 100 * rules.drop_starting)
        yield f"It is {running} running and {starting} at a start."
    yield _to_do(resolved, reading)


def by_volts(reading: LimitReading) -> bool:
    """Whether coming back after a power cut fails by the battery's voltage alone."""
    return reading.id == "cold_restart" and reading.broken_at_ms is not None and reading.margin >= 0


def pulled_below(household: Household) -> str:
    """What a start does that the battery's voltage does not stand."""
    cut_off = quantity(household.supply.inverter.cut_off_v, "V")
    return f"That would pull the battery below the {cut_off} at which the inverter cuts out."


def _to_do(resolved: Resolved, reading: LimitReading | HeatReading) -> str:
    """One thing to do and a time: the largest of those that a person placed, else the largest."""
    household = resolved.household
    names = {appliance.id: appliance.name for appliance in household.appliances}
    at = clock(resolved.frame, reading.at_ms)
    largest = sorted(reading.contributors, key=lambda one: -abs(one.va))
    placed = [one for one in largest if one.run is not None]
    if largest and isinstance(reading, LimitReading) and _alone_too_much(household, reading, largest[0]):
        lower = "a lower start or " if largest[0].starting else ""
        who = names[largest[0].appliance]
        return f"At {at} or any other time {who} alone is too much: leave it off, or see to {lower}a larger inverter."
    if placed:
        return f"Move {names[placed[0].appliance]} away from {at}, or leave it off."
    return f"Switch off {names[largest[0].appliance]} before {at}." if largest else f"Look at it before {at}."


def _alone_too_much(household: Household, reading: LimitReading, one: Contributor) -> bool:
    """Whether one of them is more than the inverter gives, at whatever hour, with all else off."""
    if not reading.id.startswith("inverter"):
        return False
    carried = [watts for _, watts in household.supply.inverter.continuous_w]
    whole = sum(abs(other.va) for other in reading.contributors)
    own = reading.use * abs(one.va) / whole if whole else 0.0
    return own > reading.limit * max(carried) / min(carried)  # the coolest hour has the most


def _against_limit(reading: LimitReading, allowed: str, household: Household) -> str:
    """Where a use meets its limit: `of the 6.0 kVA the inverter carries for hours`, or past it `, where ...`."""
    kind = reading.id.partition(":")[0]
    if reading.direction == "floor":
        return f", where the inverter cuts out at {allowed}"
    if kind == "voltage_drop":
        return f", where {allowed} is allowed on the way to {circuit_name(reading.id, household)}"
    if kind == "circuit":
        who, does, tail = f"the breaker of {circuit_name(reading.id, household)}", "carries", ""
    elif kind == "leg":
        who, does, tail = f"leg {reading.id[-1]} of the inverter", "carries", "for hours"
    else:
        who, does, tail = _MEETS[kind]
    if reading.margin < 0:
        return f", where {who} {does} {allowed} {tail}".rstrip()
    return f" of the {allowed} {who} {does} {tail}".rstrip()


def _verb(reading: LimitReading) -> str:
    """What those who draw do to the limit."""
    several = len(reading.contributors) != 1
    if reading.id == "cold_restart":
        return "would come back with"
    if reading.id == "generator":
        return "and the charger draw"
    if reading.id == "battery_voltage":
        return "pull the battery to" if several else "pulls the battery to"
    if reading.id.startswith("voltage_drop:"):
        return "lose" if several else "loses"
    return "draw" if several else "draws"


def _with_stage(name: str, one: Contributor) -> str:
    if one.starting:
        return f"{name} (starting)"
    return f"{name} ({one.stage})" if one.stage else name
