"""The household as such: where it is, how its people write figures, what never runs together."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from app.household.household import Formats, Household, Site
from app.web import words
from app.web.customs import customs_of
from app.web.fields.entry import Field
from app.web.fields.reading import Typed
from app.web.fields.showing import FieldView, show_fields
from app.web.fields.site import FORMATS, INTERLOCKS, SITE, one_at_a_time


@dataclass(frozen=True, slots=True)
class PlaceForm:
    """One form of site/page.html."""

    id: str  # of the form
    title: str  # its heading
    caution: str  # what is wrong with what stands there; may be empty
    fields: tuple[FieldView, ...]  # to be filled in


@dataclass(frozen=True, slots=True)
class SiteView:
    """site/page.html."""

    action: str  # where figures go
    forms: tuple[PlaceForm, ...]  # the forms
    file: str  # the household as a file
    bring_in: str  # where a file is brought in, in its place; empty for who may not
    history: str  # what became of it
    links: str  # who is let in; empty for who may not


def fields_of(household: Household, form: str) -> tuple[Field, ...]:
    """The fields of a form; none for one that is none."""
    forms: dict[str, tuple[Field, ...]] = {"site": SITE, "formats": FORMATS, INTERLOCKS: (one_at_a_time(household),)}
    return forms.get(form, ())


def site_view(
    household: Household,
    addresses: Mapping[str, str],
    *,
    wrong: str = "",
    typed: Typed | None = None,
    messages: Mapping[str, tuple[str, ...]] | None = None,
) -> SiteView:
    """Lay out the page. wrong: id of the form that was refused, with what was typed in it and what is wrong."""
    customs = customs_of(household)
    apart = {INTERLOCKS: [list(one.of) for one in household.interlocks]}
    documents: dict[str, Any] = {
        "site": household.site.document(),
        "formats": household.formats.document(),
        INTERLOCKS: apart,
    }
    titles = {"site": "Where it is", "formats": "How you write figures", INTERLOCKS: "Never together"}
    models: dict[str, Any] = {"site": Site, "formats": Formats, INTERLOCKS: Household}

    def form(name: str) -> PlaceForm:
        tried = (typed, messages) if name == wrong else (None, None)
        shown = show_fields(fields_of(household, name), documents[name], models[name], customs, name, *tried)
        return PlaceForm(name, titles[name], words.place_words(household.site) if name == "site" else "", shown)

    names = ["site", "formats", *([INTERLOCKS] if len(household.appliances) > 1 else [])]
    ways = (addresses[name] for name in ("file", "bring_in", "history", "links"))
    return SiteView(addresses["action"], tuple(map(form, names)), *ways)
