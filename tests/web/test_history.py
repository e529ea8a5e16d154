"""What became of a household, and going back to what a plan was; and the two questions before it is deleted."""

import datetime
import json
from collections.abc import Callable
from typing import Any

import pytest

from app.store.commands import SetRunField, apply
from app.store.steps import steps
from tests.web.conftest import HTMX, House
from tests.web.markup import Page


def history(house: House, plan: str = "laundry", **asked: str) -> Page:
    answer = house.client.get(f"{house.address(plan)}/history", params=asked)
    assert answer.status_code == 200, answer.text
    return Page(answer.text)


def rows(page: Page) -> list[str]:
    return [one.text for one in page.all("li") if (one.get("id") or "").startswith("change-")]


def then(house: House, revision: int, plan: str = "laundry") -> Any:
    return house.client.get(f"{house.address(plan)}/then/{revision}")


def go_back(house: House, to: int, htmx: bool = False, **sent: Any) -> Any:
    form = {"revision": house.stored.revision, "tab": "preview", "sequence": 1} | sent
    headers = HTMX if htmx else {}
    return house.client.post(f"{house.address()}/then/{to}", data=form, headers=headers, follow_redirects=False)


def test_every_change_is_told_with_its_time_and_who(house: House, house_of: Callable[..., House]) -> None:
    """The last first, by the household's own clock; what was taken back is marked, and so is what took it back."""
    helper = house_of("helper")
    house.send("shirts", "start", "17:25")
    helper.send("dinner", "on", "off", tab="t2")
    plan = house.address().rpartition("/")[2]
    with house.database.session() as session:
        step = steps(session, house.key, plan).undo
    assert step is not None
    house.client.post(f"{house.address()}/undo", data={"change": step.id, "revision": 3, "tab": "t3", "sequence": 1})
    found = rows(history(house))
    local = datetime.datetime.now(datetime.UTC)

    assert len(found) == 4
    assert "Undo: Induction hob at 18:15 switched on" in found[0]
    assert found[0].endswith("owner As it was then, after: Undo: Induction hob at 18:15 switched on")
    assert "Induction hob at 18:15 switched off taken back since" in found[1]
    assert "helper" in found[1]
    assert "Iron moved to 17:25owner" in found[2]
    assert "Household brought in" in found[3]
    assert "where Loadstead runs" in found[3]
    assert str(local.year) in history(house).all("h3")[0].text


def test_other_plans_are_named_or_left_out(house: House) -> None:
    """The list is of the household; what concerns another plan says which, and may be left out."""
    plan = next(one for one in house.document["scenarios"] if one["id"] == "shed")
    run = house.stored.days["shed"].runs[0].id
    house.send(run, "on", "off", plan="shed")

    assert f", in {plan['name']}" in rows(history(house))[0]
    assert not [one for one in rows(history(house, only="plan")) if plan["name"] in one]


def test_a_long_history_comes_in_pages(house: House) -> None:
    """Sixty lines, then earlier ones, down to the first; none twice and none left out."""
    scenario = next(one for one in house.stored.scenarios if one.id == "laundry")
    run: dict[str, Any] = {"scenario_key": scenario.key, "run_key": house.run_key("shirts"), "field": "start"}
    about: dict[str, Any] = {"household_key": house.key, "tab": "t1", "link_key": None}
    with house.database.session() as session:
        for number in range(65):
            value = f"17:{number % 60:02d}" if number % 2 else "16:30"
            apply(session, SetRunField(**about, **run, value=value, sequence=number + 1))
        session.commit()
    page = history(house)
    older = next(one["href"] for one in page.all("a") if one.text == "Earlier")
    answer = Page(house.client.get(older).text)

    ids = [one["id"] for one in (*page.all("li"), *answer.all("li")) if (one.get("id") or "").startswith("change-")]
    assert ids == [f"change-{number}" for number in range(66, 0, -1)]
    assert not [one for one in answer.all("a") if one.text == "Earlier"]


def test_a_plan_is_shown_as_it_was_and_gone_back_to(house: House, htmx: bool) -> None:
    """With its sentence and what differs; going back is one step, which can be taken back and done again."""
    before = house.document
    house.send("shirts", "start", "17:25")
    house.send("dinner", "on", "off", sequence=2)
    house.client.post(
        f"{house.address()}/plan",
        data={"field": "cloud_oktas", "value": "7", "revision": 3, "tab": "t1", "sequence": 3},
    )
    after = house.document
    shown = then(house, 1)
    text = Page(shown.text).all("main")[0].text

    assert shown.status_code == 200
    assert "Laundry day as it was on" in text
    assert Page(shown.text).all("p", kind="verdict")[0].text.startswith("With today’s supply and appliances: ")
    assert "Now:" in text
    assert "Iron, starts: 17:25 → 16:00" in text
    assert house.document == after
    answer = go_back(house, 1, htmx)
    assert answer.status_code == (204 if htmx else 303)
    assert json.dumps(house.document) == json.dumps(before)
    plan = house.address().rpartition("/")[2]
    with house.database.session() as session:
        step = steps(session, house.key, plan).undo
    assert step is not None
    assert "Plan as it was on" in rows(history(house))[0]
    page = Page(house.client.get(house.address()).text)
    assert "Plan as before going back" in page.by_id("undo").text
    sent = {"change": step.id, "revision": 5, "tab": "t9", "sequence": 1}
    assert house.client.post(f"{house.address()}/undo", data=sent, follow_redirects=False).status_code == 303
    assert json.dumps(house.document) == json.dumps(after)
    assert "Plan as it was on" in Page(house.client.get(house.address()).text).by_id("redo").text


def test_runs_that_came_and_went_are_as_they_were(house: House) -> None:
    """Back to any state on the way: what was added goes, what was removed comes back, to the byte."""
    states = {1: json.dumps(house.document)}
    address = house.address()
    kettle = {"appliance": "kettle", "start": "15:00", "length": "5", "revision": 1, "tab": "t1", "sequence": 1}
    assert house.client.post(f"{address}/runs", data=kettle, follow_redirects=False).status_code == 303
    states[2] = json.dumps(house.document)
    sent = {"revision": 2, "tab": "t1", "sequence": 2}
    key = house.run_key("shirts")
    assert house.client.post(f"{address}/runs/{key}/remove", data=sent, follow_redirects=False).status_code == 303
    states[3] = json.dumps(house.document)
    for number, wanted in enumerate((1, 3, 2, 1, 2), 1):
        assert go_back(house, wanted, sequence=number).status_code == 303
        assert json.dumps(house.document) == states[wanted]


def test_what_would_change_nothing_says_so(house: House) -> None:
    """The present state has no button; a time of which nothing is known neither, and one that never was is 404."""
    house.send("shirts", "start", "17:25")
    same = then(house, 2)
    assert "nothing would change" in same.text
    assert not Page(same.text).all("form")
    assert then(house, 99).status_code == 404
    assert go_back(house, 99).status_code == 404
    assert house.client.get(f"{house.address()}/then/0").status_code == 422
    name = {"field": "new", "name": "Late plan", "revision": 2, "tab": "t1", "sequence": 5}
    house.client.post(f"{house.address()}/plans", data=name, follow_redirects=False)
    late = next(one.key for one in house.stored.scenarios if one.name == "Late plan")
    assert "is not known" in house.client.get(f"/h/{house.key}/{late}/then/1").text


def test_what_cannot_be_any_more_says_why(house: House) -> None:
    """A run of an appliance that is gone from the library: refused with 422, before and after it is pressed."""
    iron = next(one for one in house.stored.pieces.values() if one.kind == "appliance" and one.name == "iron")
    sent = {"tab": "e", "sequence": "1", "revision": "1"}
    answer = house.client.post(
        f"{house.address()}/appliances/{iron.key}/delete", data=sent | {"sure": "1"}, follow_redirects=False
    )
    assert answer.status_code == 303
    assert not any(one["id"] == "iron" for one in house.document["appliances"])
    revision = house.stored.revision

    for shown in (then(house, 1), go_back(house, 1)):
        assert shown.status_code == 422
        assert "cannot be so any more" in shown.text
        assert "iron" in shown.text
    assert house.stored.revision == revision


def test_going_back_waits_for_a_look_when_something_changed_meanwhile(house: House, htmx: bool) -> None:
    """Status 409 with the preview as it is by now; nothing is stored until it is pressed again."""
    house.send("shirts", "start", "17:25")
    old = house.stored.revision
    house.send("dinner", "on", "off", tab="other")
    answer = go_back(house, 1, htmx, revision=old)

    assert answer.status_code == 409
    assert "changed meanwhile" in answer.text
    assert house.stored.revision == old + 1
    form = {one["name"]: one["value"] for one in Page(answer.text).all("input")}
    assert go_back(house, 1, htmx, **form).status_code in (204, 303)


@pytest.mark.parametrize("scope", ["reader", "helper"])
def test_readers_look_and_helpers_go_back(house_of: Callable[..., House], scope: str) -> None:
    """A reader sees the history and what was, without a button."""
    owner = house_of("owner")
    owner.send("shirts", "start", "17:25")
    guest = house_of(scope)

    assert len(rows(history(guest))) == 2
    assert bool(Page(then(guest, 1).text).all("form")) is (scope == "helper")
    assert go_back(guest, 1).status_code == (303 if scope == "helper" else 403)


def test_a_household_is_deleted_after_two_questions(house: House) -> None:
    """The first offers its file, the second says what follows; only then there is a button that deletes."""
    listed = Page(house.client.get("/").text)
    first = next(one["href"] for one in listed.all("a") if one.text == "Delete Saltmarsh Ferry House")
    asked = Page(house.client.get(first).text)
    assert f"/households/{house.key}/file" in [one["href"] for one in asked.all("a")]
    assert "appliances" in asked.all("main")[0].text
    assert not asked.all("form")
    second = next(one["href"] for one in asked.all("a") if one.text == "Delete it")
    sure = Page(house.client.get(second).text)
    (form,) = sure.all("form")
    assert house.client.post(form["action"], follow_redirects=False).status_code == 303
    assert house.client.get(first).status_code == 404
