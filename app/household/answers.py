"""The answers to the three questions, read and checked: what is it, what does its label say, has it a motor."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from annotated_types import Ge, Gt, Le
from pydantic import ValidationError

from app.household.errors import Fault, Faults, HouseholdFaults
from app.household.fields import CycleSeconds, Number, Part, Positive, PositiveSeconds, PositiveWatts, Text, Volts
from app.household.guesses import Kind
from app.household.motors import Machine, code_letter_band
from app.household.words import faults_of

_OF_A_MOTOR = ("locked_rotor_a", "code_letter", "shaft_w")
_OF_A_RHYTHM = ("on_s", "period_s", "longest_on_s")
_MISSING = {"name": "say what it is, in your own words", "kind": "choose what it does with its power"}


class Answers(Part):
    """What somebody answered; what is left out is not known.

    name, kind: what it is. watts, current_a at volts, shaft_w (horsepower, or kilowatts at the shaft), energy_wh in
    energy_over_s: what the label says. motor: whether there is one, `soft` with a soft start or an electronic drive.
    locked_rotor_a, code_letter: of its start. machine: what kind it is, where nothing else is known.
    always_on, or run_s: how long. on_s, period_s, longest_on_s: of what comes and goes by itself.
    """

    name: Text
    kind: Kind
    watts: PositiveWatts | None = None
    current_a: Annotated[Number, Gt(0), Ge(0.001), Le(1000)] | None = None
    volts: Volts | None = None
    shaft_w: PositiveWatts | None = None
    energy_wh: Positive | None = None
    energy_over_s: Annotated[Number, Gt(0), Ge(1), Le(366 * 86400)] | None = None
    motor: Literal["no", "yes", "soft"] | None = None
    locked_rotor_a: Annotated[Number, Gt(0), Ge(0.001), Le(10_000)] | None = None
    code_letter: Text | None = None
    machine: Machine | None = None
    always_on: bool = False
    run_s: PositiveSeconds | None = None
    on_s: CycleSeconds | None = None
    period_s: Annotated[CycleSeconds, Ge(0.1)] | None = None
    longest_on_s: PositiveSeconds | None = None

    @property
    def moves(self) -> bool:
        """Whether it has a motor: as answered, else by what it is and what is said of one."""
        if self.motor is not None:
            return self.motor != "no"
        return self.kind in ("motor", "heats_and_motor") or any(getattr(self, one) is not None for one in _OF_A_MOTOR)

    @property
    def does(self) -> Kind:
        """What it is, once it is known whether it has a motor."""
        return "heats_and_motor" if self.kind == "heats" and self.moves else self.kind

    @property
    def kind_of_motor(self) -> Machine:
        """As answered, else what such things mostly have."""
        usual: dict[Kind, Machine] = {"heats_and_motor": "drum", "comes_and_goes": "fridge"}
        return self.machine or usual.get(self.does, "unknown")


def read_answers(given: Mapping[str, Any]) -> Answers:
    """Answers as the form sends them, numbers in the units of their names.

    Raises HouseholdFaults with every fault found, each at its answer.
    """
    try:
        answers = Answers.model_validate(dict(given))
    except ValidationError as error:
        raise HouseholdFaults(
            Fault(fault.path, _MISSING[fault.path]) if given.get(fault.path) in (None, "") else fault
            for fault in faults_of(error)
        ) from error
    faults = Faults()
    _check_times(faults, answers)
    _check_rhythm(faults, answers)
    _check_motor(faults, answers)
    faults.raise_if_any()
    return answers


def _check_times(faults: Faults, answers: Answers) -> None:
    if answers.always_on == (answers.run_s is not None):
        both = "it is either always on or takes this long; give one of the two"
        neither = "say how long a run takes, such as 20 min, or that it is always on"
        faults.add("run_s", both if answers.always_on else neither)
    if answers.energy_wh is not None and answers.energy_over_s is None and answers.run_s is None:
        faults.add("energy_over_s", "say over how long it uses that: a run, a day or a year")


def _check_rhythm(faults: Faults, answers: Answers) -> None:
    on_s, period_s, longest_on_s = answers.on_s, answers.period_s, answers.longest_on_s
    if answers.kind != "comes_and_goes":
        for field in _OF_A_RHYTHM:
            if getattr(answers, field) is not None:
                faults.add(field, "only what comes and goes by itself has this; leave it out, or say that it does")
    elif on_s is not None and period_s is not None:
        if on_s > period_s:
            faults.add("on_s", "it is on for longer than the whole cycle takes; make this shorter or the cycle longer")
        if longest_on_s is not None and longest_on_s < on_s:
            faults.add("longest_on_s", "the longest time on is at least the usual one")
    elif on_s is not None or period_s is not None or longest_on_s is not None:
        faults.add("on_s" if on_s is None else "period_s", "give both: how long it is on, and once every what")


def _check_motor(faults: Faults, answers: Answers) -> None:
    if answers.kind == "motor" and answers.motor == "no":
        faults.add("motor", "what is a motor has one; say what else it does with its power")
    elif not answers.moves:
        for field in _OF_A_MOTOR:
            if getattr(answers, field) is not None:
                faults.add(field, "only a motor has this; say that there is one, or leave it out")
    elif answers.kind in ("electronics", "light"):
        faults.add("motor", "its motor counts most: say that it is a motor, or that it heats and has one")
    elif answers.code_letter is not None:
        try:
            code_letter_band(answers.code_letter)
        except HouseholdFaults as refused:
            faults.take(refused.faults)
        if answers.shaft_w is None and answers.locked_rotor_a is None:
            faults.add("shaft_w", "the code letter counts by horsepower; give the motor's horsepower or kilowatts too")
