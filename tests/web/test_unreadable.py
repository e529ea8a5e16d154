"""What is no figure is refused in every field of a figure, in words that say what is wrong and what would be right."""

from collections.abc import Iterator

import pytest
from pydantic import BaseModel

from app.household.appliance import Appliance, Stage
from app.household.supply import Battery, Circuit, Generator, Inverter, Rules, SolarArray, Water
from app.web.fields import appliance, supply, workshop
from app.web.fields.customs import Customs
from app.web.fields.entry import Entry, Field, Points
from app.web.fields.measure import Measure, Words
from app.web.fields.reading import read_form
from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_editors import send

WRONG = {
    "NaN": "nothing that can be reckoned with",
    "inf": "nothing that can be reckoned with",
    "-Infinity": "nothing that can be reckoned with",
    "1e999": "write the figure out",
    "2e3": "write the figure out",
    "-": "no figure behind its sign",
    "\u2212 ": "no figure behind its sign",
    "\u0663\u0660": "the digits 0 to 9",
    "99999999999999999999": "more than anything here",
}
FORMS: tuple[tuple[tuple[Field, ...], type[BaseModel]], ...] = (
    (supply.INVERTER, Inverter),
    (supply.BATTERY, Battery),
    (supply.ARRAY, SolarArray),
    (supply.CIRCUIT, Circuit),
    (supply.WATER, Water),
    (supply.GENERATOR, Generator),
    (supply.RULES, Rules),
    (appliance.TRUST, Appliance),
    ((*appliance.DOES, *appliance.CURRENT, *appliance.START, *appliance.CYCLE), Stage),
    (workshop.DRAWS, Stage),
    (workshop.WIRES, Circuit),
)


def measured(fields: tuple[Field, ...]) -> Iterator[tuple[Field, list[str], Measure]]:
    """Fields of figures, the names their figures are sent by, and how they are read."""
    for field in fields:
        if isinstance(field, Entry) and field.measure is not None and not isinstance(field.measure, Words):
            yield field, [field.path], field.measure
        elif isinstance(field, Points):
            names = [f"{field.path}.{number}" for number in range(len(field.columns))]
            yield from ((field, names, column.measure) for column in field.columns if column.measure is not None)


@pytest.mark.parametrize("text", WRONG)
def test_every_field_says_what_is_wrong_and_what_would_be_right(text: str) -> None:
    """Whatever the figure is of, and in every column of a table."""
    seen = 0
    for fields, model in FORMS:
        for field, names, measure in measured(fields):
            customs = Customs()
            read = read_form((field,), {name: [text] for name in names}, model, customs)
            said = " ".join(read.messages.get(field.path, ()))
            assert read.changes == [], field.path
            assert text.strip()[:29] in said, field.path
            assert WRONG[text] in said, f"{field.path}: {said}"
            assert measure.examples(customs) in said, f"{field.path}: {said}"
            seen += 1
    assert seen > 60


def test_nothing_has_no_sign(house: House) -> None:
    """A minus before a nought is nothing more than the nought."""
    assert send(house, "supply", "battery", reserve="-0.0").status_code == 303
    assert str(house.document["supply"]["battery"]["reserve"]) in ("0", "0.0")


@pytest.mark.parametrize("text", WRONG)
def test_the_page_of_a_laundry_day_refuses_it_beside_each_field(house: House, text: str) -> None:
    """Times, lengths and how many: each says what would be right."""
    page = Page(house.client.get(f"{house.address()}/laundry").text)
    names = {"done_by": "18:00", "quiet_from": "18:00", "from:wash-1": "18:00", "n:washer": "whole number"}
    asked = {"shown": "1", "find": "1", "load": "wash-1", "move:wash-1": "1"} | dict.fromkeys(names, text)
    asked |= {"after:wash-1": "dishes", "within:wash-1": text, "quiet_to": "23:00"}
    answer = house.client.get(f"{house.address()}/laundry", params=asked)
    assert answer.status_code == 422
    shown = Page(answer.text)
    assert page.by_id("f-done_by")
    for name, right in (names | {"within:wash-1": "in minutes"}).items():
        field = next(one for one in shown.all("input", name=name) if one.get("type") != "hidden")
        assert right in shown.by_id(field["aria-describedby"].split()[0]).text, name
