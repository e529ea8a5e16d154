"""Links made, listed and revoked by an owner, and what becomes of pages that are open on them."""

import contextlib
import datetime
import logging
import re
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from fastapi.testclient import TestClient

from app.store.links import find_link, links_of, make_link, refuse_link, revoke_link
from app.web.knocking import ADDRESSES_AT_MOST, FREE, WAITING_AT_MOST, Knocks
from tests.web.conftest import HTMX, ORIGIN, House
from tests.web.markup import Page

DAY = datetime.timedelta(days=1)


def page_of(house: House, asked: str = "") -> Page:
    answer = house.client.get(f"/households/{house.key}/links{asked}")
    assert answer.status_code == 200, answer.text
    return Page(answer.text)


def send(house: House, htmx: bool = False, **typed: str) -> Any:
    key = next(one["value"] for one in page_of(house).all("input") if one.get("name") == "key")
    form = {"key": key, "name": "Kitchen tablet", "scope": "reader", "plan": "", "days": ""} | typed
    headers = HTMX if htmx else {}
    return house.client.post(f"/households/{house.key}/links", data=form, headers=headers, follow_redirects=False)


def address_in(text: str) -> str:
    return Page(text).by_id("address")["value"]


def opened(house: House, address: str) -> TestClient:
    """A browser that has opened a link."""
    client = TestClient(house.client.app, base_url=ORIGIN, headers={"Origin": ORIGIN})
    assert client.get(address).status_code == 200
    return client


def plan_key(house: House, plan: str = "laundry") -> str:
    return house.address(plan).rpartition("/")[2]


def rows(house: House) -> dict[str, str]:
    """Every link in the list, by its name: what its line says."""
    found = [one for one in page_of(house).all("li") if (one.get("id") or "").startswith("link-")]
    return {one.text.partition(" Look")[0].partition(" Help")[0].partition(" Own")[0]: one.text for one in found}


def test_of_a_form_that_is_sent_twice_at_once_one_makes_a_link(
    house_of: Callable[..., House], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A button pressed twice: one answer has the address, the other says that there is a link already."""
    houses = [house_of("owner"), house_of("owner")]
    key = next(one["value"] for one in page_of(houses[0]).all("input") if one.get("name") == "key")
    both = threading.Barrier(2)

    def looks_first(*given: Any) -> None:
        with contextlib.suppress(threading.BrokenBarrierError):
            both.wait(0.3)
        refuse_link(*given)

    monkeypatch.setattr("app.web.pages.links.refuse_link", looks_first)
    form = {"key": key, "name": "Kitchen tablet", "scope": "reader", "plan": "", "days": ""}
    with ThreadPoolExecutor(2) as phones:
        address = f"/households/{houses[0].key}/links"
        sent = [phones.submit(house.client.post, address, data=form) for house in houses]
        answers = [one.result().status_code for one in sent]

    assert sorted(answers) == [200, 409]


def test_a_link_is_made_and_its_address_shown_this_once(house: House, htmx: bool) -> None:
    """With a code to photograph; it opens what it says, and no later page has it."""
    answer = send(house, htmx, scope="helper")
    address = address_in(answer.text)
    token = address.rpartition("/")[2]

    assert answer.status_code == 200
    assert re.fullmatch(rf"{ORIGIN}/link/[0-9a-f]{{32}}", address)
    assert "<svg" in answer.text
    assert answer.headers["cache-control"] == "no-store"
    assert "style=" not in answer.text
    guest = opened(house, address)
    assert guest.get(house.address()).status_code == 200
    assert guest.get(f"/households/{house.key}/links").status_code == 403
    again = house.client.get(f"/households/{house.key}/links").text
    assert token not in again
    assert "Kitchen tablet" in again
    assert "last used" in rows(house)["Kitchen tablet"]


def test_a_link_is_made_for_the_address_phones_find(house: House) -> None:
    """Opened as localhost on a server that listens to the network, it has the network's address; else it says so."""
    assert "works on this machine alone" in send(house).text
    house.client.app.state.reachable_at = "http://192.168.1.20:8420"  # type: ignore[attr-defined]
    answer = send(house, name="Phone")
    assert address_in(answer.text).startswith("http://192.168.1.20:8420/link/")
    assert "this machine alone" not in answer.text
    house.client.headers["Host"] = "planner.example"
    house.client.headers["Origin"] = "http://planner.example"
    assert address_in(send(house, name="Desk").text).startswith("http://planner.example/link/")


def test_a_form_that_is_sent_twice_makes_one_link(house: House, htmx: bool) -> None:
    """The second answer says so: the address was shown, and is not known any more."""
    key = next(one["value"] for one in page_of(house).all("input") if one.get("name") == "key")
    first = send(house, htmx, key=key)
    second = send(house, htmx, key=key)

    assert (first.status_code, second.status_code) == (200, 409)
    assert "was made already" in second.text
    assert list(rows(house)).count("Kitchen tablet") == 1


@pytest.mark.parametrize(
    ("typed", "field", "says"),
    [
        ({"name": "  "}, "name", "Give it a name"),
        ({"name": "x" * 201}, "name", "at most 200 characters"),
        ({"name": " OWNER"}, "name", "There is a link of that name already"),
        ({"scope": "emperor"}, "scope", "Choose what it may do"),
        ({"scope": "helper", "plan": "{laundry}"}, "plan", "Only a link to look"),
        ({"plan": "0" * 32}, "plan", "no such plan"),
        ({"days": "2"}, "days", "Choose one of the list"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(
    house: House, typed: dict[str, str], field: str, says: str, htmx: bool
) -> None:
    """Status 422, in words; what was typed stays, and no link is made."""
    typed = {name: value.format(laundry=plan_key(house)) for name, value in typed.items()}
    answer = send(house, htmx, **typed)
    page = Page(answer.text)

    assert answer.status_code == 422
    assert says in page.by_id(f"fault-{field}").text
    if "name" in typed:
        assert page.by_id("new-name")["value"] == typed["name"]
    assert len(rows(house)) == 1


def test_revoking_asks_once_and_holds_at_once(house: House, htmx: bool) -> None:
    """The question names what follows; from then on a page that is open is told, and the link says so."""
    address = address_in(send(house).text)
    guest = opened(house, address)
    key = next(one["id"] for one in page_of(house).all("li") if "Kitchen tablet" in one.text).removeprefix("link-")
    asked = page_of(house, f"?revoke={key}")
    form = next(one for one in asked.all("form") if one["action"].endswith("/revoke"))

    assert "Kitchen tablet opens nothing" in asked.by_id(f"link-{key}").text
    assert not [one for one in page_of(house).all("form") if one["action"].endswith("/revoke")]
    answer = house.client.post(form["action"], headers=HTMX if htmx else {}, follow_redirects=False)
    assert answer.status_code == (204 if htmx else 303)
    refused = guest.get(f"{house.address()}/changes", params={"since": 1}, headers=HTMX)
    assert refused.status_code == 403
    assert refused.headers["loadstead-refused"] == "revoked"
    assert "revoked" in guest.get(house.address()).text
    assert "revoked" in guest.get(address).text
    assert "revoked" in page_of(house).by_id("ended").text
    assert house.client.post(form["action"], follow_redirects=False).status_code == 410


def test_a_page_that_waits_is_let_go_when_its_link_is_revoked(house: House) -> None:
    """The question it keeps open is answered with 403 and why."""
    guest = opened(house, address_in(send(house).text))
    pulse = guest.get(f"{house.address()}/wait").headers["loadstead-pulse"]
    with house.database.session() as session:
        link = find_link(session, guest.cookies["loadstead"])
        assert link is not None
        revoke_link(session, link.key)
        session.commit()
    answer = guest.get(f"{house.address()}/wait", params={"pulse": pulse})

    assert (answer.status_code, answer.headers["loadstead-refused"]) == (403, "revoked")


def test_a_link_ends_when_its_time_is_over(house: House) -> None:
    """It opens until then; after it the page says so and the list has it among those that ended."""
    moment = datetime.datetime(2026, 5, 12, 10, 0, tzinfo=datetime.UTC)
    state = house.client.app.state  # type: ignore[attr-defined]
    state.clock = lambda: moment
    guest = opened(house, address_in(send(house, days="7").text))
    assert "opens until 19 May 2026" in rows(house)["Kitchen tablet"]

    state.clock = lambda: moment + 7 * DAY - datetime.timedelta(seconds=1)
    assert guest.get(house.address()).status_code == 200
    state.clock = lambda: moment + 7 * DAY
    refused = guest.get(house.address())
    assert refused.status_code == 403
    assert refused.headers["loadstead-refused"] == "expired"
    assert "expired 19 May 2026" in page_of(house).by_id("ended").text


def test_the_last_owner_of_everything_is_not_revoked(house: House) -> None:
    """It says how to make another first; and nothing is lost."""
    (key,) = (one["id"].removeprefix("link-") for one in page_of(house).all("li") if one.get("id"))
    answer = house.client.post(f"/households/{house.key}/links/{key}/revoke", follow_redirects=False)

    assert answer.status_code == 422
    assert "--new-link" in answer.text
    assert house.client.get(house.address()).status_code == 200
    with house.database.session() as session:
        make_link(session, "another", "owner")
        session.commit()
    address = f"/households/{house.key}/links/{key}/revoke"
    assert house.client.post(address, follow_redirects=False).status_code == 303
    assert house.client.get(house.address()).status_code == 403


def test_a_households_owner_revokes_its_links_only(house_of: Callable[..., House]) -> None:
    """Links that open everything are listed, but are not theirs."""
    owner = house_of("owner")
    theirs = house_of("owner", household_key=owner.key)
    moment = datetime.datetime.now(datetime.UTC)
    with owner.database.session() as session:
        keys = {row.link.household_key: row.link.key for row in links_of(session, owner.key, moment)}

    page = page_of(theirs)
    assert [one["href"] for one in page.all("a") if "revoke" in one["href"]] == [
        f"/households/{owner.key}/links?revoke={keys[owner.key]}#link-{keys[owner.key]}"
    ]
    address = f"/households/{owner.key}/links/{keys[None]}/revoke"
    assert theirs.client.post(address, follow_redirects=False).status_code == 404


def test_whoever_tries_out_a_weaker_link_keeps_the_own_one(house: House) -> None:
    """An owner who opens a link made for another lands where it leads, and stays an owner."""
    address = address_in(send(house, plan=plan_key(house)).text)
    answer = house.client.get(address)

    assert answer.url.path == f"{house.address()}/partner"
    assert house.client.get(f"/households/{house.key}/links").status_code == 200


def test_opening_a_link_leaves_its_token_nowhere(house: House, caplog: pytest.LogCaptureFixture) -> None:
    """The next page is asked for without a word of where one came from, and is not to be found by searching."""
    caplog.set_level(logging.INFO, "app")
    address = address_in(send(house).text)
    client = TestClient(house.client.app, base_url=ORIGIN)
    answer = client.get(address, follow_redirects=False)

    assert answer.headers["referrer-policy"] == "no-referrer"
    assert "noindex" in answer.headers["x-robots-tag"]
    assert address.rpartition("/")[2] not in answer.headers["location"]
    assert address.rpartition("/")[2] not in caplog.text


class Slept:
    """A clock that moves when somebody sleeps, or is told to."""

    def __init__(self) -> None:
        self.now_s = 0.0
        self.slept_s: list[float] = []

    def clock(self) -> float:
        return self.now_s

    async def sleep(self, seconds: float) -> None:
        self.slept_s.append(seconds)


def test_whoever_guesses_waits_longer_and_longer(house: House) -> None:
    """The first tries are free, each further one waits twice as long; a right link from the same place waits never."""
    address = address_in(send(house).text)
    slept = Slept()
    house.client.app.state.knocks = Knocks(slept.clock, slept.sleep)  # type: ignore[attr-defined]
    guesser = TestClient(house.client.app, base_url=ORIGIN)
    statuses = [guesser.get(f"/link/{number:032x}").status_code for number in range(FREE + 3)]

    assert set(statuses) == {404}
    assert slept.slept_s == [0.5, 1.0, 2.0]
    opened(house, address)
    assert house.client.get(house.address()).status_code == 200
    guesser.cookies.set("loadstead", "f" * 32)
    assert guesser.get("/").status_code == 403
    assert slept.slept_s == [0.5, 1.0, 2.0, 4.0]
    slept.now_s += 3600
    guesser.get("/link/nonsense")
    assert len(slept.slept_s) == 4


def test_a_link_that_was_given_once_is_no_guess(house: House) -> None:
    """A phone whose link was revoked may ask all day; it makes nobody wait."""
    slept = Slept()
    house.client.app.state.knocks = Knocks(slept.clock, slept.sleep)  # type: ignore[attr-defined]
    guest = opened(house, address_in(send(house).text))
    with house.database.session() as session:
        link = find_link(session, guest.cookies["loadstead"])
        assert link is not None
        revoke_link(session, link.key)
        session.commit()
    for _ in range(30):
        assert guest.get(house.address()).status_code == 403

    assert not slept.slept_s


@pytest.mark.anyio
async def test_guesses_are_remembered_for_a_bounded_number_of_places() -> None:
    """The oldest is forgotten; and of one place only so many answers are kept back at a time."""
    import anyio
    from fastapi import HTTPException

    knocks = Knocks()
    for number in range(ADDRESSES_AT_MOST + 100):
        await knocks.wrong(f"192.0.2.{number}")
    assert len(knocks) == ADDRESSES_AT_MOST

    refused = []

    async def guess() -> None:
        try:
            await knocks.wrong("198.51.100.1")
        except HTTPException as told:
            refused.append(told.status_code)

    async with anyio.create_task_group() as group:
        for _ in range(FREE + WAITING_AT_MOST + 3):
            group.start_soon(guess)
        await anyio.sleep(0.05)
        group.cancel_scope.cancel()
    assert refused == [429] * 3


@pytest.fixture
def anyio_backend() -> str:
    return "asyncio"
