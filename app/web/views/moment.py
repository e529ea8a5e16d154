"""One instant of the plan: what is on then, what may still go on, what is left of every limit."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from app.charts.behaviour import behaviours
from app.engine.answers import Answer
from app.engine.moment import Inspection, Moment, next_event, previous_event
from app.engine.results import Assessment, Contributor, Instants, LimitReading, Verdict
from app.engine.run_odds import odds_of_run
from app.engine.sure import is_broken_without
from app.engine.switching import length_s, switching
from app.engine.traces import LimitThen
from app.household.clocks import clock_of
from app.household.resolve import Resolved
from app.web import words
from app.web.figures import clock, instant, quantity, room_left
from app.web.places import place
from app.web.views.about import About
from app.web.words import switch_on as said

SECOND_MS, MINUTE_MS = 1000, 60_000
NAMED = 6
SMALL = 0.02  # of the whole; less is not worth a line of its own
COLOURS: dict[Answer, Verdict] = {"go": "fits", "ask": "tight", "not_now": "over"}
EVERY_LIMIT, STARTS = "moment-limits", "moment-starts"


@dataclass(frozen=True, slots=True)
class Maker:
    """One line: what draws how much."""

    name: str  # the appliance
    stage: str  # what it does just then; may be empty
    watts: str  # its draw in W
    volt_amperes: str  # and in VA
    colour: str  # its behaviour
    hatched: bool  # it comes and goes
    place: str  # classes that place its bar behind those before it


@dataclass(frozen=True, slots=True)
class Then:
    """One limit at the instant."""

    name: str  # the limit in words
    phrase: str  # use and limit
    room: str  # room left, with unit
    beyond: bool  # it is passed just then


@dataclass(frozen=True, slots=True)
class CouldStart:
    """What another appliance would make of the plan if it began at the instant."""

    name: str  # the appliance
    verdict: Verdict  # for the colour
    word: str  # go, ask or not now
    line: str  # until when, and why
    often: str  # how often it would, where it could; may be empty


@dataclass(frozen=True, slots=True)
class MomentView:
    """day/_moment.html."""

    at: str  # when
    at_ms: int  # when, in milliseconds since midnight
    chosen: bool  # somebody chose the instant; else it is the one the verdict is about
    about: str  # a few words on why this instant is shown
    address: str  # where other instants are asked for
    page: str  # the page's address
    kept: dict[str, str]  # what else it says while one looks at another instant, by name
    earlier: str  # the page at the change before; empty if there is none
    earlier_at: str  # when that is
    later: str  # the page at the change after; empty if there is none
    later_at: str  # when that is
    typed: str  # what stands in the time field
    fault: str  # why what was typed is no time of this day; may be empty
    makers: tuple[Maker, ...]  # the certain ones first, the largest first
    rest: str  # who draws the rest that is one line there; may be empty
    parts: str  # what the volt-amperes are, where there are fewer than watts; may be empty
    mark: str  # classes that place the limit's mark
    total_w: str  # all of them together, in W
    total_va: str  # and in VA
    counted: str  # that with room for how far the figures may be off, and the limit it presses on
    room: str  # how much more there is room for
    energy: str  # charge and sun then; empty while they are not worked out
    may_start: tuple[str, ...]  # what may go on then
    count: int  # how many limits apply
    limits: tuple[Then, ...]  # every limit then; empty while they are folded
    limits_href: str  # the page with them unfolded
    starts: tuple[CouldStart, ...]  # what else could start then, tried one by one; empty while that is folded
    starts_unfolded: bool  # it is unfolded
    starts_href: str  # the page with that unfolded


def moment_view(about: About, inspection: Inspection, decisive: LimitReading) -> MomentView:
    """Lay out the chosen instant, or the one the verdict is about."""
    assessment, resolved = inspection.assessment, about.resolved
    chosen = about.at_ms is not None
    unfolded = EVERY_LIMIT in about.unfolded
    told = _told(about, decisive)
    at_ms = about.at_ms if about.at_ms is not None else _as_typed(inspection, told.at_ms)
    moment = inspection.at(at_ms, every_limit=unfolded)
    # The lowest charge comes of a whole day: nobody makes it at its instant, which is looked at as a chosen one is.
    as_chosen = chosen or decisive.charge is not None
    draws = moment.draws if as_chosen else told.contributors
    reading = _pressing(moment) if as_chosen else told.reading
    total_va = sum(one.va for one in draws)
    limit_va = reading.limit if reading.unit == "VA" and reading.direction == "ceiling" else 0.0
    whole = max(total_va, limit_va, 1.0) * 1.02
    rest = _rest(draws, whole)
    before, after = (_step(find, inspection.events_ms, moment.at_ms) for find in (previous_event, next_event))
    return MomentView(
        # What the verdict is about is told to the minute, as in its sentence; a chosen instant to the millisecond.
        at=(instant if chosen else clock)(resolved.frame, moment.at_ms),
        at_ms=moment.at_ms,
        chosen=chosen,
        about=words.limit_name(reading.id, resolved.household) if chosen else told.name,
        address=about.part("moment"),
        page=about.page,
        kept=about.kept,
        earlier=about.part("moment", at=before) if before is not None else "",
        earlier_at=instant(resolved.frame, before) if before is not None else "",
        later=about.part("moment", at=after) if after is not None else "",
        later_at=instant(resolved.frame, after) if after is not None else "",
        typed=about.typed_at or instant(resolved.frame, moment.at_ms),
        fault=about.fault_at,
        makers=_makers(about, assessment, draws, rest, whole),
        rest=_names_of(resolved, rest),
        parts=words.VA_PARTS if any(0 <= one.va < 0.97 * one.w for one in draws) else "",
        mark=place(limit_va / whole, 0) if limit_va else "",
        total_w=quantity(sum(one.w for one in draws), "W"),
        total_va=quantity(total_va, "VA"),
        counted=words.reading_phrase(reading),
        room=words.room_sentence(moment),
        energy=words.energy_at(assessment.battery, moment.at_ms) if assessment.battery is not None else "",
        may_start=tuple(words.may_start_sentence(one, resolved) for one in moment.may_start),
        count=len(assessment.limits),
        limits=tuple(_then(about, one) for one in moment.limits) if unfolded else (),
        limits_href=about.unfold(EVERY_LIMIT, "moment"),
        starts=tuple(_could_start(about, inspection, moment.at_ms)) if STARTS in about.unfolded else (),
        starts_unfolded=STARTS in about.unfolded,
        starts_href=about.unfold(STARTS, "moment"),
    )


def _could_start(about: About, inspection: Inspection, at_ms: int) -> Iterator[CouldStart]:
    """What "Switch on" says then of each appliance that is off, but for any-time loads, which are told apart."""
    resolved, told_apart = about.resolved, {load.appliance for load in inspection.assessment.any_time}
    if clock_of(resolved, at_ms) is None:
        return
    answers = switching(inspection, at_ms, but=told_apart)
    for one in answers.may:
        appliance = resolved.appliance(one.appliance)
        assert appliance is not None  # it came from this plan's own library
        odds = None
        if one.answer == "ask" and one.verdict == "chance" and one.limit is not None:
            odds = odds_of_run(inspection, one.appliance, at_ms, one.limit, length_s(appliance))
        yield CouldStart(
            name=appliance.name,
            verdict=COLOURS[one.answer],
            word=said.ANSWERS[one.answer],
            line=said.may_line(resolved, one, answers, anyway=is_broken_without(inspection, one, at_ms)),
            often=words.how_often_it_runs(odds, resolved.household) if odds is not None else "",
        )


def _rest(draws: tuple[Contributor, ...], whole: float) -> tuple[Contributor, ...]:
    """The small draws that are told as one; none where that would be a single one."""
    large = sorted((one for one in draws if abs(one.va) >= SMALL * whole), key=lambda one: -abs(one.va))
    named = {id(one) for one in large[:NAMED]}
    rest = tuple(one for one in draws if id(one) not in named and (one.va or one.w))
    return rest if len(rest) > 1 else ()


def _names_of(resolved: Resolved, rest: tuple[Contributor, ...]) -> str:
    """`Fridge 110 W 140 VA, Lights 40 W 40 VA`, the largest first."""

    def told(one: Contributor) -> str:
        appliance = resolved.appliance(one.appliance)
        return f"{appliance.name if appliance else one.appliance} {quantity(one.w, 'W')} {quantity(one.va, 'VA')}"

    return ", ".join(told(one) for one in sorted(rest, key=lambda one: -abs(one.va)))


def _makers(
    about: About, assessment: Assessment, draws: tuple[Contributor, ...], rest: tuple[Contributor, ...], whole: float
) -> tuple[Maker, ...]:
    """The draws, the small ones as one."""
    resolved = about.resolved
    small = {id(one) for one in rest}
    ordered = sorted((one for one in draws if one.va or one.w), key=lambda one: (not one.certain, -one.va))
    keys = behaviours(resolved) | {piece.appliance: "follow" for piece in assessment.pieces if piece.set_off}
    makers, so_far_va = [], 0.0
    for one in (one for one in ordered if id(one) not in small):
        appliance = resolved.appliance(one.appliance)
        stage = ", ".join(part for part in (one.stage or "", "starting" if one.starting else "") if part)
        makers.append(
            Maker(
                name=appliance.name if appliance else one.appliance,
                stage=stage,
                watts=quantity(one.w, "W"),
                volt_amperes=quantity(one.va, "VA"),
                colour=keys.get(one.appliance, "base"),
                hatched=not one.certain,
                place=place(so_far_va / whole, max(one.va, 0) / whole),
            )
        )
        so_far_va += max(one.va, 0)
    if rest:
        rest_w, rest_va = sum(one.w for one in rest), sum(one.va for one in rest)
        hatched = not all(one.certain for one in rest)
        bar = place(so_far_va / whole, max(rest_va, 0) / whole)
        more = Maker(f"{len(rest)} more", "", quantity(rest_w, "W"), quantity(rest_va, "VA"), "base", hatched, bar)
        makers.append(more)
    return tuple(makers)


class _Told(NamedTuple):
    """What the verdict's sentence tells of: when, which limit, how it stands then, and who makes it."""

    at_ms: int
    name: str
    reading: LimitThen | LimitReading
    contributors: tuple[Contributor, ...]


def _told(about: About, decisive: LimitReading) -> _Told:
    """The limit's tightest instant; where the time above a level decides, the one that presses most meanwhile."""
    household, heat = about.resolved.household, decisive.decided_by_time
    if heat is None:
        name = words.limit_name(decisive.id, household)
        return _Told(decisive.at_ms, name, decisive, decisive.contributors)
    then = LimitThen(decisive.id, "ceiling", heat.limit, heat.unit, heat.use, heat.limit - heat.use, True)
    return _Told(heat.at_ms, words.level_name(decisive, heat, household), then, heat.contributors)


def _step(find: Callable[[Instants, int], int | None], events_ms: Instants, at_ms: int) -> int | None:
    """The change before an instant, or after it; the last millisecond before another is none of its own."""
    found = find(events_ms, at_ms)
    while found is not None and found + 1 in events_ms:
        found = find(events_ms, found)
    return found


def _as_typed(inspection: Inspection, at_ms: int) -> int:
    """The minute an instant falls in if nothing changes in between, else the second, else the instant itself.

    A limit that moves is tightest in the last millisecond before a change, which nobody would type.
    """
    last_change_ms = previous_event(inspection.events_ms, at_ms + 1) or 0
    begins_ms = (at_ms - at_ms % whole_ms for whole_ms in (MINUTE_MS, SECOND_MS))
    return next((begin_ms for begin_ms in begins_ms if begin_ms >= last_change_ms), at_ms)


def _pressing(moment: Moment) -> LimitThen:
    """What the total presses on just then: with a start in progress the inverter's top, else what it carries."""
    starting = any(one.starting for one in moment.draws)
    found = moment.limit("inverter_overload" if starting else "inverter_apparent")
    assert found is not None  # every inverter has both
    return found


def _then(about: About, one: LimitThen) -> Then:
    return Then(
        name=words.limit_name(one.id, about.resolved.household),
        phrase=", ".join(part for part in (words.reading_phrase(one), words.limit_case(one.id)) if part),
        room=room_left(one.margin, one.unit),
        beyond=one.beyond,
    )
