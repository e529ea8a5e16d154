"""Laundry day in words: what is wrong with a wish, how a search stands, why a run is where it is, what would help."""

from app.engine.charge import Lowest
from app.household.day import DayFrame
from app.household.household import Household
from app.household.resolve import Resolved
from app.planner.laundry.reasons import Reason
from app.web.figures import SPACE, clock, duration, number, quantity
from app.web.words.limits import limit_name
from app.web.words.plain import listed, sentence_case

GONE_LOAD = "a load that is left out"

# Whole sentences
CAUTION = "Never leave a washer or dryer running unattended or while you sleep just because the sun shines."
CHANGED = "The plan was changed meanwhile, so nothing was stored. Look again: what you wanted still stands below."
NOTHING_TICKED = "Nothing is ticked, so nothing was stored. Tick what you want to take."
UNTICKED = "It follows {other}, which is not ticked; tick that too."
PART = "This is how the day stands with what is ticked, and everything else as it was. Nothing is stored yet."
NO_WORKER = "The long search could not be started on this server. This is what a first look found."
BUSY = (
    "Several searches are waiting already, so this one has not begun. This is what a first look found; reload the"
    " page in a minute."
)
INTERRUPTED = "The search was interrupted and goes on from the best so far."
NO_ANSWER = "Nobody is working on the search just now; it is waiting for its turn."
FAILED = "The search ended by a fault of the program. What it had found by then is kept."
FIRST_LOOK = "A first look found no day yet; the search goes on."
NO_DAY = "No such day."
LOOKING = "Looking."
LEFT_OUT = "There are fewer loads of it now."
NOTHING_APART = "No machines are kept apart."
NOTHING_FOUND = "No day was found before the search ended. Let it go on, or ask for less."


def apart_words(household: Household) -> tuple[str, ...]:
    """Which machines are kept from running together, a sentence each; how a day is found keeps to it."""
    names = {one.id: one.name for one in household.appliances}
    told = []
    for one in household.interlocks:
        of = listed([names[each] for each in one.of if each in names])
        told.append(f"Never together: {of}." if one.at_most == 1 else f"At most {one.at_most} at once: {of}.")
    return tuple(told) or (NOTHING_APART,)


def load_name(name: str, place: int, of: int) -> str:
    """`Washing machine`, or one of several: `Washing machine 2`."""
    return name if of == 1 else f"{name} {place}"


def planned_words(starts: list[str]) -> str:
    """What the plan has of an appliance."""
    return f"in the plan at {listed(starts)}" if starts else "not in the plan"


def standing(state: str, *, proven: bool, stopped: bool, through_wh: float, bound_wh: float) -> tuple[str, str]:
    """Which kind of day it is: a word, and what that means.

    state: of the job. through_wh, bound_wh: through the battery, and what no day is below.
    """
    if proven:
        return "Proven.", "No day takes less through the battery."
    bound = quantity(bound_wh, "Wh")
    could = f"It takes {quantity(through_wh, 'Wh')} through the battery; no day can take less than {bound}."
    if state == "done" and stopped:
        return "Stopped.", f"This is the best found so far. {could}"
    if state in ("done", "failed"):
        return "Best found.", could
    return "Looking for better.", f"This is the best so far. {could}"


def reason_sentence(reason: Reason, resolved: Resolved, names: dict[str, str]) -> str:
    """Why a run is not ten minutes earlier. resolved: the proposed day. names: of its runs."""
    run = next(one for one in resolved.day.runs if one.id == reason.run)
    match reason.code:
        case "window":
            return f"Earlier is before it may run: from {run.window[0][:5] if run.window else '06:00'}."
        case "now":
            return "As soon as it can begin from now."
        case "quiet":
            return "Right after the quiet hours."
        case "order" if run.after is not None:
            within = f", at most {duration(run.within_s)} later" if run.within_s is not None else ""
            return f"It follows {names.get(run.after, 'another load')}{within}."
        case "order":
            return "Earlier, what follows it would come too late after it."
        case "machine":
            return "The machine is not free earlier."
        case "limit":
            what = limit_name(reason.limit or "", resolved.household)
            return f"Ten minutes earlier would be too much: {what}."
        case "bank":
            more = quantity(reason.after - reason.before, "Wh")
            return f"Ten minutes earlier would take {more} more through the battery."
        case "margin":
            then, now = (number(100 * share, 0) for share in (reason.after, reason.before))
            return f"Ten minutes earlier would leave only {then}{SPACE}% at the tightest moment, not {now}{SPACE}%."
        case _:
            return "Ten minutes earlier would do as well."


def lowest_words(lowest: Lowest, frame: DayFrame) -> str:
    """`41 % at Wed 06:50`."""
    return f"{number(100 * lowest.state_of_charge, 0)}{SPACE}% at {clock(frame, lowest.at_ms)}"


def share_words(share: float) -> str:
    """`12 %` of the inverter's watts."""
    return f"{number(100 * share, 0)}{SPACE}%"


def stuck_sentence(limit: str | None, runs: list[str], household: Household) -> str:
    """Why there is no day. runs: names of the loads that stand in each other's way."""
    if not runs:
        who = "These loads"
    elif len(runs) == 1:
        who = runs[0]
    else:
        who = f"{listed(runs)} together"
    verb = "does" if len(runs) == 1 else "do"
    if limit is None:
        return f"{who} {verb} not fit between the times you gave, one machine after the other."
    return f"{who} {verb} not fit: wherever they go, it is too much for this limit: {limit_name(limit, household)}."


def easing_sentence(kind: str, names: list[str], clock_text: str | None) -> str:
    """The smallest thing that would make a day possible. names: of the loads it is about."""
    match kind:
        case "leave_off":
            return f"Leave {listed(names)} out."
        case "done_by":
            return f"Let everything be done by {(clock_text or '')[:5]}."
        case "window":
            return f"Let {listed(names)} begin at {(clock_text or '')[:5]}, outside its own times."
        case "quiet":
            return "Leave out the quiet hours."
        case _:
            return "Allow a plan that could cut out."


def taken_sentence(moved: int, added: int, left_out: int) -> str:
    """What taking everything does: `Moves 4 runs and adds 1.`"""
    parts = [
        text
        for count, text in (
            (moved, f"moves {_runs(moved)}"),
            (added, f"adds {_runs(added)}"),
            (left_out, f"leaves {_runs(left_out)} out"),
        )
        if count
    ]
    return f"{sentence_case(listed(parts))}." if parts else "Everything stays where it is."


def _runs(count: int) -> str:
    return "1 run" if count == 1 else f"{count} runs"
