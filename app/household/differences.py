"""What is different between two households, figure by figure: for looking before one takes the other's place."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from app.household.appliance import Appliance
from app.household.fields import Part
from app.household.household import Household
from app.household.scenario import Changes

What = Literal["added", "removed", "changed", "moved"]
Path = tuple[str | int, ...]

# Lists of names, of which each comes and goes by itself; any other list of plain values is one value.
_LISTS_OF_NAMES = ("any_time", "off")


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is different.

    path: the fields that lead to it; in a list of things that have ids the id, in any other the place, counted
        from 0: of what was removed in the old list, else in the new one.
    what: added, removed and changed as it says; moved, if the same names stand in another order at the path.
    old, new: the values, as the file has them; None where there is none. A null that a patch holds is None too,
        and was added or removed.
    """

    path: Path
    what: What
    old: Any
    new: Any


def differences(before: Household, after: Household) -> tuple[Difference, ...]:
    """Everything in which one household differs from another, in the order of the file; nothing if they are equal.

    What a file leaves out counts as what holds then, so to write a default down is no difference.

    >>> from app.household.file import household_from
    >>> from app.household.starting import starting_document
    >>> small = starting_document("Reedbank", "2026-05-12")
    >>> large = small | {"supply": small["supply"] | {"battery": small["supply"]["battery"] | {"modules": 6}}}
    >>> [(one.path, one.old, one.new) for one in differences(household_from(small), household_from(large))]
    [(('supply', 'battery', 'modules'), 4, 6)]
    """
    return tuple(_between(_told(before), _told(after), ()))


def thing_of(path: Path) -> Path:
    """The thing a figure belongs to: an appliance, a plan, a circuit, an array, another piece of the supply."""
    match path:
        case ("supply", "circuits" | "arrays", _, *_):
            return path[:3]
        case ("supply" | "appliances" | "scenarios", _, *_):
            return path[:2]
        case _:
            return path[:1]


def _told(value: Any) -> Any:
    """A part as JSON values, with every default written down and nothing that is null but in a patch."""
    if isinstance(value, Changes):
        brought = tuple(Appliance.model_validate(entry) for entry in value.appliances)
        return {"supply": value.supply, "appliances": _told(brought), "runs": value.runs, "day": value.day}
    if isinstance(value, Part):
        fields = ((name, getattr(value, name)) for name in type(value).model_fields)
        return {name: _told(inner) for name, inner in fields if inner is not None}
    if isinstance(value, tuple | list):
        return [_told(inner) for inner in value]
    return value


def _between(old: Any, new: Any, path: Path) -> Iterator[Difference]:
    if isinstance(old, dict) and isinstance(new, dict) and path[-1:] != ("measured_day",):
        yield from _of_fields(old, new, path)
    elif isinstance(old, list) and isinstance(new, list):
        if path and path[-1] in _LISTS_OF_NAMES:
            yield from _of_named(dict.fromkeys(old), dict.fromkeys(new), path)
        elif _have_ids(old) and _have_ids(new):
            yield from _of_named({one["id"]: one for one in old}, {one["id"]: one for one in new}, path)
        elif _are_things(old) and _are_things(new):
            yield from _of_places(old, new, path)
        elif old != new:
            yield Difference(path, "changed", old, new)
    elif old != new:
        yield Difference(path, "changed", old, new)


def _of_fields(old: dict[str, Any], new: dict[str, Any], path: Path) -> Iterator[Difference]:
    for name in (*old, *(name for name in new if name not in old)):
        inside = (*path, name)
        if name not in new:
            yield Difference(inside, "removed", old[name], None)
        elif name not in old:
            yield Difference(inside, "added", None, new[name])
        else:
            yield from _between(old[name], new[name], inside)


def _of_named(old: dict[str, Any], new: dict[str, Any], path: Path) -> Iterator[Difference]:
    """Of things that go by a name: what comes and goes, what each differs in, and whether they are in another order."""
    yield from _of_fields(old, new, path)
    kept, now = [name for name in old if name in new], [name for name in new if name in old]
    if kept != now:
        yield Difference(path, "moved", kept, now)


def _of_places(old: list[Any], new: list[Any], path: Path) -> Iterator[Difference]:
    """Of things that go by their place: what is the same at both ends is left out, the rest is compared in turn."""
    same = 0
    while same < min(len(old), len(new)) and old[same] == new[same]:
        same += 1
    same_last = 0
    while same_last < min(len(old), len(new)) - same and old[-1 - same_last] == new[-1 - same_last]:
        same_last += 1
    ends, ends_now = len(old) - same_last, len(new) - same_last
    for place in range(same, max(ends, ends_now)):
        inside = (*path, place)
        if place >= ends_now:
            yield Difference(inside, "removed", old[place], None)
        elif place >= ends:
            yield Difference(inside, "added", None, new[place])
        else:
            yield from _between(old[place], new[place], inside)


def _have_ids(things: list[Any]) -> bool:
    return all(isinstance(one, dict) and "id" in one for one in things)


def _are_things(things: list[Any]) -> bool:
    return all(isinstance(one, dict) for one in things)
