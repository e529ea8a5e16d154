"""A household with one run of one plan changed: for trying what would be, before anybody decides it."""

from typing import Any

from app.household.checks import with_plan
from app.household.household import Household
from app.household.merge import merge_patch


def with_run(household: Household, scenario_id: str, run_id: str, fields: dict[str, Any]) -> Household:
    """The household with some fields of a run given; a plan with a parent says so among its changes.

    Raises HouseholdFaults when that is not possible, StopIteration when there is no such plan.
    """
    place, plan = next((n, one) for n, one in enumerate(household.scenarios) if one.id == scenario_id)
    document = plan.document()
    if plan.parent is None:
        runs = [run | fields if run["id"] == run_id else run for run in document.get("runs") or []]
        return with_plan(household, place, document | {"runs": runs})
    patches = (document.get("changes") or {}).get("runs") or {}
    patch = merge_patch(patches.get(run_id) or {}, fields)
    changes = (document.get("changes") or {}) | {"runs": patches | {run_id: patch}}
    return with_plan(household, place, document | {"changes": changes})
