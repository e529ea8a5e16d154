"""A run that somebody stopped before its end: what ran of it."""

from collections.abc import Iterator

from app.household.appliance import Appliance, Stage
from app.household.resolve import Resolved
from app.household.scenario import Run


def cut_short(
    run: Run, length_s: float, appliance: Appliance, stand_in_id: str, resolved: Resolved
) -> tuple[Run, Appliance | None]:
    """A run that lasted only so long, and what it is a run of, where that is not the appliance itself.

    Only a run of one stage can say how long it is. Of a programme that was stopped on its way, what ran of it stands
    in under an id of its own, so that the past weighs on the inverter as it did.
    length_s: more than 0, and less than the whole run takes.
    """
    if len(appliance.stages) == 1 and not appliance.stages[0].water_l:
        return run.model_copy(update={"duration_s": length_s}), None
    stages = tuple(_until(appliance, length_s, resolved))
    stand_in = appliance.model_copy(update={"id": stand_in_id, "always_on": False, "stages": stages})
    return run.model_copy(update={"appliance": stand_in_id, "duration_s": None}), stand_in


def _until(appliance: Appliance, length_s: float, resolved: Resolved) -> Iterator[Stage]:
    left_s = length_s
    for stage in appliance.stages:
        whole_s = left_s if stage.duration_s is None else stage.duration_s
        ran_s = min(whole_s, left_s)
        if ran_s <= 0:
            return
        left_s -= ran_s
        called = [call for call in stage.sets_off if call.after_s < ran_s and _is_simple(resolved, call.appliance)]
        yield stage.model_copy(
            update={"duration_s": ran_s, "water_l": stage.water_l * ran_s / whole_s, "sets_off": tuple(called)}
        )


def _is_simple(resolved: Resolved, appliance_id: str) -> bool:
    """A programme of several stages may be set off by one only: by the appliance, and not by what stands in for it."""
    appliance = resolved.appliance(appliance_id)
    return appliance is not None and len(appliance.stages) == 1
