"""A plan with other runs, as it would be stored."""

from collections.abc import Iterable

from app.household.checks import check_plan
from app.household.errors import Faults
from app.household.resolve import Resolved, resolve
from app.household.scenario import Run
from app.household.single import single


def replanned(resolved: Resolved, runs: Iterable[Run]) -> Resolved:
    """The plan with these runs.

    Raises HouseholdFaults if there can be no such plan.
    """
    household = single(resolved, runs)
    faults, found = Faults(), resolve(household)
    check_plan(faults, found, "scenarios[0]", original=household)
    faults.raise_if_any()
    return found


def free_id(resolved: Resolved) -> str:
    """The id of a run that a plan does not have yet."""
    taken = {run.id for run in resolved.day.runs}
    return next(name for name in (f"trial {number}" for number in range(len(taken) + 1)) if name not in taken)
