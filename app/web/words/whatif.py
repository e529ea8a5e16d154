"""What a plan has otherwise than what it is built on, in words; and what is said on the what-if's page."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from app.household.differences import Difference, differences, thing_of
from app.household.household import Household
from app.household.resolve import Day, resolve
from app.household.whatif import ChangePath, plan_of_id, said_at, with_and_without
from app.web.words.differences import Telling
from app.web.words.draws import draws_of
from app.web.words.overrides import THE_HOUSEHOLD
from app.web.words.plain import sentence_case

RUNS, THE_DAY = "Runs", "The day"
LISTS = {"circuits": "Circuits", "arrays": "Solar arrays"}
WHOLE_LIST = "Taken back as one list. What is the same in {ground} follows it."
NAMELESS = "Kept as one list, for not every array has a name of its own: what changes in {ground} does not show here."
NOTHING = "Nothing yet: everything is as in {ground}. What changes there shows here too."
LEAD = "What is not listed here follows {ground}, now and later."
LEAVE_OUT, AS_IN = "Leave it out", "As in {ground}"
NOTHING_TO_TAKE_BACK = "That was taken back meanwhile; this is how it stands now."
NAME_IT = "Give it a name, such as {such_as}."
NOT_REAL = "There is nothing to make real: its supply and its appliances are the household’s own."
REAL_KEEPS = (
    "The plan keeps its runs and its day. The plans it is built on have these figures too then, also where they had"
    " others of their own; other plans keep theirs. It is one step, and can be undone."
)
REAL_CAUTION = (
    "This changes what Loadstead reckons with, not the wires. What is built or changed at the supply is for a licensed"
    " person, after the local code."
)
ALONE = "These figures are of “{plan}” alone. What you do not change follows {ground}; no other plan changes."
OWN = "These are the household’s own figures, for all plans."
TO_OWN, TO_ALONE = "To the household’s own", "Try other ones in “{plan}” alone"
OVERTAKEN = "The household was changed since this preview was made. Look again before you do it."


@dataclass(frozen=True, slots=True)
class Differing:
    """One thing a plan has otherwise.

    lines: from what to what. path: where the plan says so, to be taken back; None for what is its own alone.
    note: what holds for a list that is said at once; else empty. new: it is not there at all in what the plan is built
    on.
    """

    name: str
    lines: tuple[str, ...]
    path: ChangePath | None
    note: str = ""
    new: bool = False


@dataclass(frozen=True)
class _State:
    household: Household

    @cached_property
    def days(self) -> Mapping[str, Day]:
        return {one.id: resolve(self.household, one.id).day for one in self.household.scenarios}


def differing(household: Household, scenario_id: str) -> tuple[Differing, ...]:
    """Everything a plan has otherwise than what it is built on, by what can be taken back at once."""
    plan = plan_of_id(household, scenario_id)
    before, after = (_State(one) for one in with_and_without(household, scenario_id))
    telling = Telling(before, after)
    by_path: dict[tuple[ChangePath | None, str], list[Difference]] = {}
    for one in differences(before.household, after.household):
        path = said_at(plan, one)
        by_path.setdefault((path, _name(telling, one)), []).append(one)
    return tuple(
        Differing(
            name=name,
            lines=tuple(_lines(telling, after.household, ones)),
            path=path,
            note="" if path is None else _of_lists(path, (before.household, after.household)),
            new=_is_new(ones),
        )
        for (path, name), ones in by_path.items()
    )


def differs(household: Household, scenario_id: str) -> tuple[str, ...]:
    """The same in lines of their own: `Inverter: rating 5000 VA → 6000 VA`."""
    return tuple(
        f"{one.name}: {line[:1].lower()}{line[1:]}" if one.name not in (RUNS, THE_DAY) else line
        for one in differing(household, scenario_id)
        for line in one.lines
    )


def ground_name(household: Household, scenario_id: str) -> str:
    """What a plan is built on, by its name."""
    parent = plan_of_id(household, scenario_id).parent
    return THE_HOUSEHOLD if parent is None else plan_of_id(household, parent).name


def _is_new(found: list[Difference]) -> bool:
    """A machine or a run that comes with the plan."""
    path, what = found[0].path, found[0].what
    is_whole = len(path) == 2 if path[0] == "appliances" else path[2:3] == ("runs",) and len(path) == 4
    return what == "added" and is_whole


def _of_lists(path: ChangePath, households: Iterable[Household]) -> str:
    """What holds for a list that a plan says as one value; empty for anything else."""
    match path:
        case ("supply", "circuits"):
            return WHOLE_LIST
        case ("supply", "arrays"):
            named = [[array.name for array in one.supply.arrays] for one in households]
            return WHOLE_LIST if all(None not in names and len({*names}) == len(names) for names in named) else NAMELESS
        case _:
            return ""


def _name(telling: Telling, one: Difference) -> str:
    match one.path:
        case ("supply", "circuits" | "arrays" as part, *_):
            return LISTS[str(part)]
        case ("scenarios", _, "runs", *_):
            return RUNS
        case ("scenarios", *_):
            return THE_DAY
        case _:
            return telling.title(thing_of(one.path))


def _lines(telling: Telling, after: Household, found: list[Difference]) -> Iterator[str]:
    for one in found:
        thing = thing_of(one.path)
        own = f"{telling.title(thing)}: " if len(thing) > 2 else ""
        if one.path != thing or one.what == "moved":
            for line in telling.lines(one, thing):
                yield f"{own}{line[:1].lower()}{line[1:]}" if own else line
        elif thing[0] == "appliances" and one.what == "added":
            yield f"New: {draws_of(next(entry for entry in after.appliances if entry.id == thing[1]))}"
        else:
            yield sentence_case(f"{own}{'new' if one.what == 'added' else 'goes'}")
