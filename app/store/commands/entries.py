"""What stands in the way of an entry of the library: a name that is taken, runs of what is to be always on."""

from collections.abc import Iterator
from typing import Any

from app.household.errors import Fault, HouseholdFaults
from app.household.household import Household
from app.household.names import same_name, taken_words
from app.store.stored import StoredHousehold


def names_of_appliances(household: Household) -> Iterator[tuple[str, str]]:
    """Id and name of every appliance, those too that only a plan brings."""
    yield from ((one.id, one.name) for one in household.appliances)
    for plan in household.scenarios:
        yield from ((str(entry.get("id")), str(entry.get("name"))) for entry in plan.changes.appliances)


def refuse_what_is_in_the_way(current: StoredHousehold, appliance_id: str, document: Any) -> None:
    """Refuse what no look at the entry alone can tell. document: the entry as it is to be.

    Raises HouseholdFaults.
    """
    place, present = next((n, one) for n, one in enumerate(current.household.appliances) if one.id == appliance_id)
    wanted = document if isinstance(document, dict) else {}
    name = wanted.get("name")
    if isinstance(name, str) and name != present.name:
        taken = [other for one, other in names_of_appliances(current.household) if one != appliance_id]
        if any(same_name(name, other) for other in taken):
            raise HouseholdFaults([Fault(f"appliances[{place}].name", taken_words("appliance", name, taken))])
    if wanted.get("always_on") is True and not present.always_on and (where := _with_runs(current, appliance_id)):
        plans = "the plan" if len(where) == 1 else "the plans"
        why = f"what is always on has no runs; take those in {plans} {' and '.join(where)} off first"
        raise HouseholdFaults([Fault(f"appliances[{place}].always_on", why)])


def _with_runs(current: StoredHousehold, appliance_id: str) -> list[str]:
    """The plans that have runs of it, each with when they start; not those that only inherit them."""
    brings = {one.id: {entry.get("id") for entry in one.changes.appliances} for one in current.household.scenarios}
    found = []
    for plan in current.scenarios:
        line = current.lineage(plan)
        if any(appliance_id in brings[one.id] for one in line):
            continue  # it has figures of its own there
        runs = [[run for run in current.days[one.id].runs if run.appliance == appliance_id] for one in line[:2]]
        inherited = {run.id for run in runs[1]} if len(runs) > 1 else set()
        if starts := [_face(run.start) for run in runs[0] if run.id not in inherited]:
            found.append(f"{plan.name!r} (at {' and '.join(starts)})")
    return found


def _face(start: str) -> str:
    """A start without its seconds where there are none."""
    return start.removesuffix(":00") if start.count(":") == 2 else start
