"""What was typed on the workshop's page as choices, or what is wrong with it beside each field."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from pydantic import BaseModel

from app.household.appliance import Appliance, SetsOff, Stage
from app.household.errors import Fault
from app.household.household import Household
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.household.supply import Circuit
from app.household.words import MISSING
from app.household.workshop import Made
from app.household.workshop_choices import NEW, Use, Wiring
from app.web.customs import customs_of, customs_on
from app.web.fields.appliance import WORDS
from app.web.fields.customs import Customs
from app.web.fields.entry import Entry
from app.web.fields.measure import plain
from app.web.fields.reading import WAS, read_form
from app.web.fields.workshop import ABOUT, AFTER, CURVE, DRAWS, LASTS, RHYTHM, SINCE, WIRES
from app.web.forms.run import LENGTH_WORDS, LONGEST_S
from app.web.words.plain import sentence_case
from app.web.workshop_asked import Typed, TypedMachine

Messages = dict[str, tuple[str, ...]]

_FED = ("fed_from", "leg")
_RUN = {"start": "from", "duration_s": "for", "appliance": "from"}


@dataclass(frozen=True)
class Choices:
    """What was typed, as choices; and by its field what is wrong with it."""

    uses: tuple[Use, ...]
    wiring: Wiring
    messages: Messages


def choices_of(resolved: Resolved, asked: Typed) -> Choices:
    """Read everything; what cannot be read is left out and told."""
    messages: Messages = {}
    customs = customs_there(resolved.household, asked)
    uses = tuple(_use(one, customs, messages) for one in asked.machines)
    return Choices(uses=uses, wiring=_wiring(resolved, asked, messages), messages=messages)


def customs_there(household: Household, asked: Typed) -> Customs:
    """How figures are read: amperes are at the volts of the circuit."""
    if asked.circuit != NEW:
        return customs_on(household, asked.circuit)
    inverter = household.supply.inverter
    if inverter.legs == 2 and asked.wires.get("leg", "") in ("", "AB"):
        return replace(customs_of(household), volts=inverter.ac_voltage)
    return customs_of(household)


def _use(machine: TypedMachine, customs: Customs, messages: Messages) -> Use:
    key, stage = machine.key, machine.appliance.stages[0].document()
    factor = machine.texts["power_factor"] or plain(stage.get("power_factor", 1))
    fields = (*(RHYTHM if machine.how == "bursts" else ()), *DRAWS) if machine.single else ()
    told = {**machine.texts, "power_factor": factor}
    was = {} if machine.texts["power_factor"] else {f"{WAS}power_factor": factor}
    figures = _read(fields, told | was, Stage, customs, messages, key)
    own = machine.entry is None
    about = _read(ABOUT[1:] if own else ABOUT, machine.texts, Appliance, customs, messages, key)
    run = {} if machine.how == "follows" else {SINCE.path: machine.since, LASTS.path: machine.lasts}
    names = {SINCE.path: "from", LASTS.path: "for"}
    # The length of a programme of several stages is its own.
    placed = _read((SINCE, LASTS) if machine.single else (SINCE,), run, Run, customs, messages, key, names)
    if placed.get(LASTS.path, 0) > LONGEST_S:
        messages[f"for:{key}"] = (f"{sentence_case(LENGTH_WORDS)}.",)
    said_after = machine.after if machine.sets else ""
    after = _read((AFTER,), {AFTER.path: said_after}, SetsOff, customs, messages, key, {AFTER.path: "after"})
    return Use(
        key=key,
        document=machine.appliance.document(),
        own=own,
        how=machine.how,
        figures=figures,
        about=about,
        rests=machine.rests,
        sets_off=machine.sets or None,
        after_s=after.get(AFTER.path, _usual_after_s(machine)),
        start=placed.get(SINCE.path),
        length_s=placed.get(LASTS.path),
    )


def _usual_after_s(machine: TypedMachine) -> float:
    """As it is where a machine of the plan sets it off already; else a second."""
    called = machine.sets.partition(":")[2]
    there = (one.after_s for stage in machine.appliance.stages for one in stage.sets_off if one.appliance == called)
    return next(there, 1) if machine.entry is None else 1


def _wiring(resolved: Resolved, asked: Typed, messages: Messages) -> Wiring:
    customs = customs_of(resolved.household)
    fields = WIRES if asked.circuit == NEW else WIRES[1:]
    figures: dict[str, Any] = _read(fields, asked.wires, Circuit, customs, messages)
    if asked.circuit != NEW and all(one.id != asked.circuit for one in resolved.household.supply.circuits):
        return Wiring(asked.circuit)
    figures |= _read((CURVE,), asked.wires, Circuit, customs, messages)
    if asked.circuit == NEW:
        figures |= {name: asked.wires[name] for name in _FED if asked.wires.get(name)}
    return Wiring(asked.circuit, figures)


def _read(
    fields: Iterable[Entry],
    texts: Mapping[str, str],
    model: type[BaseModel],
    customs: Customs,
    messages: Messages,
    key: str = "",
    names: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """The figures of some fields by their paths; what is wrong goes to `messages`, under `FIELD:KEY` of a machine."""
    read = read_form(tuple(fields), {name: [text] for name, text in texts.items()}, model, customs)
    for path, wrong in read.messages.items():
        name = (names or {}).get(path, path)
        messages[f"{name}:{key}" if key else name] = wrong
    return {".".join(map(str, path)): value for path, value in read.changes if value is not None}


def field_of(fault: Fault, at: str, made: Made) -> str:
    """The field that a fault of the household is about; empty where it is none of this page's.

    at: path of the plan in the file.
    """
    inside = fault.path.removeprefix(f"{at}.changes.")
    part, _, rest = inside.partition("[")
    place, _, path = rest.partition("]")
    if part == "appliances" and place.isdecimal() and int(place) < len(made.machines):
        return _field_of_machine(path.lstrip("."), made.machines[int(place)])
    if inside.startswith("runs."):
        run_id, _, name = inside.removeprefix("runs.").rpartition(".")
        key = made.runs.get(run_id)
        return f"{_RUN.get(name, 'from')}:{key}" if key is not None else ""
    circuits = (made.changes.get("supply") or {}).get("circuits") or []
    if part == "supply.circuits" and place.isdecimal() and circuits[int(place)]["id"] == made.circuit:
        return path.lstrip(".") or "circuit"
    return ""


def _field_of_machine(path: str, key: str) -> str:
    stage, _, figure = path.partition(".")
    if stage == "stages[0]" and "sets_off" in figure:
        return f"sets:{key}"
    if stage == "stages[0]" and figure:
        return f"{figure}:{key}"
    if path in ("uncertainty", "after_cut", "name"):
        return f"{path}:{key}"
    return "circuit" if path == "circuit" else f"how:{key}"


def said_of(field: str, why: str) -> str:
    """What is said beside a field, in the page's words where the file's speak of the file."""
    name = field.partition(":")[0]
    missing = WORDS.get(f"{name} is missing") if why == MISSING else None
    return missing or WORDS.get(name, f"{sentence_case(why)}{'' if why.endswith('.') else '.'}")
