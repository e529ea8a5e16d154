"""A plan that was deleted: every address says so in the same words, with the way to where it can be brought back."""

from collections.abc import Iterator
from typing import Any

import pytest

from app.store.commands import AddPlan, RemovePlan, apply
from app.store.session import Database
from tests.application import assess_day_once
from tests.databases import sqlite_url
from tests.households import with_plans
from tests.web.conftest import House, houses
from tests.web.markup import Page

SHOWN = ("growth", "workshop", "side-by-side", "laundry", "switch-on")
ITS_OWN = (
    "what-if", "what-if/real", "supply?alone=1", "appliances?alone=1", "side-by-side/figure", "figure", "weather",
    "history",
)  # fmt: skip
SENT = ("workshop", "what-if", "what-if/take-back", "what-if/real", "measured-day", "delete")


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """The demo with a plan that was deleted."""
    database = Database(sqlite_url(tmp_path_factory.mktemp("gone")))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("app.web.planned.assess_day", assess_day_once)
        make = houses(database, with_plans("ordinary"))
        house = make("owner")
        about: dict[str, Any] = {"household_key": house.key, "tab": "t", "link_key": None}
        with database.session() as session:
            gone = apply(session, AddPlan(**about, sequence=1, document={"name": "<Gone>", "date": "2026-05-01"}))
            apply(session, RemovePlan(**about, sequence=2, scenario_key=gone.part_key))
            session.commit()
        house.gone = gone.part_key  # type: ignore[attr-defined]
        house.reader = make("reader")  # type: ignore[attr-defined]
        yield house
    database.close()


def test_every_page_says_it_alike_and_leads_to_the_undo(house: House) -> None:
    """Whatever stands in its place; a reader, who can bring nothing back, is led to the plan that is shown."""
    gone, day = f"/h/{house.key}/{house.gone}", house.address("ordinary")  # type: ignore[attr-defined]
    for path in (*SHOWN, *ITS_OWN):
        answer = house.client.get(f"{gone}/{path}")
        assert (answer.status_code, "The plan “&lt;Gone&gt;” was deleted." in answer.text) == (410, True), path
        ways = [one.text for one in Page(answer.text).all("a") if one.get("href") == day and "Undo" in one.text]
        assert ways == ["Bring it back by Undo on the day of “An ordinary day”"], path
    assert "Undo: Plan <Gone> back" in Page(house.client.get(day).text).by_id("undo").text
    for path in SHOWN:
        reader = house.reader.client.get(f"{gone}/{path}")  # type: ignore[attr-defined]
        assert ("Undo on the day" in reader.text, "Go to the day of “An ordinary day”" in reader.text) == (False, True)
    beside = house.client.get(f"{day}/side-by-side", params={"with": house.gone})  # type: ignore[attr-defined]
    assert "The plan “<Gone>” was deleted. The others are shown." in Page(beside.text).by_id("wrong").text


def test_a_page_of_the_plan_alone_shows_its_household_and_the_plans_there_are(house: House) -> None:
    """With its head and its screens; that nothing was stored is said to whoever sent something."""
    gone, day = f"/h/{house.key}/{house.gone}", house.address("ordinary")  # type: ignore[attr-defined]
    page = Page(house.client.get(f"{gone}/what-if").text)
    assert page.all("h1")[0].text == house.document["name"]
    (tabs,) = page.all("nav", kind="tabs")
    assert day in [one["href"] for one in page.all("a") if one.inside(tabs)]
    assert [one.text for one in page.all("a", kind="unfold", href=f"{day}/what-if")] == ["An ordinary day"]
    assert "nothing to show here" in page.by_id("wrong").text
    assert "stored" not in page.by_id("wrong").text
    sent = {"revision": 2, "tab": "u", "sequence": 1, "name": "x"}
    assert "Nothing was stored." in Page(house.client.post(f"{gone}/what-if", data=sent).text).by_id("wrong").text


def test_nothing_is_sent_to_a_deleted_plan(house: House) -> None:
    """Each form of its pages is answered with 410, and nothing is stored."""
    fields = {"revision": 2, "tab": "t", "sequence": 1, "name": "x", "path": '["supply", "inverter"]'}
    before = house.document
    for path in SENT:
        answer = house.client.post(f"/h/{house.key}/{house.gone}/{path}", data=fields)  # type: ignore[attr-defined]
        assert (answer.status_code, "was deleted" in answer.text) == (410, True), path
    assert house.document == before


def test_a_drawing_of_other_plans_than_were_asked_for_is_not_given(house: House) -> None:
    """The figure's address has no place to say what it leaves out."""
    figure = f"{house.address('ordinary')}/side-by-side/figure"
    for beside, status in ((house.gone, 410), ("0" * 32, 404)):  # type: ignore[attr-defined]
        assert house.client.get(figure, params={"with": beside}).status_code == status
    assert house.client.get(figure, params={"with": ""}).status_code == 200


@pytest.mark.parametrize("path", [*SHOWN, *ITS_OWN])
def test_there_never_was_such_a_plan_or_household(house: House, path: str) -> None:
    """Neither is found."""
    plan = house.address("ordinary").rpartition("/")[2]
    for address in (f"/h/{house.key}/{'0' * 32}", f"/h/{'0' * 32}/{plan}"):
        assert house.client.get(f"{address}/{path}").status_code == 404
