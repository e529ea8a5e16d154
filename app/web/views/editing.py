"""What every editor's page shows around its forms: where one is, what it does to the plans, and the way back."""

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup

from app.charts.svg import hatch_svg
from app.engine.results import LADDER, Verdict
from app.store.history import Change
from app.store.steps import Steps
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.planned import planned
from app.web.views.head import PlanLink

SCREENS = {
    "day": "Day",
    "switch_on": "Switch on",
    "laundry": "Laundry day",
    "side_by_side": "Side by side",
    "appliances": "Appliances",
    "supply": "Supply",
    "site": "Household",
}


Kept = Literal["", "rest", "before"]


@dataclass(frozen=True, slots=True)
class Tab:
    """One screen to go to."""

    name: str  # its name
    href: str  # its address
    current: bool  # it is the one shown


@dataclass(frozen=True, slots=True)
class EffectView:
    """How one plan stands with the figures as they are."""

    name: str  # the plan's name
    href: str  # its page
    verdict: Verdict  # for the colour
    word: str  # how it stands
    was: str  # how it stood before the last change; empty if no other
    current: bool  # it is the open one


@dataclass(frozen=True, slots=True)
class BackView:
    """One step back, or forward again."""

    way: str  # undo or redo
    change: str  # id of the change it is about
    says: str  # what would be then


@dataclass(frozen=True, slots=True)
class WhoseView:
    """Whose figures an editor changes."""

    says: str  # whose they are
    alone: bool  # one plan's
    other: str  # the same page with the other figures
    other_says: str  # what that link says
    back: str  # the plan's what-if


@dataclass(frozen=True, slots=True)
class EditView:
    """layouts/edit.html."""

    title: str  # the screen's name
    household: str  # the household's name
    home: str  # the list of households
    tabs: tuple[Tab, ...]  # the screens
    here: str  # this page's address, without what is asked of it
    undo_href: str  # where steps go
    sentence: str  # what the open plan's verdict says
    effects: tuple[EffectView, ...]  # every plan
    steps: tuple[BackView, ...]  # back, and forward again
    notice: str  # one line of news; may be empty
    faults: tuple[str, ...]  # what is wrong beside no field of its own
    count: str  # how many fields do not work yet; empty if none
    locked: bool  # who looks may not change anything
    whose: WhoseView | None  # whose figures they are; none where that is no question
    tab: str  # a name for this rendering of the page
    revision: int  # the household's count of changes
    hatches: Markup  # what the drawings are filled with


@dataclass(frozen=True)
class Around:
    """What an editor's page is told of its surroundings.

    steps_to: where steps go. before: how plans stood before the last change, by key, as places on the ladder.
    whose: whose figures are edited.
    """

    tabs: tuple[Tab, ...]
    plans: tuple[PlanLink, ...]
    home: str
    here: str
    steps_to: str
    steps: Steps
    before: Mapping[str, int]
    locked: bool
    whose: WhoseView | None = None


def edit_view(
    stored: StoredHousehold,
    scenario: StoredScenario,
    title: str,
    about: Around,
    *,
    notice: str = "",
    faults: tuple[str, ...] = (),
    wrong: int = 0,
    kept: Kept = "",
) -> EditView:
    """Lay out what stands around an editor's forms. wrong: how many fields cannot be.

    kept: what was stored beside them; the `rest` of the same form, or another, `before` these were sent once more.
    """
    worked_out = planned(stored, scenario, with_sun=True)
    said = words.headline(worked_out.resolved, worked_out.assessment)
    word = words.verdict_word(worked_out.assessment.verdict)

    def step(way: str, change: Change | None, say: Callable[..., str]) -> tuple[BackView, ...]:
        if change is None:
            return ()
        return (BackView(way, change.id, say(change, stored, scenario, worked_out.resolved)),)

    return EditView(
        title=title,
        household=stored.household.name,
        home=about.home,
        tabs=about.tabs,
        here=about.here,
        undo_href=about.steps_to,
        sentence=said.rest if said.lead == f"{word}." else said.sentence,  # its word stands beside the plan's name
        effects=tuple(
            _effect(stored, plan, link, about.before) for plan, link in zip(stored.scenarios, about.plans, strict=True)
        ),
        steps=(
            *step("undo", about.steps.undo, words.what_undoing_does),
            *step("redo", about.steps.redo, words.what_it_did),
        ),
        notice=notice,
        faults=faults,
        count=_count(wrong, kept),
        locked=about.locked,
        whose=about.whose,
        tab=secrets.token_hex(8),
        revision=stored.revision,
        hatches=Markup(hatch_svg()),
    )


def _effect(stored: StoredHousehold, plan: StoredScenario, link: PlanLink, before: Mapping[str, int]) -> EffectView:
    verdict = planned(stored, plan, with_sun=True).assessment.verdict
    stood = before.get(plan.key)
    was = words.verdict_word(LADDER[stood]) if stood is not None and LADDER[stood] != verdict else ""
    return EffectView(plan.name, link.href, verdict, words.verdict_word(verdict), was, link.current)


_KEPT: dict[Kept, str] = {
    "": "{which} not work yet; nothing was stored.",
    "rest": "{which} not work yet and {wait}; the rest was stored.",
    "before": "{which} not work yet and {wait}; what was changed last is stored.",
}


def _count(wrong: int, kept: Kept) -> str:
    if not wrong:
        return ""
    which, wait = ("One figure does", "waits") if wrong == 1 else (f"{wrong} figures do", "wait")
    return _KEPT[kept].format(which=which, wait=wait)
