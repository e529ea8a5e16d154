"""Laundry day: what is to run and when it may, as it was typed, and what was found."""

from collections.abc import Mapping
from dataclasses import dataclass

from app.household.gaps import run_length_s
from app.web.figures import SPACE, duration
from app.web.forms.laundry import MOST_OF_ONE, Typed, TypedLoad, TypedMachine
from app.web.views.laundry_found import FoundView
from app.web.views.plan_head import PlanHead
from app.web.words import laundry as words
from app.web.words import sentence_case

Faults = Mapping[str, tuple[str, ...]]  # by the name of a field, without full stops


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing to choose."""

    value: str  # what is sent
    words: str  # what is shown
    chosen: bool  # it is chosen


@dataclass(frozen=True, slots=True)
class FieldView:
    """Something to be typed or chosen."""

    id: str  # in the page
    name: str  # as it is sent
    label: str  # what it is
    value: str  # as it was typed
    blank: str  # what an empty field means
    choices: tuple[Choice, ...]  # to choose from; empty where it is typed
    faults: tuple[str, ...]  # what is wrong with it, a sentence each


@dataclass(frozen=True, slots=True)
class LoadView:
    """One load of an appliance."""

    id: str  # in the page
    key: str  # as it is sent
    title: str  # which load
    line: str  # where it is in the plan, and when it may run
    planned: bool  # the plan has it, so that it may also stay
    may_move: bool  # it is to be placed
    open: bool  # its fields are to be seen
    fields: tuple[FieldView, ...]  # when it may run


@dataclass(frozen=True, slots=True)
class MachineView:
    """An appliance and how many loads of it."""

    id: str  # in the page
    appliance: str  # its id
    name: str  # its name
    line: str  # what the plan has of it, and how long it runs
    count: FieldView  # how many
    least: bool  # there is none to take away
    most: bool  # there is none to add
    loads: tuple[LoadView, ...]  # one by one
    dropped: tuple[str, ...]  # ids of the plan's runs that are left out


@dataclass(frozen=True, slots=True)
class LaundryView:
    """laundry/page.html."""

    top: PlanHead  # whose household, which plan, and where else to go
    href: str  # this page, nothing asked
    notices: tuple[str, ...]  # what happened, over all
    planned: tuple[MachineView, ...]  # what the plan has
    others: tuple[MachineView, ...]  # what it has not
    others_open: bool  # some of that is wanted
    begin: tuple[tuple[str, str], ...]  # where a search goes on from: name and value
    whole: tuple[FieldView, ...]  # what holds for all
    chance: bool  # a plan that could cut out is allowed
    apart: tuple[str, ...]  # which machines never run together
    apart_href: str  # where that is said
    faults: tuple[str, ...]  # what is wrong beside no field of its own
    caution: str  # what may hurt
    found: FoundView | None  # what was found


def laundry_view(
    top: PlanHead,
    href: str,
    asked: Typed,
    faults: Faults,
    found: FoundView | None,
    notices: tuple[str, ...] = (),
    *,
    apart: tuple[str, ...],
    apart_href: str,
) -> LaundryView:
    """Lay out the page. faults: what is wrong, by the name of its field. apart, apart_href: which machines never run
    together, and where that is said."""
    loads = asked.loads
    machines = [_machine(place, one, loads, faults) for place, one in enumerate(asked.machines)]
    is_planned = [bool(one.planned) for one in asked.machines]
    others = tuple(view for view, planned in zip(machines, is_planned, strict=True) if not planned)
    whole = (
        _field("done_by", "Everything done by", asked.done_by, "no set time", faults),
        _field("quiet_from", "Quiet from", asked.quiet_from, "never", faults),
        _field("quiet_to", "Quiet until", asked.quiet_to, "never", faults),
    )
    shown = {field.name for field in whole}
    for view in machines:
        shown |= {view.count.name, *(field.name for load in view.loads for field in load.fields)}
    beside_none = [line for name, lines in faults.items() if name not in shown for line in lines]
    return LaundryView(
        top=top,
        href=href,
        notices=notices,
        planned=tuple(view for view, planned in zip(machines, is_planned, strict=True) if planned),
        others=others,
        others_open=any(one.loads or one.count.faults for one in others),
        begin=tuple((f"at:{key}", start) for key, start in asked.begin),
        whole=whole,
        chance=asked.chance,
        apart=apart,
        apart_href=apart_href,
        faults=_told(beside_none),
        caution=words.CAUTION,
        found=found,
    )


def _machine(place: int, machine: TypedMachine, loads: tuple[TypedLoad, ...], faults: Faults) -> MachineView:
    starts = [run.start[:5] for run in machine.planned]
    lasts_s = run_length_s(machine.appliance)
    length = f", runs {duration(lasts_s)}" if lasts_s else ""
    dom_id = f"m{place}"
    name = f"n:{machine.appliance.id}"
    return MachineView(
        id=dom_id,
        appliance=machine.appliance.id,
        name=machine.appliance.name,
        line=sentence_case(f"{words.planned_words(starts)}{length}"),
        count=FieldView(
            f"{dom_id}-n",
            name,
            f"How many: {machine.appliance.name}",
            machine.count,
            "0",
            (),
            _told(faults.get(name, ())),
        ),
        least=not machine.loads,
        most=len(machine.loads) >= MOST_OF_ONE,
        loads=tuple(
            _load(f"{dom_id}-{number}", machine, one, loads, faults) for number, one in enumerate(machine.loads)
        ),
        dropped=tuple(run.id for run in machine.dropped),
    )


def _load(
    dom_id: str, machine: TypedMachine, load: TypedLoad, loads: tuple[TypedLoad, ...], faults: Faults
) -> LoadView:
    names = load_names(loads)
    others = [Choice(one.key, names[one.key], one.key == load.after) for one in loads if one.key != load.key]
    follows = (Choice("", "nothing", not load.after), *others)
    if load.after and not any(one.chosen for one in follows):
        follows += (Choice(load.after, words.GONE_LOAD, True),)
    fields = [
        _field(f"from:{load.key}", "Not before", load.since, "06:00", faults, f"{dom_id}-from"),
        _field(f"by:{load.key}", "Done by", load.until, "23:00", faults, f"{dom_id}-by"),
        _field(f"after:{load.key}", "Must follow", load.after, "", faults, f"{dom_id}-after", follows),
        _field(f"within:{load.key}", "Within", load.within, "any time after", faults, f"{dom_id}-within"),
    ]
    if load.length is not None:
        fields.insert(0, _field(f"length:{load.key}", "Runs for", load.length, "", faults, f"{dom_id}-length"))
    return LoadView(
        id=dom_id,
        key=load.key,
        title=names[load.key],
        line=_line(load, names),
        planned=load.run is not None,
        may_move=load.may_move,
        open=any(field.faults for field in fields),
        fields=tuple(fields),
    )


def load_names(loads: tuple[TypedLoad, ...]) -> dict[str, str]:
    """What each load is called: by its number where its machine has several."""
    count: dict[str, int] = {}
    for load in loads:
        count[load.appliance.id] = count.get(load.appliance.id, 0) + 1
    return {load.key: words.load_name(load.appliance.name, load.number, count[load.appliance.id]) for load in loads}


def _line(load: TypedLoad, names: Mapping[str, str]) -> str:
    parts = [f"now at {load.run.start[:5]}" if load.run is not None else "new"]
    if not load.may_move:
        return f"{parts[0]}, stays there"
    if load.since or load.until:
        parts.append(f"{load.since or '06:00'} to {load.until or '23:00'}")
    if load.after in names:
        within = f" within {load.within.replace(chr(32), SPACE)}" if load.within else ""
        parts.append(f"after {names[load.after]}{within}")
    return ", ".join(parts)


def _field(
    name: str,
    label: str,
    value: str,
    blank: str,
    faults: Faults,
    dom_id: str = "",
    choices: tuple[Choice, ...] = (),
) -> FieldView:
    return FieldView(dom_id or f"f-{name}", name, label, value, blank, choices, _told(faults.get(name, ())))


def _told(faults: tuple[str, ...] | list[str]) -> tuple[str, ...]:
    return tuple(f"{sentence_case(one)}." for one in faults)
