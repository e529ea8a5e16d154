"""Putting a run on a plan's day, and taking one off it."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from itertools import count
from typing import Any, ClassVar

from app.household.checks import run_path
from app.household.errors import Fault, HouseholdFaults
from app.store.commands.command import Command, Outcome, plan_of, run_of
from app.store.commands.refusing import with_run
from app.store.commands.runs import put, run_words, said_of
from app.store.stored import StoredHousehold, StoredScenario


@dataclass(frozen=True, kw_only=True)
class AddRun(Command):
    """Put a run on a plan's day, last among its runs; one that was there before goes to its old place.

    document: the run as the file has it; in a plan with a parent, what the plan says of it.
    run_id: None gives a fresh one, made of the appliance's id and never used before.
    """

    scenario_key: str
    document: dict[str, Any]
    run_id: str | None = None

    may_come_late: ClassVar[bool] = True

    def subject(self) -> tuple[str, str | None]:
        """The plan's runs; the run has no key before it is there."""
        return self.scenario_key, "runs"

    def on(self, current: StoredHousehold) -> Outcome:
        """The day with the run on it."""
        scenario = plan_of(current, self.scenario_key)
        where = f"scenarios[{current.scenarios.index(scenario)}].runs"
        run_id = self.run_id or fresh_id(current, self.document)
        if current.run(scenario, run_id) is not None:
            raise HouseholdFaults([Fault(where, f"there is a run {run_id!r} on this day already")])
        piece = put(current, scenario, run_id, self._document(current, scenario, run_id))
        following = with_run(current, scenario, run_id, piece)
        if following.run(scenario, run_id) is None:
            raise HouseholdFaults([Fault(where, "say which appliance runs, and from when")])
        inverse = RemoveRun(**self.next_envelope(), scenario_key=scenario.key, run_key=piece.key)
        words = run_words(following, scenario, run_id)
        carried_out = replace(self, run_id=run_id)
        return Outcome(following, (piece,), carried_out, inverse, words | {"run": piece.key}, words, scenario.key)

    def _document(self, current: StoredHousehold, scenario: StoredScenario, run_id: str) -> dict[str, Any]:
        if "id" in self.document:
            return self.document | {"id": run_id}
        # A patch is found by its name in the plan and needs no id in it.
        return self.document if len(current.lineage(scenario)) > 1 else {"id": run_id} | self.document


@dataclass(frozen=True, kw_only=True)
class RemoveRun(Command):
    """Take a run off a plan's day; in a plan with a parent the parent keeps it."""

    scenario_key: str
    run_key: str

    def subject(self) -> tuple[str, str | None]:
        """The run."""
        return self.run_key, None

    def on(self, current: StoredHousehold) -> Outcome:
        """The day without the run."""
        scenario = plan_of(current, self.scenario_key)
        run_id = run_of(current, scenario, self.run_key)
        parents = current.lineage(scenario)[1:2]
        if any(current.run(parent, run_id) for parent in parents):
            piece = put(current, scenario, run_id, None)
        else:
            piece = replace(current.pieces[self.run_key], removed=True, revision=current.revision + 1)
        try:
            following = current.with_plan(scenario, piece)
        except HouseholdFaults as refused:
            raise HouseholdFaults(list(why_needed(current, scenario, run_id)) or refused.faults) from refused
        inverse = AddRun(
            **self.next_envelope(), scenario_key=scenario.key, run_id=run_id, document=said_of(current, self.run_key)
        )
        words = run_words(current, scenario, run_id)
        return Outcome(following, (piece,), self, inverse, words, words | {"run": self.run_key}, scenario.key)


def fresh_id(current: StoredHousehold, document: dict[str, Any], given: Collection[str] = ()) -> str:
    """An id that no plan says or ever said anything about: a child's patch would change the run.

    given: ids of runs that are put on the day with it.
    """
    used = {piece.name for piece in current.pieces.values() if piece.kind == "run"} | set(given)
    used |= {run_id for one in current.household.scenarios for run_id in one.changes.runs}
    appliance = document.get("appliance")
    base = appliance[:90] if isinstance(appliance, str) and appliance else "run"
    return next(one for number in count(1) if (one := f"{base}-{number}") not in used)


def why_needed(current: StoredHousehold, scenario: StoredScenario, run_id: str) -> Iterator[Fault]:
    """Who cannot do without a run: runs that wait for it, and plans that change what they inherit."""
    names = {appliance.id: appliance.name for appliance in current.household.appliances}
    for one in current.standing_on(scenario):
        place = current.scenarios.index(one)
        plan = current.household.scenarios[place]
        elsewhere = "" if one is scenario else f" in the plan {one.name!r}"
        for number, run in enumerate(current.days[one.id].runs):
            if run.after == run_id:
                path = run_path(f"scenarios[{place}]", plan, number, run.id)
                name = names.get(run.appliance, run.appliance)
                yield Fault(
                    f"{path}.after", f"{name!r} at {run.start}{elsewhere} waits for this run; remove that first"
                )
        if one is not scenario and plan.changes.runs.get(run_id) is not None:
            path = run_path(f"scenarios[{place}]", plan, 0, run_id)
            yield Fault(path, f"the plan {one.name!r} changes this run; take that back, or the run off, there first")
