"""What may be switched on this minute: the answer first, then what is on, then everything else by its answer."""

import secrets
from dataclasses import dataclass

from app.engine.answers import Switching
from app.web.figures import clock, date
from app.web.night import LeftOn
from app.web.now import Now
from app.web.tapped import AsTapped, age_s
from app.web.views.ask import AskView
from app.web.views.plan_head import PlanHead
from app.web.views.switch_rows import Group, OnRow, Rows, Wrong
from app.web.words import sentence_case
from app.web.words import switch_on as said


@dataclass(frozen=True, slots=True)
class Figure:
    """One of the four large figures."""

    name: str  # of what
    value: str  # the figure
    unit: str  # its unit, and what it means
    short: bool  # there is too much


@dataclass(frozen=True, slots=True)
class LeftOnRow:
    """What may be on since yesterday, until somebody says that it is, or is not."""

    id: str  # what its row's parts are called by
    appliance: str  # which
    name: str  # its name
    line: str  # what is known of it


@dataclass(frozen=True, slots=True)
class SwitchOnView:
    """switch_on/page.html."""

    top: PlanHead  # whose household, which plan, and where else to go
    href: str  # this page, now, and nothing asked
    action: str  # where taps go
    here: str  # this page with all that is asked
    mark: str  # a name for what is shown: another one is shown when this is another
    pending: bool  # sun and bank are not worked out yet
    tab: str  # a name for this rendering of the page
    locked: bool  # who looks may not tap
    day: str  # today
    at: str  # the time it was worked out for
    looking: bool  # at another time than now
    other_day: str  # that the plan is another day's; may be empty
    unknown: str  # that the charge is not known yet, or that there is none left; may be empty
    left_on: tuple[LeftOnRow, ...]  # what may be on since yesterday
    elsewhere: tuple[str, ...]  # what was tapped on on other plans
    lead: str  # the answer
    rest: str  # until when, and then
    short: bool  # there is too much
    figures: tuple[Figure, ...]  # the four large ones
    legs: str  # what each leg has left, where there are two
    on: tuple[OnRow, ...]  # what a hand switched on
    always: tuple[OnRow, ...]  # what is always on, or comes by itself
    always_says: str  # how much that is
    always_open: bool  # there is something to see in it
    knows: str  # what this page knows, and what not
    taps_say: str  # what a tap does
    groups: tuple[Group, ...]  # what is off
    notes: tuple[str, ...]  # what was left out
    last: str  # who tapped last
    tapped: bool  # there is something to take back
    ask: AskView  # a question, and its answer
    faults: tuple[str, ...]  # what was refused, beside no row


@dataclass(frozen=True, slots=True)
class Around:
    """What the page is told of its surroundings. Fields as in `SwitchOnView`."""

    top: PlanHead
    href: str
    action: str
    here: str
    mark: str
    locked: bool
    left_on: tuple[LeftOn, ...]
    elsewhere: tuple[str, ...]


def switch_on_view(
    about: Around, today: AsTapped, switching: Switching, now: Now, ask: AskView, wrong: Wrong, *, looking: bool
) -> SwitchOnView:
    """Lay out the page. looking: at another time than now, so that nothing can be tapped."""
    resolved, room = today.worded, switching.room
    rows = Rows(today, switching, now, wrong)
    headline = said.room_headline(resolved, room)
    standing = [rows.on(one) for one in switching.on]
    hands = tuple(row for row, one in zip(standing, switching.on, strict=True) if not rows.is_base(one))
    base = tuple(row for row, one in zip(standing, switching.on, strict=True) if rows.is_base(one))
    groups = rows.groups()
    shown = {row.appliance for row in standing} | {row.appliance for group in groups for row in group.rows}
    return SwitchOnView(
        top=about.top,
        href=about.href,
        action=about.action,
        here=about.here,
        mark=about.mark,
        pending=not today.has_sun,
        tab=secrets.token_hex(8),
        locked=about.locked or looking,
        day=said.day_words(now.local),
        at=clock(resolved.frame, switching.at_ms),
        looking=looking,
        other_day="" if today.is_of(now) else said.OTHER_DAY.format(day=date(today.planned_for)),
        unknown=said.charge_note(
            resolved,
            today.charge_unknown_until(switching.at_ms),
            today.dark_since_ms(switching.at_ms),
            may_tell=not about.locked and not looking,
        ),
        left_on=tuple(LeftOnRow(rows.id_of(one.appliance), one.appliance, one.name, one.line) for one in about.left_on),
        elsewhere=about.elsewhere,
        lead=headline.lead,
        rest=headline.rest,
        short=room.least_w <= -said.LITTLE_W,
        figures=_figures(today, switching),
        legs=said.legs_line(room),
        on=hands,
        always=base,
        always_says=said.always_words(len(base)),
        always_open=any(row.back or row.faults for row in base),
        knows=said.KNOWS,
        taps_say=said.TAPS_SAY,
        groups=groups,
        notes=_notes(today),
        last=_last(today, now),
        tapped=bool(today.taps),
        ask=ask,
        faults=(*_impossible(today), *(() if wrong.appliance in shown else wrong.faults)),
    )


def _figures(today: AsTapped, switching: Switching) -> tuple[Figure, ...]:
    room = switching.room
    left = (("steady", room.room_w, "W"), ("for a start", room.room_va, "VA"), ("from the bank", room.room_a, "A"))
    figures = [Figure(name, *said.left_figure(value, unit), value < 0) for name, value, unit in left]
    known = today.charge_unknown_until(switching.at_ms) is None
    hours = said.reserve_figure(room.to_reserve_h, has_sun=today.has_sun, known=known)
    return (*figures, Figure("without sun", *hours, room.to_reserve_h == 0))


def _notes(today: AsTapped) -> tuple[str, ...]:
    names = said.short_names(today.plan)
    dropped = (said.LEFT_OUT.format(name=names[run.appliance], at=run.start[:5]) for run in today.beside.dropped)
    missing = (said.MISSING,) if today.beside.missing else ()
    return (*dropped, *missing)


def _impossible(today: AsTapped) -> tuple[str, ...]:
    reasons = (f"{sentence_case(fault.why)}." for fault in today.faults)
    return (said.IMPOSSIBLE, *reasons) if today.faults else ()


def _last(today: AsTapped, now: Now) -> str:
    if not today.taps:
        return said.NOBODY_TAPPED
    last = today.taps[-1]
    name = said.short_names(today.plan).get(last.appliance, last.appliance)
    return said.last_tap(name, last.who, age_s(last, now.utc), is_on=last.is_on)
