"""A household with some runs of one plan changed: for trying what would be, before anybody decides it."""

from collections.abc import Mapping
from typing import Any

from app.household.checks import with_plan
from app.household.household import Household
from app.household.merge import merge_patch


def with_run(household: Household, scenario_id: str, run_id: str, fields: dict[str, Any]) -> Household:
    """The household with some fields of a run given; a plan with a parent says so among its changes.

    Raises HouseholdFaults when that is not possible, StopIteration when there is no such plan.
    """
    return with_runs(household, scenario_id, {run_id: fields})


def with_runs(household: Household, scenario_id: str, fields: Mapping[str, dict[str, Any]]) -> Household:
    """The same with fields of several runs, by their ids, all at once."""
    place, plan = next((n, one) for n, one in enumerate(household.scenarios) if one.id == scenario_id)
    document = plan.document()
    if plan.parent is None:
        runs = [run | fields.get(run["id"], {}) for run in document.get("runs") or []]
        return with_plan(household, place, document | {"runs": runs})
    patches = dict((document.get("changes") or {}).get("runs") or {})
    for run_id, given in fields.items():
        patches[run_id] = merge_patch(patches.get(run_id) or {}, given)
    changes = (document.get("changes") or {}) | {"runs": patches}
    return with_plan(household, place, document | {"changes": changes})
