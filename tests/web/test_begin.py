"""From nothing to a first verdict: few figures, a few machines, sensible values for everything else."""

from typing import Any

import pytest

from app.engine.assess import assess
from app.household.beginning import USUAL, Beginning, beginning_supply
from app.household.file import household_from
from app.household.library import entry
from app.household.starting import starting_document
from app.web.figures import SPACE
from app.web.words.draws import draws_of
from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_undo import offered, step

FIGURES = {"rated_va": "3 kVA", "modules": "2", "module_ah": "100", "module_v": "51,2"}


@pytest.fixture
def fresh(house: House) -> House:
    """A household begun just now."""
    answer = house.client.post("/households", data={"name": "Reedbank Cabin"}, follow_redirects=False)
    key = answer.headers["location"].split("/")[2]
    return House(house.database, house.client, key)


def send(house: House, **typed: Any) -> Any:
    """Fill in the first page and send it."""
    asked = ("mains", "rated_va", "carries_w", "surge_va", "chemistry", "modules", "module_ah", "module_v", "gives_a")
    was = {"mains": "230", "chemistry": "lfp"}
    fields = {f"was:{name}": was.get(name, "") for name in asked} | {name: was.get(name, "") for name in asked}
    fields |= {"tab": "t", "sequence": "1", "revision": "1"} | typed
    return house.client.post(f"{house.address('first')}/begin", data=fields)


def test_four_figures_and_some_ticks_make_a_first_verdict(fresh: House) -> None:
    """The plan is shown, with what was ticked on its day."""
    answer = send(fresh, **FIGURES, usual=["fridge", "lights-led", "washing-machine-40", "kettle"])
    verdict = Page(answer.text).by_id("day-verdict").text

    assert answer.status_code == 200
    assert "Nothing is planned yet" not in verdict
    assert "Kettle" in verdict
    document = fresh.document
    assert document["supply"]["inverter"]["rated_va"] == 3000
    assert document["supply"]["battery"]["module_v"] == 51.2
    assert [one["id"] for one in document["appliances"]] == ["fridge", "lights-led", "kettle", "washing-machine-40"]
    assert [run["start"] for run in document["scenarios"][0]["runs"]] == ["18:00", "10:00"]
    assert document["any_time"] == ["kettle"]


@pytest.mark.parametrize("name", FIGURES)
def test_a_figure_that_is_missing_is_asked_for(fresh: House, name: str) -> None:
    """Beside its field, with everything else kept and nothing stored."""
    before = fresh.document
    answer = send(fresh, **(FIGURES | {name: ""}), usual=["vacuum-cleaner"])
    page = Page(answer.text)

    assert answer.status_code == 422
    assert "is needed" in page.by_id(f"fault-begin-{name}").text
    assert all(page.by_id(f"begin-{other}")["value"] == typed for other, typed in FIGURES.items() if other != name)
    assert "checked" in page.by_id("tick-vacuum-cleaner").attributes
    assert fresh.document == before


@pytest.mark.parametrize(
    ("typed", "name", "why"),
    [
        ({"rated_va": "big"}, "rated_va", "cannot be read"),
        ({"modules": "1.5"}, "modules", "whole number"),
        ({"surge_va": "2 kVA"}, "surge_va", "above its rated power"),
        ({"module_v": "0"}, "module_v", "too small"),
    ],
)
def test_a_figure_that_cannot_be_is_refused_beside_its_field(
    fresh: House, typed: dict[str, str], name: str, why: str
) -> None:
    """In words of this page."""
    before = fresh.document
    answer = send(fresh, **(FIGURES | typed))

    assert answer.status_code == 422
    assert why in Page(answer.text).by_id(f"fault-begin-{name}").text
    assert fresh.document == before


@pytest.mark.parametrize("mains", ["230", "120/240", "120"])
def test_the_list_tells_the_machines_that_will_be_there(fresh: House, mains: str) -> None:
    """Of each mains the library has machines of its own; what is set off comes along and is named."""
    page = Page(fresh.client.get(f"{fresh.address('first')}/begin").text)
    listed: dict[str, str] = {}
    for usual in USUAL:
        item = next(one for one in page.all("li") if page.by_id(f"tick-{usual.ids[0]}").inside(one))
        told = [one for one in page.all("span") if one.inside(item)]
        if mains in (item.get("data-mains") or mains).split():
            [told] = [one for one in told if mains in (one.get("data-mains") or mains).split()]
            listed[usual.ids[0]] = told.text
    send(fresh, **FIGURES, mains=mains, usual=[one.ids[0] for one in USUAL])
    household = household_from(fresh.document)

    assert len(listed) == len(USUAL) - (2 if mains == "120" else 0)
    said = "\n".join(listed.values())
    brought = [one for usual in USUAL for name in usual.ids for one in entry(name).brings]
    assert all(entry(one.id).name in said for one in household.appliances)
    assert all(draws_of(one).replace(SPACE, " ") in said for one in household.appliances if one.id not in brought)
    assert "with Dust" in listed["table-saw"]


@pytest.mark.parametrize("mains", ["230", "120/240", "120"])
@pytest.mark.parametrize("chemistry", ["lfp", "lead_acid"])
def test_every_usual_machine_fits_every_mains(fresh: House, mains: str, chemistry: str) -> None:
    """All of them at once, but for a dryer that no 120 V socket feeds; the engine takes it all."""
    figures = FIGURES | {"mains": mains, "chemistry": chemistry}
    answer = send(fresh, **figures, usual=[one.ids[0] for one in USUAL])

    assert answer.status_code == 200
    assert len(fresh.document["appliances"]) >= len(USUAL) - (mains == "120")


@pytest.mark.parametrize("rated_va", [300, 1200, 3000, 5000, 8000, 15000])
@pytest.mark.parametrize("module_v", [12.8, 25.6, 51.2])
def test_what_is_taken_for_granted_is_a_supply_that_can_be(rated_va: float, module_v: float) -> None:
    """From a small inverter on one 12 V battery to a large one: the file's own checks and the engine take it."""
    told = Beginning(rated_va=rated_va, modules=1, module_ah=100, module_v=module_v)
    document = starting_document("Cabin", "2026-05-12")
    document["supply"] = beginning_supply(told)

    assert assess(household_from(document)).limits


def test_sent_again_it_doubles_nothing_and_is_one_step(fresh: House) -> None:
    """Gone back to and sent once more with another tick: what is there stays, what is not comes; undone at once."""
    ticks = ["fridge", "lights-led", "kettle"]
    before = fresh.document
    send(fresh, **FIGURES, usual=ticks)
    once = fresh.document
    send(fresh, **FIGURES, usual=ticks)
    assert fresh.document == once
    page = Page(fresh.client.get(f"{fresh.address('first')}/begin").text)
    assert not [tick for tick in ticks if "checked" in page.by_id(f"tick-{tick}").attributes]
    assert page.all("main")[0].text.count("there already") == len(ticks)
    send(fresh, **FIGURES, usual=[*ticks, "vacuum-cleaner"])
    assert [one["id"] for one in fresh.document["appliances"]] == [*ticks, "vacuum-cleaner"]
    for left in (once, before):
        assert offered(fresh, plan="first")[0] == "Undo: Household as before the first figures"
        step(fresh, "undo", "first")
        assert fresh.document == left
    assert offered(fresh, plan="first")[1] == "Redo: First figures of the supply taken over, with 3 machines"
