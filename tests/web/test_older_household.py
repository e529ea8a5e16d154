"""A household that an older program took and this one does not: it shuts nobody out, and can be put right."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import update

from app.store.backup import back_up, restore
from app.store.keys import new_key
from app.store.links import make_link
from app.store.session import Database
from app.store.tables import household, part
from tests.web.conftest import HTMX, House
from tests.web.markup import Page

PLANS = ("laundry",)
SITE = {"latitude": 54.3, "longitude": -8.4, "timezone": "Atlantis/New"}
FAULT = "site.timezone: give a time zone as Area/City, like Europe/Dublin"
NAME = "Saltmarsh Ferry House"


def spoil(database: Database, key: str) -> None:
    """Store a time zone that the program once knew."""
    with database.session() as session:
        site = (part.c.household_key == key, part.c.kind == "section", part.c.name == "site")
        session.execute(update(part).where(*site).values(document=SITE))
        session.execute(update(household).where(household.c.key == key).values(change_id=new_key()))
        session.commit()


@pytest.fixture
def spoiled(house: House) -> House:
    """The demo household with a sound copy beside it, and no longer to be read."""
    house.client.post("/copies", data={"of": house.key, "name": "Second"})
    spoil(house.database, house.key)
    return house


def told(page: Page) -> str:
    """What is said to be wrong."""
    (faults,) = page.all(kind="faults")
    return faults.text


def put_right(house: House, htmx: bool = False, **changed: Any) -> Any:
    """Its file, with a time zone there is, brought in for it."""
    document = house.client.get(f"/households/{house.key}/file").json()
    document["site"]["timezone"] = "Europe/Dublin"
    files = {"file": ("home.json", json.dumps(document | changed))}
    headers = HTMX if htmx else {}
    return house.client.post(f"/households/{house.key}/import", files=files, headers=headers, follow_redirects=False)


def test_the_list_stands_and_says_what_is_wrong(spoiled: House) -> None:
    """Under its name, with its file and the ways there are; the others are as ever."""
    answer = spoiled.client.get("/")
    page = Page(answer.text)
    its = page.by_id(f"house-{spoiled.key}")

    assert answer.status_code == 200
    assert page.by_id(f"name-{spoiled.key}").text == NAME
    assert FAULT in told(page)
    assert "Bring in a file" in its.text
    assert [one["href"] for one in page.all("a") if one.inside(its)] == [
        f"/households/{spoiled.key}/{way}" for way in ("file", "import", "delete")
    ]
    (second,) = [one for one in page.all("section", kind="household") if one["id"] != f"house-{spoiled.key}"]
    plan = next(one["href"] for one in page.all("a") if one.inside(second))
    assert spoiled.client.get(plan).status_code == 200


@pytest.mark.parametrize("screen", ["", "/supply", "/appliances", "/history", "/switch-on"])
def test_its_own_pages_say_what_is_wrong(spoiled: House, htmx: bool, screen: str) -> None:
    """With the same ways; a page that is open is left as it is."""
    answer = spoiled.client.get(f"/h/{spoiled.key}/{'f' * 32}{screen}", headers=HTMX if htmx else {})

    assert answer.status_code == (400 if htmx else 409)
    assert FAULT in told(Page(answer.text))
    assert f"/households/{spoiled.key}/import" in answer.text


def test_a_reader_is_told_without_what_only_the_owner_may(house_of: Callable[..., House], spoiled: House) -> None:
    """The file can be saved with any link to it; its own link opens the list, too."""
    reader = house_of("reader", spoiled.key)
    page = Page(reader.client.get("/").text)
    with spoiled.database.session() as session:
        token = make_link(session, "Own", "reader", spoiled.key)
        session.commit()

    assert [one["href"] for one in page.all("a")] == [f"/households/{spoiled.key}/file"]
    assert not page.all("form")
    assert reader.client.get(f"/link/{token}", follow_redirects=False).headers["location"] == "/"


def test_it_is_put_right_by_its_file_and_keeps_key_and_links(
    house_of: Callable[..., House], spoiled: House, htmx: bool
) -> None:
    """The file is brought in for it, at once: there is nothing to show a difference from."""
    helper = house_of("helper", spoiled.key)
    form = Page(spoiled.client.get(f"/households/{spoiled.key}/import").text)
    assert "as it is stored it cannot be read" in form.all(kind="help")[0].text
    assert put_right(spoiled, version=7).status_code == 422

    answer = put_right(spoiled, htmx)
    place = answer.headers["HX-Redirect"] if htmx else answer.headers["location"]
    assert place.startswith(f"/h/{spoiled.key}/")
    assert helper.client.get(place).status_code == 200
    assert helper.client.get(place.split("?")[0] + "/history").status_code == 200


def test_it_is_deleted_and_had_back(spoiled: House, htmx: bool) -> None:
    """As any other; what it was is not lost by that."""
    asked = Page(spoiled.client.get(f"/households/{spoiled.key}/delete?sure=1").text)
    assert asked.all("form")[0]["action"] == f"/households/{spoiled.key}/delete"
    headers = HTMX if htmx else {}
    spoiled.client.post(f"/households/{spoiled.key}/delete", headers=headers)
    assert not Page(spoiled.client.get("/").text).all(kind="faults")
    spoiled.client.post(f"/households/{spoiled.key}/restore", headers=headers)
    assert FAULT in told(Page(spoiled.client.get("/").text))


def test_a_change_of_it_is_answered_with_what_is_wrong(spoiled: House, htmx: bool) -> None:
    """Nothing is stored, and nobody is told that what was sent cannot be read."""
    sent = {"name": "Other", "tab": "t", "sequence": "1"}
    answer = spoiled.client.post(
        f"/households/{spoiled.key}/name", data=sent, headers=HTMX if htmx else {}, follow_redirects=False
    )

    assert answer.status_code == (400 if htmx else 409)
    assert "Not understood" not in answer.text
    assert FAULT in told(Page(answer.text))


def test_a_backup_with_it_is_had_back(spoiled: House, tmp_path: Path) -> None:
    """Backup and restore read no household."""
    names = back_up(spoiled.database, tmp_path / "kept")

    assert restore(spoiled.database, tmp_path / "kept", replace=True) == names == [NAME, "Second"]
    assert spoiled.client.get("/").status_code == 200
