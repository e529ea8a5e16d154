"""What plans have in the place of an appliance of the library, and what they alone have."""

from collections.abc import Iterable

from app.household.appliance import Appliance, Stage
from app.household.household import Household
from app.web.fields.entry import Field
from app.web.overrides import Said, Variant, entries, inside, only_in_plans, otherwise
from app.web.words import overrides as words
from app.web.words.draws import draws_of
from app.web.words.naming import Naming


def whole_by_plans(household: Household, appliance: Appliance, fields: Iterable[Field]) -> Said:
    """By the paths of an appliance's fields, what plans have there; beside its name where they have other stages."""
    variants, fields = entries(household, appliance.id), list(fields)
    if not variants:
        return {}
    naming = Naming(household, household)
    said = otherwise(fields, appliance.document(), variants, Appliance, naming)
    other = [one for one in variants if not _is_as_long(one, appliance)]
    told = tuple(words.in_plans(one.plans, f"other stages, {_draws(one)}") for one in other)
    return said | {"name": (*said.get("name", ()), *told)} if told else said


def stage_by_plans(household: Household, appliance: Appliance, place: int, fields: Iterable[Field]) -> Said:
    """By the paths of a stage's fields, what plans have there that have as many stages."""
    variants = [one for one in entries(household, appliance.id) if _is_as_long(one, appliance)]
    if not variants:
        return {}
    present = appliance.document()["stages"][place]
    naming = Naming(household, household)
    return otherwise(fields, present, inside(variants, "stages", place), Stage, naming)


def in_a_line(household: Household, appliance: Appliance) -> tuple[str, ...]:
    """What plans have in its place, for a list: a line each."""
    differing = [one for one in entries(household, appliance.id) if one.document != appliance.document()]
    return tuple(words.in_plans(one.plans, _draws(one)) for one in differing)


def beyond(household: Household) -> tuple[str, ...]:
    """What no library has but a plan's, a line each."""
    return tuple(
        words.only_in_plans(one.plans, f"{one.document['name']}, {_draws(one)}")
        for appliance_id in only_in_plans(household)
        for one in entries(household, appliance_id)
    )


def _is_as_long(variant: Variant, appliance: Appliance) -> bool:
    return len(variant.document["stages"]) == len(appliance.stages)


def _draws(variant: Variant) -> str:
    return draws_of(Appliance.model_validate(variant.document))
