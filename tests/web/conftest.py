"""The demo household behind a test client: as owner, helper or reader, with and without the script."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from fastapi.testclient import TestClient

from app.settings import Settings
from app.store.households import export_document, load
from app.store.links import Scope, make_link
from app.store.session import Database
from app.store.stored import StoredHousehold
from app.web.access import COOKIE
from tests.application import application, assess_day_once, ways_out_once
from tests.databases import bring_in, sqlite_database
from tests.households import with_plans
from tests.web.markup import Page

ORIGIN = "http://localhost"
HTMX = {"HX-Request": "true"}


@dataclass
class House:
    """A stored household and somebody who looks at it."""

    database: Database
    client: TestClient
    key: str

    @property
    def stored(self) -> StoredHousehold:
        with self.database.session() as session:
            found = load(session, self.key)
        assert found is not None
        return found

    @property
    def document(self) -> dict[str, Any]:
        with self.database.session() as session:
            return export_document(session, self.key)

    def address(self, plan: str = "laundry") -> str:
        scenario = next(one for one in self.stored.scenarios if one.id == plan)
        return f"/h/{self.key}/{scenario.key}"

    def run_key(self, run: str, plan: str = "laundry") -> str:
        return self.stored.run_keys[plan, run].key

    def start_of(self, run: str, plan: str = "laundry") -> str:
        scenario = next(one for one in self.document["scenarios"] if one["id"] == plan)
        return str(next(one for one in scenario["runs"] if one["id"] == run)["start"])

    def page(self, plan: str = "laundry", run: str = "", unfold: str = "") -> Page:
        asked = {"run": self.run_key(run, plan)} if run else {}
        answer = self.client.get(self.address(plan), params=asked | ({"unfold": unfold} if unfold else {}))
        assert answer.status_code == 200, answer.text
        return Page(answer.text)

    def send(self, run: str, field: str, value: str, plan: str = "laundry", htmx: bool = False, **fields: Any) -> Any:
        """One command about a run, as the page's form or its script sends it."""
        form = {"field": field, "value": value, "revision": self.stored.revision, "tab": "t1", "sequence": 1}
        return self.client.post(
            f"{self.address(plan)}/runs/{self.run_key(run, plan)}",
            data=form | fields,
            headers=HTMX if htmx else {},
            follow_redirects=False,
        )


@pytest.fixture
def database() -> Iterator[Database]:
    with sqlite_database() as database:
        yield database


@pytest.fixture
def document(request: pytest.FixtureRequest) -> dict[str, Any]:
    """The household that is brought in: the demo's, with those plans that the test's module names in PLANS."""
    return with_plans(*getattr(request.module, "PLANS", ("ordinary", "laundry", "shed")))


def houses(database: Database, document: dict[str, Any]) -> Callable[..., House]:
    """Brings a household in; what it returns makes clients that hold a link."""
    app = application(database, Settings(database="", hosts=("planner.example",)))
    key = bring_in(database, document)

    def make(scope: Scope | None, household_key: str | None = None) -> House:
        client = TestClient(app, base_url=ORIGIN, headers={"Origin": ORIGIN})
        if scope is not None:
            with database.session() as session:
                token = make_link(session, scope, scope, household_key)
                session.commit()
            client.cookies.set(COOKIE, token)
        return House(database, client, key)

    return make


@pytest.fixture
def assessed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is alike is worked out once for all tests of a process."""
    monkeypatch.setattr("app.web.planned.assess_day", assess_day_once)
    monkeypatch.setattr("app.web.planned.ways_out", ways_out_once)


@pytest.fixture
def house_of(database: Database, document: dict[str, Any], assessed_once: None) -> Callable[..., House]:
    """Makes a client that holds a link; the household is in already."""
    return houses(database, document)


@pytest.fixture
def house(house_of: Callable[..., House]) -> House:
    """The demo household, seen by its owner."""
    return house_of("owner")


@pytest.fixture(params=[False, True], ids=["plain", "htmx"])
def htmx(request: pytest.FixtureRequest) -> bool:
    """Every test that asks for this runs twice: as a browser without the script, and as the script."""
    return bool(request.param)
