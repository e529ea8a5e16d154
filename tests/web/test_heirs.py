"""Plans that inherit from one another: a change of the parent must leave its heirs something that can be worked out."""

import json
from typing import Any

from app.household.demo import demo_text
from app.store.households import import_household, load
from tests.web.conftest import HTMX, House


def test_a_change_that_an_heir_could_not_bear_is_refused(house: House) -> None:
    """A saw sets off a cleaner that runs on: the parent may not saw so soon before its heir that the two would meet."""
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
        {"id": "c", "name": "Heir", "date": "2026-05-13", "parent": "p", "changes": {"runs": {
            "b": {"appliance": "saw", "start": "11:55"},
        }}},
    ]  # fmt: skip
    with house.database.session() as session:
        key = import_household(session, document, None)
        session.commit()
        stored = load(session, key)
    assert stored is not None
    other = House(house.database, house.client, key)

    answer = other.send("a", "start", "11:40", plan="p", htmx=True)

    assert answer.status_code == 422
    assert other.start_of("a", "p") == "10:00"
    assert house.client.get(other.address("c"), headers=HTMX).status_code == 200
