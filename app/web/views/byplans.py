"""What plans have in the place of the supply's figures: beside each figure, piece by piece, and beyond them."""

from typing import Any

from app.household.household import Household
from app.household.supply import SolarArray
from app.web.overrides import Said, Variant, inside, otherwise, supplies
from app.web.sections import Section
from app.web.words.arrays import array_words
from app.web.words.naming import Naming
from app.web.words.overrides import not_in_plans, only_in_plans

_LISTS = ("arrays", "circuits")
_WHOLE = {"water": "a pump and its vessel", "generator": "a generator"}


class SupplyByPlans:
    """The supply as plans have it that change it, to be told beside the household's own."""

    def __init__(self, household: Household) -> None:
        self._household = household
        self._variants = supplies(household)
        self._naming = Naming(household, household)

    def figures(self, section: Section) -> Said:
        """By the fields' paths, what plans have there."""
        variants = self._of(section) if section.there else []
        return otherwise(section.fields, section.document or {}, variants, section.model, self._naming)

    def without(self, section: Section) -> tuple[str, ...]:
        """The plans that do without a piece."""
        missing = [one for one in self._of(section) if one.document is None] if section.there else []
        removable = section.part in _LISTS or section.part in _WHOLE
        return tuple(not_in_plans(one.plans) for one in missing) if removable else ()

    def only_there(self, part: str) -> tuple[str, ...]:
        """What plans have of a part and the household has not."""
        present = getattr(self._household.supply, part)
        found = []
        for one in inside(self._variants, part):
            if part in _WHOLE and present is None and one.document is not None:
                found.append(only_in_plans(one.plans, _WHOLE[part]))
            if part in _LISTS:
                own = self._household.supply.document().get(part) or []
                names = [_name(part, piece) for piece in one.document or () if _place(part, piece, own) is None]
                found += [only_in_plans(one.plans, ", ".join(names))] if names else []
        return tuple(found)

    def _of(self, section: Section) -> list[Variant]:
        """What plans have in a form's place: of a list, the piece of the same id or name."""
        variants = inside(self._variants, section.part)
        if not section.at:
            return variants
        places = [_place(section.part, section.document, one.document or []) for one in variants]
        pairs = zip(variants, places, strict=True)
        return [Variant(one.plans, None if at is None else one.document[at]) for one, at in pairs]


def _place(part: str, piece: Any, pieces: list[Any]) -> int | None:
    """Where a piece stands in another list of such pieces; arrays have no id, and may have no name."""
    name = "id" if part == "circuits" else "name"
    return next((place for place, one in enumerate(pieces) if one.get(name) == piece.get(name)), None)


def _name(part: str, piece: Any) -> str:
    if part == "circuits":
        return str(piece.get("name") or piece["id"])
    told = array_words(SolarArray.model_validate(piece))
    return f"{piece['name']} ({told})" if piece.get("name") else told
