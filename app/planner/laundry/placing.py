"""A plan with runs placed at other times: laid on its day and assessed, without a household file in between."""

from collections.abc import Collection, Mapping
from dataclasses import replace

from app.engine.assess import assess_day
from app.engine.day import PlannedDay, lay_day
from app.engine.results import Assessment
from app.engine.sun import suns_of
from app.household.checks import check_plan
from app.household.errors import Faults
from app.household.resolve import Resolved


def placed(resolved: Resolved, starts: Mapping[str, str], off: Collection[str] = ()) -> Resolved:
    """The plan with some runs at other times, and some off."""
    runs = tuple(
        run.model_copy(update={"start": starts[run.id], "on": True} if run.id in starts else {"on": False})
        if run.id in starts or run.id in off
        else run
        for run in resolved.day.runs
    )
    return replace(resolved, day=replace(resolved.day, runs=runs))


def assessed(resolved: Resolved, *, closely: bool = True) -> tuple[PlannedDay, Assessment]:
    """Lay a plan on its day and assess it, as `assess` does.

    Raises HouseholdFaults where a machine would run into itself.
    """
    faults = Faults()
    check_plan(faults, resolved, "scenarios[0]", original=resolved.household)
    faults.raise_if_any()
    day = lay_day(resolved)
    return day, assess_day(day, suns_of(resolved), closely=closely)
