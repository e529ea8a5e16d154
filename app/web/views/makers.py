"""What makes the use of the limit the verdict is about, one after the other up to the limit."""

from dataclasses import dataclass

from app.charts.behaviour import behaviours
from app.engine.results import Assessment, Contributor, LimitReading
from app.household.resolve import Resolved
from app.web import words
from app.web.figures import clock, quantity
from app.web.places import place

NAMED = 6
SMALL = 0.02  # of the whole; less is not worth a line of its own


@dataclass(frozen=True, slots=True)
class Maker:
    """One line: what draws how much."""

    name: str  # the appliance
    stage: str  # what it does just then; may be empty
    value: str  # its draw, with unit
    colour: str  # its behaviour
    hatched: bool  # it comes and goes
    place: str  # classes that place its bar behind those before it


@dataclass(frozen=True, slots=True)
class MakersView:
    """day/_makers.html."""

    at: str  # when
    limit: str  # the limit in words
    makers: tuple[Maker, ...]  # the largest first, the certain ones before those that come and go
    mark: str  # classes that place the limit's mark; empty where the limit is of another kind
    total: str  # all of them together
    allowed: str  # that with room for how far the figures may be off, and the limit


def makers_view(resolved: Resolved, assessment: Assessment, decisive: LimitReading) -> MakersView:
    """Lay out the contributors of the limit that decides."""
    reading = _running(assessment, decisive)
    unit = "W" if reading.unit == "W" else "VA"
    same_kind = reading.unit == unit and reading.direction == "ceiling"
    draws = {one: one.w if unit == "W" else one.va for one in reading.contributors}
    total = sum(draws.values())
    whole = max(total, reading.limit if same_kind else 0, 1) * 1.02
    ordered = sorted(draws, key=lambda one: (not one.certain, -draws[one]))
    largest = sorted((one for one in draws if abs(draws[one]) >= SMALL * whole), key=lambda one: -abs(draws[one]))
    named = set(largest[:NAMED])
    keys = behaviours(resolved) | {piece.appliance: "follow" for piece in assessment.pieces if piece.set_off}
    names = {appliance.id: appliance.name for appliance in resolved.household.appliances}
    makers, so_far = [], 0.0
    for one in (one for one in ordered if one in named):
        makers.append(
            Maker(
                name=names.get(one.appliance, one.appliance),
                stage=_stage(one),
                value=quantity(draws[one], unit),
                colour=keys.get(one.appliance, "base"),
                hatched=not one.certain,
                place=place(so_far / whole, max(draws[one], 0) / whole),
            )
        )
        so_far += max(draws[one], 0)
    rest = [one for one in ordered if one not in named and draws[one]]
    if rest:
        left = sum(draws[one] for one in rest)
        makers.append(
            Maker(
                f"{len(rest)} more", "", quantity(left, unit), "base", not all(one.certain for one in rest),
                place(so_far / whole, max(left, 0) / whole),
            )
        )  # fmt: skip
    return MakersView(
        at=clock(resolved.frame, reading.at_ms),
        limit=words.limit_name(reading.id, resolved.household),
        makers=tuple(makers),
        mark=place(reading.limit / whole, 0) if same_kind else "",
        total=quantity(total, unit),
        allowed=words.reading_phrase(reading, resolved.household),
    )


def _running(assessment: Assessment, reading: LimitReading) -> LimitReading:
    """The reading itself; where time above a level decides, not a start, the one of what runs meanwhile."""
    if reading.id != "inverter_overload" or reading.heat is None or reading.margin < 0:
        return reading
    return assessment.limit("inverter_apparent") or reading


def _stage(one: Contributor) -> str:
    return ", ".join(part for part in (one.stage or "", "starting" if one.starting else "") if part)
