"""What would come of a workshop: the verdict, what decides, what a thicker cable would lose, what may hurt."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from app.engine.results import Verdict
from app.planner.workshop import Sized
from app.web import words as all_words
from app.web.customs import customs_of, customs_on
from app.web.fields.customs import Customs
from app.web.fields.measures import CONDUCTOR
from app.web.views.verdict import VerdictView, verdict_view
from app.web.words import workshop as words
from app.web.workshop_asked import TypedMachine
from app.web.workshop_look import Look

ALIKE = 0.2
SIX = 6  # limits shown at once, and all that are more than fits; the others are folded away


@dataclass(frozen=True, slots=True)
class DeciderView:
    """One limit that could decide."""

    name: str  # what it is
    figure: str  # its use and its limit
    left: str  # what is left of it
    verdict: Verdict  # for its colour
    word: str  # how it stands


@dataclass(frozen=True, slots=True)
class SizeView:
    """A size of wire, and what would be lost with it."""

    size: str  # its name
    starting: str  # lost at a start
    running: str  # lost while running
    verdict: Verdict  # for its colour
    word: str  # how that stands
    href: str  # the page with this size; empty for the one that is chosen


@dataclass(frozen=True, slots=True)
class MakingView:
    """The form that makes it."""

    action: str  # where it goes
    wish: str  # the choices, as the address has them
    state: str  # name of the plan exactly as it was looked at
    revision: int  # of the household
    tab: str  # name of this rendering
    name: str  # the new plan's
    add_to: str  # the what-if it may be added to; may be empty
    faults: tuple[str, ...]  # what is wrong with the name


@dataclass(frozen=True, slots=True)
class LookView:
    """workshop/_look.html."""

    verdict: VerdictView  # of the plan as it would be
    brief: str  # what decides, in a few words
    before: str  # how the plan is without it
    rows: tuple[DeciderView, ...]  # what could decide, the nearest first
    others: tuple[DeciderView, ...]  # what is far from deciding
    sizes: tuple[SizeView, ...]  # what other wires would lose
    allowed: str  # how much may be lost
    helps: str  # what a thicker cable would do; may be empty
    no_cable: str  # that the cable is not known; may be empty
    cautions: tuple[str, ...]  # what may hurt
    making: MakingView | None  # how it is made; none for who may only look
    looks_only: str  # that this link may only look; may be empty


def look_view(
    look: Look,
    before: tuple[str, Verdict],
    machines: Sequence[TypedMachine],
    resize: Callable[[str], str],
    making: MakingView | None,
) -> LookView:
    """Lay out what would come of it. before: the plan's name and verdict without it. resize: the page with a size."""
    household, rules = look.resolved.household, look.resolved.household.supply.rules
    circuit = next(one for one in household.supply.circuits if one.id == look.made.circuit)
    customs = customs_of(household)
    rows = tuple(
        DeciderView(
            words.decider_name(one, household), words.decider_figure(one), words.left_words(one), one.verdict,
            all_words.verdict_word(one.verdict),
        )
        for one in look.decides
    )  # fmt: skip
    named = [(_size(one, customs), one) for one in look.sizes]
    present = circuit.conductor_mm2 or 0.0
    nearest = look.decides[0]
    shown = max(SIX, sum(1 for one in rows if one.verdict != "fits"))
    return LookView(
        verdict=verdict_view(look.resolved, look.assessment),
        brief=f"{words.decider_name(nearest, household)}: {words.decider_figure(nearest)}.",
        before=f"{before[0]} without it: {all_words.verdict_word(before[1]).lower()}.",
        rows=rows[:shown],
        others=rows[shown:],
        sizes=tuple(_row(name, one, look, present, resize) for name, one in named if one.drop is not None),
        allowed=words.allowed_words(rules),
        helps=words.thicker_words(nearest, named, present, rules),
        no_cable="" if named else words.NO_CABLE,
        cautions=tuple(_cautions(look, machines)),
        making=making,
        looks_only="" if making is not None else words.LOOKS_ONLY,
    )


def _size(one: Sized, customs: Customs) -> str:
    unit = CONDUCTOR.unit_shown(customs)
    return f"{CONDUCTOR.show(one.conductor_mm2, customs)}\u00a0{unit}".strip()


def _row(name: str, one: Sized, look: Look, present_mm2: float, resize: Callable[[str], str]) -> SizeView:
    assert one.drop is not None  # others are left out
    rules = look.resolved.household.supply.rules
    verdict = words.size_verdict(one.drop.running_percent, one.drop.starting_percent, rules)
    return SizeView(
        size=name,
        starting=words.starting_figure(one.drop.starting_percent, rules),
        running=words.running_figure(one.drop.running_percent, rules),
        verdict=verdict,
        word=all_words.verdict_word(verdict),
        href="" if one.conductor_mm2 == present_mm2 else resize(name.replace("\u00a0", " ")),
    )


def _cautions(look: Look, machines: Sequence[TypedMachine]) -> Iterator[str]:
    """What may hurt, the restart first."""
    resolved, circuit_id = look.resolved, look.made.circuit
    codes = {look.made.ids[one.key]: one.entry.cautions if one.entry else () for one in machines}
    there = [one for one in resolved.household.appliances if one.id in codes]
    restarting = [one for one in there if one.restarts == "starts"]
    yield from words.restart_words(
        [one.name for one in there if "no_volt_release" in codes[one.id]], [one.name for one in restarting]
    )
    if resolved.household.supply.inverter.legs == 2:
        yield from _other_voltage(machines, customs_on(resolved.household, circuit_id).volts)
    if look.sizes:
        yield words.NOT_SIZING
    dark = [one for one in look.assessment.cautions if one.params.get("circuit") == circuit_id]
    yield from [all_words.caution_text(one, resolved) for one in dark] or [words.DARK]
    started = [one for one in there if any(stage.start is not None for stage in one.stages)]
    if any(one.basis != "measured" for one in started):
        yield words.STARTS_UNSURE
    if any("compressor" in one.name.lower() for one in there):
        yield words.WAIT


def _other_voltage(machines: Sequence[TypedMachine], gets_v: float) -> Iterator[str]:
    """Machines that are made for another voltage than their circuit has."""
    wrong = [
        one for one in machines if one.entry is not None and not any(near(volt, gets_v) for volt in one.entry.volts)
    ]
    by_volts: dict[str, list[str]] = {}
    for one in wrong:
        assert one.entry is not None  # asked just now
        by_volts.setdefault(" or ".join(f"{volt}\u00a0V" for volt in one.entry.volts), []).append(one.appliance.name)
    for made_for, names in by_volts.items():
        yield words.other_voltage_words(names, made_for, gets_v)


def near(made_for_v: float, gets_v: float) -> bool:
    """Whether a machine for one of the world's two voltages gets that: within a fifth of it."""
    return abs(gets_v / made_for_v - 1) < ALIKE
