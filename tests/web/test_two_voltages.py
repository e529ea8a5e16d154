"""Mains of 120/240 V: amperes are taken at the volts of what a machine is on, and asked for where two may be meant."""

from typing import Any

import pytest

from app.household.file import household_from
from app.store.session import Database
from tests.households import with_plans
from tests.web.conftest import House, houses
from tests.web.markup import Page
from tests.web.test_editors import PLAN, key_of, open_page, send

PLANS = (PLAN,)


def two_legs() -> dict[str, Any]:
    """The demo household with two legs: the kettle's circuit on one, the hob's on both; the iron on none."""
    document = with_plans(PLAN)
    document["supply"]["inverter"] |= {"ac_voltage": 240, "legs": 2}
    for circuit, leg in zip(document["supply"]["circuits"], ("A", "AB"), strict=False):
        circuit["leg"] = leg
    del next(one for one in document["appliances"] if one["id"] == "iron")["circuit"]
    return document


@pytest.fixture
def american(database: Database, assessed_once: None) -> House:
    """That household."""
    return houses(database, two_legs())("owner")


def test_two_legs_are_said_on_the_forms(house: House) -> None:
    """Figure by figure from a household of one voltage, as the file has it."""
    assert send(house, "supply", "inverter", ac_voltage="240", legs="2").status_code == 303
    assert send(house, "supply", "circuits-0", leg="A").status_code == 303
    assert send(house, "supply", "circuits-1", leg="AB").status_code == 303
    assert send(house, f"appliances/{key_of(house, 'iron')}", "appliance", circuit="").status_code == 303

    assert household_from(house.document) == household_from(two_legs())
    page = open_page(house, "supply")
    assert "leg A, 120 V" in page.by_id("fold-circuits-0").text
    assert "both legs, 240 V" in page.by_id("fold-circuits-1").text
    names = [one["name"] for one in house.document["supply"]["circuits"]]
    choices = open_page(house, f"appliances/{key_of(house, 'kettle')}").by_id("appliance-circuit").text
    assert f"{names[0]}, 120 V" in choices
    assert f"{names[1]}, 240 V" in choices


def stage_of(house: House, appliance: str) -> dict[str, Any]:
    """An appliance's first stage."""
    found: dict[str, Any] = next(one for one in house.document["appliances"] if one["id"] == appliance)["stages"][0]
    return found


def sent(house: House, appliance: str, form: str = "stage-0", **typed: str) -> Any:
    """A form of its editor."""
    return send(house, f"appliances/{key_of(house, appliance)}", form, **typed)


@pytest.mark.parametrize(
    ("appliance", "typed", "watts"),
    [
        ("kettle", "10 A", 1200),  # leg A
        ("hob", "10 A", 2352),  # both legs, power factor 0.98
        ("kettle", "10 A at 240 V", 2400),  # what is said counts
        ("iron", "8 A at 120 V", 960),  # on no circuit
        ("iron", "8 A, 240V", 1920),
        ("iron", "8.5A x 115 volts", 977.5),
        ("iron", "900 W", 900),
    ],
)
def test_amperes_are_at_the_volts_of_the_circuit(american: House, appliance: str, typed: str, watts: float) -> None:
    """Or at the volts beside them."""
    assert sent(american, appliance, watts=typed).status_code == 303
    assert stage_of(american, appliance)["watts"] == pytest.approx(watts)


@pytest.mark.parametrize("typed", ["8 A", "8 amps", "8.5a"])
def test_amperes_that_may_be_at_either_are_asked_for_again(american: House, typed: str) -> None:
    """Of what is on no circuit: half or twice the watts would be a guess."""
    before = american.document
    answer = sent(american, "iron", watts=typed)

    assert answer.status_code == 422
    why = Page(answer.text).by_id("fault-stage-0-watts").text
    assert "at how many volts" in why
    assert "at 120 V" in why
    assert "at 240 V" in why
    assert american.document == before


@pytest.mark.parametrize("typed", ["8 A at lots V", "8 A at 5000 V", "8 A at 0 V", "A at 120 V", "8 A at 1,200 V"])
def test_volts_that_cannot_be_are_refused(american: House, typed: str) -> None:
    """Beside the field, with what was typed."""
    answer = sent(american, "kettle", watts=typed)

    assert answer.status_code == 422
    assert Page(answer.text).by_id("stage-0-watts")["value"] == typed


def test_a_plate_is_at_the_volts_of_the_circuit(american: House) -> None:
    """20 A held still: 4800 VA on both legs, 2400 VA on one; on none it is asked."""
    for appliance, va in (("hob", "4.8"), ("kettle", "2.4")):
        answer = sent(american, appliance, "help-stage-0", locked_rotor_a="20", kind="motor", do="show")
        assert f"{va} kVA" in Page(answer.text).by_id("made-help-stage-0").text
    asked = sent(american, "iron", "help-stage-0", locked_rotor_a="20", kind="motor", do="show")
    assert asked.status_code == 422
    assert "how many volts" in Page(asked.text).by_id("fault-help-stage-0-volts").text
    told = sent(american, "iron", "help-stage-0", locked_rotor_a="20", kind="motor", volts="240", do="show")
    assert told.status_code == 200


SAW = {"name": "Saw", "kind": "motor", "run_s": "1 h"}


@pytest.mark.parametrize(
    ("answers", "watts", "circuit"),
    [
        ({"current_a": "10", "plug": "small"}, 840, None),
        ({"current_a": "10", "plug": "large"}, 1680, None),
        ({"current_a": "10", "plug": "on:kitchen"}, 840, "kitchen"),
        ({"current_a": "10", "plug": "on:cooker"}, 1680, "cooker"),
        ({"current_a": "10", "volts": "115"}, 805, None),
        ({"watts": "900"}, 900, None),  # nothing hangs on its plug
        ({"watts": "9 A", "plug": "small"}, 1080, None),
    ],
)
def test_the_questions_ask_which_plug_it_has(
    american: House, answers: dict[str, str], watts: float, circuit: str | None
) -> None:
    """Its voltage, or a circuit, which it is put on; needed only where it decides."""
    answer = send(american, "questions", "questions", **SAW, **answers, do="add")
    assert answer.status_code == 303, answer.text
    saw = american.document["appliances"][-1]

    assert saw["stages"][0]["watts"] == pytest.approx(watts)
    assert saw.get("circuit") == circuit


@pytest.mark.parametrize(
    "answers", [{"current_a": "10"}, {"watts": "900", "locked_rotor_a": "30"}, {"current_a": "10", "plug": "on:sauna"}]
)
def test_a_plug_that_decides_is_asked_for(american: House, answers: dict[str, str]) -> None:
    """Beside it, with everything else kept; while the answers are still given, nothing is wrong yet."""
    answer = send(american, "questions", "questions", **SAW, **answers, do="add")
    page = Page(answer.text)

    assert answer.status_code == 422
    assert page.by_id("fault-questions-plug").text
    for name, text in answers.items():
        if name != "plug":
            assert page.by_id(f"questions-{name}")["value"] == text


def test_one_voltage_asks_for_no_plug(house: House) -> None:
    """There is nothing to decide, and amperes are at it."""
    assert not any(one.get("id") == "questions-plug" for one in open_page(house, "questions").all("select"))
    assert send(house, "questions", "questions", **SAW, current_a="10", do="add").status_code == 303
    assert house.document["appliances"][-1]["stages"][0]["watts"] == 1610
