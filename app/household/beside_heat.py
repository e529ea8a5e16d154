"""The motor of a machine that heats as well: its own part of the watts, and its start on top of the heat."""

from dataclasses import dataclass

from app.household.guesses import MOTOR_BESIDE_HEAT
from app.household.motors import MACHINES, Derived, Machine, Starting, running_of_shaft


@dataclass(frozen=True, slots=True)
class MotorPart:
    """What of a machine's draw is its motor.

    va: the motor's own while it runs. rest_w: what the rest draws meanwhile. how: how that was told, a sentence.
    """

    va: float
    rest_w: float
    how: str


def motor_beside_heat(
    watts: float, machine: Machine, *, shaft_w: float | None = None, motor_w: float | None = None
) -> MotorPart:
    """The motor in a machine of so many watts that heats too: by its own watts, else its shaft, else a usual share.

    motor_w: what the motor alone draws. shaft_w: its horsepower, or the kilowatts on its plate.
    """
    power_factor = MACHINES[machine].power_factor
    if motor_w is not None:
        rest_w = max(watts - motor_w, 0.0)
        how = f"The motor alone draws {motor_w:.0f} W, the rest of the machine {rest_w:.0f} W."
        return MotorPart(motor_w / power_factor, rest_w, how)
    if shaft_w is not None:
        running = running_of_shaft(shaft_w, machine)
        rest_w = max(watts - running.watts.value, 0.0)
        how = f"{running.watts.how} The rest of the machine draws {rest_w:.0f} W."
        return MotorPart(min(running.va.value, watts), rest_w, how)
    share_w = min(watts * MOTOR_BESIDE_HEAT.share, MOTOR_BESIDE_HEAT.most_w)
    return MotorPart(share_w / power_factor, watts - share_w, f"{MOTOR_BESIDE_HEAT.why}: {share_w:.0f} W of it.")


def on_top(start: Starting, rest_w: float) -> Starting:
    """A start while the rest of the machine goes on: the plain sum, which is never too little."""
    if not rest_w:
        return start
    va = start.va
    total_va = va.value + rest_w
    how = f"{va.how} With the {rest_w:.0f} W that heat meanwhile it is {total_va:.0f} VA."
    total = Derived(total_va, va.spread * va.value / total_va, va.kind, va.source, how)
    power_factor = (va.value * start.power_factor + rest_w) / total_va
    return Starting(total, round(power_factor, 2), start.duration_s)
