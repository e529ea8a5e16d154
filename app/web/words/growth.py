"""Room to grow in words: the largest thing that could still be added, and how each machine stands."""

from math import floor

from app.engine.deciding import Decisive
from app.household.day import DayFrame
from app.household.household import Household
from app.planner.growth.adding import START_POWER_FACTOR, START_S
from app.planner.growth.hours import Hour
from app.planner.growth.largest import Cost, HourRoom, Largest, Span
from app.planner.growth.machines import Machine, Standing, Window
from app.web.figures import against, clock, duration, face, number, quantity
from app.web.words.limits import passing_name
from app.web.words.plain import listed

TITLE = "Room to grow"
GENERATOR = "generator"
LITTLE = 10.0  # watts or volt-amperes: less is nothing
STANDINGS: dict[Standing, str] = {
    "fits": "It fits",
    "tight": "Only just",
    "for_a_while": "Fine, but only for a while",
    "chance": "Could cut out",
    "over": "Too much",
}
LEAD = "The largest thing you could still add on this day:"
NOTHING = "Nothing more can be added on this day:"
MEANT = (
    "“For hours” is something that draws evenly as long as it is on, such as a heater (power factor 1), and that comes"
    " back by itself after a power cut. It is judged for the whole hour, beside everything in the plan that can be on.",
    f"A start is a motor’s kick at switch-on, at any instant of the hour: {duration(START_S)} at power factor"
    f" {START_POWER_FACTOR:g}. Both are common practice, no source. It is taken for a machine that stays off after a"
    " power cut, and what it draws while it runs has to fit as well.",
    "What is added has no circuit yet: cable and breaker are not in these figures. Starts that come by themselves at"
    " the same moment are left to the odds; the Day page and Switch on keep room for the largest of them, and so tell"
    " less. What the day breaks by itself at other hours does not count against it.",
)
PLANNING = (
    "Figures for planning. Starts of motors are within a factor of two unless they are measured. A new circuit is for a"
    " licensed person, by local code."
)
RESTARTS = (
    "A machine without a no-volt release starts again by itself when power comes back. Wait 5 minutes before you"
    " restart a compressor."
)
LIST_HELP = (
    "Every workshop machine of the library for your sockets, as if it were switched on once and ran for its usual time;"
    " what fits first. No circuit is chosen yet, so cable and breaker are not in it."
)
NONE_FOUND = "No workshop machine of the library is called that. Try another word, or part of one."
NO_MACHINES = "The library has no workshop machine for your sockets."
TOO_LONG = "Look for something shorter: {most} letters are enough."


def no_more(value: float, unit: str) -> str:
    """A figure that must not be read as more than it is: rounded down to what is shown.

    >>> no_more(2186, "W").replace(chr(160), " "), no_more(278.9, "W").replace(chr(160), " ")
    ('2.1 kW', '270 W')
    """
    step = 100 if value >= 1000 else 10
    return quantity(floor(value / step + 1e-9) * step, unit)


def between(frame: DayFrame, from_ms: float, to_ms: float) -> str:
    """`15:00 to 18:00`; the end of the day is 24:00."""
    return f"{clock(frame, from_ms)} to {_until(frame, to_ms)}"


def _until(frame: DayFrame, to_ms: float) -> str:
    return "24:00" if to_ms >= frame.day_ms else face(frame, to_ms)


def hour_words(frame: DayFrame, hour: Hour) -> str:
    """An hour as a table has it: when it begins."""
    return clock(frame, hour.from_ms)


def largest_lines(frame: DayFrame, found: Largest, household: Household) -> tuple[str, tuple[str, ...]]:
    """What follows the lead, and the lines under it."""
    lines = []
    if found.best is None:
        return (
            f"“{passing_name(found.all_day.steady_limit, household)}” leaves no room for something that stays on, at"
            " any hour.",
            (_all_day_start(found.all_day),),
        )
    if found.short_ms is not None:
        at = clock(frame, found.short_ms)
        lines.append(f"The plan itself goes below the reserve, or dark, at {at}: whatever is added makes that worse.")
    if found.overloaded_ms is not None:
        at = clock(frame, found.overloaded_ms)
        lines.append(
            f"The plan itself has more on at {at} than the generator gives: whatever is added may have it run sooner."
        )
    if found.best.below_ms is not None:
        lines.append(_short(frame, found.best).strip())
    if found.waking is not None:
        lines.append(f"Between 06:00 and 23:00: {_span(frame, found.waking)}{_short(frame, found.waking)}")
    lines.append(_all_day(frame, found, household))
    if GENERATOR in (found.all_day.steady_limit, *(one.steady_limit for one in found.hours)):
        lines.append(
            f"Where “{passing_name(GENERATOR, household)}” decides, more would have it run while too much is on."
        )
    return _span(frame, found.best), tuple(lines)


def _span(frame: DayFrame, span: Span) -> str:
    start = (
        f", with a start of up to {no_more(span.start_va, 'VA')}" if span.start_va >= LITTLE else ", without any start"
    )
    hours = between(frame, span.from_ms, span.to_ms)
    return f"{no_more(span.steady_w, 'W')} for hours from {hours}{start}."


def _short(frame: DayFrame, span: Span) -> str:
    """What the battery says to all of it."""
    if span.below_ms is None:
        return ""
    return f" On all that time it would take the charge below the reserve at {clock(frame, span.below_ms)}."


def _all_day(frame: DayFrame, found: Largest, household: Household) -> str:
    span = found.all_day
    if span.steady_w >= LITTLE:
        return (
            f"All day long no more than {no_more(span.steady_w, 'W')}: “{passing_name(span.steady_limit, household)}”"
            f" decides.{_short(frame, span)} {_all_day_start(span)}"
        )
    full = _full(found)
    if not full:
        return f"All day long nothing: “{passing_name(span.steady_limit, household)}” decides. {_all_day_start(span)}"
    at = listed([between(frame, *stretch) for stretch in full])
    return f"All day long nothing: there is no room left from {at}. {_all_day_start(span)}"


def _full(found: Largest) -> list[Window]:
    """Hours without room, neighbours as one."""
    stretches: list[Window] = []
    for one in found.hours:
        if one.steady_w >= LITTLE:
            continue
        if stretches and stretches[-1].to_ms == one.hour.from_ms:
            stretches[-1] = Window(stretches[-1].from_ms, one.hour.to_ms)
        else:
            stretches.append(Window(one.hour.from_ms, one.hour.to_ms))
    return stretches


def _all_day_start(span: Span) -> str:
    if span.start_va < LITTLE:
        return "At some hours nothing may start on top."
    most = no_more(span.start_va, "VA")
    return f"A start at any time of the day: up to {most}, where nothing else starts at the same moment."


def cost_line(frame: DayFrame, cost: Cost) -> str:
    """What an hour of it takes from sun and battery."""
    hours = between(frame, cost.from_ms, cost.to_ms)
    from_sun = min(cost.spare_wh, cost.wh)
    takes = f"An hour of those {no_more(cost.steady_w, 'W')} takes {no_more(cost.wh, 'Wh')}"
    if from_sun >= 10 and from_sun >= cost.wh - 10:
        said = f"{takes}: from {hours} all of that is sun that nobody uses now."
    elif from_sun >= 10:
        said = (
            f"{takes}. From {hours} there are {quantity(from_sun, 'Wh')} of sun that nobody uses now; the rest comes"
            " out of the battery."
        )
    else:
        said = f"{takes}, and from {hours} there is no sun to spare: it comes out of the battery."
    points = cost.end_points
    if points >= 0.5:
        said += f" The next noon begins with {number(points, 0)} points less of charge."
    lowest = f"{number(100 * cost.lowest, 0)} %".replace(" ", "\u00a0")
    if cost.below:
        return f"{said} The charge then goes below the reserve: {lowest} at its lowest."
    same = ", as without it" if abs(cost.lowest - cost.was_lowest) < 0.005 else ""
    return f"{said} The charge is {lowest} at its lowest{same}."


def chart_label(what: str, unit: str, hours: tuple[HourRoom, ...], values: tuple[float, ...]) -> str:
    """What a screen reader says of a row of bars."""
    low, high = (
        min(zip(values, hours, strict=True), key=lambda one: one[0]),
        max(zip(values, hours, strict=True), key=lambda one: one[0]),
    )
    return (
        f"{what} by the hour: most {no_more(high[0], unit)} at {high[1].hour.clock:02d}:00, least"
        f" {no_more(low[0], unit)} at {low[1].hour.clock:02d}:00"
    )


def steady_words(value: float, unit: str) -> str:
    """A figure of the table."""
    return "nothing" if value < LITTLE else no_more(value, unit)


def figures_line(machine: Machine, brings: tuple[str, ...]) -> str:
    """What it draws, with what, for how long."""
    start = f", start {quantity(machine.start_va, 'VA')}" if machine.start_va > 0 else ""
    with_them = f", with {listed(brings)}" if brings else ""
    return f"{quantity(machine.w, 'W')}{with_them}{start}, for {duration(machine.lasts_ms / 1000)}"


def when_line(frame: DayFrame, machine: Machine) -> str:
    """When it may be switched on."""
    if not machine.windows:
        return "At no time of this day."
    whole = machine.windows == (Window(0, frame.day_ms),)
    when = "at any time of this day" if whole else f"from {_windows(frame, machine.windows)}"
    if machine.standing not in ("fits", "tight"):
        return (
            f"That holds {when}." if whole else f"That holds when it is switched on {when}; at other hours it is worse."
        )
    just = f" Only just: {_windows(frame, machine.just)}." if machine.just else ""
    return f"Switch it on {when}.{just}"


def _windows(frame: DayFrame, windows: tuple[Window, ...]) -> str:
    return listed([between(frame, *window) for window in windows]).replace(" and ", " or ")


def against_line(frame: DayFrame, machine: Machine, household: Household) -> str:
    """What decides where it does not fit; empty where nothing does."""
    decisive = machine.against
    if decisive is None:
        return ""
    if machine.alone:
        said = "Too much alone, whatever else is off"
    elif decisive.limit == "reserve":
        said = "The charge would go below the reserve"
    elif decisive.limit == "cold_restart":
        said = "After a power cut it would be too much at once"
    elif decisive.limit is None:
        said = "Only one of them may be on"
    else:
        return f"{_otherwise(machine)}{_limit(frame, decisive, household)}."
    return f"{_otherwise(machine)}{said}."


def _otherwise(machine: Machine) -> str:
    return "At other hours: " if machine.standing in ("fits", "tight") else ""


def _limit(frame: DayFrame, decisive: Decisive, household: Household) -> str:
    assert decisive.limit is not None  # of the caller
    name = f"“{passing_name(decisive.limit, household)}”"
    at = f" at {clock(frame, decisive.at_ms)}" if decisive.at_ms is not None else ""
    if decisive.use is None or decisive.most is None or decisive.unit is None:
        return f"{name}{at}"
    use, most = against(decisive.use, decisive.most, decisive.unit)
    return f"{name}, {use}, not below {most}{at}" if decisive.unit == "V" else f"{name}, {use} of {most}{at}"
