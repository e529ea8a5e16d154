"""Figures of a stage worked out of what people have: kilowatt-hours, a motor's plate, or what kind of machine it is."""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from app.household.answers import Answers
from app.household.beside_heat import MotorPart, motor_beside_heat, on_top
from app.household.errors import HouseholdFaults
from app.household.motors import (
    MACHINES,
    Machine,
    Starting,
    running_of_shaft,
    start_of_code_letter,
    start_of_locked_rotor,
    start_without_label,
)
from app.web.fields.appliance import ENERGY
from app.web.fields.customs import Customs
from app.web.fields.entry import Entry, Field
from app.web.fields.measure import plain
from app.web.fields.measures import PLAIN_WATTS
from app.web.fields.questions import MACHINE, PLATE, VOLTS_BESIDE
from app.web.fields.reading import Typed, place_faults, read_form
from app.web.figures import quantity

LARGEST_W = 1e6  # as a stage may have
_LETTER_ALONE = "The code letter counts by horsepower; give the motor's horsepower or kilowatts too."
_BOTH = "Give the watts or the kilowatt-hours, not both; one follows from the other."
_NO_LENGTH = "Say above for how long; kilowatt-hours make watts only over a time."


Messages = dict[str, tuple[str, ...]]

HEATS_TOO = Entry(
    "kind",
    "Does it heat as well, in this stage?",
    "A washing machine or a dryer: most of its watts are heat then, and only the motor starts.",
    choices=(
        ("", "not said"),
        ("motor", "no, the motor is all of it"),
        ("heats_and_motor", "yes, heat and a motor"),
    ),
)
MOTOR_ALONE = Entry(
    "watts", "The motor alone draws", "On a plate of its own, or on a meter while nothing heats.", PLAIN_WATTS,
    blank="not known",
)  # fmt: skip
START_HELP: tuple[Field, ...] = (HEATS_TOO, MOTOR_ALONE, *PLATE, VOLTS_BESIDE, MACHINE)


def start_help(customs: Customs) -> tuple[Field, ...]:
    """The same as they are shown: amperes without volts are at the volts of what the machine is on."""
    blank = "not said" if customs.other_volts else f"{plain(customs.volts)} V"
    at = {VOLTS_BESIDE.path: blank}
    return tuple(replace(one, blank=at.get(one.path, one.blank)) for one in START_HELP)


# Above what such a motor has by so much, or above this where its kind is not known, a power factor speaks of heat.
_BEYOND_ITS_KIND, _OF_NO_MOTOR = 0.1, 0.96


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

    What the rest of the machine draws comes on top. stage: as it is stored, in the file's words.
    """
    read = read_form(START_HELP, typed, Answers, customs)
    if read.messages:
        return None, read.messages
    given = {path[0]: value for path, value in read.changes if value not in (None, "")}
    machine: Machine = given.get("machine", "unknown")
    part, wrong = _motor_part(given, stage, machine)
    if part is None:
        return None, wrong
    try:
        start, wrong = _start_of_motor(given, part, machine, customs)
    except HouseholdFaults as refused:
        return None, place_faults(refused.faults, START_HELP, "", {})
    if start is None:
        return None, wrong
    told = replace(start, va=replace(start.va, how=f"{part.how} {start.va.how}"))
    return on_top(told, part.rest_w), {}


def _motor_part(
    given: Mapping[str, Any], stage: Mapping[str, Any], machine: Machine
) -> tuple[MotorPart | None, Messages]:
    """The motor's own part of what the stage draws; or what has to be said first, for no heater starts."""
    watts, power_factor = stage["watts"], stage.get("power_factor", 1)
    motor_w, shaft_w, kind = given.get("watts"), given.get("shaft_w"), given.get("kind")
    if motor_w is not None and motor_w > watts:
        why = f"The stage draws {quantity(watts, 'W')} in all; its motor alone cannot draw more."
        return None, {MOTOR_ALONE.path: (why,)}
    if kind == "heats_and_motor" or motor_w is not None:
        return motor_beside_heat(watts, machine, shaft_w=shaft_w, motor_w=motor_w), {}
    usual = _OF_NO_MOTOR if machine == "unknown" else MACHINES[machine].power_factor + _BEYOND_ITS_KIND
    if kind is None and power_factor > usual:
        why = (
            f"At a power factor of {plain(power_factor)} some of its {quantity(watts, 'W')} may be heat, which does not"
            " start. Say whether it heats as well."
        )
        return None, {HEATS_TOO.path: (why,)}
    if shaft_w is not None:
        running = running_of_shaft(shaft_w, machine)
        return MotorPart(running.va.value, 0.0, running.va.how), {}
    how = f"All of the {quantity(watts, 'W')} are taken for the motor’s."
    return MotorPart(watts / power_factor, 0.0, how), {}


def _start_of_motor(
    given: Mapping[str, Any], part: MotorPart, machine: Machine, customs: Customs
) -> tuple[Starting | None, Messages]:
    """The motor's own start: by its plate, else by its kind; or what is missing."""
    shaft_w = given.get("shaft_w")
    if "locked_rotor_a" in given:
        if "volts" not in given and customs.other_volts is not None:
            either = f"{plain(customs.volts)} or {plain(customs.other_volts)}"
            return None, {VOLTS_BESIDE.path: (f"Say at how many volts its plate is; yours may be {either}.",)}
        return start_of_locked_rotor(given["locked_rotor_a"], given.get("volts", customs.volts), machine), {}
    if "code_letter" in given:
        if shaft_w is None:
            return None, {"shaft_w": (_LETTER_ALONE,)}
        return start_of_code_letter(given["code_letter"], shaft_w, machine), {}
    return start_without_label(part.va, machine, shaft_w), {}


def start_figures(start: Starting, stage: Mapping[str, Any]) -> dict[str, float]:
    """A start as a stage has it; it draws at least what the stage draws."""
    running_va = stage["watts"] / stage.get("power_factor", 1)
    return {
        "va": max(round(start.va.value), math.ceil(running_va)),
        "power_factor": start.power_factor,
        "duration_s": start.duration_s,
    }
