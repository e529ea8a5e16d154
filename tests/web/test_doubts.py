"""What is known of a supply, what is taken for granted, what nobody knows."""

import json
from typing import Any

import pytest

from app.household.beginning import Beginning, beginning_supply
from app.household.demo import demo_text
from app.household.file import household_from
from app.household.starting import starting_document
from app.store.households import import_household, load
from app.web.doubts import Assumed, assumed, known, unknown
from app.web.words import unknown_words
from tests.web.conftest import House
from tests.web.markup import Page


def with_supply(house: House, change: Any) -> House:
    """Another household, the demo with its supply changed."""
    document = json.loads(demo_text())
    change(document)
    with house.database.session() as session:
        key = import_household(session, document, None)
        session.commit()
    return House(house.database, house.client, key)


def without(*fields: str) -> Any:
    """Leave figures of the supply out: `battery.sharing`, `circuits`."""

    def change(document: dict[str, Any]) -> None:
        for field in fields:
            part, _, name = field.partition(".")
            holder = document["supply"][part] if name else document["supply"]
            holder.pop(name or part, None)
        if "circuits" in fields:
            for appliance in document["appliances"]:
                appliance.pop("circuit", None)
            for scenario in document["scenarios"]:
                scenario.pop("changes", None)
                scenario["runs"] = [run for run in scenario.get("runs", []) if scenario.get("parent") is None]
            document["scenarios"] = [one for one in document["scenarios"] if one.get("parent") is None]

    return change


def tried(house: House, plan: str = "laundry") -> dict[tuple[str, str], Assumed]:
    """Everything taken for granted, by part and field."""
    stored = house.stored
    scenario = next(one for one in stored.scenarios if one.id == plan)
    return {(one.part, one.field): one for one in assumed(stored, scenario)}


def test_what_was_left_out_is_tried_with_a_worse_value(house: House) -> None:
    """A cupboard 10 K warmer than outdoors carries less: the plan would not stand as it does."""
    house = with_supply(house, without("inverter.room_offset_k", "battery.health"))
    found = tried(house)

    assert set(found) >= {("inverter", "room_offset_k"), ("battery", "health")}
    assert found["inverter", "room_offset_k"].verdict is not None
    assert known(house.stored.household) < known(with_supply(house, without()).stored.household)


def test_what_is_told_is_not_doubted(house: House) -> None:
    """The demo tells its cupboard's warmth, so nothing else is tried for it."""
    assert ("inverter", "room_offset_k") not in tried(house)


def test_starts_that_nobody_measured_are_tried_half_as_much_larger(house: House) -> None:
    """The shed's plan, which is near the inverter's top, breaks."""
    assert tried(house, "laundry")["appliances", ""].verdict == "chance"


@pytest.mark.parametrize(
    ("left_out", "what"),
    [(("battery.dc_fuse_a",), "dc_fuse"), (("circuits",), "no_circuits")],
)
def test_what_nobody_told_is_named_with_the_check_it_costs(house: House, left_out: tuple[str, ...], what: str) -> None:
    """A limit that is absent is not one that holds."""
    house = with_supply(house, without(*left_out))

    assert what in {one.what for one in unknown(house.stored.household)}
    page = Page(house.client.get(f"{house.address('ordinary')}/supply").text)
    assert "checked" in page.by_id("checklist").text


def test_a_circuit_without_its_breaker_is_named(house: House) -> None:
    """By the name people have for it."""

    def change(document: dict[str, Any]) -> None:
        del document["supply"]["circuits"][0]["breaker_a"]

    house = with_supply(house, change)
    found = {one.what: one.names for one in unknown(house.stored.household)}
    assert found["no_breaker"] == (house.stored.household.supply.circuits[0].name,)


def test_trying_is_done_when_somebody_wants_to_see_it(house: House) -> None:
    """The page itself stays quick; a link has it tried, and nothing is stored by that."""
    before = house.document
    folded = Page(house.client.get(f"{house.address()}/supply").text).by_id("checklist")
    unfolded = Page(house.client.get(f"{house.address()}/supply?check=1").text).by_id("checklist")

    assert "Could cut out" not in folded.text
    assert "Could cut out" in unfolded.text
    assert house.document == before
    with house.database.session() as session:
        assert load(session, house.key) is not None


def told_by(supply: dict[str, Any]) -> dict[str, tuple[str, ...]]:
    """What nobody told of a new household with such a supply."""
    household = household_from(starting_document("New", "2026-05-12") | {"supply": supply})
    return {one.what: one.names for one in unknown(household)}


def test_what_a_beginning_filled_in_is_not_told() -> None:
    """Rated power, hours, and the modules were given; what was made of them was not, until somebody changes it."""
    given = Beginning(rated_va=3000, carries_w=2500, chemistry="lead_acid", modules=2, module_ah=210, module_v=24)
    supply = beginning_supply(given)

    assert {"cut_off_v", "overload"} <= set(told_by(supply)["filled_in_inverter"])
    assert not {"rated_va", "continuous_w", "ac_voltage"} & set(told_by(supply)["filled_in_inverter"])
    assert "module_resistance_ohm" in told_by(supply)["filled_in_battery"]
    assert not {"module_ah", "module_v", "chemistry"} & set(told_by(supply)["filled_in_battery"])

    supply["inverter"]["cut_off_v"] = 21.0
    assert "cut_off_v" not in told_by(supply)["filled_in_inverter"]


def test_of_a_supply_that_nobody_told_nothing_is_told() -> None:
    supply = starting_document("New", "2026-05-12")["supply"]

    assert known(household_from(starting_document("New", "2026-05-12"))) == 0
    assert told_by(supply)["filled_in_inverter"] == told_by(supply)["filled_in_battery"] == ()
    assert "every figure" in unknown_words("filled_in_inverter", ())


def test_on_two_legs_what_is_on_no_circuit_is_said_to_count_half() -> None:
    document = starting_document("New", "2026-05-12")
    document["supply"]["inverter"] |= {"legs": 2, "ac_voltage": 240}
    document["appliances"] = [{"id": "saw", "name": "Saw", "stages": [{"duration_s": 60, "watts": 900}]}]
    (line,) = (one for one in unknown(household_from(document)) if one.what == "half_each")

    assert "Saw" in unknown_words(line.what, line.names)
    assert "half on each leg" in unknown_words(line.what, line.names)
