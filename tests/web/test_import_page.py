"""Bringing in a household file on a page: stored whole, or refused line by line with nothing lost."""

import json

import pytest
from sqlalchemy import update

from app.household.demo import demo_text
from app.household.file import LARGEST_BYTES
from app.store.households import import_household, list_households
from app.store.tables import part
from tests.web.conftest import HTMX, House
from tests.web.markup import Page


def names(house: House) -> list[str]:
    with house.database.session() as session:
        return [row.name for row in list_households(session)]


def broken(**changes: object) -> str:
    """The demo household under another name, with some of its own fields changed."""
    return json.dumps(json.loads(demo_text()) | {"name": "Second"} | changes)


@pytest.mark.parametrize("how", ["text", "file"])
def test_a_good_file_becomes_a_household_of_its_own(house: House, how: str) -> None:
    """Typed or as a file, it is stored and shown; the one that was there stays."""
    text = broken()
    given = {"data": {"text": text}} if how == "text" else {"files": {"file": ("home.json", text.encode())}}
    answer = house.client.post("/import", **given, follow_redirects=False)  # type: ignore[arg-type]

    assert answer.status_code == 303
    assert house.client.get(answer.headers["location"]).status_code == 200
    assert names(house) == ["Saltmarsh Ferry House", "Second"]


def test_every_fault_is_one_line_that_names_its_field(house: House, htmx: bool) -> None:
    """Status 422; each fault stands by the field it came in, which still holds what was typed."""
    document = json.loads(broken(colour="red"))
    document["appliances"][0]["stages"][0]["watts"] = -65
    document["appliances"][1]["stages"][0]["power_factor"] = 1.2
    text = json.dumps(document, indent=1)
    answer = house.client.post("/import", data={"text": text}, headers=HTMX if htmx else {})
    page = Page(answer.text)
    field = page.by_id("text")
    faults = page.by_id(field["aria-describedby"])
    lines = [one for one in page.all("li") if one.parent is faults]

    assert answer.status_code == 422
    assert {one.text.partition(":")[0] for one in lines} == {
        "appliances[0].stages[0].watts",
        "appliances[1].stages[0].power_factor",
        "colour",
    }
    assert "".join(field.words).replace("\r\n", "\n").strip("\n") == text
    assert names(house) == ["Saltmarsh Ferry House"]


def test_a_file_without_a_plan_is_refused(house: House) -> None:
    """Nothing could be shown of it; and the list of households stands."""
    answer = house.client.post("/import", data={"text": broken(scenarios=[])})

    assert answer.status_code == 422
    assert "a household keeps at least one plan" in answer.text
    assert names(house) == ["Saltmarsh Ferry House"]
    assert house.client.get("/").status_code == 200


def test_a_household_without_a_plan_can_still_be_deleted(house: House) -> None:
    """An earlier version let one in."""
    with house.database.session() as session:
        key = import_household(session, json.loads(broken()), None)
        session.execute(
            update(part).where(part.c.household_key == key, part.c.kind.in_(["scenario", "run"])).values(removed=True)
        )
        session.commit()
    page = house.client.get("/")

    assert page.status_code == 200
    assert f"/households/{key}/delete" in page.text


def test_one_of_a_name_that_is_taken_gets_the_next(house: House) -> None:
    """Two of one name could not be told apart."""
    for _ in range(2):
        house.client.post("/import", data={"text": demo_text()})

    assert names(house) == ["Saltmarsh Ferry House", "Saltmarsh Ferry House 2", "Saltmarsh Ferry House 3"]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "not json",
        "[]",
        "[" * 100_000,
        '{"format": "loadstead-household", "version": 2}',
        "NaN",
        "1",
        '""',
    ],
    ids=lambda text: text[:12],
)
def test_what_is_no_household_file_is_one_line(house: House, text: str) -> None:
    """Whatever comes in, the answer is status 422 with a single clear line."""
    answer = house.client.post("/import", data={"text": text})
    page = Page(answer.text)

    assert answer.status_code == 422
    assert len([one for one in page.all("li") if one.parent is page.by_id("faults")]) == 1


def test_a_file_in_no_known_writing_is_refused_and_shown(house: House) -> None:
    """Bytes that are no text are refused with the place; what could be read of them is shown."""
    answer = house.client.post("/import", files={"file": ("home.json", b'{"name": "\xff"}')})

    assert answer.status_code == 422
    assert "UTF-8" in Page(answer.text).by_id("faults").text


@pytest.mark.parametrize("size", [LARGEST_BYTES + 1, LARGEST_BYTES + 200_000, 50_000_000])
def test_too_large_a_file_is_refused_with_its_size(house: House, size: int) -> None:
    """Status 413 beside the field, with what would be right; nothing is stored."""
    answer = house.client.post("/import", files={"file": ("home.json", b" " * size)})

    assert answer.status_code == 413
    assert f"{size / 1e6:.0f} MB" in Page(answer.text).by_id("faults").text
    assert "at most 5 MB" in Page(answer.text).by_id("faults").text
    assert names(house) == ["Saltmarsh Ferry House"]


def test_a_large_text_is_taken(house: House) -> None:
    """Two megabytes typed or pasted are within bounds."""
    answer = house.client.post("/import", files={"text": (None, broken() + " " * 2_000_000)}, follow_redirects=False)

    assert answer.status_code == 303


def test_a_body_too_large_elsewhere_is_a_plain_page(house: House) -> None:
    """Five megabytes sent to a run are refused before they are looked at."""
    answer = house.send("shirts", "start", "1" * 6_000_000)

    assert answer.status_code == 413
    assert "too large" in answer.text


def test_the_list_leads_to_the_import_and_to_every_plan(house: House) -> None:
    """The front page names the households, links their plans, and offers to bring one in."""
    page = Page(house.client.get("/").text)
    links = [one["href"] for one in page.all("a")]

    assert "/import" in links
    assert [house.address(plan) in links for plan in ("ordinary", "laundry", "shed")] == [True] * 3
