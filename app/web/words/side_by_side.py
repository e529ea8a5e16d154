"""Plans side by side in words: the sentence that decides, names of figures, differences."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from app.engine.results import LADDER, Assessment, LimitReading, Verdict
from app.household.resolve import Resolved
from app.planner.side_by_side import Compared, What
from app.planner.ways import RED, Way
from app.web.figures import MINUS, duration, quantity
from app.web.words.limits import decisive, level_name, limit_name, mark_words
from app.web.words.odds import INDEPENDENT, ONLY_LONGER, times
from app.web.words.plain import listed

ITSELF = "A plan beside itself shows nothing; it is left out."
TWICE = "One plan was named twice; it is shown once."
TOO_MANY = "At most four plans stand side by side; the rest is left out."
UNKNOWN = "There is no such plan in this household; the others are shown."
NOT_SHOWN = "Differences cannot be counted from a plan that is not shown; they are counted from {name}."
CHOOSE = "Choose a plan to put beside {name}."
ALONE = "There is only one plan. Begin a what-if from it, and it can stand here."
SAME, NOT_THERE, COUNTED = "same", "not there", ""
NO_ODDS = "odds say nothing of it"
NOTHING_DIFFERS = "No figure here is different enough to matter."
OTHER_DAYS = "{plans} {verb} {kind} {base}, each with its own sun and charge."
Kind = Literal["limit", "energy", "start"]
GROUPS: dict[Kind, tuple[str, str]] = {  # with other lines of their kind above, and alone
    "limit": ("Every other limit", "Limits"),
    "energy": ("More of battery, sun and energy", "Battery, sun and energy"),
    "start": ("Hardest start of each machine", "Hardest start of each machine"),
}
BRIGHT_OKTAS, DULL_OKTAS = 2, 6
POINTS, NOTICED_WH = 0.5, 100.0

NAMES: dict[What, str] = {
    "often_per_day": f"How often the worst comes, {INDEPENDENT}",
    "lowest_charge": "Lowest charge, typical day",
    "morning_charge": "Lowest charge, midnight to noon",
    "midnight_charge": "Charge at midnight",
    "noon_charge": "Charge at noon, next day",
    "energy_wh": "Energy of the day, typical",
    "peak_w": "Highest draw, if everything is on",
    "spare_sun_wh": "Sun to spare",
    "sun_used_wh": "Sun used",
    "out_of_bank_wh": "Out of the battery",
}
_MORE = {True: "more", False: "less"}
_LEADS: dict[Verdict, str] = {
    "fits": "fits",
    "tight": "only just fits",
    "short_time": "is fine, but only for a while",
    "chance": "could cut out",
    "over": "does not fit",
}


@dataclass(frozen=True, slots=True)
class Said:
    """One plan in the sentence. lead: how it stands, in strong type; rest: why, what would help, what it costs."""

    verdict: Verdict
    lead: str
    rest: str


def decides(
    names: Sequence[str],
    plans: Sequence[tuple[Resolved, Assessment]],
    compared: Compared,
    counted_from: int,
    ways: Sequence[tuple[Way, ...] | None],
) -> tuple[Said, ...]:
    """The sentence that decides, plan by plan, the worst first; the one that is counted from only if it does not fit.

    ways: of each plan what would make it fit; None while that is not looked for.
    """
    order = [counted_from, *(place for place in range(len(plans)) if place != counted_from)]
    said = []
    for place in sorted(order, key=lambda place: -LADDER.index(plans[place][1].verdict)):
        resolved, assessment = plans[place]
        if place == counted_from and (assessment.verdict not in RED and len(plans) > 1):
            continue
        costs = ""
        same_day = _is_same_day(resolved, plans[counted_from][0])
        if place != counted_from and (same_day or len(plans) == 2):
            costs = _costs(compared, place, counted_from, same_day=same_day)
        said.append(_said(names[place], resolved, assessment, ways[place], costs))
    return tuple(said)


def other_days(letters: str, plans: Sequence[tuple[Resolved, Assessment]], counted_from: int) -> str:
    """Which of three or four plans have a day of their own; of two the sentence says it. Empty for none."""
    base = plans[counted_from][0]
    others = [letter for letter, (one, _) in zip(letters, plans, strict=True) if not _is_same_day(one, base)]
    if len(plans) < 3 or not others:
        return ""
    kind = "another day than" if len(others) == 1 else "other days than"
    return OTHER_DAYS.format(
        plans=listed(others), kind=kind, base=letters[counted_from], verb="is" if len(others) == 1 else "are"
    )


def folded(kind: Kind, differ: int, same: int, *, is_alone: bool) -> tuple[str, str]:
    """The heading of lines that are folded, and how many: `9 differ, 8 are the same or nearly`."""
    more, title = GROUPS[kind]
    if is_alone:
        return title, ""
    parts = [f"{differ} {'differs' if differ == 1 else 'differ'}"] if differ else []
    if same:
        nearly = " or nearly" if kind == "limit" else ""
        parts.append(f"{same} {'is' if same == 1 else 'are'} the same{nearly}")
    return more, ", ".join(parts)


def _said(name: str, resolved: Resolved, assessment: Assessment, ways: tuple[Way, ...] | None, costs: str) -> Said:
    verdict = assessment.verdict
    lead = f"{name} {_LEADS[verdict]}{_sky(resolved) if verdict not in RED else ''}"
    reading = decisive(assessment, resolved.day.wanted_margin)
    parts = [_why(resolved, reading)]
    if verdict in RED and ways:
        parts.append(_way(ways[0], resolved))
    if costs:
        parts.append(costs)
    return Said(verdict, f"{lead}:", f"{'; '.join(parts)}.")


def _why(resolved: Resolved, reading: LimitReading) -> str:
    heat = reading.decided_by_time
    if heat is None:
        name, much = limit_name(reading.id, resolved.household), f", {mark_words(reading)}"
    else:
        name, allowed = level_name(reading, heat, resolved.household), duration(heat.allowed_s)
        of = f" of the {allowed} allowed" if heat.trips_at_ms is None else f", where {allowed} is allowed"
        much = f" for {duration(heat.held_s)}{of}"
    return f"{name[:1].lower()}{name[1:]}{much}"


def _way(way: Way, resolved: Resolved) -> str:
    """`it fits if Air compressor waits until 16:20`, `it fits without Bandsaw at 15:00`."""
    run = next(one for one in resolved.day.runs if one.id == way.run_id)
    appliance = resolved.appliance(run.appliance)
    name = appliance.name if appliance else run.appliance
    fits = "it only just fits" if way.assessment.verdict == "tight" else "it fits"
    fits = "it is fine for a while" if way.assessment.verdict == "short_time" else fits
    if way.start is None:
        return f"{fits} without {name} at {run.start[:5]}"
    return f"{fits} if {name} {'waits until' if way.start > run.start else 'starts at'} {way.start[:5]}"


def _sky(resolved: Resolved) -> str:
    day = resolved.day
    if day.measured_day is not None or not resolved.household.supply.arrays:
        return ""
    if day.cloud_oktas <= BRIGHT_OKTAS:
        return " on a bright day"
    return " on a dull day" if day.cloud_oktas >= DULL_OKTAS else ""


def _is_same_day(one: Resolved, other: Resolved) -> bool:
    """Sun, warmth and charge at the beginning are alike, so that a difference comes of what runs."""
    fields = ("date", "cloud_oktas", "ambient_c", "start_state_of_charge", "state_of_charge_at", "measured_day")
    return all(getattr(one.day, field) == getattr(other.day, field) for field in (*fields, "expected_yield_wh"))


def _costs(compared: Compared, place: int, counted_from: int, *, same_day: bool) -> str:
    """`it costs 11 points of battery by morning and 2.3 kWh less sun is to spare`; of another day, that it is one."""
    by_what = {row.what: row.difference(place, counted_from) for row in compared.figures}
    points, spare_wh = by_what.get("morning_charge"), by_what.get("spare_sun_wh")
    parts = []
    if points is not None and abs(points) >= POINTS:
        count = f"{abs(points):.0f} {'point' if round(abs(points)) == 1 else 'points'} of battery by morning"
        if same_day:
            parts.append(f"it costs {count}" if points < 0 else f"it gains {count}")
        else:
            parts.append(f"{count.replace(' of battery', f' {_MORE[points > 0]} in the battery')}")
    if spare_wh is not None and abs(spare_wh) >= NOTICED_WH:
        parts.append(f"{quantity(abs(spare_wh), 'Wh')} {'less' if spare_wh < 0 else 'more'} sun is to spare")
    said = " and ".join(parts)
    return said if same_day or not said else f"on another day, with its own sun and charge, {said}"


def signed(value: float, unit: str) -> str:
    """A difference with its sign: `+1.2 kVA`; what does not show is the same."""
    shown = f"{abs(value):.1f}\u00a0points" if unit == "%" else quantity(abs(value), unit)
    if not any(letter in "123456789" for letter in shown.partition("\u00a0")[0]):
        return SAME
    return f"{'+' if value > 0 else MINUS}{shown}"


def often(per_day: float | None, *, may_come: bool) -> str:
    """How often: `never`, `once in 6 such days`. may_come: the worst case breaks something; None: by more than odds."""
    if per_day is None:
        return NO_ODDS
    if per_day <= 0:
        return ONLY_LONGER if may_come else "never"
    return times(per_day)


def more_often(value: float | None, other: float | None) -> str:
    """A difference in how often, no finer than it is said: `more often`."""
    if value is None or other is None:
        return ""
    if value == other or (min(value, other) > 0 and times(value) == times(other)):
        return SAME
    return f"{_MORE[value > other]} often"
