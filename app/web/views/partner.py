"""One plan for whoever lives with it: what is next, what is fine now, what had better wait, and the day in small."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from app.engine.answers import MaySwitch, Switching
from app.engine.rest import rest_of
from app.engine.results import Assessment, Verdict
from app.engine.sure import is_broken_without
from app.household.fields import wall_clock_s
from app.household.gaps import run_length_s
from app.household.resolve import Resolved
from app.web import words
from app.web.figures import clock, date, how_long
from app.web.now import Now
from app.web.tapped import AsTapped
from app.web.views.ask import AskView
from app.web.views.cautions import cautions_view
from app.web.views.switch_rows import NOT_WRONG, Rows
from app.web.words import partner as said
from app.web.words import switch_on as switching_words


@dataclass(frozen=True, slots=True)
class FineRow:
    """Something that is off."""

    id: str  # for the page: its place in the library
    name: str  # its name
    says: str  # until when, or from when
    note: str  # why, or what to mind; may be empty


@dataclass(frozen=True, slots=True)
class DayRow:
    """One run of the day."""

    at: str  # when it begins
    name: str  # of what
    until: str  # until when, or how long; empty where it has no length of its own
    state: str  # past, stopped, now or later


@dataclass(frozen=True, slots=True)
class PartnerView:
    """partner/page.html."""

    household: str  # the household's name
    plan: str  # the plan's name
    href: str  # this page, and nothing asked
    here: str  # this page with all that is asked
    mark: str  # a name for what is shown: another one is shown when this is another
    pending: bool  # sun and bank are not worked out yet
    day: str  # today
    at: str  # the time it was worked out for
    other_day: str  # that the plan is another day's; may be empty
    unknown: str  # that the charge is not known yet, or that there is none left; may be empty
    left_on: tuple[str, ...]  # what may be on since yesterday
    elsewhere: tuple[str, ...]  # what was tapped on on other plans
    verdict: Verdict  # the plan's, for the colour
    lead: str  # how today stands
    rest: str  # what is on, and what comes next
    trouble: str  # what to do where it does not fit; may be empty
    exactly: str  # how often that is, with its figures; may be empty
    knows: str  # what this page knows, and what not
    fine: tuple[FineRow, ...]  # what is fine to switch on now
    several: bool  # it is more than one, of which each was judged by itself
    night: str  # what has to be minded of it when people sleep; empty by day
    wait_for: tuple[FineRow, ...]  # what is not
    any_time: tuple[str, ...]  # when each any-time load may be on
    cautions: tuple[str, ...]  # what to mind
    runs: tuple[DayRow, ...]  # the day, the first run first
    bank: str  # how low the bank goes; may be empty
    dark: str  # what to do if it goes dark
    ask: AskView  # a question, and its answer


@dataclass(frozen=True, slots=True)
class GoneView:
    """partner/gone.html."""

    household: str  # the household's name
    href: str  # this page
    mark: str  # a name for what is shown
    says: str  # that the plan was deleted


@dataclass(frozen=True, slots=True)
class PartnerAround:
    """What the page is told of its surroundings. Fields as in `PartnerView`."""

    household: str
    plan: str
    href: str
    here: str
    mark: str
    left_on: tuple[str, ...]
    elsewhere: tuple[str, ...]


def partner_view(about: PartnerAround, today: AsTapped, now_then: Switching, now: Now, ask: AskView) -> PartnerView:
    """Lay out the page."""
    resolved, whole = today.worded, today.inspection.assessment
    # What is over by now is no trouble any more.
    assessment = rest_of(today.inspection, now_then.at_ms) if whole.verdict in ("chance", "over") else whole
    rows = Rows(today, now_then, now, NOT_WRONG)
    names = switching_words.short_names(resolved)
    on = [
        (names[one.appliance], one.done_ms)
        for one in now_then.on
        if not rows.is_base(one) and one.done_ms < resolved.frame.horizon_ms
    ]
    runs = list(_runs(today))
    later = [run for run in runs if run[0] > now_then.at_ms]
    begins = [run for run in later if run[0] == later[0][0]] if later else []
    following = ([names[run[2]] for run in begins], later[0][0]) if later else None
    turns = {appliance: begin_ms for begin_ms, _, appliance in reversed(later)}
    more = {row.appliance: row for group in rows.groups() for row in group.rows}
    fits = assessment.verdict in ("fits", "tight", "short_time")
    cautions = cautions_view(resolved, assessment)
    first = cautions.order
    # Of an any-time load its own sentence says enough, for a few minutes above a level are what that allows; or, where
    # the day so far is in the way, the list does. Never both: one of them would be wrong.
    waits = {
        one.appliance
        for one in now_then.may
        if more[one.appliance].answer != "go"
        and not (one.verdict == "short_time" and _is_time_for(assessment, one.appliance, now_then.at_ms))
    }
    return PartnerView(
        household=about.household,
        plan=about.plan,
        href=about.href,
        here=about.here,
        mark=about.mark,
        pending=not today.has_sun,
        day=switching_words.day_words(now.local),
        at=clock(resolved.frame, now_then.at_ms),
        unknown=switching_words.charge_note(
            resolved,
            today.charge_unknown_until(now_then.at_ms),
            today.dark_since_ms(now_then.at_ms),
            may_tell=False,
        ),
        left_on=about.left_on,
        elsewhere=about.elsewhere,
        other_day="" if today.is_of(now) else switching_words.OTHER_DAY.format(day=date(today.planned_for)),
        verdict=assessment.verdict,
        lead=said.lead(whole.verdict, assessment.verdict, tapped=bool(today.taps)),
        rest=said.headline(resolved, on, following),
        trouble="" if fits else f"{_why(resolved, assessment, is_whole=assessment is whole)} {said.TROUBLE}",
        exactly="" if fits else _exactly(resolved, assessment, is_whole=assessment is whole),
        knows=said.KNOWS,
        fine=tuple(
            FineRow(more[may.appliance].id, more[may.appliance].name, said.until(resolved, may), note)
            for may in now_then.may
            if more[may.appliance].answer == "go"
            for note in (_note(may, more[may.appliance].rest, assessment.verdict),)
        ),
        several=[one.answer for one in more.values()].count("go") > 1,
        night=said.at_night(now.clock_s),
        wait_for=tuple(
            FineRow(
                more[may.appliance].id,
                more[may.appliance].name,
                said.RESTS if may.answer == "go" else said.not_now(resolved, may, turns.get(may.appliance)),
                more[may.appliance].rest
                if may.answer == "go"
                else switching_words.reason(
                    resolved, may, now_then, anyway=is_broken_without(today.inspection, may, now_then.at_ms)
                ),
            )
            for may in now_then.may
            if may.appliance in waits
        ),
        any_time=tuple(
            words.any_time_sentence(one, resolved) for one in assessment.any_time if one.appliance not in waits
        ),
        cautions=cautions.texts,
        runs=tuple(_day_row(today, run, names, now_then.at_ms) for run in runs),
        bank=words.typical_sentence(resolved, assessment.battery) if assessment.battery is not None else "",
        dark=said.DARK.format(first=first) if first else said.DARK_ALL,
        ask=ask,
    )


def _is_time_for(assessment: Assessment, appliance: str, at_ms: int) -> bool:
    """It is an any-time load, and now is a time for it."""
    loads = (one for one in assessment.any_time if one.appliance == appliance)
    return any(not any(span.from_ms <= at_ms < span.to_ms for span in one.not_then) for one in loads)


def _why(resolved: Resolved, assessment: Assessment, *, is_whole: bool) -> str:
    found = words.headline(resolved, assessment, "day" if is_whole else "rest")
    return f"{found.rest} {found.why}".strip()


def _exactly(resolved: Resolved, assessment: Assessment, *, is_whole: bool) -> str:
    figure = words.exactly(words.decisive(assessment, resolved.day.wanted_margin), "day" if is_whole else "rest")
    return said.EXACTLY.format(figure=figure) if figure else ""


def _note(may: MaySwitch, rest: str, verdict: Verdict) -> str:
    # Where all of today is tight, that was said at the top.
    just = said.ONLY_JUST if may.verdict == "tight" and verdict == "fits" else ""
    return " ".join(part for part in (just, rest) if part)


def _runs(today: AsTapped) -> Iterator[tuple[int, int, str]]:
    """The day's runs in order: when each begins and ends, in ms since midnight, and the id of its appliance."""
    resolved = today.worded
    found = []
    for run in resolved.day.runs:
        appliance = resolved.appliance(run.appliance)
        if run.on and appliance is not None and not appliance.always_on:
            begin_ms = resolved.frame.at_ms(wall_clock_s(run.start))
            found.append((begin_ms, begin_ms + round(run_length_s(appliance, run) * 1000), run.appliance))
    return iter(sorted(found))


def _day_row(today: AsTapped, run: tuple[int, int, str], names: Mapping[str, str], at_ms: int) -> DayRow:
    frame = today.worded.frame
    begin_ms, end_ms, appliance = run
    state = "past" if end_ms <= at_ms else "now" if begin_ms <= at_ms else "later"
    until = how_long(frame, begin_ms, end_ms) if end_ms > begin_ms else ""
    off = ((names.get(tap.appliance), frame.at_ms(tap.clock_s)) for tap in today.beside.stopped.values())
    if state == "past" and (names[appliance], end_ms) in off:  # it is off, which is not to say that it is done
        state, until = "stopped", said.SWITCHED_OFF.format(at=clock(frame, end_ms))
    return DayRow(clock(frame, begin_ms), names[appliance], until, state)
