"""A household's name and place, as forms send them."""

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import BaseModel, Field, ValidationError

from app.household.errors import Fault, HouseholdFaults
from app.household.household import Site
from app.household.words import faults_of
from app.web.forms.typed import number_typed


class NameForm(BaseModel):
    """Another name for a household. tab, sequence: by which page, as its how manieth."""

    name: str = ""
    tab: Annotated[str, Field(min_length=1, max_length=64)]
    sequence: Annotated[int, Field(ge=0, le=2**31 - 1)]


class CopyForm(BaseModel):
    """A copy of a household. of: the household's key. name: of the copy, as it was typed."""

    of: Annotated[str, Field(max_length=64)]
    name: str = ""


class PurgeForm(BaseModel):
    """A deleted household that is to go for good. of: its key."""

    of: Annotated[str, Field(max_length=64)]


class SiteForm(BaseModel):
    """A new household. What is left empty is left at its default."""

    name: str = ""
    timezone: str = ""
    latitude: str = ""
    longitude: str = ""


def degrees_of(form: SiteForm) -> dict[str, float]:
    """Latitude and longitude, by name: both, or none where neither is given.

    Raises HouseholdFaults for what is no number, and for one without the other.
    """
    typed = {name: getattr(form, name) for name in ("latitude", "longitude") if getattr(form, name).strip()}
    read = {name: number_typed(text, "\u00b0") for name, text in typed.items()}
    why = "give degrees, such as 54.3, with a minus sign in the south or in the west"
    if faults := [Fault(f"site.{name}", why) for name, value in read.items() if value is None]:
        raise HouseholdFaults(faults)
    if len(read) == 1:
        (given,) = read
        other = "latitude" if given == "longitude" else "longitude"
        needs = Fault(f"site.{other}", f"a place needs both; give the {other} too, or leave both empty")
        raise HouseholdFaults([needs, *_beyond({other: 0.0, "timezone": "UTC"} | read)])
    return {name: value for name, value in read.items() if value is not None}


def _beyond(place: Mapping[str, object]) -> Iterator[Fault]:
    """What is wrong with a place, so that all of it is said at once."""
    try:
        Site.model_validate(place)
    except ValidationError as error:
        yield from faults_of(error)
