"""A what-if on its page: what it is built on, what it has otherwise, and what can be done with it."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from app.engine.results import Verdict
from app.household.names import LONGEST_NAME, free_name
from app.household.whatif import plan_of_id
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.planned import planned
from app.web.views.transfer import ChangedGroup, StandView
from app.web.words import whatif as said

Addresses = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class DifferingView:
    """One thing the plan has otherwise."""

    id: str  # of its form in the page
    name: str  # what it is
    first: bool  # the row before is of another name
    button: str  # what the button says
    lines: tuple[str, ...]  # from what to what
    note: str  # what holds for all of it; may be empty
    path: str  # where the plan says so, as it is sent; empty where it cannot be taken back


@dataclass(frozen=True, slots=True)
class StandsView:
    """A plan, and how it stands."""

    name: str  # its name
    href: str  # its page
    verdict: Verdict  # for the colour
    word: str  # how it stands


@dataclass(frozen=True, slots=True)
class WayOn:
    """Something to change, or to look at."""

    name: str  # what the link says
    href: str  # where it leads
    help: str  # what is there


@dataclass(frozen=True, slots=True)
class WhatIfView:
    """whatif/page.html."""

    plan: str  # the plan's name
    ground: StandsView | None  # the plan it is built on; none for one that is built on the household
    own: StandsView  # the plan itself
    lead: str  # what the list below means
    differing: tuple[DifferingView, ...]  # what it has otherwise
    ways: tuple[WayOn, ...]  # what can be changed, and where
    looks: tuple[WayOn, ...]  # where it can be looked at
    real: str  # the page on which it is made real; empty where there is nothing to
    take_back: str  # where what is taken back goes
    begin: str  # where a new what-if goes
    typed: str  # the name that stands in its field
    at_most: int  # how many characters it may have
    messages: tuple[str, ...]  # why it could not begin
    built: tuple[StandsView, ...]  # what is built on this plan


@dataclass(frozen=True, slots=True)
class RealView:
    """whatif/real.html."""

    plan: str  # the plan's name
    says: str  # that there is nothing to do; may be empty
    stands: tuple[StandView, ...]  # how every plan stands before and after
    groups: tuple[ChangedGroup, ...]  # what would be another
    action: str  # where doing it goes; empty if there is nothing to do
    back: str  # the what-if's page
    keeps: str  # what stays as it is
    caution: str  # what it does not change


def what_if_view(
    stored: StoredHousehold,
    scenario: StoredScenario,
    pages: Mapping[str, str],
    addresses: Addresses,
    ways: Iterable[WayOn],
    looks: Iterable[WayOn],
    *,
    typed: str | None = None,
    messages: tuple[str, ...] = (),
) -> WhatIfView:
    """Lay out the page. pages: the what-if's page of each plan, by the plan's key. typed, messages: of a what-if that
    could not begin."""
    household = stored.household
    by_id = {one.id: one for one in stored.scenarios}
    plan = plan_of_id(household, scenario.id)
    rows = said.differing(household, scenario.id)
    ground = said.ground_name(household, scenario.id)
    own_supply = any(row.path is not None and row.path[0] in ("supply", "appliances") for row in rows)
    inherits = plan.parent is not None and any(
        one.changes.supply or one.changes.appliances
        for one in household.scenarios
        if by_id[one.id] in stored.lineage(scenario)
    )

    def stands(one: StoredScenario) -> StandsView:
        verdict = planned(stored, one, with_sun=True).assessment.verdict
        return StandsView(one.name, pages[one.key], verdict, words.verdict_word(verdict))

    return WhatIfView(
        plan=scenario.name,
        ground=None if plan.parent is None else stands(by_id[plan.parent]),
        own=stands(scenario),
        lead=(said.LEAD if rows else said.NOTHING).format(ground=ground),
        differing=tuple(
            DifferingView(
                id=f"differs-{place}",
                name=row.name,
                first=place == 0 or rows[place - 1].name != row.name,
                button=said.LEAVE_OUT if row.new else said.AS_IN.format(ground=ground),
                lines=row.lines,
                note=row.note.format(ground=ground),
                path="" if row.path is None else json.dumps(row.path),
            )
            for place, row in enumerate(rows)
        ),
        ways=tuple(ways),
        looks=tuple(looks),
        real=addresses["real"] if own_supply or inherits else "",
        take_back=addresses["take_back"],
        begin=addresses["begin"],
        typed=what_if_name(stored, scenario) if typed is None else typed,
        at_most=LONGEST_NAME,
        messages=messages,
        built=tuple(stands(by_id[one.id]) for one in household.scenarios if one.parent == scenario.id),
    )


def what_if_name(stored: StoredHousehold, scenario: StoredScenario) -> str:
    """A name that is free for a what-if built on a plan."""
    return free_name(f"What if, {scenario.name}", [one.name for one in stored.scenarios])
