"""What every editor's form takes: as many fields as a page has, a page that was gone back to, names that are free."""

from typing import Any

import pytest

from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_editors import PLAN, key_of, open_page, send, shown, supply_of, within


def post(house: House, path: str, fields: dict[str, Any]) -> Any:
    """Send a form as it stands."""
    return house.client.post(f"{house.address(PLAN)}/{path}", data=fields, follow_redirects=False)


def test_the_page_says_what_a_figure_did_to_every_plan(house: House) -> None:
    """The word before stands beside the word now, where it is another one."""
    answer = send(house, "supply", "inverter", **{"continuous_w.1": ["2000", "1500", ""]})
    effect = Page(house.client.get(answer.headers["location"]).text).by_id("effect").text

    assert "was: Only just" in effect
    for plan in house.document["scenarios"]:
        assert plan["name"] in effect


@pytest.mark.parametrize("path", ["supply", "household", "plan"])
def test_a_form_of_too_many_fields_is_too_large(house: House, path: str) -> None:
    """Said in words, with the status of what is too large; nothing is stored."""
    before = house.document
    answer = post(house, path, {"form": "battery"} | {f"field-{number}": "1" for number in range(3001)})

    assert answer.status_code == 413
    assert "more fields than any page here" in Page(answer.text).all("main")[0].text
    assert house.document == before


def test_another_figure_of_a_page_gone_back_to_is_stored(house: House) -> None:
    """Without its script a page sends each form under one number: the browser's way back is no clash."""
    fields = shown(open_page(house, "supply"), "battery")
    for name, typed in (("reserve", "40"), ("modules", "6"), ("reserve", "35")):
        answer = post(house, "supply", fields | {name: [typed]})
        assert answer.status_code == 303, Page(answer.text).by_id("wrong").text

    battery = supply_of(house)["battery"]
    assert (battery["reserve"], battery["modules"]) == (0.35, 6)


def test_a_page_is_overtaken_only_by_its_own_later_word_on_the_same_figure(house: House) -> None:
    """What it sent later stands; a slow one about another figure still counts."""
    fields = shown(open_page(house, "supply"), "battery") | {"sequence": ["7"]}
    assert post(house, "supply", fields | {"reserve": ["40"]}).status_code == 303
    slow = post(house, "supply", fields | {"reserve": ["35"], "sequence": ["6"]})
    assert slow.status_code == 409
    assert "Something newer" in Page(slow.text).by_id("wrong").text
    assert post(house, "supply", fields | {"modules": ["6"], "sequence": ["6"]}).status_code == 303

    battery = supply_of(house)["battery"]
    assert (battery["reserve"], battery["modules"]) == (0.4, 6)


@pytest.mark.parametrize(
    ("scope", "own", "offered"),
    [("owner", False, True), ("owner", True, True), ("helper", False, False), ("reader", False, False)],
)
def test_a_file_is_offered_to_who_may_bring_it_in(house_of: Any, scope: Any, own: bool, offered: bool) -> None:
    """Into this very household; who is offered it can open it, whether the link is for one household or for all."""
    key = house_of("owner").key
    house = house_of(scope, key if own else None)
    page = open_page(house, "household")
    links = [one["href"] for one in page.all("a") if one.text == "Bring in a file"]

    assert links == ([f"/households/{key}/import"] if offered else [])
    for link in links:
        assert house.client.get(link).status_code == 200


def test_no_two_appliances_are_given_one_name(house: House) -> None:
    """Beside its field in the editor, with a name that is free; a copy and an answer get one by themselves."""
    path = f"appliances/{key_of(house, 'kettle')}"
    answer = send(house, path, "appliance", name=" DISHWASHER ")
    page = Page(answer.text)
    assert answer.status_code == 422
    assert "There is an appliance of that name already" in page.by_id("fault-appliance-name").text
    assert page.by_id("appliance-name")["value"] == " DISHWASHER "

    answers = {"name": "dishwasher", "kind": "heats", "run_s": "1 h", "watts": "900"}
    send(house, "questions", "questions", **answers, do="add")
    for number in range(2):
        fields = {"tab": f"t{number}", "sequence": "1", "revision": "1"}
        post(house, "appliances", fields)
    names = [one["name"] for one in house.document["appliances"]]
    assert len({name.casefold() for name in names}) == len(names)
    assert names[-3:] == ["dishwasher 2", "New appliance", "New appliance 2"]


def test_what_is_made_always_on_has_no_runs(house: House) -> None:
    """The plans that have some are named beside the choice, with when they are."""
    path = f"appliances/{key_of(house, 'vacuum')}"
    answer = send(house, path, "appliance", always_on="true")
    fault = Page(answer.text).by_id("fault-appliance-always_on").text

    assert answer.status_code == 422
    assert "take those in the plan" in fault
    for plan in house.stored.household.scenarios:
        own = [run.start for run in plan.runs if run.appliance == "vacuum"]
        assert (f"'{plan.name}' (at {' and '.join(own)})" in fault) == bool(own)


def test_each_array_says_in_a_line_what_it_is(house: House) -> None:
    """Where it is folded, as circuits do: how large, which way, how steep."""
    send(house, "supply", "arrays-0", tilt_deg="60", azimuth_deg="135", peak_w="2.4 kW", controller_a="")
    page = open_page(house, "supply")
    summary = within(page, page.by_id("fold-arrays-0"), "summary")[0]
    assert "2.4 kW, facing south-east, tilted 60\u00b0" in summary.text

    send(house, "supply", "arrays-0", coupling="ac")
    wrong = send(house, "supply", "arrays-0", controller_a="60")
    assert "an inverter of its own" in open_page(house, "supply").by_id("fold-arrays-0").text
    assert "have no charge controller" in Page(wrong.text).by_id("fault-arrays-0-controller_a").text


def test_what_a_label_says_of_the_speed_of_emptying_is_stored(house: House) -> None:
    """Hours with or without their letter; the exponent within its bounds."""
    assert send(house, "supply", "battery", rated_hours="10 h", peukert="1,25").status_code == 303
    battery = supply_of(house)["battery"]
    assert (battery["rated_hours"], battery["peukert"]) == (10, 1.25)
    wrong = send(house, "supply", "battery", peukert="0.9")
    assert "too small" in Page(wrong.text).by_id("fault-battery-peukert").text
