"""What the search for a laundry day found: how far it is, the day beside today's, each load, and what to take."""

from collections.abc import Collection
from dataclasses import dataclass

from markupsafe import Markup

from app.charts.two_days import two_days_svg
from app.engine.results import Verdict
from app.engine.typical import typical_draw
from app.web.figures import clock, quantity
from app.web.laundry_day import Compared
from app.web.views.verdict import VerdictView, verdict_view
from app.web.words import laundry as words

NOTICED_WH = 5.0  # a smaller difference is none
NOTICED_SHARE = 0.005


@dataclass(frozen=True, slots=True)
class BothDays:
    """One figure of both days."""

    name: str  # of what
    was: str  # as the plan is
    then: str  # as it would be
    better: str  # `better`, `worse` or empty, for its colour and its word


@dataclass(frozen=True, slots=True)
class RowView:
    """One load of the day that was found."""

    id: str  # in the page
    key: str  # as it is sent
    name: str  # which
    was: str  # when it starts as the plan is; empty for a new one
    now: str  # when it would start; empty where it is left out
    reason: str  # why not earlier; may be empty
    stays: bool  # there is nothing to take
    ticked: bool  # it is to be taken
    fault: str  # why it cannot be taken so; may be empty


@dataclass(frozen=True, slots=True)
class EasingView:
    """One thing that would make a day possible."""

    says: str  # what
    verdict: Verdict  # of the day it leads to
    word: str  # the same in words
    href: str  # the page with that day


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a search is, over what it found."""

    lead: str  # which kind of day it is
    rest: str  # what that means
    notes: tuple[str, ...]  # what went other than it should
    job: str  # the job's key
    poll: str  # what is asked again while it goes on; empty where it does not
    refresh: str  # the same for who has no script
    can_stop: bool  # there is a button to stop it
    can_go_on: bool  # there is one to let it go on
    steer: str  # where these go
    wish: str  # what was asked for, as an address says it


@dataclass(frozen=True, slots=True)
class Taking:
    """What the form that takes a day sends."""

    action: str  # where
    wish: str  # what was asked for, as an address says it
    state: str  # a name for the plan the day was found for
    revision: int  # the household's count of changes
    tab: str  # a name for this rendering of the page
    looked: str  # what was ticked when it was looked at, a key a line; empty for never


@dataclass(frozen=True, slots=True)
class FoundView:
    """laundry/_found.html."""

    standing: Standing  # how far the search is
    verdict: VerdictView | None  # of the day that was found; None where there is none
    figures: tuple[BothDays, ...]  # both days in figures
    chart: Markup  # both days drawn
    rows: tuple[RowView, ...]  # load by load
    takes: str  # what taking it all does; empty where there is nothing to take yet
    part: str  # that only what is ticked is shown; empty where all is
    cannot: tuple[str, ...]  # why what is ticked cannot be without the rest
    taking: Taking | None  # the form; None where nothing may be taken
    easings: tuple[EasingView, ...]  # where there is no day, what would help


def figures_of(was: Compared, then: Compared) -> tuple[BothDays, ...]:
    """Both days in figures."""
    assert was.assessment.battery is not None
    assert then.assessment.battery is not None
    lows = was.assessment.battery.expected, then.assessment.battery.expected
    frame = was.resolved.frame
    done = tuple("nothing to do" if one.done_ms is None else clock(frame, one.done_ms) for one in (was, then))
    return (
        BothDays(
            "Lowest charge",
            words.lowest_words(lows[0], frame),
            words.lowest_words(lows[1], frame),
            _better(lows[1].state_of_charge - lows[0].state_of_charge, NOTICED_SHARE),
        ),
        BothDays(
            "Straight from the sun",
            quantity(was.straight_wh, "Wh"),
            quantity(then.straight_wh, "Wh"),
            _better(then.straight_wh - was.straight_wh, NOTICED_WH),
        ),
        BothDays(
            "Through the battery",
            quantity(was.through_wh, "Wh"),
            quantity(then.through_wh, "Wh"),
            _better(was.through_wh - then.through_wh, NOTICED_WH),
        ),
        BothDays(
            "Room left when it is tightest",
            words.share_words(was.tightest),
            words.share_words(then.tightest),
            _better(then.tightest - was.tightest, NOTICED_SHARE),
        ),
        BothDays("All of it done", done[0], done[1], ""),
    )


def chart_of(was: Compared, then: Compared) -> Markup:
    """Both days drawn over the sun."""
    assert then.assessment.battery is not None
    frame = was.resolved.frame
    label = f"Sun, demand as planned: {quantity(was.through_wh, 'Wh')} beyond the sun; as found: " + quantity(
        then.through_wh, "Wh"
    )
    return Markup(
        two_days_svg(
            then.assessment.battery, typical_draw(was.day.laid), typical_draw(then.day.laid), frame.day_ms, label
        )
    )


def verdict_of(then: Compared) -> VerdictView:
    """The verdict of the day that was found."""
    return verdict_view(then.resolved, then.assessment)


def takes_words(rows: Collection[RowView]) -> str:
    """What taking what is ticked does."""
    taken = [one for one in rows if one.ticked and not one.stays]
    added = sum(not one.was for one in taken)
    left_out = sum(not one.now for one in taken)
    return words.taken_sentence(len(taken) - added - left_out, added, left_out)


def _better(gain: float, noticed: float) -> str:
    if abs(gain) < noticed:
        return ""
    return "better" if gain > 0 else "worse"
