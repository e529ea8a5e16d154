"""What can be undone and done again, and the line of news."""

from collections.abc import Callable
from dataclasses import dataclass

from app.store.history import Change
from app.store.steps import Steps
from app.web import words
from app.web.views.about import About
from app.web.words import gone


@dataclass(frozen=True, slots=True)
class StepView:
    """One step back, or forward again."""

    change: str  # id of the change it is about
    says: str  # what would be then
    action: str  # where the command goes


@dataclass(frozen=True, slots=True)
class StepsView:
    """day/_steps.html."""

    revision: int  # the household's count of changes, by which an answer that comes late is known
    notice: str  # one line of news; may be empty
    away_href: str  # where to go instead when this plan is there no more, or empty
    away: str  # what is there
    why_not: tuple[str, ...]  # why the last step could not be done
    undo: StepView | None  # the step back; None where there is none, or who looks may change nothing
    redo: StepView | None  # the step forward again
    tab: str  # a name for this page, for commands without a script
    open_run: str  # key of the run that is being moved, or empty


def steps_view(about: About, steps: Steps, why_not: tuple[str, ...]) -> StepsView:
    """Put the two steps into words; why_not: what was said of the last one if it could not be done."""
    return StepsView(
        revision=about.stored.revision,
        notice=about.notice,
        away_href="",
        away="",
        why_not=why_not,
        undo=_step(about, steps.undo, words.what_undoing_does, "undo"),
        redo=_step(about, steps.redo, words.what_it_did, "redo"),
        tab=about.tab,
        open_run=about.open_run,
    )


def without_plan(revision: int, name: str, away_href: str, away: str) -> StepsView:
    """What is said in place of a plan that was deleted, and where to go instead."""
    notice = gone.PLAN.format(name=name)
    return StepsView(revision, notice, away_href, away, (), None, None, "", "")


def _step(about: About, change: Change | None, say: Callable[..., str], address: str) -> StepView | None:
    if change is None:
        return None
    return StepView(change.id, say(change, about.stored, about.scenario, about.resolved), f"{about.page}/{address}")
