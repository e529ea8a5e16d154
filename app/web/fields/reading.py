"""What a form's fields mean: the figures that were changed, or what is wrong with them."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, zip_longest
from typing import Any

from pydantic import BaseModel, ValidationError

from app.household.errors import Fault
from app.household.paths import value_at
from app.household.words import MISSING, faults_of
from app.web.fields.customs import Customs
from app.web.fields.entry import Entry, Facts, Field, Points, facts, facts_of_line, most_lines, reader
from app.web.fields.measure import Measure, Value, Words
from app.web.fields.unreadable import short, unreadable

WAS = "was:"
_CHANGES = re.compile(r"scenarios\[\d+\]\.changes\.")
_PLACE = re.compile(r"\[(\d+)\]")
NONE = "(none)"

Typed = Mapping[str, Sequence[str]]


@dataclass(frozen=True)
class Read:
    """What a form comes to.

    changes: pairs of a path inside the part and the value there, for the store. messages: per field what is wrong.
    """

    changes: list[list[Any]]
    messages: dict[str, tuple[str, ...]]

    def apart_from(self, document: Any) -> list[list[Any]]:
        """The changes that make a part another one: a figure typed otherwise, `1,2 kW` where 1200 stands, is none."""
        return [[path, value] for path, value in self.changes if not _is_same(value_at(document, path), value)]


def read_form(
    fields: Iterable[Field], typed: Typed, model: type[BaseModel], customs: Customs, at: Sequence[str | int] = ()
) -> Read:
    """Read the fields of a form that were changed since it was shown.

    typed: what was sent, by the field's path, and as it had been shown under `was:`. model: of what the fields are of.
    at: path of that inside its part.
    """
    changes: list[list[Any]] = []
    messages: dict[str, tuple[str, ...]] = {}
    customs = _with_power_factor(customs, typed)
    for field in fields:
        if not _is_changed(field, typed):
            continue
        path = [*at, *(int(step) if step.isdecimal() else step for step in field.path.split("."))]
        try:
            value = (
                _points(field, typed, model, customs)
                if isinstance(field, Points)
                else _entry(field, typed, model, customs)
            )
        except _Wrong as wrong:
            messages[field.path] = wrong.messages
        else:
            changes.append([path, value])
    return Read(changes, messages)


def place_faults(
    faults: Iterable[Fault], fields: Sequence[Field], at: str, words: Mapping[str, str]
) -> dict[str, tuple[str, ...]]:
    """Faults of the whole household beside the fields they are about; under an empty name those about none of these.

    at: where the fields' part stands in the file, `supply.inverter`. words: per path, what to say in place of the
    file's own words; per `path is missing`, where there is nothing. What only a plan makes impossible, by figures of
    its own, is beside none, and names the plan.
    """
    found: dict[str, tuple[str, ...]] = {}
    for fault in faults:
        path = _CHANGES.sub("", fault.path) if fault.plan else fault.path
        inside = path.removeprefix(at).lstrip(".") if path.startswith(at) else None
        dotted = "" if inside is None else _PLACE.sub(r".\1", inside)
        field = None if inside is None else next((one for one in fields if _holds(one.path, dotted)), None)
        name = field.path if field else ""
        missing = words.get(f"{name} is missing") if fault.why == MISSING else None
        said = missing or words.get(inside or "") or words.get(name) or _sentence(fault, field)
        if fault.plan:
            said = f"In the plan {fault.plan!r}: {said}" if said in words.values() else said
            name = ""
        found[name] = tuple(dict.fromkeys((*found.get(name, ()), said)))
    return found


def _sentence(fault: Fault, field: Field | None) -> str:
    """What is wrong in the file's words; what is missing by the name it has in the form."""
    if fault.why != MISSING or field is None:
        return fault.sentence
    such_as = f"; give it as {field.measure.such_as}" if isinstance(field, Entry) and field.measure else ""
    return f"\u201c{field.label}\u201d is needed{such_as}."


def at_what_was_typed(
    messages: Mapping[str, tuple[str, ...]],
    fields: Sequence[Field],
    typed: Typed,
    broken_by: Mapping[str, Sequence[str]],
) -> dict[str, tuple[str, ...]]:
    """Messages beside figures that nobody touched stand beside those that were typed and break them.

    broken_by: per path of a field, the paths of those that may.
    """
    labels, changed = {field.path: field.label for field in fields}, set(changed_names(fields, typed))
    found: dict[str, tuple[str, ...]] = {}
    for path, said in messages.items():
        by = [] if path in changed else [one for one in broken_by.get(path, ()) if one in changed]
        why = " ".join(f"{one[:1].lower()}{one[1:]}" for one in said)
        with_it: tuple[str, ...] = (
            f"With this, \u201c{labels.get(path)}\u201d does not fit: {why} It waits here, and is stored with that.",
        )
        for at, words in [(one, with_it) for one in by] or [(path, said)]:
            found[at] = (*found.get(at, ()), *words)
    return found


def only(typed: Typed, names: Iterable[str]) -> dict[str, list[str]]:
    """What was typed into some fields alone, with what they had shown."""
    there = set(names)

    def belongs(name: str) -> bool:
        bare = name.removeprefix(WAS)
        return bare in there or bare.rpartition(".")[0] in there

    return {name: list(values) for name, values in typed.items() if belongs(name)}


def _is_same(one: Any, other: Any) -> bool:
    """Whether two values of the file are the same; true is no 1."""
    return bool(one == other) and isinstance(one, bool) == isinstance(other, bool)


def _holds(path: str, inside: str) -> bool:
    return inside == path or inside.startswith((f"{path}.", f"{path}[")) or path.startswith(f"{inside}.")


class _Wrong(Exception):
    def __init__(self, *messages: str) -> None:
        self.messages = messages


def _with_power_factor(customs: Customs, typed: Typed) -> Customs:
    """Amperes make watts by the power factor that stands in the same form."""
    given = _first(typed, "power_factor").replace(",", ".")
    try:
        factor = float(given or 1)
    except ValueError:
        return customs
    return replace(customs, power_factor=factor) if 0 < factor <= 1 else customs


def _first(typed: Typed, name: str) -> str:
    return next(iter(typed.get(name, ())), "")


def _is_changed(field: Field, typed: Typed) -> bool:
    if isinstance(field, Points):
        return f"{field.path}.0" in typed and points_text(_lines(field, typed)) != _first(typed, WAS + field.path)
    return field.path in typed and _first(typed, field.path).strip() != _first(typed, WAS + field.path).strip()


def points_text(lines: Iterable[Sequence[str]]) -> str:
    """Lines of a list as one text, to tell whether any was changed."""
    return "\n".join("|".join(text.strip() for text in line) for line in lines if any(text.strip() for text in line))


def _lines(field: Points, typed: Typed) -> list[tuple[str, ...]]:
    columns = [typed.get(f"{field.path}.{number}", ()) for number in range(len(field.columns))]
    return list(zip_longest(*columns, fillvalue=""))


def _entry(field: Entry, typed: Typed, model: type[BaseModel], customs: Customs) -> Any:
    text = _first(typed, field.path)
    known = facts(model, field.path)
    if field.choices:
        for value, _ in field.choices:
            if choice_text(value) == text:
                return value
        raise _Wrong("What was chosen is there no more; choose again.")
    assert field.measure is not None  # a field is a choice or has a measure
    if not text.strip():
        if known.required or field.needed:
            raise _Wrong(f"{field.label} is needed; give it as {field.measure.examples(customs)}.")
        return None
    value = field.measure.read(text, customs)
    if value is None:
        raise _Wrong(unreadable(text, field.measure, customs))
    if beyond := _beyond(value, text, known, field.measure, customs):
        raise _Wrong(beyond)
    if isinstance(field.measure, Words):
        _check_text(value, model, field.path)
    return value


def _check_text(value: Value, model: type[BaseModel], path: str) -> None:
    """Refuse a text that is none to the file, as one too long: here, so that all of a form is said at once."""
    try:
        reader(model, path).validate_python(value)
    except ValidationError as error:
        if any(detail["type"] == "text" for detail in error.errors()):
            raise _Wrong(*(one.sentence for one in faults_of(error))) from error


def choice_text(value: Any) -> str:
    """A choice as the form sends it; nothing is the empty one."""
    return "" if value is None else str(value).lower() if isinstance(value, bool) else str(value)


def _beyond(value: Value, text: str, known: Facts, measure: Measure, customs: Customs) -> str:
    """Which bound a figure lies beyond, in the field's own unit; empty where it may be."""
    if isinstance(value, str):
        return ""
    small, large = known.too_small(value), known.too_large(value)
    if not small and not large:
        return ""
    bounds = [known.least, known.above] if small else [known.most, known.below]
    bound = (max if small else min)(one for one in bounds if one is not None)
    shown = f"{measure.show(bound, customs)} {measure.unit_shown(customs)}".strip()
    side = (
        "from" if small and known.above != bound else "above" if small else "up to" if known.below != bound else "below"
    )
    return f"{short(text)} is too {'small' if small else 'large'}; give a figure {side} {shown}."


def _points(field: Points, typed: Typed, model: type[BaseModel], customs: Customs) -> Any:
    found: list[list[Value]] = []
    messages: list[str] = []
    for number, line in enumerate(_lines(field, typed), 1):
        # A line begins with its first figure; one that is all empty is none, and so is one that chooses nothing.
        if any(text.strip() for text in line) and (field.columns[0].measure is not None or line[0]):
            point, wrong = _point(field, line, model, customs)
            messages += [f"Line {number}: {one}" for one in wrong]
            found.append(point)
    at_most = most_lines(model, field)
    if at_most is not None and len(found) > at_most:
        messages.append(f"At most {at_most} lines, please; here are {len(found)}.")
    if messages:
        raise _Wrong(*messages)
    if field.rises:
        _check_rising(field, found, customs)
    if field.keys:
        return [dict(zip(field.keys, point, strict=False)) for point in found] or None
    return found or None


def _check_rising(field: Points, found: list[list[Value]], customs: Customs) -> None:
    first = field.columns[0]
    for before, after in pairwise(found):
        if first.measure and float(after[0]) <= float(before[0]):
            shown = [first.measure.show(one[0], customs) for one in (before, after)]
            raise _Wrong(f"The lines have to rise: {shown[1]} follows {shown[0]}. Put them in order, each once.")


def _point(
    field: Points, line: Sequence[str], model: type[BaseModel], customs: Customs
) -> tuple[list[Value], list[str]]:
    point: list[Value] = []
    wrong: list[str] = []
    measured = any(column.measure for column in field.columns)
    known = facts_of_line(model, field) if measured else ()
    for column, text, facts_there in zip_longest(field.columns, line, known):
        if column.measure is None:
            point.append(text)
            continue
        value = column.measure.read(text, customs) if text.strip() else None
        if value is not None:
            point.append(value)
            beyond = _beyond(value, text, facts_there, column.measure, customs) if facts_there else ""
            wrong += [beyond] if beyond else []
        elif text.strip():
            wrong.append(unreadable(text, column.measure, customs))
        elif not column.optional:
            wrong.append(f"{column.label} is missing; give it as {column.measure.examples(customs)}.")
    return point, wrong


def changed_names(fields: Iterable[Field], typed: Typed) -> Iterator[str]:
    """Paths of the fields that were changed since they were shown."""
    return (field.path for field in fields if _is_changed(field, typed))
