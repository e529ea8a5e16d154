"""Three questions make an appliance: what is it, what does its label say, does it have a motor.

What was not answered is assumed, and each assumption is said with its reason, so that it can be looked at later.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from app.household.answers import Answers, read_answers
from app.household.appliance import Appliance
from app.household.beside_heat import motor_beside_heat, on_top
from app.household.errors import Fault, HouseholdFaults
from app.household.guesses import COMES_AND_GOES, LABEL_SPREADS, POWER_FACTORS, guess_of
from app.household.motors import (
    MACHINES,
    Derived,
    Starting,
    running_of_shaft,
    start_held_down,
    start_of_code_letter,
    start_of_locked_rotor,
    start_without_label,
)

_LARGEST_W, _SMALLEST_W = 1e6, 0.001  # as a stage may have
_ALIKE, _LEAST_POWER_FACTOR = 0.05, 0.05  # watts may be so much more than volt-amperes, for labels round


@dataclass(frozen=True, slots=True)
class Assumption:
    """Something nobody said. field: of the appliance, `stages[0].watts`. words: what was taken, and why."""

    field: str
    words: str


@dataclass(frozen=True, slots=True)
class Proposal:
    """An appliance as the household file has it, with what it rests on. document: of an `Appliance`."""

    document: dict[str, Any]
    assumptions: tuple[Assumption, ...]


class _Draw(NamedTuple):
    """What it draws: watts, and what they make of volt-amperes."""

    watts: Derived
    power_factor: float
    power_factor_kind: str


def propose(given: Mapping[str, Any], appliance_id: str, mains_v: float) -> Proposal:
    """The appliance that answers make.

    given: of `Answers`. mains_v: the household's, for amperes without a voltage.
    Raises HouseholdFaults with every fault found, each at its answer.
    """
    answers = read_answers(given)
    return _Making(answers, appliance_id, answers.volts or mains_v).proposal()


class _Making:
    """An appliance in the making: one answer after the other, what is assumed noted on the way."""

    def __init__(self, answers: Answers, appliance_id: str, mains_v: float) -> None:
        self._answers, self._id, self._mains_v = answers, appliance_id, mains_v
        self._assumed: list[Assumption] = []

    def proposal(self) -> Proposal:
        answers = self._answers
        cycle = self._cycle()
        draw = self._draw(cycle)
        stage: dict[str, Any] = {"watts": _round(draw.watts.value)}
        if answers.run_s is not None:
            stage["duration_s"] = answers.run_s
        if draw.power_factor < 1:
            stage["power_factor"] = round(draw.power_factor, 3)
        if draw.power_factor_kind != "lagging":
            stage["power_factor_kind"] = draw.power_factor_kind
        if cycle is not None:
            stage["cycle"] = cycle
        start = self._start(draw) if answers.moves else None
        if start is not None:
            va = max(_round(start.va.value), math.ceil(stage["watts"] / stage.get("power_factor", 1)))
            stage["start"] = {"va": va, "power_factor": start.power_factor, "duration_s": start.duration_s}
        document: dict[str, Any] = {"id": self._id, "name": answers.name}
        if answers.always_on:
            document["always_on"] = True
        basis = "nameplate" if draw.watts.kind == "nameplate" else "typical"
        document |= {"basis": basis, "uncertainty": draw.watts.spread, "source": _source(draw, start)}
        document["stages"] = [stage]
        self._assume("uncertainty", f"Its watts are taken to be right within {draw.watts.spread * 100:.0f} %.")
        Appliance.model_validate(document)  # what was made of answers that were good is good
        return Proposal(document, tuple(self._assumed))

    def _assume(self, field: str, words: str) -> None:
        self._assumed.append(Assumption(field, words))

    def _cycle(self) -> dict[str, float] | None:
        answers = self._answers
        if answers.does != "comes_and_goes":
            return None
        if answers.on_s is not None and answers.period_s is not None:
            cycle = {"on_s": answers.on_s, "period_s": answers.period_s}
            return cycle if answers.longest_on_s is None else cycle | {"longest_on_s": answers.longest_on_s}
        guess = COMES_AND_GOES[answers.moves]
        self._assume("stages[0].cycle", guess.why)
        return {"on_s": guess.on_s, "period_s": guess.period_s, "longest_on_s": guess.longest_on_s}

    def _draw(self, cycle: dict[str, float] | None) -> _Draw:
        answers = self._answers
        power_factor, kind, why = POWER_FACTORS[answers.does]
        if answers.moves and answers.does in ("motor", "comes_and_goes"):
            power_factor = MACHINES[answers.kind_of_motor].power_factor
            why = f"usual for {MACHINES[answers.kind_of_motor].many}"
        if answers.motor == "soft" and answers.does == "motor":
            power_factor, kind, why = 0.9, "distortion", "usual behind an electronic drive"
        watts = self._watts(power_factor, cycle)
        if answers.watts is not None and answers.current_a is not None:
            power_factor = min(answers.watts / (answers.current_a * self._mains_v), 1.0)
        elif power_factor < 1:
            self._assume("stages[0].power_factor", f"A power factor of {power_factor:g}: {why}; common practice.")
        return _Draw(watts, power_factor, kind)

    def _watts(self, power_factor: float, cycle: dict[str, float] | None) -> Derived:
        """The watts while it is on: from the label's watts, else its amperes, its shaft, its energy, else a guess."""
        answers, spread = self._answers, LABEL_SPREADS[self._answers.does]
        if answers.watts is not None:
            return self._labelled_watts(answers.watts, spread)
        if answers.current_a is not None:
            va = answers.current_a * self._mains_v
            how = f"{answers.current_a:g} A at {self._mains_v:g} V is {va:.0f} VA, {va * power_factor:.0f} W."
            if answers.volts is None:
                self._assume("stages[0].watts", f"{self._mains_v:g} V, as your mains: {how}")
            return self._bounded(
                "current_a", Derived(va * power_factor, spread, "nameplate", "the label's amperes", how)
            )
        if answers.shaft_w is not None and answers.does != "heats_and_motor":
            watts = running_of_shaft(answers.shaft_w, answers.kind_of_motor).watts
            self._assume("stages[0].watts", watts.how)
            return self._bounded("shaft_w", watts)
        if answers.energy_wh is not None:
            return self._average(answers.energy_wh, cycle)
        guess = guess_of(answers.does, moves=answers.moves)
        self._assume("stages[0].watts", guess.why)
        return Derived(guess.watts, guess.spread, guess.rests, guess.source, guess.why)

    def _labelled_watts(self, watts: float, spread: float) -> Derived:
        current_a = self._answers.current_a
        if current_a is not None:
            va = current_a * self._mains_v
            if watts > va * (1 + _ALIKE):
                why = f"{current_a:g} A at {self._mains_v:g} V can be {va:.0f} W at most; check it and the watts"
                raise HouseholdFaults([Fault("current_a", why)])
            if watts < va * _LEAST_POWER_FACTOR:
                why = f"{current_a:g} A at {self._mains_v:g} V is {va:.0f} VA, far more than the watts; check both"
                raise HouseholdFaults([Fault("current_a", why)])
        return Derived(watts, spread, "nameplate", "the label's watts", f"The label says {watts:g} W.")

    def _average(self, energy_wh: float, cycle: dict[str, float] | None) -> Derived:
        """From energy: over the time it takes; of what comes and goes, over the part of it that it is on."""
        answers = self._answers
        over_s = answers.energy_over_s or answers.run_s
        assert over_s is not None  # checked
        watts = energy_wh * 3600 / over_s
        how = f"{energy_wh / 1000:g} kWh over {_span(over_s)} is {watts:.3g} W on average"
        spread = 0.3
        if cycle is not None:
            share = cycle["on_s"] / cycle["period_s"]
            watts /= share
            how += f"; on for {share * 100:.0f} % of the time, it draws {watts:.0f} W while on."
        elif answers.does in ("heats", "heats_and_motor"):
            spread = 1.0
            how += "; while it heats it may well draw twice as much. Its label's watts would be better."
        else:
            how += "."
        self._assume("stages[0].watts", how)
        return self._bounded("energy_wh", Derived(watts, spread, "nameplate", "the energy its papers give", how))

    def _bounded(self, answer: str, figure: Derived) -> Derived:
        """A figure that a household can have, W or VA."""
        if figure.value > _LARGEST_W:
            why = f"that would make {figure.value / 1000:.0f} kW; no household draws as much, check it"
            raise HouseholdFaults([Fault(answer, why)])
        if figure.value < _SMALLEST_W:
            raise HouseholdFaults([Fault(answer, "that would be next to nothing; check it, and its unit")])
        return figure

    def _start(self, draw: _Draw) -> Starting:
        answers, machine = self._answers, self._answers.kind_of_motor
        motor_va, rest_w = self._motor_part(draw)
        if answers.motor == "soft":
            start = start_held_down(motor_va)
        elif answers.locked_rotor_a is not None:
            if answers.locked_rotor_a * self._mains_v < motor_va:
                why = f"a start draws at least what the motor runs at, {motor_va / self._mains_v:.3g} A; check it"
                raise HouseholdFaults([Fault("locked_rotor_a", why)])
            start = start_of_locked_rotor(answers.locked_rotor_a, self._mains_v, machine)
            self._bounded("locked_rotor_a", start.va)
        elif answers.code_letter is not None and answers.shaft_w is not None:
            start = start_of_code_letter(answers.code_letter, answers.shaft_w, machine)
            self._bounded("shaft_w", start.va)
        else:
            start = start_without_label(motor_va, machine, answers.shaft_w)
        start = on_top(start, rest_w)
        if start.va.kind != "nameplate" or rest_w:
            low, high = start.va.between
            self._assume("stages[0].start.va", f"{start.va.how} It may be from {low:.0f} to {high:.0f} VA.")
        self._assume(
            "stages[0].start.duration_s",
            f"The start lasts {start.duration_s:g} s at a power factor of {start.power_factor:g}: common practice.",
        )
        return start

    def _motor_part(self, draw: _Draw) -> tuple[float, float]:
        """The motor's own VA while it runs, and the watts of what heats beside it."""
        answers, machine = self._answers, self._answers.kind_of_motor
        if answers.does != "heats_and_motor":
            return draw.watts.value / draw.power_factor, 0.0
        part = motor_beside_heat(draw.watts.value, machine, shaft_w=answers.shaft_w)
        if answers.shaft_w is None:
            self._assume("stages[0].start.va", part.how)
        return part.va, part.rest_w


def _source(draw: _Draw, start: Starting | None) -> dict[str, str]:
    parts = [f"Watts: {draw.watts.source}."]
    if start is not None:
        parts.append(f"Start: {start.va.source}.")
    return {"kind": draw.watts.kind, "text": " ".join(parts)}


def _round(value: float) -> float:
    """Three figures are more than is known; whole watts from ten on."""
    return round(value) if value >= 10 else round(value, 3)


def _span(seconds: float) -> str:
    for size, one in ((365 * 86400, "year"), (86400, "day"), (3600, "hour"), (60, "minute")):
        if seconds >= size:
            number = round(seconds / size, 2)
            return f"a {one}" if number == 1 and one != "hour" else f"{number:g} {one}{'s' * (number != 1)}"
    return f"{seconds:g} seconds"
