"""The limits: rulers of those that matter most, and all of them as a table."""

from dataclasses import dataclass

from app.engine.results import LADDER, Assessment, LimitReading, Verdict
from app.household.resolve import Resolved
from app.web import words
from app.web.figures import against, clock, room_left
from app.web.places import place
from app.web.views.about import About

RULERS = 4
ALL = "all-limits"
MARK = 5 / 6  # where a ceiling's mark stands; what is too much goes past it
LONGEST = 1.2  # times the limit, the ruler's end


@dataclass(frozen=True, slots=True)
class Ruler:
    """One limit as a ruler."""

    name: str  # the limit in words
    verdict: Verdict  # for the colour
    word: str  # the verdict in words
    use: str  # how much is used, with unit
    of: str  # "of" for a ceiling, "not below" for a floor
    limit: str  # the limit, with unit
    case: str  # what it is judged by where that is not the worst case; else empty
    odds: str  # how often it is to be expected, where only the worst case breaks it; else empty
    bar: str  # classes that place the bar
    mark: str  # classes that place the limit's mark
    ban: str  # classes that shade what lies below a floor; empty for a ceiling
    cut: bool  # the bar goes on past the ruler's end


@dataclass(frozen=True, slots=True)
class Line:
    """One limit in the table."""

    name: str  # the limit in words
    verdict: Verdict  # for the colour
    word: str  # the verdict in words
    phrase: str  # use and limit in words, how long of how long included
    room: str  # room left, with unit
    at: str  # when it is tightest


@dataclass(frozen=True, slots=True)
class LimitsView:
    """day/_limits.html."""

    rulers: tuple[Ruler, ...]  # the limits that matter most, the worst first
    count: int  # how many limits apply
    lines: tuple[Line, ...]  # every one of them; empty while the table is folded
    lines_href: str  # the page with the table
    by_odds: bool  # something is told by how often it is to be expected


def limits_view(about: About, assessment: Assessment) -> LimitsView:
    """Choose the rulers and fill the table."""
    resolved = about.resolved
    ordered = sorted(assessment.limits, key=urgency)
    return LimitsView(
        rulers=tuple(ruler_of(resolved, reading) for reading in ordered[:RULERS]),
        count=len(ordered),
        lines=tuple(_line(resolved, reading) for reading in ordered) if ALL in about.unfolded else (),
        lines_href=about.unfold(ALL, "limits"),
        by_odds=any(words.how_often(reading) for reading in ordered),
    )


def urgency(reading: LimitReading) -> tuple[int, float]:
    """Sorts the limits: the worst verdict first, then the least share of the room left."""
    return -LADDER.index(reading.verdict), reading.margin / (_room(reading) or 1)


def _room(reading: LimitReading) -> float:
    """All the room there is: up to a ceiling from nothing, down to a floor from full or from no load."""
    if reading.direction == "ceiling":
        return reading.limit
    top = reading.open_circuit_v if reading.open_circuit_v is not None else 100.0
    return max(top - reading.limit, 0)


def ruler_of(resolved: Resolved, reading: LimitReading) -> Ruler:
    """A limit as a ruler."""
    use, limit = against(reading.use, reading.limit, reading.unit)
    if reading.direction == "ceiling":
        share = reading.use / reading.limit if reading.limit > 0 else LONGEST
        bar, mark, ban = place(0, min(share, LONGEST) * MARK), place(MARK, 0), ""
    else:
        # A floor stands a quarter up the ruler, so that what lies above it has most of the length.
        share, floor = 0.0, 0.25
        above = min(max(reading.margin / (_room(reading) or 1), 0), 1) * (1 - floor)
        below = min(max(-reading.margin / (_room(reading) or 1), 0), 1) * floor
        bar = place(floor - below, below) if below else place(floor, above)
        mark, ban = place(floor, 0), place(0, floor)
    return Ruler(
        name=_ruler_name(resolved, reading),
        verdict=reading.verdict,
        word=words.verdict_word(reading.verdict),
        use=use,
        of="of" if reading.direction == "ceiling" else "not below",
        limit=limit,
        case=words.limit_case(reading.id),
        odds=words.how_often(reading),
        bar=bar,
        mark=mark,
        ban=ban,
        cut=share > LONGEST,
    )


def _ruler_name(resolved: Resolved, reading: LimitReading) -> str:
    """A limit's name; of the charge, when it is lowest."""
    if reading.charge is not None:
        return f"Lowest charge, {clock(resolved.frame, reading.at_ms)}"
    return words.reading_name(reading, resolved.household)


def _line(resolved: Resolved, reading: LimitReading) -> Line:
    return Line(
        name=words.reading_name(reading, resolved.household),
        verdict=reading.verdict,
        word=words.verdict_word(reading.verdict),
        phrase=", ".join(
            part
            for part in (words.reading_phrase(reading), words.limit_case(reading.id), words.exactly(reading))
            if part
        ),
        room=room_left(reading.margin, reading.unit),
        at=clock(resolved.frame, reading.at_ms),
    )
