"""The supply on its page: one form for each piece of it, with where its figures are found and what they do."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from app.engine.results import Assessment, Verdict, worst_of
from app.household.household import Household
from app.household.resolve import Resolved
from app.store.stored import StoredHousehold
from app.web import words
from app.web.customs import customs_of
from app.web.doubts import doubted
from app.web.fields.measure import plain
from app.web.fields.reading import Typed
from app.web.fields.showing import FieldView, show_fields
from app.web.figures import quantity
from app.web.sections import Section, pumps_of, sections
from app.web.views.byplans import SupplyByPlans
from app.web.views.checklist import ChecklistView
from app.web.views.drawings import derating_drawing, inverter_drawing


@dataclass(frozen=True, slots=True)
class Finding:
    """What the open plan makes of one limit."""

    text: str  # how it stands
    verdict: Verdict  # for the colour


@dataclass(frozen=True, slots=True)
class SectionView:
    """One form of supply/page.html."""

    id: str  # of the form
    title: str  # what it is about
    part: str  # the supply's field
    place: str  # its place in a list; may be empty
    of: str  # what stands at that place; empty for what is no list
    depth: int  # how far down the tree a circuit is
    line: str  # what it is, beside its name where it is folded; may be empty
    summary: str  # what it comes to, in a line; may be empty
    others: tuple[str, ...]  # plans that do without it
    findings: tuple[Finding, ...]  # what the open plan makes of it
    fields: tuple[FieldView, ...]  # to be filled in
    there: bool  # the household has one
    removable: bool  # it may be taken out
    folded: bool  # one of many: its figures are folded away


@dataclass(frozen=True, slots=True)
class GroupView:
    """A heading with its forms."""

    title: str  # the heading
    lead: str  # one line under it; may be empty
    caution: str  # what may hurt; may be empty
    sections: tuple[SectionView, ...]  # its forms
    others: tuple[str, ...]  # what plans alone have
    adds: str  # the supply's field to which one more may be added; may be empty
    add_words: str  # what the button says
    needs_pump: bool  # an appliance that is the pump has to be there first


@dataclass(frozen=True, slots=True)
class SupplyView:
    """supply/page.html."""

    action: str  # where figures go
    lists: str  # where adding and taking out go
    appliances: str  # where appliances are added
    groups: tuple[GroupView, ...]  # the forms
    inverter: Markup  # what it carries for how long, drawn
    moments: tuple[str, ...]  # the hardest moments of the open plan, as lines
    derating: Markup  # what it carries by temperature, drawn
    plan: str  # the open plan's name
    checklist: ChecklistView  # what is known, and what is not


def supply_view(
    stored: StoredHousehold,
    resolved: Resolved,
    assessment: Assessment,
    action: str,
    lists: str,
    appliances: str,
    checklist: ChecklistView,
    unfolded: str = "",
    wrong: str = "",
    typed: Typed | None = None,
    messages: Mapping[str, tuple[str, ...]] | None = None,
) -> SupplyView:
    """Lay out the page; wrong: id of the form that was refused, with what was typed in it and what is wrong.

    unfolded: id of the form that is open, of those that are folded.
    """
    household, customs = stored.household, customs_of(stored.household)
    by_plans, doubts = SupplyByPlans(household), _doubts(household)

    def view(section: Section) -> SectionView:
        refused = section.id == wrong
        shown = show_fields(
            section.fields,
            section.document,
            section.model,
            customs,
            section.id,
            typed if refused else None,
            messages if refused else None,
            by_plans.figures(section),
            doubts.get(section.id),
        )
        return SectionView(
            id=section.id,
            title=section.title,
            part=section.part,
            place=str(section.at[0]) if section.at else "",
            of=section.of,
            depth=_depth(household, section),
            line=_line(household, section),
            summary=_summary(household, section),
            others=by_plans.without(section),
            findings=tuple(_findings(household, assessment, section)),
            fields=shown,
            there=section.there,
            removable=section.there and section.part in ("arrays", "circuits", "water", "generator"),
            folded=section.part in _MANY and section.id not in (wrong, unfolded),
        )

    by_part: dict[str, list[SectionView]] = {}
    for section in sorted(sections(stored), key=lambda one: _in_the_tree(household, one)):
        by_part.setdefault(section.part, []).append(view(section))

    drawing, moments = inverter_drawing(resolved.household, assessment)
    return SupplyView(
        action=action,
        lists=lists,
        appliances=appliances,
        groups=tuple(
            _group(part, by_part.get(part, []), by_plans.only_there(part), has_pump=bool(pumps_of(household)))
            for part in _GROUPS
        ),
        inverter=drawing,
        moments=moments,
        derating=derating_drawing(household, customs),
        plan=resolved.day.name,
        checklist=checklist,
    )


def _doubts(household: Household) -> dict[str, dict[str, str]]:
    """By part and field, why a figure is hardly meant."""
    found: dict[str, dict[str, str]] = {}
    for one in doubted(household.supply):
        found.setdefault(one.part, {})[one.field] = words.doubt_words(one.field, one.value_v, one.bank_v)
    return found


def _group(part: str, forms: list[SectionView], others: tuple[str, ...], *, has_pump: bool) -> GroupView:
    title, caution, none_yet, add_words = _GROUPS[part]
    there = [one for one in forms if one.there]
    needs_pump = part == "water" and not there and not has_pump
    more = bool(add_words) and (part in _MANY or not there) and not needs_pump
    lead, adds, words_there = "" if there else none_yet, part if more else "", add_words if more else ""
    return GroupView(title, lead, caution, tuple(there), others, adds, words_there, needs_pump)


_MANY = ("arrays", "circuits")
# By the supply's fields: the heading, what may hurt, what is said while there is none, and how one is added.
_GROUPS = {
    "inverter": ("Inverter", "", "", ""),
    "battery": (
        "Battery bank",
        "Work on a battery is for somebody who knows how: a dropped spanner carries thousands of amps.",
        "",
        "",
    ),
    "arrays": ("Solar arrays", "", "None yet. Plans can do without; the sun over the day needs them.", "Add an array"),
    "circuits": (
        "Circuits",
        "The check tells voltage lost on the way; it does not size a cable. A fault at the far end may darken the house"
        " rather than trip its breaker. Cables and breakers are for a licensed person and the local code.",
        "None yet. Without them everything counts against the inverter alone, and no breaker or cable is checked.",
        "Add a circuit",
    ),
    "water": (
        "Water",
        "",
        "None yet. With a pump behind a vessel, taps and machines that take in water start it by themselves.",
        "Add a pump and its vessel",
    ),
    "generator": ("Generator", "", "None.", "Add a generator"),
    "rules": ("What you tolerate", "", "", ""),
}


def _in_the_tree(household: Household, section: Section) -> tuple[int, ...]:
    """Circuits in the order of the tree: each after what feeds it; everything else as it comes."""
    if section.part != "circuits":
        return ()
    places = {one.id: place for place, one in enumerate(household.supply.circuits)}
    feeders = {one.id: one.fed_from for one in household.supply.circuits}
    circuit: str | None = household.supply.circuits[section.at[0]].id
    path: list[int] = []
    while circuit is not None and len(path) <= len(places):
        path.insert(0, places[circuit])
        circuit = feeders[circuit]
    return tuple(path)


def _depth(household: Household, section: Section) -> int:
    if section.part != "circuits":
        return 0
    feeders = {one.id: one.fed_from for one in household.supply.circuits}
    circuit, depth = household.supply.circuits[section.at[0]].fed_from, 0
    while circuit is not None and depth < 5:
        circuit, depth = feeders.get(circuit), depth + 1
    return depth


def _line(household: Household, section: Section) -> str:
    """What a piece of a list is: an array by its size and way; with two legs a circuit by its own and their volts."""
    if section.part == "arrays":
        return words.array_words(household.supply.arrays[section.at[0]])
    if section.part == "circuits":
        return words.leg_words(household.supply.circuits[section.at[0]], household.supply.inverter)
    return ""


def _summary(household: Household, section: Section) -> str:
    if section.part == "battery":
        bank = household.supply.battery
        energy_wh = bank.modules * bank.module_ah * bank.module_v * bank.health
        share = bank.modules / (bank.sharing if bank.modules > 1 else 1.0)
        steady, peak = (quantity(share * one, "A") for one in (bank.continuous_discharge_a, bank.peak_discharge_a))
        return f"{plain(bank.module_v)} V, {quantity(energy_wh, 'Wh')}, {steady} for hours, {peak} at the very most."
    if section.part == "circuits":
        circuit = household.supply.circuits[section.at[0]]
        on_it = [one.name for one in household.appliances if one.circuit == circuit.id]
        return f"On it: {', '.join(on_it)}." if on_it else "Nothing is on it yet; an appliance says its circuit itself."
    return ""


# Beside a circuit's own name its limits need it not once more.
_OWN_LIMITS = {"circuit": "Breaker", "voltage_drop": "Voltage lost"}


def _findings(household: Household, assessment: Assessment, section: Section) -> Iterator[Finding]:
    """How the limits this form is about stand in the open plan."""
    if section.part == "circuits":
        circuit_id = household.supply.circuits[section.at[0]].id
        wanted = [f"circuit:{circuit_id}", f"voltage_drop:{circuit_id}"]
    elif section.part == "inverter":
        wanted = ["inverter_continuous", "inverter_apparent", "inverter_overload", "cold_restart"]
    elif section.part == "battery":
        wanted = ["battery_continuous", "battery_peak", "battery_voltage", "dc_fuse"]
    else:
        return
    for limit_id in wanted:
        reading = assessment.limit(limit_id)
        if reading is not None:
            kind = limit_id.partition(":")[0]
            name = _OWN_LIMITS.get(kind) or words.limit_name(limit_id, household)
            text, verdict = f"{name}: {words.reading_phrase(reading)}", reading.verdict
            if limit_id == "battery_voltage" and any(doubted(household.supply)):
                text, verdict = f"{text}, if these volts are right", worst_of(verdict, "tight")
            yield Finding(text, verdict)
