"""What an appliance draws, in a line."""

from app.household.appliance import Appliance
from app.web.figures import duration, quantity


def draws_of(appliance: Appliance) -> str:
    """What it draws and for how long, in a line."""
    stages = appliance.stages
    peak_w = max(stage.watts for stage in stages)
    parts = [f"up to {quantity(peak_w, 'W')}" if len(stages) > 1 else quantity(peak_w, "W")]
    starts = [stage.start.va for stage in stages if stage.start is not None]
    if starts:
        parts.append(f"starts with {quantity(max(starts), 'VA')}")
    length_s = sum(stage.duration_s or 0 for stage in stages)
    if appliance.always_on:
        parts.append("always on")
    elif length_s:
        parts.append(duration(length_s))
    if any(stage.cycle is not None for stage in stages):
        parts.append("comes and goes")
    if len(stages) > 1:
        parts.append(f"{len(stages)} stages")
    return ", ".join(parts)
