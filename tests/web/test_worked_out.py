"""Figures worked out of kilowatt-hours, of a motor's plate or of its kind, on the forms that ask for them."""

import pytest

from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_editors import PLAN, key_of, send

PLANS = (PLAN,)


def work_out(house: House, appliance: str, do: str = "show", **typed: str) -> Page:
    """Fill in the form that works a start out, of the first stage."""
    answer = send(house, f"appliances/{key_of(house, appliance)}", "help-stage-0", **typed, do=do)
    assert answer.status_code in (200, 422)
    return Page(answer.text)


def made(page: Page) -> str:
    """What it says the start is."""
    return page.by_id("made-help-stage-0").text


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"locked_rotor_a": "20"}, ("4.6 kVA", "3.7 kVA to 5.5 kVA", "the label's locked-rotor amperes")),
        ({"locked_rotor_a": "20", "volts": "120"}, ("2.4 kVA", "at 120 V")),
        ({"code_letter": "k", "shaft_w": "1 hp"}, ("8.5 kVA", "8 to 9 kVA a horsepower")),
        ({"machine": "pump", "kind": "motor"}, ("Water pumps start at", "common practice")),
        ({}, ("Other motors start at", "common practice")),
        ({"machine": "belt", "shaft_w": "1.1 kW", "kind": "motor"}, ("Standing saws", "would be reckoned with")),
    ],
)
def test_a_start_is_told_with_its_range_and_its_source(
    house: House, typed: dict[str, str], says: tuple[str, ...]
) -> None:
    """From what is held still, a code letter with horsepower, or the kind; nothing is stored."""
    before = house.document
    text = made(work_out(house, "vacuum", **typed))

    assert all(one in text for one in says), text
    assert "It may be from" in text
    assert house.document == before


@pytest.mark.parametrize(
    ("typed", "name", "why"),
    [
        ({"locked_rotor_a": "lots"}, "locked_rotor_a", "cannot be read"),
        ({"locked_rotor_a": "0"}, "locked_rotor_a", "too small"),
        ({"code_letter": "?", "shaft_w": "1 hp"}, "code_letter", "is no code letter"),
        ({"code_letter": "K"}, "shaft_w", "counts by horsepower"),
    ],
)
def test_a_plate_that_cannot_be_is_refused_beside_its_field(
    house: House, typed: dict[str, str], name: str, why: str
) -> None:
    """With everything that was typed."""
    page = work_out(house, "vacuum", **typed)

    assert why in page.by_id(f"fault-help-stage-0-{name}").text
    for field, text in typed.items():
        assert page.by_id(f"help-stage-0-{field}")["value"] == text


def test_a_start_that_is_used_is_stored_in_one_step(house: House) -> None:
    """With its power factor and its length; one that would be below what the stage draws is that draw."""
    path = f"appliances/{key_of(house, 'vacuum')}"
    answer = send(house, path, "help-stage-0", locked_rotor_a="20", do="use")
    assert answer.status_code == 303
    vacuum = next(one for one in house.document["appliances"] if one["id"] == "vacuum")
    assert vacuum["stages"][0]["start"] == {"va": 4600, "power_factor": 0.6, "duration_s": 0.8}
    send(house, path, "help-stage-0", locked_rotor_a="0.5", do="use")
    vacuum = next(one for one in house.document["appliances"] if one["id"] == "vacuum")

    assert vacuum["stages"][0]["start"]["va"] >= vacuum["stages"][0]["watts"]


def test_kilowatt_hours_of_what_comes_and_goes_are_drawn_while_it_is_on(house: House) -> None:
    """On for a third of the time, it draws three times the average; the length typed in the same form counts."""
    path = f"appliances/{key_of(house, 'iron')}"
    cycle = {"cycle.on_s": "5 min", "cycle.period_s": "15 min", "cycle.longest_on_s": ""}
    typed = cycle | {"duration_s": "1 h", "energy_wh": "400 Wh"}
    assert send(house, path, "stage-0", **typed).status_code == 303
    iron = next(one for one in house.document["appliances"] if one["id"] == "iron")

    assert iron["stages"][0]["watts"] == 1200


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({"energy_wh": "some"}, "cannot be read"),
        ({"energy_wh": "1", "watts": "2000"}, "not both"),
        ({"energy_wh": "1", "duration_s": ""}, "Say above for how long"),
        ({"energy_wh": "9000", "duration_s": "1 min"}, "check it, and for how long"),
    ],
)
def test_kilowatt_hours_that_make_no_watts_are_refused(house: House, typed: dict[str, str], why: str) -> None:
    """Beside them, and nothing is stored."""
    before = house.document
    answer = send(house, f"appliances/{key_of(house, 'iron')}", "stage-0", **typed)

    assert answer.status_code == 422
    assert why in Page(answer.text).by_id("fault-stage-0-energy_wh").text
    assert house.document == before


def test_a_sketch_of_answers_says_only_what_is_wrong_with_what_was_typed(house: House) -> None:
    """The page's script asks while answers are given: what is still missing is no fault, and nothing is stored."""
    before = house.document
    half = Page(send(house, "questions", "questions", name="Lathe", watts="lots", do="sketch").text)
    whole = send(house, "questions", "questions", name="Lathe", kind="motor", run_s="1 h", do="sketch")

    assert half.by_id("fault-questions-watts").text
    assert not any(one.get("id") == "fault-questions-kind" for one in half.all("p"))
    assert "Lathe" in Page(whole.text).by_id("made-of").text
    assert house.document == before


def test_a_copy_from_the_library_keeps_its_cautions(house: House) -> None:
    """In its own editor too, however often it was added."""
    fields = {"typical": "table-saw", "tab": "t", "revision": "1"}
    for sequence in (1, 2):
        answer = house.client.post(f"{house.address(PLAN)}/appliances", data=fields | {"sequence": str(sequence)})
        assert "no-volt release" in answer.text


def test_an_addition_that_comes_twice_is_one(house: House) -> None:
    """A button pressed twice while the answer was on its way: the second leads to the list."""
    fields = {"typical": "kettle", "tab": "t", "revision": "1", "sequence": "1"}
    answers = {"name": "Lathe", "kind": "motor", "run_s": "1 h", "do": "add", "tab": "q", "sequence": "1"}
    for path, data in (("appliances", fields), ("questions", answers)):
        count = len(house.document["appliances"])
        for _ in range(2):
            assert house.client.post(f"{house.address(PLAN)}/{path}", data=data).status_code == 200
        assert len(house.document["appliances"]) == count + 1


def heater_with_a_motor(house: House) -> str:
    """The dryer's warm-up as a heater with a motor: 2000 W, mostly heat, by its power factor too."""
    path = f"appliances/{key_of(house, 'dryer')}"
    assert send(house, path, "stage-0", watts="2000 W", power_factor="0.98").status_code == 303
    return path


def test_a_heater_does_not_start(house: House) -> None:
    """Asked whether it heats as well, where its power factor speaks of heat; nothing is guessed before."""
    path = heater_with_a_motor(house)
    for plate in ({}, {"locked_rotor_a": "8"}, {"machine": "drum"}, {"shaft_w": "300 W"}):
        answer = send(house, path, "help-stage-0", **plate, do="show")
        assert answer.status_code == 422
        assert "Say whether it heats as well" in Page(answer.text).by_id("fault-help-stage-0-kind").text


@pytest.mark.parametrize(
    ("typed", "va", "says"),
    [
        # 15 % of 2000 W is 300 W, 462 VA at 0.65, 2.5 times that; 1700 W of heat on top
        ({"kind": "heats_and_motor", "machine": "drum"}, 1700 + 300 / 0.65 * 2.5, "15 % of the label"),
        ({"watts": "200 W", "machine": "drum"}, 1800 + 200 / 0.65 * 2.5, "The motor alone draws 200 W"),
        ({"kind": "heats_and_motor", "locked_rotor_a": "8"}, 1700 + 8 * 230, "With the 1700 W that heat meanwhile"),
        ({"kind": "motor", "machine": "brushes"}, 2000 / 0.98 * 2, "are taken for the motor"),
    ],
)
def test_the_motors_own_part_starts_and_the_heat_stands_beside_it(
    house: House, typed: dict[str, str], va: float, says: str
) -> None:
    """Its share, or its own watts; what was taken is said, and what is stored is the sum."""
    path = heater_with_a_motor(house)
    shown = Page(send(house, path, "help-stage-0", **typed, do="show").text)
    assert says in made(shown)
    assert send(house, path, "help-stage-0", **typed, do="use").status_code == 303
    dryer = next(one for one in house.document["appliances"] if one["id"] == "dryer")

    assert dryer["stages"][0]["start"]["va"] == pytest.approx(va, abs=1)


def test_a_motor_draws_no_more_than_its_stage(house: House) -> None:
    """Refused beside it."""
    answer = send(house, heater_with_a_motor(house), "help-stage-0", watts="2500", do="show")

    assert answer.status_code == 422
    assert "cannot draw more" in Page(answer.text).by_id("fault-help-stage-0-watts").text
