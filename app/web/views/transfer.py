"""Where a household file goes to, and what it would change there."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from app.engine.results import Verdict
from app.household.differences import Difference, Path, differences, thing_of
from app.household.errors import Fault, HouseholdFaults
from app.household.household import Household
from app.store.stored import StoredHousehold, StoredScenario
from app.web import words
from app.web.planned import planned
from app.web.words.differences import Telling
from app.web.words.draws import draws_of, rating_of

GROUPS = (("household", "Household"), ("supply", "Supply"), ("appliances", "Appliances"), ("scenarios", "Plans"))
NOT_WORKED_OUT = "Cannot be worked out"


@dataclass(frozen=True, slots=True)
class WayItem:
    """One place a file can go to."""

    name: str  # what it becomes, or which household it goes into
    href: str  # the form for it
    current: bool  # it is the one shown


@dataclass(frozen=True, slots=True)
class WayView:
    """households/import.html: where the file goes."""

    ways: tuple[WayItem, ...]  # every place it can go to
    into: str  # name of the household it goes into; empty for a new one
    at_once: bool  # that household cannot be read, so nothing can be shown before
    action: str  # where the form goes


@dataclass(frozen=True, slots=True)
class StandView:
    """How one plan stands, with the household as it is and as the file has it."""

    name: str  # the plan's name
    verdict_before: Verdict | None  # for the colour; None where there is none
    before: str  # how it stands now, in words
    verdict: Verdict | None  # for the colour; None where there is none
    after: str  # how it would stand, in words
    same: bool  # it stands as it did


@dataclass(frozen=True, slots=True)
class ChangedItem:
    """One thing that would be another: an appliance, a plan, a piece of the supply."""

    name: str  # what people call it
    says: str  # what becomes of it, in few words
    lines: tuple[str, ...]  # its figures, from what to what


@dataclass(frozen=True, slots=True)
class ChangedGroup:
    """What would be another of one kind."""

    key: str  # the group, for its id on the page
    heading: str  # what they are
    count: str  # how many are new, go, or change
    items: tuple[ChangedItem, ...]  # one for each


@dataclass(frozen=True, slots=True)
class PreviewView:
    """households/preview.html."""

    household: str  # the household's name as it is
    notice: tuple[str, ...]  # what happened since the last preview, a line each
    lead: str  # how much would change
    stands: tuple[StandView, ...]  # how every plan stands before and after
    groups: tuple[ChangedGroup, ...]  # what would be another
    action: str  # where "Do it" goes; empty if nothing would change
    leave: str  # where "Leave it" goes
    text: str  # the file, to be sent once more
    revision: int  # of the household this preview was made on
    tab: str  # a name for this preview


def preview_view(
    before: StoredHousehold,
    after: StoredHousehold,
    *,
    notice: tuple[str, ...],
    action: str,
    leave: str,
    text: str,
    tab: str,
) -> PreviewView:
    """Put into words what a household would be with a file in its place, which is not stored yet."""
    found = differences(before.household, after.household)
    groups = changed_groups(before, after, found)
    count = sum(len(group.items) for group in groups)
    return PreviewView(
        household=before.household.name,
        notice=notice,
        lead=_lead(before.household.name, count),
        stands=stands(before, after),
        groups=groups,
        action=action if found else "",
        leave=leave,
        text=text,
        revision=before.revision,
        tab=tab,
    )


def changed_groups(
    before: StoredHousehold, after: StoredHousehold, found: Sequence[Difference]
) -> tuple[ChangedGroup, ...]:
    """Differences by kind of thing, and by thing."""
    telling = Telling(before, after)
    by_thing: dict[Path, list[Difference]] = {}
    for one in found:
        by_thing.setdefault(thing_of(one.path), []).append(one)
    groups = []
    for key, heading in GROUPS:
        mine = {thing: ones for thing, ones in by_thing.items() if _group(thing) == key}
        if mine:
            items = tuple(_item(telling, after, thing, ones) for thing, ones in mine.items())
            groups.append(ChangedGroup(key, heading, _count(mine), items))
    return tuple(groups)


def _group(thing: Path) -> str:
    return str(thing[0]) if thing[0] in dict(GROUPS) else "household"


def _item(telling: Telling, after: StoredHousehold, thing: Path, found: Iterable[Difference]) -> ChangedItem:
    says = ""
    lines: list[str] = []
    for one in found:
        if one.path == thing and one.what in ("added", "removed"):
            says = _whole(one)
            if one.what == "added" and (more := _carries(after.household, thing)):
                says = f"{says}: {more}"
        else:
            lines += telling.lines(one, thing)
    return ChangedItem(readable(telling.title(thing)), says, tuple(map(readable, lines)))


def _whole(found: Difference) -> str:
    """What is said of a thing that comes or goes."""
    value = found.new if found.what == "added" else found.old
    runs = len(value.get("runs", ())) if isinstance(value, dict) and found.path[0] == "scenarios" else 0
    more = f", with {runs} {'run' if runs == 1 else 'runs'}" if runs else ""
    return f"{'New' if found.what == 'added' else 'Goes'}{more}"


def _carries(household: Household, thing: Path) -> str:
    """What a new appliance draws, and a new circuit carries; empty for anything else, or where nothing is known."""
    match thing:
        case ("appliances", name):
            return next((draws_of(one) for one in household.appliances if one.id == name), "")
        case ("supply", "circuits", name):
            return next((rating_of(one) for one in household.supply.circuits if one.id == name), "")
        case _:
            return ""


def _count(by_thing: dict[Path, list[Difference]]) -> str:
    """How many are new, go, and change: `1 new, 2 changed`."""
    whats = [ones[0].what if ones[0].path == thing else "changed" for thing, ones in by_thing.items()]
    counted = ((whats.count("added"), "new"), (whats.count("removed"), "gone"))
    changed = len(whats) - sum(number for number, _ in counted)
    return ", ".join(f"{number} {word}" for number, word in (*counted, (changed, "changed")) if number)


def _lead(name: str, count: int) -> str:
    if not count:
        return f"The file says what is here already; nothing in {name} would change."
    return f"{count} {'thing' if count == 1 else 'things'} in {name} would change. Nothing is stored yet."


def stands(before: StoredHousehold, after: StoredHousehold) -> tuple[StandView, ...]:
    """How each plan stands before and after; those of the file first, then those that go.

    Raises HouseholdFaults, for every plan at once, when the file has plans that cannot be computed.
    """
    was = {one.id: one for one in before.scenarios}
    kept = {one.id for one in after.scenarios}
    faults: list[Fault] = []
    found = []
    for scenario in after.scenarios:
        try:
            verdict = planned(after, scenario, with_sun=True).assessment.verdict
        except HouseholdFaults as refused:
            faults += [Fault(one.path, f"in the plan {scenario.name!r}, {one.why}") for one in refused.faults]
            continue
        old = _verdict(before, was[scenario.id]) if scenario.id in was else None
        told = _word(old) if scenario.id in was else "New"
        found.append(StandView(scenario.name, old, told, verdict, words.verdict_word(verdict), old == verdict))
    if faults:
        raise HouseholdFaults(dict.fromkeys(faults))
    for scenario in before.scenarios:
        if scenario.id not in kept:
            old = _verdict(before, scenario)
            found.append(StandView(scenario.name, old, _word(old), None, "Goes", same=False))
    return tuple(found)


def _verdict(stored: StoredHousehold, scenario: StoredScenario) -> Verdict | None:
    try:
        return planned(stored, scenario, with_sun=True).assessment.verdict
    except HouseholdFaults:
        return None


def _word(verdict: Verdict | None) -> str:
    return NOT_WORKED_OUT if verdict is None else words.verdict_word(verdict)


def readable(text: str) -> str:
    """A text that can be written on a page; a patch may name a field by half a character."""
    return text.encode("utf-8", "replace").decode("utf-8")
