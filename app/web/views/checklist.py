"""What is known of the supply, what is taken for granted, and what is not checked."""

from dataclasses import dataclass

from app.engine.results import Verdict
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.customs import customs_of
from app.web.doubts import assumed, doubted, known, unknown
from app.web.planned import planned


@dataclass(frozen=True, slots=True)
class AssumedItem:
    """A figure that was left out."""

    text: str  # which, and what is taken for it
    tried: str  # the worse one that was tried
    verdict: Verdict  # of the open plan then
    word: str  # how it would stand
    changes: bool  # that is another word than now


@dataclass(frozen=True, slots=True)
class ChecklistView:
    """What is known of the supply."""

    known: int  # figures that somebody gave
    count: int  # figures and limits nobody did
    unknown: tuple[str, ...]  # what is not checked, and why
    assumed: tuple[AssumedItem, ...]  # what is taken for granted; empty while it is folded
    unfolded: bool  # it was tried
    href: str  # this page with it tried


def checklist_view(
    stored: StoredHousehold, scenario: StoredScenario, now: Verdict, href: str, *, tried: bool
) -> ChecklistView:
    """Lay out what the open plan rests on, with what it has of its own.

    tried: with everything taken for granted tried with a worse value; that takes a while.
    """
    customs, household = customs_of(stored.household), planned(stored, scenario).resolved.household
    items = []
    for one in assumed(stored, scenario) if tried else ():
        if one.verdict is not None:
            text, worse = words.assumed_words(one.part, one.field, one.worse, customs)
            items.append(AssumedItem(text, worse, one.verdict, words.verdict_word(one.verdict), one.verdict != now))
    place = words.place_words(household.site)
    doubts = (words.doubt_named(one.part, one.field, one.value_v, one.bank_v) for one in doubted(household.supply))
    untold = (words.unknown_words(one.what, one.names) for one in unknown(household))
    missing = (*doubts, *([place] if place else []), *untold)
    return ChecklistView(known(household), len(missing), missing, tuple(items), tried, href)
