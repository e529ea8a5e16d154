"""One site with its supply, appliance library and scenarios."""

from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from annotated_types import Ge, Le
from pydantic import Field, PlainValidator
from pydantic_core import PydanticCustomError

from app.household.appliance import Appliance
from app.household.fields import Id, Number, Pair, Part, Text, such_as
from app.household.scenario import Interlock, Scenario
from app.household.supply import Supply

FORMAT = "loadstead-household"
VERSION = 1


def _zone(value: object) -> str:
    try:
        return ZoneInfo(value).key  # type: ignore[arg-type]  # anything else is what the except is for
    except (KeyError, OSError, TypeError, ValueError, AttributeError):
        raise PydanticCustomError("timezone", "give a time zone as Area/City, like Europe/Dublin") from None


def _format(value: object) -> str:
    if value != FORMAT:
        raise PydanticCustomError("format", 'this is not a household file; format must be "loadstead-household"')
    return FORMAT


def _version(value: object) -> int:
    if isinstance(value, bool) or value != VERSION:
        raise PydanticCustomError("version", "this program reads version 1; export the file again as version 1")
    return VERSION


class Site(Part):
    """Where the household is."""

    latitude: Annotated[Number, Ge(-90), Le(90)]
    longitude: Annotated[Number, Ge(-180), Le(180)]
    altitude_m: Annotated[Number, Ge(-500), Le(9000)] = 0
    timezone: Annotated[str, PlainValidator(_zone)]


class Formats(Part):
    """How people of this household write their figures; the file itself stays in SI units."""

    temperature: Literal["C", "F"] = "C"
    conductor: Literal["mm2", "awg"] = "mm2"


class Household(Part):
    """The household file, version 1."""

    format: Annotated[Literal["loadstead-household"], PlainValidator(_format)]
    version: Annotated[Literal[1], PlainValidator(_version)]
    name: Annotated[Text, such_as("Lake cabin")]
    site: Site
    formats: Formats = Formats()
    supply: Supply
    appliances: Annotated[tuple[Appliance, ...], Pair, Field(max_length=500)]
    any_time: Annotated[tuple[Id, ...], Pair, Field(max_length=100)] = ()
    interlocks: Annotated[tuple[Interlock, ...], Pair, Field(max_length=100)] = ()
    scenarios: Annotated[tuple[Scenario, ...], Pair, Field(max_length=200)]
