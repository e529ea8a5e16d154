"""Plans that change supply and appliances by themselves: told beside the household's figures, and in its faults."""

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest

from app.household.demo import demo_text
from app.store.households import import_household
from app.web.doubts import assumed
from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_editors import key_of, open_page, send

Document = dict[str, Any]


def with_plans(house: House, **changes: Document) -> House:
    """Another household, the demo whose plans change something more."""
    document = json.loads(demo_text())
    for plan in document["scenarios"]:
        if plan["id"] in changes:
            plan["changes"] = (plan.get("changes") or {}) | changes[plan["id"]]
    return imported(house, document)


def imported(house: House, document: Document) -> House:
    """The house of a household file."""
    with house.database.session() as session:
        key = import_household(session, document, None)
        session.commit()
    return House(house.database, house.client, key)


def name_of(house: House, plan: str) -> str:
    """A plan's name."""
    return next(one.name for one in house.stored.scenarios if one.id == plan)


def about(page: Page, field: str) -> list[str]:
    """The lines beside a field that say what plans have there."""
    return [one.text for one in page.elements if (one.get("id") or "").startswith(f"else-{field}-")]


def circuits(change: Callable[[list[Document]], Any]) -> list[Document]:
    """The demo's circuits, changed."""
    found: list[Document] = copy.deepcopy(json.loads(demo_text())["supply"]["circuits"])
    change(found)
    return found


def test_a_figure_a_plan_overrides_says_so_beside_it(house: House) -> None:
    """By the plan's name and its figure; a plan that builds on it has the same; other figures have no such line."""
    house = with_plans(
        house,
        ordinary={"supply": {"inverter": {"rated_va": 6000, "overload": [[7000, 60]]}, "battery": {"health": 0.8}}},
    )
    page = open_page(house, "supply")
    names = f"{name_of(house, 'ordinary')} and {name_of(house, 'shed')}"

    assert about(page, "inverter-rated_va") == [f"In the plans {names}: 6000 VA."]
    assert about(page, "inverter-overload") == [f"In the plans {names}: 7000 VA 1 min."]
    assert about(page, "battery-health") == [f"In the plans {names}: 80 %."]
    assert "else-inverter-rated_va-1" in page.by_id("inverter-rated_va")["aria-describedby"]
    assert about(page, "inverter-cut_off_v") == about(page, "battery-modules") == []


def test_pieces_that_plans_have_or_lack_are_told(house: House) -> None:
    """A circuit by its id, whatever its place; what a plan does without; what it alone has."""

    def shorter(found: list[Document]) -> None:
        found[:] = [{"id": "yard", "name": "Yard", "breaker_a": 10}, *reversed(found)]
        next(one for one in found if one["id"] == "shed")["breaker_a"] = 13

    change = {"supply": {"circuits": circuits(shorter), "arrays": None, "water": None}}
    house = with_plans(house, laundry=change)
    page, plan = open_page(house, "supply"), name_of(house, "laundry")
    places = {one["id"]: place for place, one in enumerate(house.document["supply"]["circuits"])}
    text = Page(house.client.get(f"{house.address()}/supply").text)

    assert about(page, f"circuits-{places['shed']}-breaker_a") == [f"In the plan {plan}: 13 A."]
    assert about(page, f"circuits-{places['kitchen']}-breaker_a") == []
    lines = [one.text for one in text.all("", "elsewhere")]
    assert [one.removesuffix(".") for one in lines].count(f"Not there in the plan {plan}") == 2
    assert f"Only in the plan {plan}: Yard." in lines


def test_an_appliance_that_a_plan_has_otherwise_says_so(house: House) -> None:
    """In the list, and beside the figure; one of other stages beside its name; what plans alone have below the list."""
    document = json.loads(demo_text())
    by_id = {one["id"]: copy.deepcopy(one) for one in document["appliances"]}
    by_id["kettle"]["stages"][0] |= {"watts": 1234, "name": "boil"}
    by_id["washer"]["stages"] = by_id["washer"]["stages"][:1]
    house = with_plans(house, laundry={"appliances": [by_id["kettle"], by_id["washer"]]})
    plan = name_of(house, "laundry")
    kettle = open_page(house, f"appliances/{key_of(house, 'kettle')}")
    washer = open_page(house, f"appliances/{key_of(house, 'washer')}")
    listed = [one.text for one in open_page(house, "appliances").all("", "elsewhere")]

    assert about(kettle, "stage-0-watts") == [f"In the plan {plan}: 1234 W."]
    assert about(kettle, "appliance-name") == about(washer, "stage-0-watts") == []
    assert about(washer, "appliance-name")[0].startswith(f"In the plan {plan}: other stages, ")
    assert any(one.startswith(f"In the plan {plan}: 1.2 kW") for one in listed)
    assert any(one.startswith(f"Only in the plan {name_of(house, 'shed')}: Bandsaw, ") for one in listed)


@pytest.mark.parametrize(
    ("form", "typed", "why"),
    [
        ("inverter", {"rated_va": "5800"}, "The first line has to lie above the rated power"),
        ("battery", {"continuous_discharge_a": "80"}, "The peak lies below what one gives for hours"),
    ],
)
def test_a_fault_that_only_a_plan_has_names_the_plan(house: House, form: str, typed: dict[str, str], why: str) -> None:
    """Above the forms, in the forms' words; nothing is stored."""
    supply = {"inverter": {"overload": [[5500, 60]]}, "battery": {"peak_discharge_a": 70}}
    house = with_plans(house, laundry={"supply": supply})
    before = house.document
    answer = send(house, "supply", form, **typed)
    page = Page(answer.text)

    assert answer.status_code == 422
    assert f"In the plan '{name_of(house, 'laundry')}': {why}" in page.by_id("wrong").text
    assert house.document == before


def test_doubts_are_tried_on_what_the_plan_has(house: House) -> None:
    """What the plan tells is not doubted; what the household leaves out is tried over the plan's own supply."""
    inverter = {"room_offset_k": None, "no_load_w": None}
    house = with_plans(house, laundry={"supply": {"inverter": inverter, "battery": {"health": 1, "sharing": 1.0}}})
    stored = house.stored
    found = {
        plan: {(one.part, one.field): one.verdict for one in assumed(stored, scenario)}
        for plan in ("ordinary", "laundry")
        for scenario in stored.scenarios
        if scenario.id == plan
    }

    assert ("inverter", "room_offset_k") in found["laundry"]
    assert ("inverter", "room_offset_k") not in found["ordinary"]
    assert ("battery", "sharing") not in found["laundry"]


def test_starts_of_what_a_plan_brings_are_doubted_too(house: House) -> None:
    """The shed's saw and compressor are nobody's but the plan's: half as much again is too much."""
    document = json.loads(demo_text())
    for appliance in document["appliances"]:
        appliance["basis"] = "measured"
    house = imported(house, document)
    stored = house.stored
    scenario = next(one for one in stored.scenarios if one.id == "shed")

    assert any(one.part == "appliances" for one in assumed(stored, scenario))
