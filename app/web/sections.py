"""The forms of the supply: which pieces of it there are, with their fields and where they stand in the file."""

from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from app.household.appliance import Appliance
from app.household.household import Household
from app.household.supply import Battery, Circuit, Generator, Inverter, Rules, SolarArray, Water
from app.store.commands.parts import part_named
from app.store.stored import StoredHousehold
from app.web.fields import supply as fields
from app.web.fields.entry import Entry, Field


@dataclass(frozen=True)
class Section:
    """One form: which piece of the supply it is of.

    id: of the form in the page. part: the supply's field. at: path inside it, for one of a list. model: what it is of.
    fault_path: where it stands in the file. there: the household has it.
    """

    id: str
    title: str
    part: str
    at: tuple[int, ...]
    fields: tuple[Field, ...]
    model: type[BaseModel]
    fault_path: str
    document: Any
    there: bool = True

    @property
    def of(self) -> str:
        """What a form of a list was shown for: another may stand at its place by the time it is sent."""
        return str(self.document.get("id") or self.document.get("name") or "") if self.at else ""


def sections(stored: StoredHousehold) -> list[Section]:
    """Every form there is, in the page's order."""
    household = stored.household
    found = [
        _whole(stored, "inverter", "Inverter", fields.INVERTER, Inverter),
        _whole(stored, "battery", "Battery bank", fields.BATTERY, Battery),
    ]
    for place, array in enumerate(household.supply.arrays):
        title = array.name or f"Array {place + 1}"
        found.append(_listed(stored, "arrays", place, title, fields.ARRAY, SolarArray))
    for place, circuit in enumerate(household.supply.circuits):
        found.append(
            _listed(stored, "circuits", place, circuit.name or circuit.id, _circuit_fields(household, circuit), Circuit)
        )
    found.append(_whole(stored, "water", "Water", (_pump_field(household), *fields.WATER), Water))
    found.append(_whole(stored, "generator", "Generator", fields.GENERATOR, Generator))
    found.append(_whole(stored, "rules", "What you tolerate", fields.RULES, Rules))
    return found


def section_of(stored: StoredHousehold, dom_id: str) -> Section | None:
    """The form of that id, if there is one."""
    return next((one for one in sections(stored) if one.id == dom_id), None)


def _whole(stored: StoredHousehold, part: str, title: str, own: tuple[Field, ...], model: type[BaseModel]) -> Section:
    document = _document(stored, part)
    there = document is not None or part == "rules"
    return Section(part, title, part, (), own, model, f"supply.{part}", document, there)


def _listed(
    stored: StoredHousehold, part: str, place: int, title: str, own: tuple[Field, ...], model: type[BaseModel]
) -> Section:
    document = (_document(stored, part) or [])[place]
    return Section(f"{part}-{place}", title, part, (place,), own, model, f"supply.{part}[{place}]", document)


def _document(stored: StoredHousehold, part: str) -> Any:
    piece = part_named(stored, "supply", part)
    return None if piece is None or piece.removed else piece.document


def _circuit_fields(household: Household, circuit: Circuit) -> tuple[Field, ...]:
    others = tuple((one.id, one.name or one.id) for one in household.supply.circuits if one.id != circuit.id)
    fed = Entry("fed_from", "Fed from", "Follow its cable back.", choices=((None, "the board"), *others))
    legs = Entry("leg", "Leg", "Which half feeds it.", choices=(("AB", "both, 240 V"), ("A", "A"), ("B", "B")))
    split = (legs,) if household.supply.inverter.legs == 2 else ()
    return (fields.CIRCUIT[0], fed, *split, *fields.CIRCUIT[1:])


def pumps_of(household: Household) -> list[Appliance]:
    """What may be the pump behind a vessel, by its name: nothing else is taken for one unasked."""
    able = (one for one in household.appliances if len(one.stages) == 1 and not one.always_on)
    return [one for one in able if "pump" in one.name.lower()]


def _pump_field(household: Household) -> Entry:
    pumps = [one for one in household.appliances if len(one.stages) == 1 and not one.always_on]
    none_yet = ((None, "none yet: add the pump under Appliances first"),) if not pumps else ()
    choices = (*none_yet, *((one.id, one.name) for one in pumps))
    return Entry("pump", "The pump", "One of your appliances.", choices=choices)
