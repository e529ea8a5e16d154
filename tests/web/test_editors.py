"""The editors of library, supply and place: what is typed is stored, or refused beside its field with nothing lost."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from app.household import library
from app.household.demo import demo_text
from app.household.paths import value_at
from app.household.starting import starting_document
from app.store.session import Database
from app.web.fields import appliance, site, supply
from app.web.fields.customs import Customs
from app.web.fields.entry import Entry, Field, Points
from app.web.words.parts import ARROW
from tests.application import assess_day_once
from tests.databases import sqlite_url
from tests.households import with_plans
from tests.web.conftest import House, houses
from tests.web.markup import Element, Page

PLAN = "ordinary"
PLANS = (PLAN,)


def open_page(house: House, path: str, plan: str = PLAN) -> Page:
    """An editor's page."""
    answer = house.client.get(f"{house.address(plan)}/{path}")
    assert answer.status_code == 200, answer.text
    return Page(answer.text)


def key_of(house: House, appliance_id: str) -> str:
    """An appliance's key."""
    return next(one.key for one in house.stored.pieces.values() if (one.kind, one.name) == ("appliance", appliance_id))


def within(page: Page, place: Element, tag: str) -> list[Element]:
    """Every element of a tag inside another element."""
    return [one for one in page.all(tag) if one.inside(place)]


def shown(page: Page, form: str) -> dict[str, list[str]]:
    """A form's fields as they stand on the page, by name."""
    found: dict[str, list[str]] = {}
    for field in within(page, page.by_id(form), "input"):
        found.setdefault(field["name"], []).append(field.get("value") or "")
    for select in within(page, page.by_id(form), "select"):
        chosen = [one["value"] for one in within(page, select, "option") if "selected" in one.attributes]
        found.setdefault(select["name"], []).append(chosen[0] if chosen else "")
    return found


def send(house: House, path: str, form: str, at: str = "", **typed: Any) -> Any:
    """Fill in a form as it stands on its page and send it. at: where it goes, if not to its page."""
    fields = shown(open_page(house, path), form)
    for name, value in typed.items():
        fields[name] = value if isinstance(value, list) else [value]
    return house.client.post(f"{house.address(PLAN)}/{at or path}", data=fields, follow_redirects=False)


Refuse = Callable[..., Page]


@pytest.fixture(scope="module")
def refuse(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Refuse]:
    """Fills in a form that has to be refused. So nothing ever changes in its house, and all tests share one."""
    database = Database(sqlite_url(tmp_path_factory.mktemp("refusing")))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("app.web.planned.assess_day", assess_day_once)
        house = houses(database, with_plans(*PLANS))("owner")
        before, pages = house.document, dict[str, Page]()

        def send_in_vain(path: str, form: str, **typed: Any) -> Page:
            """The page with what is wrong. path: of an editor, or an appliance's id."""
            if any(one["id"] == path for one in before["appliances"]):
                path = f"appliances/{key_of(house, path)}"
            if path not in pages:
                pages[path] = open_page(house, path)
            fields = shown(pages[path], form)
            fields |= {name: value if isinstance(value, list) else [value] for name, value in typed.items()}
            answer = house.client.post(f"{house.address(PLAN)}/{path}", data=fields, follow_redirects=False)

            assert answer.status_code == 422
            assert house.document == before
            return Page(answer.text)

        yield send_in_vain
    database.close()


def supply_of(house: House) -> dict[str, Any]:
    found: dict[str, Any] = house.document["supply"]
    return found


@pytest.mark.parametrize(
    ("form", "name", "typed", "path", "value"),
    [
        ("inverter", "rated_va", "5.5 kVA", ["inverter", "rated_va"], 5500),
        ("inverter", "rated_va", "24 A", ["inverter", "rated_va"], 5520),
        ("inverter", "room_offset_k", "\u22122,5", ["inverter", "room_offset_k"], -2.5),
        ("inverter", "cut_off_delay_s", "2 min", ["inverter", "cut_off_delay_s"], 120),
        ("battery", "reserve", "30 %", ["battery", "reserve"], 0.3),
        ("battery", "module_resistance_ohm", "25", ["battery", "module_resistance_ohm"], 0.025),
        ("battery", "chemistry", "lead_acid", ["battery", "chemistry"], "lead_acid"),
        ("battery", "dc_fuse_a", "", ["battery", "dc_fuse_a"], None),
        ("arrays-0", "azimuth_deg", "170\u00b0", ["arrays", 0, "azimuth_deg"], 170),
        ("arrays-0", "azimuth_deg", "South-West", ["arrays", 0, "azimuth_deg"], 225),
        ("arrays-0", "peak_w", "4 x 300", ["arrays", 0, "peak_w"], 1200),
        ("inverter", "rated_va", "5.5 kW", ["inverter", "rated_va"], 5500),
        ("circuits-1", "conductor_mm2", "12 AWG", ["circuits", 1, "conductor_mm2"], 3.3088),
        ("circuits-1", "cable_m", "100 ft", ["circuits", 1, "cable_m"], 30.48),
        ("water", "taps_between.1", "21.15", ["water", "taps_between", 1], "21:15"),
        ("water", "taps_between.1", "10 pm", ["water", "taps_between", 1], "22:00"),
        ("water", "taps_between.0", "7", ["water", "taps_between", 0], "07:00"),
        ("rules", "drop_running", "4", ["rules", "drop_running"], 0.04),
    ],
)
def test_a_figure_of_the_supply_is_stored_as_the_file_has_it(
    house: House, form: str, name: str, typed: str, path: list[Any], value: Any
) -> None:
    """Units as people have them, a comma for the point, an empty field for a limit that is not there."""
    answer = send(house, "supply", form, **{name: typed})

    assert answer.status_code == 303, Page(answer.text).by_id("wrong").text
    assert value_at(supply_of(house), path) == value


def test_what_was_not_touched_is_left_as_it_was(house: House) -> None:
    """A form sends all its fields; only the one that was changed is stored, to the form its figures had."""
    before = supply_of(house)
    send(house, "supply", "battery", reserve="35")

    assert supply_of(house) == before | {"battery": before["battery"] | {"reserve": 0.35}}


def test_a_change_from_another_page_meanwhile_stands_beside_it(house: House) -> None:
    """Two people with the same form open: each stores what they changed."""
    first, second = (shown(open_page(house, "supply"), "battery") for _ in range(2))
    for fields, name, typed in ((first, "reserve", "40"), (second, "modules", "6")):
        fields[name] = [typed]
        answer = house.client.post(f"{house.address(PLAN)}/supply", data=fields, follow_redirects=False)
        assert answer.status_code == 303

    battery = supply_of(house)["battery"]
    assert (battery["reserve"], battery["modules"]) == (0.4, 6)


FORMS: dict[str, tuple[Field, ...]] = {
    "inverter": supply.INVERTER,
    "battery": supply.BATTERY,
    "arrays-0": supply.ARRAY,
    "circuits-0": supply.CIRCUIT,
    "water": supply.WATER,
    "rules": supply.RULES,
}
NUMBERS = [
    (form, field.path)
    for form, fields in FORMS.items()
    for field in fields
    if isinstance(field, Entry) and field.measure is not None and field.measure.read("nonsense", Customs()) is None
]


@pytest.mark.parametrize(("form", "name"), NUMBERS)
def test_nonsense_is_refused_beside_its_field(refuse: Refuse, form: str, name: str) -> None:
    """What was typed stays, with what would be right; nothing is stored."""
    page = refuse("supply", form, **{name: "about <b>ten</b>"})
    field = page.by_id(f"{form}-{name.replace('.', '-')}")

    assert field["value"] == "about <b>ten</b>"
    assert field["aria-invalid"] == "true"
    assert "give it as" in page.by_id(f"fault-{form}-{name.replace('.', '-')}").text


@pytest.mark.parametrize(
    ("form", "typed", "name", "why"),
    [
        ("inverter", {"rated_va": ""}, "rated_va", "is needed"),
        ("inverter", {"rated_va": "0"}, "rated_va", "too small"),
        ("inverter", {"restart_v": "20"}, "restart_v", "below the cut-off"),
        ("inverter", {"overload.0": ["6000", "5900", "10000", ""]}, "overload", "rise"),
        ("inverter", {"overload.0": ["4000", "7500", "10000", ""]}, "overload", "above the rated power"),
        ("inverter", {"overload.1": ["soon", "1 min", "5 s", ""]}, "overload", "Line 1"),
        ("inverter", {"continuous_w.0": [""] * 3, "continuous_w.1": [""] * 3}, "continuous_w", "at least one line"),
        ("battery", {"peak_discharge_a": "10"}, "peak_discharge_a", "below what one gives for hours"),
        ("battery", {"reserve": "140"}, "reserve", "up to 100 %"),
        ("battery", {"reserve": "0.25"}, "reserve", "cannot be read"),
        ("battery", {"modules": "2.5"}, "modules", "whole number"),
        ("arrays-0", {"azimuth_deg": "up"}, "azimuth_deg", "180 or south"),
        ("circuits-1", {"breaker_a": "B16"}, "breaker_a", "the number alone here: 16. Its letter, B,"),
        ("inverter", {"ac_voltage": "mains"}, "ac_voltage", "230 or 120"),
        ("water", {"taps_between.0": "23:00", "taps_between.1": "06:00"}, "taps_between.0", "within one day"),
        ("water", {"taps_l_per_day": "100000"}, "taps_l_per_day", "more than the pump can lift"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    refuse: Refuse, form: str, typed: dict[str, Any], name: str, why: str
) -> None:
    """The words are those of the form, not of the file."""
    fault = refuse("supply", form, **typed).by_id(f"fault-{form}-{name.replace('.', '-')}").text

    assert why in fault
    assert "_" not in fault


def test_every_fault_of_a_form_is_said_at_once(refuse: Refuse) -> None:
    """Three wrong figures are three faults, counted at the top."""
    page = refuse("supply", "battery", modules="many", reserve="half", module_v="fifty")

    assert "3 figures do not work yet" in page.by_id("wrong").text
    assert page.by_id("battery-modules")["value"] == "many"


def test_what_does_not_hang_on_a_refused_figure_is_stored(house: House) -> None:
    """The other waits where it was typed, names what it needs, and goes with it."""
    answer = send(house, "supply", "inverter", rated_va="8000", no_load_w="44")
    page = Page(answer.text)

    assert answer.status_code == 200
    assert "What it carries for a short time" in page.by_id("fault-inverter-rated_va").text
    assert "the rest was stored" in page.by_id("wrong").text
    inverter = supply_of(house)["inverter"]
    assert (inverter["rated_va"], inverter["no_load_w"]) == (5000, 44)
    fields = shown(page, "inverter")
    assert (fields["rated_va"], fields["was:rated_va"], fields["no_load_w"]) == (["8000"], ["5000"], ["44"])
    fields["overload.0"] = ["9600", "12000", "16000", ""]
    answer = house.client.post(f"{house.address(PLAN)}/supply", data=fields, follow_redirects=False)
    assert answer.status_code == 303
    inverter = supply_of(house)["inverter"]
    assert (inverter["rated_va"], inverter["overload"][0][0], inverter["no_load_w"]) == (8000, 9600, 44)


def test_beside_what_cannot_be_read_the_rest_is_stored(house: House) -> None:
    """Of a circuit in a list as well."""
    answer = send(house, "supply", "circuits-1", breaker_a="B16", cable_m="17")
    fields = shown(Page(answer.text), "circuits-1")

    assert answer.status_code == 200
    assert supply_of(house)["circuits"][1]["cable_m"] == 17
    assert (fields["breaker_a"], fields["cable_m"], fields["was:cable_m"]) == (["B16"], ["17"], ["17"])
    assert answer.text.count('class="fault"') == 1


@pytest.mark.parametrize(
    ("path", "form", "typed", "names"),
    [
        ("supply", "inverter", {"cut_off_v": "60"}, "Restart voltage"),
        ("supply", "battery", {"continuous_discharge_a": "400"}, "One gives at the very most"),
        ("supply", "water", {"pump_l_per_min": "0.1"}, "Taps use"),
        ("dryer", "stage-0", {"watts": "40 kW"}, "The start draws"),
    ],
)
def test_a_figure_refused_for_another_is_told_where_it_was_typed(
    refuse: Refuse, path: str, form: str, typed: dict[str, str], names: str
) -> None:
    """There alone; the other is named."""
    page = refuse(path, form, **typed)

    [said] = page.all("p", kind="fault")
    assert said["id"] == f"fault-{form}-{next(iter(typed))}"
    assert f"\u201c{names}\u201d does not fit" in said.text


@pytest.mark.parametrize(("part", "form"), [("arrays", "arrays-1"), ("circuits", None), ("generator", "generator")])
def test_a_piece_of_the_supply_is_added_and_taken_out_again(house: House, part: str, form: str | None) -> None:
    """It begins with round figures, and undoing is one step."""
    before = supply_of(house)
    number = len(before.get(part) or []) if part != "generator" else 0
    fields = {"part": part, "what": "add", "tab": "t", "sequence": "1", "revision": "1"}
    house.client.post(f"{house.address(PLAN)}/supply/pieces", data=fields)
    added = shown(open_page(house, "supply"), form or f"{part}-{number}")
    assert len(added) > 3
    fields |= {"what": "remove", "place": str(number), "of": added["of"][0], "sequence": "2"}
    house.client.post(f"{house.address(PLAN)}/supply/pieces", data=fields)

    assert supply_of(house) == before


def test_a_circuit_that_feeds_others_is_not_taken_out(house: House) -> None:
    """The page says why, and all stays as it was."""
    before = supply_of(house)
    fields = {"part": "circuits", "what": "remove", "place": "0", "tab": "t", "sequence": "1", "revision": "1"}
    of = before["circuits"][0]["id"]
    answer = house.client.post(f"{house.address(PLAN)}/supply/pieces", data=fields | {"of": of})

    assert answer.status_code == 422
    assert Page(answer.text).by_id("wrong").text
    assert supply_of(house) == before


def test_a_figure_never_lands_on_another_circuit(house: House) -> None:
    """What stands at a form's place may be another by the time it is sent: then nothing is stored."""
    old = shown(open_page(house, "supply"), "circuits-1")
    old["breaker_a"], old["of"] = ["6"], ["a circuit that was taken out"]
    before = house.document
    answer = house.client.post(f"{house.address(PLAN)}/supply", data=old, follow_redirects=False)

    assert answer.status_code == 410
    assert house.document == before


def test_every_editor_of_a_new_household_opens(house: House) -> None:
    """With nothing in it yet: no pump to be chosen, no circuit, no appliance."""
    answer = house.client.post("/households", data={"name": "Cabin"}, follow_redirects=False)
    fresh = House(house.database, house.client, answer.headers["location"].split("/")[2])
    for path in ("appliances", "supply", "supply?check=1", "household", "questions", "begin"):
        assert house.client.get(f"{fresh.address('first')}/{path}").status_code == 200, path
    fields = {"part": "water", "what": "add", "tab": "t", "sequence": "1", "revision": "1"}
    answer = house.client.post(f"{fresh.address('first')}/supply/pieces", data=fields)
    assert answer.status_code == 422
    page = Page(answer.text)
    assert "A pump has to be there first" in page.by_id("wrong").text
    assert "The pump has to be there first" in page.all("main")[0].text
    assert not [one for one in page.elements if one.get("id") == "add-water"]


def small(**supply: Any) -> dict[str, Any]:
    """A household just begun, with a kettle of one stage."""
    document = starting_document("Reedbank", "2026-05-12")
    stages = [{"duration_s": 180, "watts": 2000}]
    document["appliances"] = [{"id": "kettle", "name": "Kettle", "stages": stages}]
    document["scenarios"][0]["changes"] = {"supply": supply}
    return document


@pytest.mark.parametrize(
    ("typed", "hours"),
    [
        ({"taps_l_per_day": "120"}, ["06:30", "22:30"]),
        ({"taps_between.0": "07:00"}, ["07:00", "22:30"]),
        ({"taps_between.1": "22:00"}, ["06:30", "22:00"]),
        ({"taps_between.0": "07:00", "taps_between.1": "22:00"}, ["07:00", "22:00"]),
    ],
)
def test_hours_of_taps_are_filled_in_and_said(database: Database, typed: dict[str, str], hours: list[str]) -> None:
    """Of which one figure is told: it is not refused for the other two."""
    document = small()
    document["supply"]["water"] = {"pump": "kettle", "vessel_l": 20, "pump_l_per_min": 30}
    house = houses(database, document)("owner")
    page = Page(house.client.get(f"{house.address('first')}/supply").text)
    fields = shown(page, "water") | {name: [value] for name, value in typed.items()}
    answer = house.client.post(f"{house.address('first')}/supply", data=fields)

    assert answer.status_code == 200
    assert supply_of(house)["water"]["taps_between"] == hours
    said = any("hours of the taps were filled in" in one.text for one in Page(answer.text).all("p", kind="news"))
    assert said == (len(typed) == 1)


def test_nothing_else_is_taken_for_the_pump(database: Database) -> None:
    """Of a library without one no other machine is, though it has one stage; with one it is."""
    house = houses(database, small())("owner")
    fields = {"part": "water", "what": "add", "tab": "t", "sequence": "1", "revision": "1"}
    address = f"{house.address('first')}/supply/pieces"
    assert house.client.post(address, data=fields).status_code == 422
    assert "water" not in supply_of(house)
    document = small()
    document["appliances"].append(document["appliances"][0] | {"id": "deep", "name": "Deep Pump"})
    house = houses(database, document | {"name": "Reedbank 2"})("owner")
    assert house.client.post(f"{house.address('first')}/supply/pieces", data=fields).status_code == 200
    assert supply_of(house)["water"]["pump"] == "deep"


@pytest.mark.parametrize(("reserve", "start"), [(0.2, 0.3), (0.35, 0.35), (0.5, 0.5), (0.8, 0.8), (0.99, 0.99)])
def test_a_generator_comes_to_any_reserve(database: Database, reserve: float, start: float) -> None:
    """It starts at the reserve where that is above what is usual, also where a plan keeps more back."""
    house = houses(database, small(battery={"reserve": reserve}))("owner")
    fields = {"part": "generator", "what": "add", "tab": "t", "sequence": "1", "revision": "1"}
    answer = house.client.post(f"{house.address('first')}/supply/pieces", data=fields)
    assert answer.status_code == 200
    generator = supply_of(house)["generator"]
    assert generator["start_below"] == start < generator["stop_above"] <= 1


@pytest.mark.parametrize("typed", ["1" + " " * 30_000 + "x", "9" * 30_000, "1h" * 10_000])
@pytest.mark.parametrize("name", ["room_offset_k", "cut_off_delay_s", "rated_va"])
def test_no_text_is_too_long_to_be_refused_at_once(refuse: Refuse, name: str, typed: str) -> None:
    """Beside its field, without keeping everybody else waiting."""
    page = refuse("supply", "inverter", **{name: typed})

    assert "cannot be read" in page.by_id(f"fault-inverter-{name}").text


@pytest.mark.parametrize(
    ("form", "typed", "name", "why"),
    [
        ("battery", {"dc_load_w": "5 A"}, "dc_load_w", "cannot be read"),
        ("inverter", {"rated_va": "5,000"}, "rated_va", "two ways"),
        ("inverter", {"overload.1": ["30 min", "1 min", "5", ""]}, "overload", "cannot be read"),
    ],
)
def test_what_can_be_meant_in_two_ways_is_asked_for_again(
    refuse: Refuse, form: str, typed: dict[str, Any], name: str, why: str
) -> None:
    """A thousand times too little, minutes for seconds, amps of which voltage: better asked than guessed."""
    assert why in refuse("supply", form, **typed).by_id(f"fault-{form}-{name}").text


def test_a_loss_by_heat_is_a_loss_with_either_sign(house: House) -> None:
    """Labels print it with a minus sign, people say it without."""
    for typed, stored in (("0.4", -0.004), ("\u22120.45", -0.0045)):
        send(house, "supply", "arrays-0", temperature_coefficient=typed)
        assert supply_of(house)["arrays"][0]["temperature_coefficient"] == pytest.approx(stored)


def test_an_interlock_of_many_is_shown_and_kept(house: House) -> None:
    """As many columns as its longest line needs; saving the form untouched changes nothing."""
    ids = [one["id"] for one in house.document["appliances"]][:6]
    names = {f"interlocks.{number}": [one, ""] for number, one in enumerate(ids[:4])}
    send(house, "household", "interlocks", **names)
    before = house.document
    send(house, "household", "interlocks")

    assert house.document == before


def test_a_reader_sees_every_figure_and_no_button(house_of: Any) -> None:
    """What cannot be sent is not offered; every figure of the forms stands there as text."""
    owner, reader = house_of("owner"), house_of("reader")
    for path in ("supply", "appliances", "household", f"appliances/{key_of(reader, 'washer')}"):
        page = open_page(reader, path)
        assert not (page.all("button") or page.all("form") or page.all("input") or page.all("select"))
        told = {one["id"]: one.text for one in (*page.all("dl"), *page.all("div", kind="points"))}
        form = open_page(owner, path)
        for field in (*form.all("input"), *form.all("select")):
            name = (field.get("id") or "").partition("-help")[0]
            if name in told and field.get("value"):
                assert field["value"] in told[name], (path, name)
            elif name in told:
                chosen = [one.text for one in within(form, field, "option") if "selected" in one.attributes]
                assert all(one in told[name] for one in chosen), (path, name)
        assert path == "appliances" or len(told) >= 7
    answer = reader.client.post(f"{reader.address(PLAN)}/supply", data={"form": "battery", "reserve": "50"})
    assert answer.status_code == 403


STAGES = (*appliance.STAGE, *appliance.CYCLE, *appliance.START)
TYPED = [one.path for one in STAGES if isinstance(one, Entry) and one.measure and one.path != "name"]


@pytest.mark.parametrize("name", TYPED)
def test_nonsense_in_a_stage_is_refused_beside_its_field(refuse: Refuse, name: str) -> None:
    """Every field of a stage, with all of the form kept."""
    page = refuse("washer", "stage-1", **{name: "plenty", "name": "my stage"})

    assert page.by_id(f"stage-1-{name.replace('.', '-')}")["value"] == "plenty"
    assert page.by_id("stage-1-name")["value"] == "my stage"
    assert "give it as" in page.by_id(f"fault-stage-1-{name.replace('.', '-')}").text


@pytest.mark.parametrize(
    ("typed", "name", "why"),
    [
        ({"duration_s": ""}, "duration_s", "is needed"),
        ({"watts": "\u22125"}, "watts", "too small"),
        ({"watts": "2 MW"}, "watts", "cannot be read"),
        ({"power_factor": "0"}, "power_factor", "too small"),
        ({"power_factor": "1.2"}, "power_factor", "too large"),
        ({"cycle.on_s": "10 min", "cycle.period_s": "5 min"}, "cycle.on_s", "longer than the whole cycle"),
        ({"cycle.on_s": "10 min"}, "cycle.period_s", "Say how long it takes"),
        (
            {"cycle.on_s": "10 min", "cycle.period_s": "20 min", "cycle.longest_on_s": "5 min"},
            "cycle.longest_on_s",
            "shorter than the usual",
        ),
        (
            {"start.va": "1", "start.power_factor": "0.5", "start.duration_s": "1"},
            "start.va",
            "at least what the stage",
        ),
        ({"start.va": "9000"}, "start.power_factor", "0.5 will do"),
        ({"start.power_factor": "0.5", "start.duration_s": "1"}, "start.va", "Say what it draws while it starts"),
        (
            {
                "cycle.on_s": "0.1 s",
                "cycle.period_s": "0.3 s",
                "start.va": "9000",
                "start.power_factor": "0.5",
                "start.duration_s": "0.4 s",
            },
            "start.duration_s",
            "longer than its whole cycle",
        ),
    ],
)
def test_a_stage_that_cannot_be_is_refused_in_words(refuse: Refuse, typed: dict[str, str], name: str, why: str) -> None:
    """Beside the field that would put it right."""
    assert why in refuse("washer", "stage-1", **typed).by_id(f"fault-stage-1-{name.replace('.', '-')}").text


def test_a_figure_that_was_emptied_is_asked_for(refuse: Refuse) -> None:
    """It is not told that it is too long."""
    assert (
        "Say how long it is on"
        in refuse("fridge", "stage-0", **{"cycle.on_s": ""}).by_id("fault-stage-0-cycle-on_s").text
    )


def dishwasher(house: House) -> dict[str, Any]:
    found: dict[str, Any] = next(one for one in house.document["appliances"] if one["id"] == "dishwasher")
    return found


def step_back(house: House, page: Page) -> Any:
    """Press the page's undo."""
    undo = next(one for one in within(page, page.by_id("edit-steps"), "form") if "Undo" in one.text)
    fields = {field["name"]: field["value"] for field in within(page, undo, "input")}
    return house.client.post(undo["action"], data=fields, follow_redirects=False)


def test_stages_are_added_split_moved_and_taken_out(house: House) -> None:
    """Splitting keeps the length; whatever is done can be undone from the editor."""
    before = dishwasher(house)
    path = f"appliances/{key_of(house, 'dishwasher')}"
    for what, place in (("split", 2), ("down", 0), ("add", 3), ("remove", 4)):
        answer = send(house, path, f"acts-stage-{place}", f"{path}/stages", what=what, tab=what)
        assert answer.status_code == 303, answer.text
    stages = dishwasher(house)["stages"]

    assert len(stages) == len(before["stages"]) + 1
    assert stages[0] == before["stages"][1]
    assert stages[2]["duration_s"] + stages[3]["duration_s"] == before["stages"][2]["duration_s"]
    for _ in range(4):
        page = open_page(house, path)
        assert step_back(house, page).status_code == 303
    assert dishwasher(house) == before


def test_a_typical_appliance_comes_with_what_it_sets_off(house: House) -> None:
    """One button adds both, and the editor of the first is shown."""
    entry = next(one for one in library.entries() if one.brings and 230 in one.volts)
    fields = {"typical": entry.id, "tab": "t", "sequence": "1", "revision": "1"}
    answer = house.client.post(f"{house.address(PLAN)}/appliances", data=fields)
    added = house.document["appliances"][len(demo_appliances()) :]

    assert entry.name in Page(answer.text).by_id("appliance").text or entry.name in answer.text
    assert len(added) >= 2
    called = {one["appliance"] for stage in added[0]["stages"] for one in stage.get("sets_off", ())}
    assert called <= {one["id"] for one in added}


def demo_appliances() -> list[Any]:
    found: list[Any] = json.loads(demo_text())["appliances"]
    return found


@pytest.mark.parametrize("entry", library.entries(), ids=lambda one: one.id)
def test_every_typical_appliance_can_be_added(house: House, entry: library.Entry) -> None:
    """In the demo household, whatever its voltage: the store and the engine take it, and its editor opens."""
    fields = {"typical": entry.id, "tab": "t", "sequence": "1", "revision": "1"}
    answer = house.client.post(f"{house.address(PLAN)}/appliances", data=fields)

    assert answer.status_code == 200
    assert "stage-0" in answer.text


def test_the_library_is_searched_by_what_people_call_things(house: House) -> None:
    """What is found can be added; what is not is answered with another way."""
    page = Page(house.client.get(f"{house.address(PLAN)}/appliances?find=tumble+drier").text)
    assert "Tumble dryer" in page.by_id("library").text
    nothing = Page(house.client.get(f"{house.address(PLAN)}/appliances?find=zzz").text)

    assert "three questions" in nothing.by_id("library").text.lower()


def test_three_answers_make_an_appliance(house: House) -> None:
    """Shown first with what was assumed, then added."""
    answers = {"name": "Lathe", "kind": "motor", "run_s": "1 h", "shaft_w": "1 hp", "machine": "belt"}
    made = send(house, "questions", "questions", **answers, do="show")
    assert made.status_code == 200
    assert "1840 VA" in made.text
    assert len(house.document["appliances"]) == len(demo_appliances())
    added = send(house, "questions", "questions", **answers, do="add")

    assert added.status_code == 303
    lathe = house.document["appliances"][-1]
    assert lathe["name"] == "Lathe"
    assert lathe["stages"][0]["start"]["va"] > lathe["stages"][0]["watts"]


@pytest.mark.parametrize(
    ("answers", "name"),
    [
        ({}, "name"),
        ({"name": "X"}, "kind"),
        ({"name": "X", "kind": "heats"}, "run_s"),
        ({"name": "X", "kind": "heats", "run_s": "soon"}, "run_s"),
        ({"name": "X", "kind": "heats", "run_s": "1 h", "watts": "lots"}, "watts"),
        ({"name": "X", "kind": "motor", "run_s": "1 h", "code_letter": "?"}, "code_letter"),
    ],
)
def test_answers_that_are_missing_or_wrong_are_asked_for_again(
    refuse: Refuse, answers: dict[str, str], name: str
) -> None:
    """Beside the question, with everything else kept."""
    page = refuse("questions", "questions", **answers, do="show")

    assert page.by_id(f"fault-questions-{name}").text
    for field, typed in answers.items():
        if field != "kind":
            assert page.by_id(f"questions-{field}")["value"] == typed


def test_an_appliance_is_deleted_with_its_runs_and_brought_back(house: House) -> None:
    """The list says so, and one step has all of it back."""
    before = house.document
    path = f"appliances/{key_of(house, 'dishwasher')}"
    fields = {"tab": "t", "sequence": "1", "revision": "1"}
    answer = house.client.post(f"{house.address(PLAN)}/{path}/delete", data=fields)
    assert "Dishwasher back, with" in Page(answer.text).by_id("edit-steps").text
    step_back(house, Page(answer.text))

    assert house.document == before


def test_what_is_needed_elsewhere_is_not_deleted(house: House) -> None:
    """The pump of the water supply: the page says where to change that first."""
    pump = house.document["supply"]["water"]["pump"]
    fields = {"tab": "t", "sequence": "1", "revision": "1"}
    path = f"{house.address(PLAN)}/appliances/{key_of(house, pump)}/delete"
    answer = house.client.post(path, data=fields)

    assert answer.status_code == 422
    assert "water supply" in Page(answer.text).by_id("wrong").text


def test_a_figure_keeps_its_history(house: House) -> None:
    """From what to what, and when; the newest first."""
    path = f"appliances/{key_of(house, 'kettle')}"
    send(house, path, "stage-0", watts="2150 W")
    send(house, path, "appliance", basis="measured")
    past = open_page(house, path).by_id("past").text

    assert past.index("measured here") < past.index("2150 W")
    assert "\u2192 2150 W" in past


def test_fahrenheit_and_gauges_are_the_households_own(house: House) -> None:
    """Shown and read in them, stored in degrees Celsius and mm2."""
    send(house, "household", "formats", temperature="F", conductor="awg")
    page = open_page(house, "supply")
    assert shown(page, "inverter")["continuous_w.0"][0] == "77"
    told = page.all("main")[0].text
    assert "for lithium none at 32 °F, a fifth at 41 °F, all from 59 °F; for lead" in told
    assert "for lithium half at 14 °F, all from 50 °F" in told
    assert "not charged at or below 32 °F" in told
    assert "°C." not in told
    refused = send(house, "supply", "inverter", **{"continuous_w.0": ["warm", "4000", ""]})
    assert "77 or 23" in refused.text
    send(house, "supply", "circuits-0", conductor_mm2="12")
    send(house, "supply", "inverter", **{"continuous_w.0": ["86", "104", ""]})

    assert supply_of(house)["circuits"][0]["conductor_mm2"] == 3.3088
    assert supply_of(house)["inverter"]["continuous_w"][0][0] == 30
    assert house.document["formats"] == {"temperature": "F", "conductor": "awg"}


def test_the_plans_own_temperatures_are_in_the_households_degrees(house: House) -> None:
    """Shown and read in Fahrenheit on the day's sheet, stored in degrees Celsius."""
    send(house, "household", "formats", temperature="F")
    fields = {"field": "ambient_c", "hour": ["06:00", "15:00"], "degrees": ["50", "68"]}
    envelope = {"tab": "t", "sequence": "1", "revision": "1"}
    answer = house.client.post(f"{house.address(PLAN)}/plan", data=fields | envelope)

    plan = next(one for one in house.document["scenarios"] if one["id"] == PLAN)
    assert plan["ambient_c"] == [[6, 10], [15, 20]]
    assert "50 to 68 \u00b0F" in Page(answer.text).by_id("day-plan").text
    far = house.client.post(f"{house.address(PLAN)}/plan", data=fields | envelope | {"degrees": ["500", "68"]})
    assert far.status_code == 422
    assert "from \u2212112 to 248" in Page(far.text).by_id("fault-ambient_c").text


def test_what_never_runs_together_is_said_by_lines(house: House) -> None:
    """Two appliances a line; one alone is no line."""
    names = {f"interlocks.{number}": ["", ""] for number in range(4)}
    typed = names | {"interlocks.0": ["dryer", ""], "interlocks.1": ["kettle", ""]}
    assert send(house, "household", "interlocks", **typed).status_code == 303
    assert house.document["interlocks"] == [{"of": ["dryer", "kettle"]}]
    alone = send(house, "household", "interlocks", **(names | {"interlocks.0": ["dryer", ""]}))

    assert alone.status_code == 422
    assert "at least two" in Page(alone.text).by_id("fault-interlocks-interlocks").text


@pytest.mark.parametrize(
    ("name", "typed"), [("timezone", "Atlantis"), ("latitude", "north"), ("longitude", "400"), ("altitude_m", "high")]
)
def test_a_place_that_cannot_be_is_refused_beside_its_field(refuse: Refuse, name: str, typed: str) -> None:
    """With what would be right."""
    assert refuse("household", "site", **{name: typed}).by_id(f"fault-site-{name}").text


def test_fields_of_the_forms_are_fields_of_the_file() -> None:
    """No form asks for something the file has no place for, and every one says what it is."""
    fields = [*supply.INVERTER, *supply.BATTERY, *STAGES, *appliance.APPLIANCE, *site.SITE]
    assert all(one.label for one in fields)
    assert all(isinstance(one, Points) or one.help or one.choices for one in fields)


def undoing(house: House) -> str:
    """What the editors' undo button says."""
    return " ".join(one.text for one in open_page(house, "supply").all("button") if one.text.startswith("Undo"))


def test_the_same_figure_typed_otherwise_is_no_change(house: House) -> None:
    """Of an array's 1200 W `1,2 kW`, of a latitude one with a zero more."""
    before, revision = house.document, house.stored.revision
    peak = shown(open_page(house, "supply"), "arrays-0")
    peak["peak_w"] = [f"{before['supply']['arrays'][0]['peak_w'] / 1000:g} kW".replace(".", ",")]
    site = shown(open_page(house, "household"), "site")
    site["latitude"] = [f"{before['site']['latitude']}0"]
    assert house.client.post(f"{house.address(PLAN)}/supply", data=peak).status_code == 200
    assert house.client.post(f"{house.address(PLAN)}/household", data=site).status_code == 200
    assert (house.document, house.stored.revision) == (before, revision)
    assert undoing(house) == ""


def test_undo_names_each_figure_of_several(house: House) -> None:
    send(house, "supply", "battery", modules="6", reserve="40")
    assert "Undo: Battery: modules side by side 6 \u2192 4, reserve 40 % \u2192 25 %" in undoing(house)


def test_undo_names_the_piece_and_what_is_meant_by_an_id(house: House) -> None:
    """Of several circuits which, and the one it is fed from by its name."""
    circuits = supply_of(house)["circuits"]
    first, (place, fed) = circuits[0], (1, circuits[1])
    sent = shown(open_page(house, "supply"), f"circuits-{place}")
    sent["breaker_a"] = [str(fed["breaker_a"] + 1)]
    house.client.post(f"{house.address(PLAN)}/supply", data=sent)
    assert undoing(house).startswith(f"Undo: Circuit {fed['name']}: breaker")
    sent = shown(open_page(house, "supply"), f"circuits-{place}")
    sent["fed_from"], sent["sequence"] = [first["id"]], ["2"]
    house.client.post(f"{house.address(PLAN)}/supply", data=sent)
    assert f"fed from {first['name']} {ARROW} " in undoing(house)


def test_undo_names_what_came_to_the_any_time_loads(house: House) -> None:
    """And what would go again."""
    there = house.document.get("any_time", [])
    first, name = next(
        (one["id"], one["name"])
        for one in house.document["appliances"]
        if one["id"] not in there and not one.get("always_on") and len(one["stages"]) > 1
    )
    fields = {"any_time": "yes", "tab": "t", "sequence": "1", "revision": "1"}
    house.client.post(f"{house.address(PLAN)}/appliances/{key_of(house, first)}/any-time", data=fields)
    assert undoing(house) == f"Undo: Any-time loads: {name} taken out"


def test_undo_names_what_never_runs_together(database: Database) -> None:
    """A new line, a changed one and one taken out: by the names of its machines, a plan's own ones among them."""
    house = houses(database, with_plans(PLAN, "shed"))("owner")
    of = {one["id"]: one["name"] for one in house.document["appliances"]}
    own = next(one for plan in house.document["scenarios"] for one in plan.get("changes", {}).get("appliances", ()))
    assert own["id"] not in of
    (first, one), (second, two), *_ = of.items()
    rows = [{first: one, second: two}, {first: one, second: two, own["id"]: own["name"]}]
    undo = [f"{one} and {two} taken out", f"{one}, {two} and {own['name']} {ARROW} {one} and {two}"]
    for sequence, (ids, told) in enumerate(zip(rows, undo, strict=True), 1):
        sent = shown(open_page(house, "household"), "interlocks")
        for number in range(4):
            sent[f"interlocks.{number}"] = [[*ids, "", "", ""][number], ""]
        sent["sequence"] = [str(sequence)]
        assert house.client.post(f"{house.address(PLAN)}/household", data=sent).status_code == 200
        assert undoing(house) == f"Undo: One at a time: {told}"

    sent = shown(open_page(house, "household"), "interlocks")
    sent |= {f"interlocks.{number}": ["", ""] for number in range(4)} | {"sequence": ["3"]}
    house.client.post(f"{house.address(PLAN)}/household", data=sent)
    assert undoing(house) == f"Undo: One at a time: {one}, {two} and {own['name']} added"
