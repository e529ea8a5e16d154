"""What a plan has otherwise than what it is built on: told, changed, and made real.

A what-if says only what it changes (`Changes`), so that all else follows the plan or the household below it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from app.household.carrying import carried
from app.household.differences import Difference, differences
from app.household.household import Household
from app.household.merge import merge_diff, merge_kept, merged_patches
from app.household.resolve import Resolved, resolve
from app.household.scenario import Scenario
from app.household.single import single

Json = dict[str, Any]
ChangePath = tuple[str, ...]


@dataclass(frozen=True)
class Ground:
    """What a plan is built on, as it is without the plan's own changes.

    parent: the plan it is built on; None for the household itself. supply, appliances: as they are there; appliances
    by id, as the file has them.
    """

    parent: Scenario | None
    supply: Json
    appliances: dict[str, Json]


def ground_of(household: Household, scenario_id: str) -> Ground:
    """What a plan is built on.

    Raises HouseholdFaults, StopIteration for a plan that is not there.
    """
    plan = plan_of_id(household, scenario_id)
    below = household if plan.parent is None else resolve(household, plan.parent).household
    parent = None if plan.parent is None else plan_of_id(household, plan.parent)
    return Ground(parent, below.supply.document(), {one.id: one.document() for one in below.appliances})


def plan_of_id(household: Household, scenario_id: str) -> Scenario:
    """The plan of an id as the file has it, or StopIteration."""
    return next(one for one in household.scenarios if one.id == scenario_id)


def with_and_without(household: Household, scenario_id: str) -> tuple[Household, Household]:
    """The plan alone in its household, without what it changes and with it; under its own name in both.

    Without a parent its runs and its day are its own, so that only supply and library differ.
    """
    plan, mine = plan_of_id(household, scenario_id), resolve(household, scenario_id)
    if plan.parent is None:
        below = Resolved(household, mine.day, mine.frame)
    else:
        there = resolve(household, plan.parent)
        day = replace(there.day, scenario_id=mine.day.scenario_id, name=mine.day.name)
        below = Resolved(there.household, day, there.frame)
    return single(below), single(mine)


def what_differs(household: Household, scenario_id: str) -> tuple[Difference, ...]:
    """Everything in which a plan differs from what it is built on, figure by figure.

    Paths begin with `supply`, `appliances` or `scenarios`, then the thing's id, as those of two whole households do.
    """
    return differences(*with_and_without(household, scenario_id))


def said_at(plan: Scenario, difference: Difference) -> ChangePath | None:
    """Where among a plan's changes it says what makes a difference; None for what is its own and nobody else's, as
    its date.

    Of the supply the least that can be taken back alone: a list, as circuits, is one value.
    """
    match difference.path:
        case ("supply", *rest):
            return ("supply", *_told(plan.changes.supply, [str(step) for step in rest]))
        case ("appliances", str(appliance_id), *_):
            return ("appliances", appliance_id)
        case ("scenarios", _, "runs", str(run_id), *_) if plan.parent is not None:
            return ("runs", run_id)
        case ("scenarios", _, str(field), *_) if plan.parent is not None and field not in ("date", "name", "runs"):
            return ("day", field)
        case _:
            return None


def _told(patch: Any, path: Iterable[str]) -> list[str]:
    """As much of a path as a patch follows."""
    told: list[str] = []
    for step in path:
        if not isinstance(patch, dict) or step not in patch:
            break
        told.append(step)
        patch = patch[step]
    return told


def supply_patch(plan: Scenario, ground: Ground, supply: Json) -> Json:
    """The merge patch that makes a plan's supply what is wanted; what the plan said before and still holds stays said,
    though the ground has come to say the same."""
    return merged_patches(merge_kept(plan.changes.supply, supply), merge_diff(ground.supply, supply))


def own_appliances(plan: Scenario, ground: Ground, given: Iterable[Json]) -> list[Json]:
    """A plan's own appliances with some given anew; one that is as on the ground is no change and goes."""
    entries = {str(one["id"]): one for one in plan.changes.appliances}
    for entry in given:
        entries[entry["id"]] = entry
        if ground.appliances.get(entry["id"]) == entry:
            del entries[entry["id"]]
    return list(entries.values())


def without(changes: Json, path: ChangePath) -> Json | None:
    """A plan's changes without what is said at a path, and without what held nothing else; None if nothing is said
    there. What is said of runs is kept elsewhere."""
    step, *rest = path
    if step not in changes:
        return None
    if step == "appliances":
        entries = [one for one in changes[step] if one["id"] != rest[0]]
        left: Any = entries if len(entries) < len(changes[step]) else None
    elif rest:
        left = without(changes[step], tuple(rest)) if isinstance(changes[step], dict) else None
    else:
        left = {}
    if left is None:
        return None
    return changes | {step: left} if left else {name: value for name, value in changes.items() if name != step}


def made_real(household: Household, scenario_id: str, document: Json) -> Json:
    """The household's file with a plan's supply and library as its own.

    document: the file as it is. The plan, and those it is built on, then say nothing more about supply and library, for
    what they said is so. Its runs and its day stay its own. Other plans keep what they say; their own lists come along.
    """
    real, line = resolve(household, scenario_id).household, _line(household, scenario_id)
    present, supply = household.supply.document(), real.supply.document()
    appliances = [one.document() for one in real.appliances]
    before = {one["id"]: one for one in document["appliances"]}
    after = document | {
        # What is the same stays exactly as it was written.
        "supply": {
            name: document["supply"][name] if present.get(name) == value else value for name, value in supply.items()
        },
        "appliances": [
            before[one["id"]] if one["id"] in before and one == _document_of(household, one["id"]) else one
            for one in appliances
        ],
        "scenarios": [_as_real(plan) if plan["id"] in line else plan for plan in document["scenarios"]],
    }
    return carried(document, after)


def _line(household: Household, scenario_id: str) -> set[str]:
    found: set[str] = set()
    wanted: str | None = scenario_id
    while wanted is not None and wanted not in found:
        found.add(wanted)
        wanted = plan_of_id(household, wanted).parent
    return found


def _document_of(household: Household, appliance_id: str) -> Json | None:
    return next((one.document() for one in household.appliances if one.id == appliance_id), None)


def _as_real(plan: Json) -> Json:
    changes = {
        name: value for name, value in (plan.get("changes") or {}).items() if name not in ("supply", "appliances")
    }
    if changes:
        return plan | {"changes": changes}
    return {name: value for name, value in plan.items() if name != "changes"}
