"""A plan taken out of its household: nothing inherited, no other plan beside it, and other runs if wanted."""

from collections.abc import Iterable

from app.household.household import Household
from app.household.resolve import DAY_FIELDS, Resolved
from app.household.scenario import Run, Scenario


def single(resolved: Resolved, runs: Iterable[Run] | None = None) -> Household:
    """The household with this plan as its only one, its parents' sayings its own.

    runs: the plan's, if they are to be others; they are not checked.
    """
    day = resolved.day
    plan = Scenario(
        id=day.scenario_id,
        name=day.name,
        date=day.date,
        off=day.off,
        runs=day.runs if runs is None else tuple(runs),
        **{field: getattr(day, field) for field in DAY_FIELDS},
    )
    return resolved.household.model_copy(update={"scenarios": (plan,)})
