"""Every address with every kind of link: a table made from the application's own routes."""

import datetime
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import pytest
from fastapi.testclient import TestClient

from app.household.demo import demo_text
from app.store.households import export_document, import_household, list_households, load
from app.store.links import Scope, find_link, make_link, revoke_link
from app.store.removed import removed_households, restore_household
from app.web.access import COOKIE
from tests.web.conftest import ORIGIN, House
from tests.web.markup import Page

# What a link must be for an address of each scope, told here once more and not taken from the program.
RANKS = {"public": 0, "plan": 1, "reader": 2, "helper": 3, "owner": 4}
DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Who:
    """A kind of link. household: which of two it is for, None for both. plan: the only plan it shows, if one."""

    scope: Scope | None
    household: str | None = None
    plan: str | None = None
    ended: str = ""

    @property
    def rank(self) -> int:
        if self.scope is None or self.ended:
            return 0
        return RANKS["plan" if self.plan else self.scope]

    @property
    def places(self) -> tuple[tuple[str, str], ...]:
        """Households and plans to try it on: another plan where it is for one, another household where it lets in."""
        other_plan = (("this", "shed"),) if self.plan else ()
        other_house = (("other", "laundry"),) if self.rank else ()
        return (("this", "laundry"), *other_plan, *other_house)

    def may(self, needs: str, path: str, household: str, plan: str) -> bool:
        """Whether it opens an address, which names that household and plan where it names any."""
        if needs == "public":
            return True
        if self.rank < RANKS[needs]:
            return False
        names_household, names_plan = "{household_key}" in path, "{scenario_key}" in path
        if self.household and (names_household and self.household != household):
            return False
        if self.household and not names_household and needs == "owner":
            return False
        return not self.plan or (names_plan and self.plan == plan)


SCOPES: tuple[Scope, ...] = ("reader", "helper", "owner")
EVERYBODY = {
    "nobody": Who(None),
    **{f"{scope} of all": Who(scope) for scope in SCOPES},
    **{f"{scope} of this": Who(scope, "this") for scope in SCOPES},
    **{f"{scope} of another": Who(scope, "other") for scope in SCOPES},
    "reader of this plan": Who("reader", "this", "laundry"),
    "reader of another plan": Who("reader", "this", "shed"),
    "reader of another household's plan": Who("reader", "other", "laundry"),
    **{f"{scope}, revoked": Who(scope, ended="revoked") for scope in SCOPES},
    **{f"{scope}, expired": Who(scope, "this", ended="expired") for scope in SCOPES},
    "reader of this plan, revoked": Who("reader", "this", "laundry", ended="revoked"),
    "reader of this plan, expired": Who("reader", "this", "laundry", ended="expired"),
}


@dataclass
class Two:
    """Two households, and what stands in their addresses."""

    house: House
    names: dict[str, dict[str, str]]

    def client(self, who: Who) -> TestClient:
        client = TestClient(self.house.client.app, base_url=ORIGIN, headers={"Origin": ORIGIN}, follow_redirects=False)
        if who.scope is None:
            return client
        of = self.names[who.household] if who.household else None
        with self.house.database.session() as session:
            now = datetime.datetime.now(datetime.UTC)
            token = make_link(
                session,
                str(who),
                who.scope,
                of["household_key"] if of else None,
                of[who.plan] if of and who.plan else None,
                expires_at=now - DAY if who.ended == "expired" else None,
            )
            if who.ended == "revoked":
                link = find_link(session, token)
                assert link is not None
                revoke_link(session, link.key)
            session.commit()
        client.cookies.set(COOKIE, token)
        return client

    def state(self) -> str:
        """All that is stored of both."""
        with self.house.database.session() as session:
            rows = [(row.key, export_document(session, row.key)) for row in list_households(session)]
            return json.dumps([rows, [row.key for row in removed_households(session)]])

    def put_right(self) -> None:
        """Bring back what an owner deleted."""
        with self.house.database.session() as session:
            for row in removed_households(session):
                restore_household(session, row.key, None)
            session.commit()


@pytest.fixture
def two(house_of: Callable[..., House]) -> Two:
    house = house_of("owner")
    with house.database.session() as session:
        other = import_household(session, json.loads(demo_text()) | {"name": "Reedbank Cabin"}, None)
        session.commit()
        names = {"this": _names(session, house.key), "other": _names(session, other)}
    house.client.app.state.knocks = _Patient()  # type: ignore[attr-defined]
    return Two(house, names)


class _Patient:
    async def wrong(self, _address: str) -> None:
        """Nobody waits."""


def _names(session: Any, household_key: str) -> dict[str, str]:
    stored = load(session, household_key)
    assert stored is not None
    plans = {one.id: one.key for one in stored.scenarios}
    appliance = next(one for one in stored.pieces.values() if one.kind == "appliance")
    return {
        "household_key": household_key,
        "laundry": plans["laundry"],
        "shed": plans["shed"],
        "run_key": stored.run_keys["laundry", "wash-1"].key,
        "appliance_key": appliance.key,
        "record_key": "0" * 32,
        "link_key": "0" * 32,
        "token": "0" * 32,
        "name": "nothing.css",
        "revision": "1",
    }


def routes(two: Two) -> Iterator[tuple[str, str, str]]:
    """Method, path and scope of every address the application has."""
    for route in two.house.client.app.routes:  # type: ignore[attr-defined]
        for method in sorted(route.methods - {"HEAD"}):
            yield method, route.path, route.scope


def address(path: str, names: dict[str, str], plan: str) -> str:
    given = names | {"scenario_key": names[plan]}
    return re.sub(r"{(\w+)}", lambda found: given[found[1]], path)


def ask(client: TestClient, method: str, place: str) -> Any:
    # A page that waits is answered at once; nobody's form is filled in.
    return client.request(method, place, params={"seconds": 0, "pulse": ""} if place.endswith("/wait") else {})


def places_of(two: Two, who: Who) -> Iterator[tuple[str, str, str, bool]]:
    """Method, path and address of everything that may be tried with a link, and whether it is to open."""
    for method, path, needs in routes(two):
        for household, plan in who.places:
            yield method, path, address(path, two.names[household], plan), who.may(needs, path, household, plan)


def test_no_address_opens_to_whom_it_is_not_for(two: Two) -> None:
    """403 for every kind of link and every address it does not open; nothing is stored, and no name is told."""
    before = two.state()
    for name, who in EVERYBODY.items():
        client = two.client(who)
        refused = [(method, place) for method, _, place, opens in places_of(two, who) if not opens]
        for method, place in refused:
            answer = ask(client, method, place)
            assert answer.status_code == 403, (name, method, place, answer.status_code)
            assert "Saltmarsh" not in answer.text
            assert "Reedbank" not in answer.text
        assert refused or who == Who("owner"), name
    assert two.state() == before


@pytest.mark.parametrize("name", [name for name, who in EVERYBODY.items() if who.rank and who.household != "other"])
def test_every_address_opens_to_whom_it_is_for(two: Two, name: str) -> None:
    """To whatever link is strong enough, for this household, for its plan, or for all: once for each address."""
    who = EVERYBODY[name]
    client = two.client(who)
    opened = {(method, path): place for method, path, place, opens in places_of(two, who) if opens}
    for (method, _), place in opened.items():
        answer = ask(client, method, place)
        assert answer.status_code not in (403, 429), (name, method, place)
        assert answer.status_code < 500, (name, method, place)
        two.put_right()


@pytest.mark.parametrize("scope", SCOPES)
def test_no_key_of_another_household_opens_under_ones_own(two: Two, scope: Scope) -> None:
    """The own household's key in front, another's plan, run or appliance behind it: as if there were none."""
    client = two.client(Who(scope, "this"))
    mixed = two.names["other"] | {"household_key": two.names["this"]["household_key"]}
    before = two.state()
    for method, path, needs in routes(two):
        if "{household_key}" not in path or path.count("{") < 2 or RANKS[scope] < RANKS[needs]:
            continue
        answer = ask(client, method, address(path, mixed, "laundry"))
        if path.endswith("/wait"):
            continue  # it tells nothing of the plan
        assert answer.status_code in (404, 410, 422), (method, path, answer.status_code)
        assert "Reedbank" not in answer.text
    assert two.state() == before


@pytest.mark.parametrize("who", [Who("reader", "this"), Who("reader", "this", "laundry")], ids=["household", "plan"])
def test_pages_for_looking_change_nothing(two: Two, who: Who) -> None:
    """Every page a reader sees: no form that is sent to be stored has a button that can be pressed."""
    client = two.client(replace(who))
    seen = 0
    for method, path, needs in routes(two):
        if method != "GET" or not who.may(needs, path, "this", "laundry") or needs == "public":
            continue
        answer = ask(client, method, address(path, two.names["this"], "laundry"))
        if not answer.headers.get("content-type", "").startswith("text/html") or answer.status_code != 200:
            continue
        page = Page(answer.text)
        for form in page.all("form"):
            if form.get("method") != "post":
                continue
            assert who.plan is None, path
            buttons = [one for one in page.all("button") if one.inside(form)]
            assert all(one.get("disabled") is not None for one in buttons), (path, form.text)
        seen += 1
    assert seen >= (1 if who.plan else 6)
