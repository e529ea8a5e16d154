"""Every address with every kind of link: a table made from the application's own routes."""

import asyncio
import datetime
import json
import re
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import request_response

from app.store.households import export_document, import_household, list_households, load
from app.store.links import Scope, find_link, make_link, revoke_link
from app.store.removed import removed_households, restore_household
from app.web.access import COOKIE
from tests.households import with_plans
from tests.web.conftest import HTMX, ORIGIN, House
from tests.web.markup import Page
from tests.web.test_weather import quay

PLANS = ("ordinary", "shed")

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
        other_house = (("other", "ordinary"),) if self.rank else ()
        return (("this", "ordinary"), *other_plan, *other_house)

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
    "reader of this plan": Who("reader", "this", "ordinary"),
    "reader of another plan": Who("reader", "this", "shed"),
    "reader of another household's plan": Who("reader", "other", "ordinary"),
    **{f"{scope}, revoked": Who(scope, ended="revoked") for scope in SCOPES},
    **{f"{scope}, expired": Who(scope, "this", ended="expired") for scope in SCOPES},
    "reader of this plan, revoked": Who("reader", "this", "ordinary", ended="revoked"),
    "reader of this plan, expired": Who("reader", "this", "ordinary", ended="expired"),
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
        other = import_household(session, with_plans(*PLANS) | {"name": "Reedbank Cabin"}, None)
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
        "ordinary": plans["ordinary"],
        "shed": plans["shed"],
        "run_key": stored.run_keys["ordinary", "dishes"].key,
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


def ask(client: TestClient, method: str, place: str, **more: Any) -> Any:
    # A page that waits is answered at once; nobody's form is filled in.
    return client.request(method, place, params={"seconds": 0, "pulse": ""} if place.endswith("/wait") else {}, **more)


LET_IN = 299


@pytest.fixture
def doors(two: Two, monkeypatch: pytest.MonkeyPatch) -> Two:
    """The application with its doors alone: whoever is let in at an address is told so, in place of its work."""

    async def no_work(_request: Request) -> Response:
        return Response(status_code=LET_IN)

    monkeypatch.setattr(APIRoute, "get_route_handler", lambda _route: no_work)
    for route in two.house.client.app.routes:  # type: ignore[attr-defined]
        monkeypatch.setattr(route, "app", request_response(route.get_route_handler()))
    return two


def test_every_address_opens_to_whom_it_is_for_and_to_nobody_else(doors: Two) -> None:
    """Each with each kind of link, for this household, another, its plan or another one: let in, or 403 and no name."""
    tried = {True: 0, False: 0}

    async def try_all() -> None:
        for name, who in EVERYBODY.items():
            token = doors.client(who).cookies.get(COOKIE)
            for method, path, needs in routes(doors):
                for household, plan in who.places:
                    opens = who.may(needs, path, household, plan)
                    status, text = await _knock(doors, token, method, address(path, doors.names[household], plan))
                    assert status == (LET_IN if opens else 403), (name, method, path, household, plan)
                    assert "Saltmarsh" not in text
                    assert "Reedbank" not in text
                    tried[opens] += 1

    # In a thread of its own, for the browser's tests leave a running loop in theirs.
    with ThreadPoolExecutor(1) as apart:
        apart.submit(asyncio.run, try_all()).result()
    assert min(tried.values()) > 300


async def _knock(two: Two, token: str | None, method: str, path: str) -> tuple[int, str]:
    """One request straight to the application: a client takes ten times as long, and there are thousands."""
    headers = {"host": ORIGIN.partition("://")[2], "origin": ORIGIN} | (
        {"cookie": f"{COOKIE}={token}"} if token else {}
    )
    scope = {
        "type": "http",
        "http_version": "1.1",
        "scheme": "http",
        "method": method,
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()],
        "client": ("127.0.0.1", 1),
    }
    said: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        said.append(message)

    await two.house.client.app(scope, receive, send)  # type: ignore[arg-type, operator]
    return said[0]["status"], b"".join(one.get("body", b"") for one in said).decode()


@pytest.mark.parametrize("name", ["owner of all", "helper of this", "reader of this plan"])
def test_every_address_does_its_work_for_whom_it_is_for(two: Two, name: str) -> None:
    """Nobody who is let in is refused further on, or runs into a fault of ours."""
    who = EVERYBODY[name]
    with two.client(who) as client:
        for method, path, needs in routes(two):
            if not who.may(needs, path, "this", "ordinary") or (method == "GET" and who.scope == "helper"):
                continue  # what a helper looks at, a reader does below
            answer = ask(client, method, address(path, two.names["this"], "ordinary"))
            assert answer.status_code not in (403, 429), (name, method, path)
            assert answer.status_code < 500, (name, method, path)
            if path.endswith("/delete"):
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
        answer = ask(client, method, address(path, mixed, "ordinary"))
        if path.endswith("/wait"):
            continue  # it tells nothing of the plan
        assert answer.status_code in (404, 410, 422), (method, path, answer.status_code)
        assert "Reedbank" not in answer.text
    assert two.state() == before


# What a page of that end is asked besides, to have everything on it that may be there.
UNFOLDED = {
    "/h/{household_key}/{scenario_key}": (
        "?part=add",
        "?part=ways",
        "?run={run_key}&unfold=plan-sheet&unfold=day-table&unfold=energy-table",
    ),
    "/switch-on": ("?run=kettle&start=9:00",),
    "/supply": ("?unfold=checklist&alone=1",),
    "/appliances": ("?find=pump",),
    "/history": ("?only=plan",),
    "/what-if": ("?alone=1",),
}


@pytest.mark.parametrize("name", ["reader of all", "reader of this", "reader of this plan"])
def test_pages_for_looking_send_nothing(two: Two, name: str) -> None:
    """Every page a reader sees, in every state: no form that is sent to be stored, no button that cannot be pressed."""
    who = EVERYBODY[name]
    _fill(two)
    seen = set()
    with two.client(who) as client:
        for method, path, needs in routes(two):
            opens = method == "GET" and needs != "public" and who.may(needs, path, "this", "ordinary")
            if not opens or (name == "reader of all" and "{household_key}" in path):
                continue
            asked = next((more for end, more in UNFOLDED.items() if path.endswith(end)), ())
            # A plan that builds on another has a what-if to show.
            for plan in ("ordinary", "shed") if "/what-if" in path and who.plan is None else ("ordinary",):
                for more in ("", *asked):
                    place = address(path + more, two.names["this"], plan)
                    answer = ask(client, method, place) if not more else client.get(place)
                    assert answer.status_code < 500, place
                    if answer.headers.get("content-type", "").startswith("text/html"):
                        _assert_for_looking(answer.text, place)
                        seen.add(path)
    assert len(seen) >= (1 if name != "reader of this" else 13), seen


def _fill(two: Two) -> None:
    """A record of sun of which a day is taken, a run that is off, taps, and a household that was deleted."""
    house = two.house
    here = house.address("ordinary")
    brought = house.client.post(f"{here}/weather", files={"file": ("quay.epw", quay().encode())})
    assert brought.status_code == 200, brought.text
    place = str(brought.url.path)
    two.names["this"]["record_key"] = place.rpartition("/")[2]
    taken = {"month": "5", "day": "12", "year": "", "tab": "t", "sequence": 1, "revision": house.stored.revision}
    assert house.client.post(f"{place}/day", data=taken).status_code == 200
    assert house.send("dishes", "on", "off", "ordinary").status_code == 303
    tap = {"appliance": "kettle", "to": "on", "tab": "t", "sequence": 1}
    house.client.post(f"{here}/switch-on", data=tap, headers=HTMX)
    assert house.client.post(f"/households/{two.names['other']['household_key']}/delete").status_code == 200


def _assert_for_looking(text: str, place: str) -> None:
    assert 'method="post"' not in text, place
    assert "hx-post" not in text, place
    assert "formaction" not in text, place
    page = Page(text)
    for control in (*page.all("button"), *page.all("input"), *page.all("select"), *page.all("textarea")):
        assert control.get("readonly") is None, (place, control)
        if not any(control.inside(form) for form in page.all("form")):
            # What works in the page alone: a script's zoom.
            assert control.get("type") == "button", (place, control)
            assert control.get("disabled") is None, (place, control)
