"""What the page for one plan alone says: calm, and first of all what to do."""

from collections.abc import Sequence

from app.engine.answers import MaySwitch
from app.engine.results import Verdict
from app.household.resolve import Resolved
from app.web.figures import clock, clock_after
from app.web.words.plain import listed

NAMED_AT_MOST = 3
MINUTE_MS = 60_000

LEADS: dict[Verdict, str] = {
    "fits": "Today fits.",
    "tight": "Today fits, but only just.",
    "short_time": "Today fits, but some of it only for a while.",
    "chance": "Today could be too much.",
    "over": "Today is too much as planned.",
}
AS_IT_STANDS = "Today is too much as it stands."  # with what people tapped
LEFT: dict[Verdict, str] = {
    "fits": "What is left of today fits.",
    "tight": "What is left of today fits, but only just.",
    "short_time": "What is left of today fits, but some of it only for a while.",
    "chance": "What is left of today could be too much.",
}
EXACTLY = "To be exact: {figure}."
TROUBLE = "Ask whoever planned it before you switch on anything large."
KNOWS = "This page only shows; it switches nothing. It knows the plan and what people tapped, not the wires."
NOTHING_PLANNED = "Nothing is planned for today."
NO_MORE = "Nothing more is planned today."
DARK = "Switch off {first}. Wait 5 minutes, then switch on again. If it goes dark a second time, leave it off and call."
DARK_ALL = "Wait 5 minutes, then switch on again. If it goes dark a second time, leave it off and call."
ALL_DAY = "rest of the day"
SWITCHED_OFF = "switched off at {at}"
ONLY_JUST = "Only just."
AT_NIGHT = (
    "Fine for the supply; that is all this page knows. Never leave a washer, a dryer or anything that heats running"
    " while you sleep or are out."
)
NIGHT_FROM_S, NIGHT_TO_S = 20 * 3600, 6 * 3600  # on the clock: what is begun then may run while people sleep


def at_night(clock_s: int) -> str:
    """What has to be minded of what the supply bears late in the day; empty by day. clock_s: on the clock.

    >>> at_night(12 * 3600)
    ''
    >>> at_night(22 * 3600) == at_night(3 * 3600) == AT_NIGHT
    True
    """
    return "" if NIGHT_TO_S <= clock_s < NIGHT_FROM_S else AT_NIGHT


def lead(whole: Verdict, left: Verdict, *, tapped: bool) -> str:
    """How the day stands. left: what is left of it. tapped: people switched otherwise than planned."""
    if left == "over":
        return AS_IT_STANDS if tapped else LEADS[left]
    return LEADS[left] if left == whole else LEFT[left]


def headline(resolved: Resolved, on: Sequence[tuple[str, int]], following: tuple[Sequence[str], int] | None) -> str:
    """`Tumble dryer is on until 13:00. Next: Bread oven at 16:30.`

    on: the name of what a hand switched on, and when it is done, in ms since midnight. following: what begins next,
    and when.
    """
    said = []
    if on:
        first_ms = min(done_ms for _, done_ms in on)
        soonest = [name for name, done_ms in on if done_ms // MINUTE_MS == first_ms // MINUTE_MS]
        others = len(on) - len(soonest)
        also = f", {others} more for longer" if others else ""
        said.append(f"{_some(soonest)} {_are(soonest)} on until {clock(resolved.frame, first_ms)}{also}.")
    if following is not None:
        names, at_ms = following
        said.append(f"Next: {_some(names)} at {clock(resolved.frame, at_ms)}.")
    else:
        said.append(NO_MORE if on or resolved.day.runs else NOTHING_PLANNED)
    return " ".join(said)


def _some(names: Sequence[str]) -> str:
    if len(names) <= NAMED_AT_MOST:
        return listed(names)
    return f"{', '.join(names[:NAMED_AT_MOST])} and {len(names) - NAMED_AT_MOST} more"


def _are(names: Sequence[str]) -> str:
    return "is" if len(names) == 1 else "are"


def until(resolved: Resolved, may: MaySwitch) -> str:
    """How long something may still be begun: `until 13:00`, `rest of the day`."""
    if may.until_ms is None:
        return ALL_DAY
    return f"until {clock(resolved.frame, may.until_ms)}{' at least' if may.later_unknown else ''}"


RESTS = "in a few minutes"


def not_now(resolved: Resolved, may: MaySwitch, turn_ms: int | None) -> str:
    """What is said of something that should not go on now. turn_ms: when the plan has it next; None for not today."""
    if turn_ms is not None:
        return f"has its turn at {clock(resolved.frame, turn_ms)}"
    if may.until_ms is not None and may.then == "not_now":
        return f"ask first, and before {clock(resolved.frame, may.until_ms)}"
    if may.until_ms is not None:
        return f"{'fine' if may.then == 'go' else 'ask'} from {clock_after(resolved.frame, may.until_ms)}"
    if may.answer == "ask":
        return "ask first"
    return "not now" if may.later_unknown else "not today"
