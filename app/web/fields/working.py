"""Figures of a stage worked out of what people have: kilowatt-hours, a motor's plate, or what kind of machine it is."""

import math
from collections.abc import Mapping
from typing import Any

from app.household.answers import Answers
from app.household.errors import HouseholdFaults
from app.household.motors import (
    Starting,
    running_of_shaft,
    start_of_code_letter,
    start_of_locked_rotor,
    start_without_label,
)
from app.web.fields.appliance import ENERGY
from app.web.fields.customs import Customs
from app.web.fields.entry import Field
from app.web.fields.questions import MACHINE, PLATE, VOLTS_BESIDE
from app.web.fields.reading import Typed, place_faults, read_form
from app.web.figures import quantity

LARGEST_W = 1e6  # as a stage may have
_LETTER_ALONE = "The code letter counts by horsepower; give the motor's horsepower or kilowatts too."
_BOTH = "Give the watts or the kilowatt-hours, not both; one follows from the other."
_NO_LENGTH = "Say above for how long; kilowatt-hours make watts only over a time."

Messages = dict[str, tuple[str, ...]]
START_HELP: tuple[Field, ...] = (*PLATE, VOLTS_BESIDE, MACHINE)


def watts_of_energy(
    typed: Typed, stage: Mapping[str, Any], customs: Customs, *, watts_too: bool
) -> tuple[float | None, Messages]:
    """The watts that use so many kilowatt-hours over a stage; or what is wrong. None where no energy was typed.

    stage: as it is with everything else that was typed. What comes and goes draws it only while it is on.
    watts_too: the watts were changed in the same form.
    """
    read = read_form((ENERGY,), typed, Answers, customs)
    if read.messages or not read.changes or read.changes[0][1] is None:
        return None, read.messages
    duration_s = stage.get("duration_s")
    if watts_too or not duration_s:
        return None, {ENERGY.path: (_BOTH if watts_too else _NO_LENGTH,)}
    watts = read.changes[0][1] * 3600 / duration_s
    cycle = stage.get("cycle") or {}
    if cycle.get("on_s") and cycle.get("period_s"):
        watts *= cycle["period_s"] / cycle["on_s"]
    if watts > LARGEST_W:
        return None, {ENERGY.path: (f"That would be {quantity(watts, 'W')}; check it, and for how long.",)}
    return (round(watts) if watts >= 10 else round(watts, 3)), {}


def start_worked_out(typed: Typed, stage: Mapping[str, Any], customs: Customs) -> tuple[Starting | None, Messages]:
    """The start that a motor's plate says, else what its kind makes of what it draws; or what is wrong.

    stage: as it is stored, in the file's words.
    """
    read = read_form(START_HELP, typed, Answers, customs)
    if read.messages:
        return None, read.messages
    given = {path[0]: value for path, value in read.changes if value is not None}
    machine, shaft_w = given.get("machine", "unknown"), given.get("shaft_w")
    running_va = stage["watts"] / stage.get("power_factor", 1)
    try:
        if "locked_rotor_a" in given:
            volts = given.get("volts", customs.volts)
            return start_of_locked_rotor(given["locked_rotor_a"], volts, machine), {}
        if "code_letter" in given:
            if shaft_w is None:
                return None, {"shaft_w": (_LETTER_ALONE,)}
            return start_of_code_letter(given["code_letter"], shaft_w, machine), {}
    except HouseholdFaults as refused:
        return None, place_faults(refused.faults, START_HELP, "", {})
    if shaft_w is not None:
        running_va = running_of_shaft(shaft_w, machine).va.value
    return start_without_label(running_va, machine, shaft_w), {}


def start_figures(start: Starting, stage: Mapping[str, Any]) -> dict[str, float]:
    """A start as a stage has it; it draws at least what the stage draws."""
    running_va = stage["watts"] / stage.get("power_factor", 1)
    return {
        "va": max(round(start.va.value), math.ceil(running_va)),
        "power_factor": start.power_factor,
        "duration_s": start.duration_s,
    }
