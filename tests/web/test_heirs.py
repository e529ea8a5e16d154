"""Plans that inherit from one another: a change of the parent must leave its heirs something that can be worked out."""

import json
from typing import Any

from app.household.demo import demo_text
from app.store.households import import_household
from tests.web.conftest import HTMX, House
from tests.web.markup import Page


def saws() -> dict[str, Any]:
    """The demo household with a saw that sets off a cleaner, which runs on: two may not meet, and a parent and heir."""
    follow = [{"appliance": "cleaner", "after_s": 0}]
    document: dict[str, Any] = json.loads(demo_text())
    stage = {"name": "on", "duration_s": 600, "watts": 100}
    document["appliances"] += [
        {"id": "cleaner", "name": "Cleaner", "stages": [stage, stage]},
        {"id": "saw", "name": "Saw", "stages": [{**stage, "sets_off": follow}]},
    ]
    document["scenarios"] = [
        {"id": "p", "name": "Parent", "date": "2026-05-12", "runs": [
            {"id": "a", "appliance": "saw", "start": "10:00"},
        ]},
        {"id": "q", "name": "Other", "date": "2026-05-14", "runs": []},
        {"id": "c", "name": "Heir", "date": "2026-05-13", "parent": "p", "changes": {"runs": {
            "b": {"appliance": "saw", "start": "11:55"},
        }}},
    ]  # fmt: skip
    return document


def stored_saws(house: House) -> House:
    """That household, stored beside the one that is there."""
    with house.database.session() as session:
        key = import_household(session, saws(), None)
        session.commit()
    return House(house.database, house.client, key)


def test_a_change_that_an_heir_could_not_bear_is_refused(house: House) -> None:
    """A saw sets off a cleaner that runs on: the parent may not saw so soon before its heir that the two would meet."""
    other = stored_saws(house)

    answer = other.send("a", "start", "11:40", plan="p", htmx=True)

    assert answer.status_code == 422
    assert other.start_of("a", "p") == "10:00"
    assert house.client.get(other.address("c"), headers=HTMX).status_code == 200


def test_a_plan_that_could_not_be_worked_out_does_not_come_back(house: House) -> None:
    """The heir is deleted, its parent moved to where the two saws would meet: no page brings the heir back."""
    other = stored_saws(house)
    deleted = {"revision": 1, "tab": "t1", "sequence": 1}
    house.client.post(f"{other.address('c')}/delete", data=deleted, follow_redirects=False)
    assert other.send("a", "start", "11:40", plan="p", htmx=True).status_code == 200
    page = Page(house.client.get(other.address("q")).text)
    undo = page.form(page.all("form", action=f"{other.address('q')}/undo")[0])

    answer = house.client.post(f"{other.address('q')}/undo", data=undo, headers=HTMX)

    assert answer.status_code == 422
    assert [plan.name for plan in other.stored.scenarios] == ["Parent", "Other"]
    assert Page(answer.text).by_id("why-not").text
    assert house.client.get(other.address("q")).status_code == 200
