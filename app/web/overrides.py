"""What plans of a household say otherwise than the household itself, figure by figure."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from app.household.household import Household
from app.household.merge import merge_patch
from app.household.paths import value_at
from app.household.scenario import Scenario
from app.web.fields.entry import Entry, Field, facts
from app.web.words.naming import Naming
from app.web.words.overrides import in_plans


@dataclass(frozen=True)
class Variant:
    """A part as some plans have it. document: as in the file; None where they have none."""

    plans: tuple[str, ...]
    document: Any


Said = dict[str, tuple[str, ...]]


def supplies(household: Household) -> list[Variant]:
    """The supply of every plan that changes it, plans of one supply together."""

    def supply(line: list[Scenario]) -> Any:
        document: Any = household.supply.document()
        for plan in line:
            document = merge_patch(document, plan.changes.supply)
        return document

    lines = [line for line in _lineages(household) if any(plan.changes.supply for plan in line)]
    return _together((line[-1].name, supply(line)) for line in lines)


def entries(household: Household, appliance_id: str) -> list[Variant]:
    """An appliance as every plan has it that brings one of its id, plans of one entry together."""
    found = []
    for line in _lineages(household):
        brought = [one for plan in line for one in plan.changes.appliances if one["id"] == appliance_id]
        if brought:
            found.append((line[-1].name, brought[-1]))
    return _together(found)


def only_in_plans(household: Household) -> list[str]:
    """Ids of the appliances that no library has but a plan's."""
    own = {one.id for one in household.appliances}
    brought = (str(entry["id"]) for plan in household.scenarios for entry in plan.changes.appliances)
    return [one for one in dict.fromkeys(brought) if one not in own]


def inside(variants: Iterable[Variant], *path: str | int) -> list[Variant]:
    """Variants of what stands at a path of theirs."""
    return [Variant(one.plans, value_at(one.document, list(path))) for one in variants]


def otherwise(
    fields: Iterable[Field], present: Any, variants: Iterable[Variant], model: type[BaseModel], naming: Naming
) -> Said:
    """By the fields' paths, what plans have there: `In the plan Boat shed opens: 6000 VA`.

    present: the part as the household has it. variants: the part as plans have it; those that have none say nothing.
    """
    variants = [one for one in variants if one.document is not None]
    said: Said = {}
    for field in fields:
        lines = []
        for one in variants:
            value = _value(one.document, field, model)
            if value != _value(present, field, model):
                lines.append(in_plans(one.plans, _shown(field, value, naming)))
        if lines:
            said[field.path] = tuple(lines)
    return said


def _value(document: Any, field: Field, model: type[BaseModel]) -> Any:
    value = value_at(document, [int(step) if step.isdecimal() else step for step in field.path.split(".")])
    return facts(model, field.path).default if value is None and isinstance(field, Entry) else value


def _shown(field: Field, value: Any, naming: Naming) -> str:
    if isinstance(field, Entry) and field.choices and (chosen := [said for one, said in field.choices if one == value]):
        return chosen[0]
    if value is None and field.blank:
        return naming.as_usual(field.blank)
    return naming.figure(field, field.path.rpartition(".")[2], value)


def _lineages(household: Household) -> Iterator[list[Scenario]]:
    """Every plan with those it builds on, the eldest first."""
    by_id = {plan.id: plan for plan in household.scenarios}
    for plan in household.scenarios:
        line = [plan]
        while line[0].parent is not None:
            line.insert(0, by_id[line[0].parent])
        yield line


def _together(found: Iterable[tuple[str, Any]]) -> list[Variant]:
    variants: list[Variant] = []
    for name, document in found:
        place = next((n for n, one in enumerate(variants) if one.document == document), None)
        if place is None:
            variants.append(Variant((name,), document))
        else:
            variants[place] = Variant((*variants[place].plans, name), document)
    return variants
