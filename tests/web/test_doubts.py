"""What is known of a supply, what is taken for granted, what nobody knows."""

import json
from typing import Any

import pytest

from app.household.beginning import Beginning, as_begun, beginning_supply, following
from app.household.demo import demo_text
from app.household.file import household_from
from app.household.resolve import resolve
from app.household.starting import starting_document
from app.store.commands import ChangePart, apply
from app.store.households import import_household, load
from app.web.doubts import Assumed, assumed, known, unknown
from app.web.words import unknown_words
from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_whatif import after, page_of, press


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
    supply["battery"]["dc_fuse_a"] = 125  # printed on the fuse: that says nothing of the battery's label
    assert "module_resistance_ohm" in told_by(supply)["filled_in_battery"]
    supply["battery"]["health"] = 0.9
    assert "filled_in_battery" not in told_by(supply)


def test_of_a_supply_that_nobody_told_nothing_is_told() -> None:
    supply = starting_document("New", "2026-05-12")["supply"]

    assert known(household_from(starting_document("New", "2026-05-12"))) == 0
    assert told_by(supply)["filled_in_inverter"] == told_by(supply)["filled_in_battery"] == ()
    assert "every figure" in unknown_words("filled_in_inverter", ())


def begun(house: House, **told: Any) -> House:
    """Another household, the demo with the supply that a first page makes of so much."""
    supply = beginning_supply(Beginning(rated_va=3000, **told))

    def change(document: dict[str, Any]) -> None:
        without("circuits")(document)
        document["supply"] = supply

    return with_supply(house, change)


@pytest.mark.parametrize("query", ["", "?alone=1"], ids=["household", "plan"])
def test_what_was_only_filled_in_goes_along_with_a_corrected_bank(house: House, query: str) -> None:
    """In the inverter too, as one step, and it still counts as filled in; what was told stays."""
    house = begun(house, modules=1, module_ah=600, module_v=2, chemistry="lead_acid", gives_a=150)
    before = house.document
    page = page_of(house, f"supply{query}", "ordinary")
    page = after(house, press(house, page, "battery", module_v="24"))
    supply = resolve(house.stored.household, "ordinary").household.supply

    assert (supply.inverter.cut_off_v, supply.inverter.restart_v) == (22.1, 24.5)
    assert supply.battery.module_resistance_ohm == 0.004
    assert supply.battery.continuous_discharge_a == 150
    assert "Restart voltage" in page.all("p", kind="news")[0].text
    assert {"cut_off_v", "restart_v"} <= set(as_begun(supply)["inverter"])
    assert (house.document["supply"] == before["supply"]) == bool(query)
    press(house, page, "step-undo")
    assert house.document == before


def test_what_goes_along_takes_nothing_of_others_back(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody stores a reserve while the voltage is on its way: both stand."""
    house = begun(house, modules=1, module_ah=600, module_v=12)

    def meanwhile(*about: Any) -> Any:
        figures = {"household_key": house.key, "revision": 1, "tab": "other", "sequence": 1, "link_key": None}
        change = ChangePart(**figures, kind="supply", name="battery", changes=[[["reserve"], 0.33]])
        with house.database.session() as session:
            apply(session, change)
            session.commit()
        return following(*about)

    page = page_of(house, "supply", "ordinary")
    monkeypatch.setattr("app.web.pages.supply.following", meanwhile)
    press(house, page, "battery", module_v="24")
    battery = house.document["supply"]["battery"]
    assert (battery["module_v"], battery["reserve"]) == (24, 0.33)
    assert house.document["supply"]["inverter"]["cut_off_v"] == 21.6


def test_what_goes_along_never_stands_in_the_way(house: House) -> None:
    """A continuous current that was told lies above the peak of the bank as it would be filled in: the peak stays."""
    house = begun(house, modules=1, module_ah=100, module_v=51.2)
    page = after(house, press(house, page_of(house, "supply", "ordinary"), "battery", continuous_discharge_a="85"))
    press(house, page, "battery", module_ah="80")
    battery = house.document["supply"]["battery"]

    assert (battery["module_ah"], battery["continuous_discharge_a"], battery["peak_discharge_a"]) == (80, 85, 90)


def test_levels_that_were_filled_in_go_along_with_the_rated_power(house: House) -> None:
    """Without it they would have to be put right before the rating could be."""
    house = begun(house, modules=2, module_ah=100, module_v=51.2)
    press(house, page_of(house, "supply", "ordinary"), "inverter", rated_va="8 kVA")

    inverter = house.document["supply"]["inverter"]
    assert inverter["overload"] == [[9600, 1800], [12000, 60], [16000, 5]]
    assert inverter["continuous_w"] == [[25, 7200], [40, 6240]]


@pytest.mark.parametrize(
    ("supply", "fields"),
    [
        ({"battery": {"module_v": 2}, "inverter": {"cut_off_v": 1.8, "restart_v": 2}}, ["battery-module_v"]),
        ({"battery": {"module_v": 24}, "inverter": {"cut_off_v": 1.8}}, ["inverter-cut_off_v", "inverter-restart_v"]),
        ({"battery": {"module_v": 240}, "inverter": {"cut_off_v": 220, "restart_v": 230}}, ["battery-module_v"]),
        ({"battery": {"module_v": 12}, "inverter": {"cut_off_v": 10.5, "restart_v": 12.6}}, []),
        ({"battery": {"module_v": 51.2}, "inverter": {"cut_off_v": 41, "restart_v": 53}}, []),
        ({"battery": {"module_v": 48}, "inverter": {"cut_off_v": 50, "restart_v": 52}}, []),
    ],
)
def test_volts_that_are_hardly_meant_are_doubted_beside_the_figure(
    house: House, supply: dict[str, Any], fields: list[str]
) -> None:
    """Stored all the same, named in the list of what is known, and never all green."""

    def change(document: dict[str, Any]) -> None:
        for part, figures in supply.items():
            document["supply"][part] |= figures

    page = page_of(with_supply(house, change), "supply", "ordinary")
    assert [one["id"].removeprefix("doubt-") for one in page.all("p", kind="doubt")] == fields
    bank = next(one for one in page.all("li") if one.text.startswith("Battery voltage"))
    assert ("if these volts are right" in bank.text) == bool(fields)
    assert not fields or "s-fits" not in bank.classes
    listed = [one.text for one in page.all("li") if one.inside(page.by_id("checklist"))]
    assert len([one for one in listed if "a bank of" in one or "usual voltage" in one]) == len(fields)


def test_a_bank_of_single_cells_is_asked_about_once(house: House) -> None:
    """On the first page: said beside the figure, and taken when it is sent again."""
    document = starting_document("Cabin", "2026-05-12")
    with house.database.session() as session:
        house = House(house.database, house.client, import_household(session, document, None))
        session.commit()
    page = page_of(house, "begin", "first")
    told = {"rated_va": "3000", "modules": "12", "module_ah": "600", "module_v": "2"}
    asked = Page(press(house, page, "begin", 422, **told).text)

    assert "one after the other?" in asked.by_id("fault-begin-module_v").text
    assert house.document["supply"] == document["supply"]
    other = Page(press(house, asked, "begin", 422, module_v="3").text)
    press(house, other, "begin")
    assert house.document["supply"]["battery"]["module_v"] == 3


def test_on_two_legs_what_is_on_no_circuit_is_said_to_count_half() -> None:
    document = starting_document("New", "2026-05-12")
    document["supply"]["inverter"] |= {"legs": 2, "ac_voltage": 240}
    document["appliances"] = [{"id": "saw", "name": "Saw", "stages": [{"duration_s": 60, "watts": 900}]}]
    (line,) = (one for one in unknown(household_from(document)) if one.what == "half_each")

    assert "Saw" in unknown_words(line.what, line.names)
    assert "half on each leg" in unknown_words(line.what, line.names)
