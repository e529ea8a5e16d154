"""The workshop's page: machines picked and to be picked, their circuit, as it was typed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from app.household.appliance import Appliance
from app.household.resolve import Resolved
from app.household.workshop_choices import NEW
from app.web.customs import customs_of
from app.web.fields.customs import Customs
from app.web.fields.entry import Entry
from app.web.fields.measure import plain
from app.web.fields.workshop import ABOUT, AFTER, CURVE, DRAWS, LASTS, RESTS, RHYTHM, SINCE, WIRES
from app.web.views.plan_head import PlanHead
from app.web.views.workshop_look import LookView
from app.web.words import hazard
from app.web.words import workshop as words
from app.web.words.draws import draws_of
from app.web.words.legs import circuit_choice
from app.web.words.plain import sentence_case
from app.web.workshop_asked import MACHINES_AT_MOST, OWN, Typed, TypedMachine, found_in_library, own_machines
from app.web.workshop_wish import customs_there

Faults = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several."""

    value: str  # as the form sends it
    words: str  # as it is read
    chosen: bool  # it is the one


@dataclass(frozen=True, slots=True)
class FieldView:
    """workshop/_field.html: one field."""

    id: str  # in the page
    name: str  # in the address
    label: str  # what it is called
    value: str  # as it was typed
    unit: str  # beside it; may be empty
    blank: str  # what holds while it is empty
    help: str  # where the figure is found; may be empty
    choices: tuple[Choice, ...]  # of a choice
    kind: str  # how it is laid out; may be empty
    faults: tuple[str, ...]  # what is wrong with it


@dataclass(frozen=True, slots=True)
class MachineView:
    """One machine that was picked."""

    id: str  # of its block in the page
    key: str  # in the address
    name: str  # its name
    line: str  # what it draws, and whose figures these are
    used: tuple[FieldView, ...]  # how it is used, what it sets off, and when
    rhythm: tuple[FieldView, ...]  # how it comes and goes
    known: tuple[FieldView, ...]  # figures that may be known better
    open: bool  # these stand unfolded
    typed: str  # how many of them were given; may be empty
    help: str  # where its own figures are found; may be empty
    cautions: tuple[str, ...]  # what may hurt
    faults: tuple[str, ...]  # what is wrong with it as a whole


@dataclass(frozen=True, slots=True)
class OfferView:
    """A machine that may be picked."""

    key: str  # in the address
    name: str  # its name
    draws: str  # what it draws
    picked: bool  # it is picked already


@dataclass(frozen=True, slots=True)
class WorkshopView:
    """workshop/page.html."""

    top: PlanHead  # the head of the page
    href: str  # this page
    what_if: str  # the plan's what-if page
    notices: tuple[str, ...]  # news, and what is wrong beside no field
    machines: tuple[MachineView, ...]  # what was picked
    find: str  # what is looked for
    offers: tuple[OfferView, ...]  # what the library has for it
    own: tuple[OfferView, ...]  # what the plan has already
    picking: bool  # the library stands unfolded
    find_faults: tuple[str, ...]  # what is wrong with it
    full: str  # that no more can be picked; may be empty
    too_many: tuple[str, ...]  # that some have to be taken out
    circuit: FieldView  # which circuit
    wires: tuple[FieldView, ...]  # its figures
    look: LookView | None  # what would come of it


def workshop_view(
    top: PlanHead,
    hrefs: tuple[str, str],
    resolved: Resolved,
    asked: Typed,
    faults: Faults,
    look: LookView | None,
    notices: tuple[str, ...] = (),
) -> WorkshopView:
    """Lay out the page. hrefs: of this page and of the what-if's. faults: what is wrong, by the name of its field."""
    customs = customs_there(resolved.household, asked)
    machines = tuple(_machine(f"m{place}", one, asked, customs, faults) for place, one in enumerate(asked.machines))
    circuit = _circuit(resolved, asked, faults)
    wires = tuple(_wires(resolved, asked, faults))
    shown = {"machines", "find", *(field.name for field in (circuit, *wires))}
    for one in machines:
        shown |= {field.name for field in (*one.used, *one.rhythm, *one.known)} | {f"machine:{one.key}"}
    told = [line for name, lines in faults.items() if name not in shown for line in lines]
    picked = {one.key for one in asked.machines}
    offers = tuple(
        OfferView(one.id, one.name, draws_of(one.appliance), one.id in picked)
        for one in found_in_library(resolved, "" if "find" in faults else asked.find)
    )
    full = len(asked.machines) >= MACHINES_AT_MOST
    return WorkshopView(
        top=top,
        href=hrefs[0],
        what_if=hrefs[1],
        notices=(*notices, *dict.fromkeys(told)),
        machines=machines,
        find=asked.find,
        offers=offers,
        own=tuple(_own(one, picked) for one in own_machines(resolved)),
        picking=not machines or bool(asked.find),
        find_faults=faults.get("find", ()),
        full=words.FULL.format(most=MACHINES_AT_MOST) if full else "",
        too_many=faults.get("machines", ()),
        circuit=circuit,
        wires=wires,
        look=look,
    )


def _own(appliance: Appliance, picked: set[str]) -> OfferView:
    key = f"{OWN}{appliance.id}"
    return OfferView(key, appliance.name, draws_of(appliance), key in picked)


def _machine(dom_id: str, machine: TypedMachine, asked: Typed, customs: Customs, faults: Faults) -> MachineView:
    document = machine.appliance.document()
    rhythm = _figures(dom_id, RHYTHM, machine, document, customs, faults) if machine.single else ()
    draws = _figures(dom_id, DRAWS, machine, document, customs, faults) if machine.single else ()
    about = _figures(dom_id, ABOUT if machine.entry else ABOUT[1:], machine, document, customs, faults)
    rests = _choice(f"{dom_id}-rests", f"rests:{machine.key}", "What I give here is", RESTS, machine.rests, faults)
    given = sum(1 for one in (*draws, *about) if one.value)
    whose = "typical figures" if machine.entry else "as in the plan"
    hazards = machine.entry.cautions if machine.entry else ()
    return MachineView(
        id=dom_id,
        key=machine.key,
        name=machine.texts["name"] or machine.appliance.name,
        line=f"{draws_of(machine.appliance)}; {whose}",
        used=tuple(_used(dom_id, machine, asked, customs, faults)),
        rhythm=rhythm,
        known=(*about[:-2], *draws, rests, *about[-2:]) if machine.single else about,
        open=any(one.faults for one in (*draws, *about)),
        typed=f"{given} given" if given else "",
        help=machine.entry.help if machine.entry else "",
        cautions=tuple(hazard(one) for one in hazards),
        faults=tuple(map(_sentence, faults.get(f"machine:{machine.key}", ()))),
    )


def _used(dom_id: str, machine: TypedMachine, asked: Typed, customs: Customs, faults: Faults) -> Iterable[FieldView]:
    key = machine.key
    if machine.single:
        hows = tuple((one, words.HOW[one]) for one in ("whole", "bursts", "follows"))
        yield _choice(f"{dom_id}-how", f"how:{key}", "It runs", hows, machine.how, faults, kind="wide how")
    others = [(one.key, one.texts["name"] or one.appliance.name) for one in asked.machines if one.key != key]
    if machine.sets and machine.sets not in dict(others):
        others.append((machine.sets, words.ITSELF if machine.sets == key else words.NOT_PICKED))
    if others:
        sets = (("", words.NO_SETTING_OFF), *others)
        yield _choice(f"{dom_id}-sets", f"sets:{key}", "It sets off", sets, machine.sets, faults, kind="sets")
        yield _text(f"{dom_id}-after", f"after:{key}", AFTER, machine.after, "1 s", customs, faults, kind="after")
    length = sum(stage.duration_s or 0 for stage in machine.appliance.stages)
    yield _text(f"{dom_id}-from", f"from:{key}", SINCE, machine.since, "10:00", customs, faults, kind="timed")
    if machine.single:
        usual = LASTS.measure.show(length, customs) if length and LASTS.measure else "1 h"
        yield _text(f"{dom_id}-for", f"for:{key}", LASTS, machine.lasts, usual, customs, faults, kind="timed")


def _figures(
    dom_id: str,
    fields: Iterable[Entry],
    machine: TypedMachine,
    document: Mapping[str, object],
    customs: Customs,
    faults: Faults,
) -> tuple[FieldView, ...]:
    """Fields of a machine's figures, empty as long as what is typical holds, which stands in them in grey."""
    stage = machine.appliance.stages[0].document()
    found = []
    for one in fields:
        name = f"{one.path}:{machine.key}"
        dom = f"{dom_id}-{one.path.replace('.', '-')}"
        if one.choices:
            choices = (("", f"as is typical: {_restarts(machine.appliance)}"), *one.choices[1:])
            found.append(_choice(dom, name, one.label, choices, machine.texts[one.path], faults, one.help))
            continue
        value = _at(stage if one in (*RHYTHM, *DRAWS) else document, one.path)
        blank = one.blank if value is None or one.measure is None else one.measure.show(value, customs)  # type: ignore[arg-type]
        kind = "rhythm" if one in RHYTHM else ""
        found.append(_text(dom, name, one, machine.texts[one.path], blank, customs, faults, kind=kind))
    return tuple(found)


def _restarts(appliance: Appliance) -> str:
    found = {"starts": "it starts by itself", "waits": "it waits", "stays_off": "it stays off"}
    return found[appliance.restarts]


def _at(document: object, path: str) -> object:
    for step in path.split("."):
        document = document.get(step) if isinstance(document, Mapping) else None
    return document


def _circuit(resolved: Resolved, asked: Typed, faults: Faults) -> FieldView:
    supply = resolved.household.supply
    there = [(one.id, circuit_choice(one, supply.inverter)) for one in supply.circuits]
    if asked.circuit not in (NEW, *dict(there)):
        there.append((asked.circuit, "one that is there no more"))
    choices = ((NEW, words.NEW_CIRCUIT), *there)
    return _choice("circuit", "circuit", "Which circuit", choices, asked.circuit, faults, kind="wide")


def _wires(resolved: Resolved, asked: Typed, faults: Faults) -> Iterable[FieldView]:
    supply, customs = resolved.household.supply, customs_of(resolved.household)
    present = next((one.document() for one in supply.circuits if one.id == asked.circuit), {})
    for one in WIRES:
        value = present.get(one.path)
        blank = one.blank if value is None or one.measure is None else one.measure.show(value, customs)
        kind = "only-new" if one.path == "name" else ""
        yield _text(one.path, one.path, one, asked.wires[one.path], blank, customs, faults, kind=kind)
        if one.path == "breaker_a":
            chosen = asked.wires["curve"] or str(present.get("curve", "C"))
            yield _choice("curve", "curve", CURVE.label, CURVE.choices, chosen, faults, CURVE.help)
    feeders = (("", words.THE_BOARD), *((one.id, one.name or one.id) for one in supply.circuits))
    yield _choice("fed_from", "fed_from", "Fed from", feeders, asked.wires["fed_from"], faults, kind="only-new")
    if supply.inverter.legs == 2:
        chosen = asked.wires["leg"] or "AB"
        yield _choice("leg", "leg", "On", words.LEGS, chosen, faults, kind="only-new")


def _text(
    dom_id: str,
    name: str,
    field: Entry,
    value: str,
    blank: str,
    customs: Customs,
    faults: Faults,
    *,
    kind: str = "",
) -> FieldView:
    assert field.measure is not None  # a field is a choice or has a measure
    unit = field.measure.unit_shown(customs)
    told = tuple(map(_sentence, faults.get(name, ())))
    return FieldView(dom_id, name, field.label, value, unit, blank, field.help, (), kind, told)


def _choice(
    dom_id: str,
    name: str,
    label: str,
    choices: Iterable[tuple[object, str]],
    chosen: str,
    faults: Faults,
    help_text: str = "",
    kind: str = "",
) -> FieldView:
    shown = tuple(Choice(_as_sent(value), said, _as_sent(value) == chosen) for value, said in choices)
    told = tuple(map(_sentence, faults.get(name, ())))
    return FieldView(dom_id, name, label, chosen, "", "", help_text, shown, kind, told)


def _as_sent(value: object) -> str:
    return "" if value is None else plain(value) if isinstance(value, float) else str(value)


def _sentence(why: str) -> str:
    return f"{sentence_case(why)}{'' if why.endswith('.') else '.'}"
