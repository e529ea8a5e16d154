"""A stage's form that is sent after another page changed the stages: it changes the stage it showed, or none."""

from typing import Any

import pytest

from app.web.fields.standing import marks_of, place_now
from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_editors import PLAN, key_of, open_page, shown

PLANS = (PLAN,)


def dishwasher(house: House) -> dict[str, Any]:
    """The dishwasher as it is stored; its stages are fill, pre-rinse, wash heat and more."""
    found: dict[str, Any] = next(one for one in house.document["appliances"] if one["id"] == "dishwasher")
    return found


def named(house: House, name: str) -> dict[str, Any]:
    """Its stage of a name."""
    found: dict[str, Any] = next(one for one in dishwasher(house)["stages"] if one.get("name") == name)
    return found


def opened(house: House, form: str) -> dict[str, list[str]]:
    """A form of the dishwasher's editor as somebody has it open."""
    return shown(open_page(house, f"appliances/{key_of(house, 'dishwasher')}"), form)


def send(house: House, form: dict[str, list[str]], **typed: str) -> Any:
    """Send a form that was opened before. what: of an act's form, which goes elsewhere."""
    path = f"{house.address(PLAN)}/appliances/{key_of(house, 'dishwasher')}{'/stages' if 'what' in typed else ''}"
    fields = form | {name: [text] for name, text in typed.items()}
    return house.client.post(path, data=fields, follow_redirects=False)


def elsewhere(house: House, what: str, place: int) -> None:
    """Another page adds, splits, moves or takes out a stage."""
    answer = send(house, opened(house, f"acts-stage-{place}"), what=what, tab=f"other-{what}-{place}")
    assert answer.status_code == 303


def untyped(page: Page) -> str:
    """What the page says beside no field."""
    return page.by_id("wrong").text


@pytest.mark.parametrize(
    ("what", "place", "leads_to"),
    [("add", 0, 2), ("split", 0, 2), ("remove", 0, 0), ("up", 1, 0), ("down", 1, 2), ("down", 0, 0), ("add", 2, 1)],
)
def test_a_figure_follows_its_stage(house: House, what: str, place: int, leads_to: int) -> None:
    """Whatever another page did to the stages before it, the watts typed for the rinse go to the rinse."""
    form = opened(house, "stage-1")
    elsewhere(house, what, place)
    others = [one for one in dishwasher(house)["stages"] if one.get("name") != "pre-rinse"]
    answer = send(house, form, watts="95 W")

    assert answer.status_code == 303
    assert f"stage={leads_to}" in answer.headers["location"]
    assert named(house, "pre-rinse")["watts"] == 95
    assert [one for one in dishwasher(house)["stages"] if one.get("name") != "pre-rinse"] == others


def test_a_figure_that_is_refused_stays_with_its_stage(house: House) -> None:
    """The page that says why shows what was typed at the stage's place of now."""
    form = opened(house, "stage-1")
    elsewhere(house, "add", 0)
    answer = send(house, form, watts="plenty")

    assert answer.status_code == 422
    page = Page(answer.text)
    assert page.by_id("stage-2-watts")["value"] == "plenty"
    assert page.by_id("fault-stage-2-watts").text
    assert page.by_id("stage-1-watts")["value"] == "100"


@pytest.mark.parametrize("what", ["remove", "split"])
def test_a_figure_of_a_stage_that_is_gone_is_told_and_not_lost(house: House, what: str) -> None:
    """Taken out, or made two: nothing is stored, and what was typed is said."""
    form = opened(house, "stage-1")
    elsewhere(house, what, 1)
    before = house.document
    answer = send(house, form, watts="95 W", duration_s="4 min")

    assert answer.status_code == 410
    assert house.document == before
    said = untyped(Page(answer.text))
    assert "changed, moved or taken out meanwhile" in said
    assert "Draws \u201895 W\u2019" in said
    assert "For how long \u20184 min\u2019" in said


def test_two_pages_change_two_figures_of_one_stage(house: House) -> None:
    """The one stands beside the other."""
    first, second = opened(house, "stage-1"), opened(house, "stage-1")
    assert send(house, first, watts="95 W").status_code == 303
    assert send(house, second, duration_s="4 min", tab="other").status_code == 303
    rinse = named(house, "pre-rinse")

    assert (rinse["watts"], rinse["duration_s"]) == (95, 240)


def test_a_fresh_stage_in_its_place_is_not_taken_for_it(house: House) -> None:
    """The rinse taken out and another stage added: as many as before, and none of them it."""
    form = opened(house, "stage-1")
    elsewhere(house, "remove", 1)
    elsewhere(house, "add", 0)
    before = house.document

    assert send(house, form, watts="95 W").status_code == 410
    assert house.document == before


def test_what_is_done_to_a_stage_is_done_to_that_one(house: House) -> None:
    """Taking out and moving go by the stage that was shown; a start that is used as well."""
    out, start = opened(house, "acts-stage-2"), opened(house, "help-stage-1")
    elsewhere(house, "add", 0)
    assert send(house, out, what="remove").status_code == 303
    assert all(one.get("name") != "wash heat" for one in dishwasher(house)["stages"])
    assert send(house, start, locked_rotor_a="5", do="use").status_code == 303
    assert named(house, "pre-rinse")["start"]["va"] == 1150
    answer = send(house, out, what="remove", tab="again")

    assert answer.status_code == 410
    assert untyped(Page(answer.text))


def test_a_form_without_its_marks_changes_nothing(house: House) -> None:
    """As an older page has it, or one that was tampered with."""
    before = house.document
    for marks in ("", "nonsense", "a.b.c.d.e.f.g"):
        assert send(house, opened(house, "stage-1") | {"marks": [marks]}, watts="95 W").status_code == 410
    assert send(house, opened(house, "stage-1"), watts="95 W", place="99").status_code == 410
    assert house.document == before


A, B, C = ({"name": name, "watts": watts, "duration_s": 600} for name, watts in (("a", 1), ("b", 2), ("c", 3)))


@pytest.mark.parametrize(
    ("was", "place", "now", "found"),
    [
        ([A, B, A], 2, [B, A, A], 2),  # alike ones keep their order
        ([A, B, A], 0, [B, A, A], 1),
        ([A, A], 0, [A], None),  # which of two alike went, nobody can tell
        ([A, B, C], 1, [A, B | {"watts": 9}, C], 1),  # other figures between the same neighbours
        ([A, B], 0, [B | {"watts": 9}, A | {"watts": 9}], None),  # both changed, and perhaps exchanged
        ([A, B, C], 0, [C, A | {"watts": 9}, B], None),
        ([A], 0, [A | {"watts": 9}], 0),
        ([A], 0, [B], None),
    ],
)
def test_where_a_stage_stands_now(was: list[Any], place: int, now: list[Any], found: int | None) -> None:
    """Sure, or not at all."""
    akin = was[place]["name"]
    assert place_now(marks_of(was), place, now, lambda stage: stage["name"] == akin) == found
