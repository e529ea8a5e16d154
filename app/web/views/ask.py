"""A question about one appliance, and what is answered: nothing is stored."""

from dataclasses import dataclass, replace

from app.engine.answers import MaySwitch, Switching
from app.engine.run_odds import odds_of_run
from app.engine.switching import length_s
from app.web.figures import clock
from app.web.tapped import AsTapped
from app.web.views.resting import Resting, answer_line
from app.web.words import NOT_BY_VOLTS, exactly_it_runs, how_often_it_runs
from app.web.words import switch_on as said


@dataclass(frozen=True, slots=True)
class Choice:
    """One appliance to ask about."""

    id: str  # of the appliance
    name: str  # its name
    chosen: bool  # it was asked about


@dataclass(frozen=True, slots=True)
class Answered:
    """What is answered to a question."""

    answer: str  # go, ask or not_now; empty where it is none of these
    word: str  # the same in words; empty with it
    line: str  # all of it but the word
    figures: tuple[str, ...]  # what is behind it, a sentence each
    by_odds: bool  # they say how often something comes


@dataclass(frozen=True, slots=True)
class AskView:
    """switch_on/_ask.html."""

    choices: tuple[Choice, ...]  # what may be asked about
    at: str  # the time of day that is looked at; empty for now
    start: str  # the time that was typed; may be empty
    name: str  # of what was asked; may be empty
    when: str  # when it would begin
    answered: Answered | None  # the answer; None where nothing is asked, or wrong
    fault_run: str  # what is wrong with what was chosen
    fault_start: str  # what is wrong with the time


def ask_view(
    today: AsTapped,
    switching: Switching,
    chosen: str,
    start: str,
    fault_run: str = "",
    fault_start: str = "",
    at: str = "",
) -> AskView:
    """What may be asked, and what the answer is.

    switching: at the time asked about. chosen: what is asked about. at: the time of day that is looked at.
    """
    resolved = today.worded
    asked = resolved.appliance(chosen)
    choices = tuple(
        Choice(one.id, one.name, one.id == chosen)
        for one in resolved.household.appliances
        if not one.always_on and one.id not in today.by_itself and one.id not in today.beside.stand_ins
    )
    when = f"at {clock(resolved.frame, switching.at_ms)}" if start or at else "now"
    view = AskView(choices, at, start, asked.name if asked else "", when, None, fault_run, fault_start)
    if asked is None or fault_run or fault_start:
        return view
    may = next((one for one in switching.may if one.appliance == chosen), None)
    if may is not None:
        rests = Resting(today, switching.at_ms).until(chosen)
        answer, line = answer_line(today, may, switching, rests)
        figures = (*((said.RESTS.format(at=rests),) if rests else ()), *said.may_figures(resolved, may))
        often = _how_often(today, may, switching.at_ms)
        answered = Answered(answer, said.ANSWERS[answer], line, (*figures, *often), bool(often))
        return replace(view, answered=answered)
    is_there = any(one.appliance == chosen and not one.by_itself for one in switching.on)
    at = clock(resolved.frame, switching.at_ms)
    can_be_asked = any(one.chosen for one in choices)
    text = (said.IS_ON if is_there and can_be_asked else said.NOT_ASKED).format(name=asked.name, at=at)
    return replace(view, answered=Answered("", "", text, (), by_odds=False))


def _how_often(today: AsTapped, may: MaySwitch, at_ms: int) -> tuple[str, ...]:
    """Of what could cut out: how often it would, as expected; nothing of others."""
    if may.answer != "ask" or may.verdict != "chance" or may.limit is None:
        return ()
    resolved = today.beside.resolved
    appliance = resolved.appliance(may.appliance)
    assert appliance is not None  # it was answered for
    odds = odds_of_run(today.inspection, may.appliance, at_ms, may.limit, length_s(appliance))
    if odds is None:
        return (NOT_BY_VOLTS,) if may.limit == "cold_restart" else ()
    return tuple(filter(None, (how_often_it_runs(odds, resolved.household), exactly_it_runs(odds))))
