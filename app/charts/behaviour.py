"""Colour follows behaviour: a family each for always there, programmes, by hand, follow-ons."""

from app.household.resolve import Resolved

SHADES = 3
PROGRAMME_STAGES = 3


def behaviours(resolved: Resolved) -> dict[str, str]:
    """Each appliance's colour key: `base`, `prog1` to `prog3`, or `hand1` to `hand3`.

    A machine with three stages or more runs through a programme; what has fewer is used by hand. Within a
    family the shades go round in the library's order, counting only what this day runs, so that a day of few
    appliances shows neighbours apart. What something else sets off is drawn as `follow` wherever it appears.
    """
    placed = {run.appliance for run in resolved.day.runs}
    keys: dict[str, str] = {}
    counts = {"prog": 0, "hand": 0}
    for appliance in resolved.household.appliances:
        if appliance.always_on:
            keys[appliance.id] = "base"
            continue
        family = "prog" if len(appliance.stages) >= PROGRAMME_STAGES else "hand"
        keys[appliance.id] = f"{family}{counts[family] % SHADES + 1}"
        counts[family] += appliance.id in placed
    return keys
