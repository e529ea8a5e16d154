"""What an appliance draws, and what a circuit carries, in a line."""

from app.household.appliance import Appliance
from app.household.supply import Circuit
from app.web.figures import SPACE, duration, number, quantity


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


def rating_of(circuit: Circuit) -> str:
    """Its breaker and what its cable carries: `breaker C 20 A, cable for 27 A`; empty where neither is known."""
    parts = []
    if circuit.breaker_a is not None:
        parts.append(f"breaker {circuit.curve}{SPACE}{_amperes(circuit.breaker_a)}")
    if circuit.cable_a is not None:
        parts.append(f"cable for {_amperes(circuit.cable_a)}")
    return ", ".join(parts)


def _amperes(value: float) -> str:
    return f"{number(value, 0 if value == int(value) else 1)}{SPACE}A"
