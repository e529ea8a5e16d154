"""The page for one plan alone: what it says, that it shows nothing else, and that it hears of changes."""

import datetime
import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from app.household.demo import demo_text
from app.store.commands import RemovePlan, apply
from app.store.households import import_household
from app.store.links import make_link
from app.web.access import COOKIE
from tests.web.conftest import HTMX, ORIGIN, House
from tests.web.markup import Page

# The demo's Laundry day is looked at on another day of the same month, just after eleven.
NOON = datetime.datetime(2026, 5, 12, 10, 12, tzinfo=datetime.UTC)


@pytest.fixture
def guest_of(house: House) -> Callable[..., TestClient]:
    """Makes a browser that holds a reader's link for one plan alone."""
    house.client.app.state.clock = lambda: NOON  # type: ignore[attr-defined]

    def make(plan: str = "laundry") -> TestClient:
        client = TestClient(house.client.app, base_url=ORIGIN, headers={"Origin": ORIGIN})
        with house.database.session() as session:
            scenario_key = house.address(plan).rpartition("/")[2]
            client.cookies.set(COOKIE, make_link(session, f"guest {plan}", "reader", house.key, scenario_key))
            session.commit()
        return client

    return make


def look(house: House, guest: TestClient, plan: str = "laundry", **asked: str) -> Any:
    return guest.get(f"{house.address(plan)}/partner", params=asked)


def test_it_says_what_is_on_what_is_next_and_what_is_fine(house: House, guest_of: Callable[..., TestClient]) -> None:
    """The head in a sentence, rows of what is fine and what is not with until when, the kettle, and the day."""
    answer = look(house, guest_of(), sun="1")
    page = Page(answer.text)
    main = page.all("main")[0].text

    assert answer.status_code == 200
    assert "Washing machine is on until 12:04, 2 more for longer. Next: Heat-pump dryer at 13:15." in main
    fine = next(one for one in page.all("section") if "c-fine" in one.classes).text
    wait = next(one for one in page.all("section") if "c-wait" in one.classes).text
    assert "Lights rest of the day" in fine
    assert "Kettle" not in fine  # it stands below, for the washer is in its way
    assert "Bread oven fine from 14:45Could cut out at" in wait
    assert "Iron has its turn at 16:00" in wait
    day = next(one for one in page.all("section") if "small-day" in one.classes).text
    assert "13:15 Heat-pump dryer, until 14:55" in day
    assert "Planned for Sat 16 May" in main
    assert "Wait 5 minutes" in main


def test_what_was_switched_off_is_not_told_as_done(house: House, guest_of: Callable[..., TestClient]) -> None:
    """The iron was tapped on and, by mistake as it was, off again: nobody takes it for ironed."""
    guest = guest_of()
    for sequence, state in enumerate(("on", "off"), 1):
        house.client.app.state.clock = lambda at=sequence: NOON + datetime.timedelta(minutes=at)  # type: ignore[attr-defined]
        form = {"appliance": "iron", "to": state, "tab": "t", "sequence": sequence}
        assert house.client.post(f"{house.address()}/switch-on", data=form, follow_redirects=False).status_code < 400
    day = next(one for one in Page(look(house, guest).text).all("section") if "small-day" in one.classes)

    assert "Iron, switched off at" in day.text
    assert "Iron is done" not in day.text


def test_how_often_has_its_figure_behind_it(house: House, guest_of: Callable[..., TestClient]) -> None:
    """One figure is easily said; who wants it has all three."""
    house.client.app.state.clock = lambda: NOON.replace(hour=1)  # type: ignore[attr-defined]
    text = Page(look(house, guest_of("shed"), "shed").text).all("main")[0].text.replace("\u00a0", " ")

    assert "About once in 6" in text
    assert re.search(r"To be exact: 0\.\d+ times in the rest of such a day, once in \d\.\d\d days\.", text)


@pytest.mark.parametrize(("plan", "waits"), [("laundry", True), ("ordinary", False)])
def test_of_an_any_time_load_its_sentence_and_the_list_never_say_the_contrary(
    house: House, guest_of: Callable[..., TestClient], plan: str, waits: bool
) -> None:
    """With the washer on, the kettle could cut out; on an ordinary day it is three minutes of the thirty allowed."""
    house.client.app.state.clock = lambda: NOON  # type: ignore[attr-defined]
    page = Page(look(house, guest_of(plan), plan).text)
    wait = next((one.text for one in page.all("section") if "c-wait" in one.classes), "")

    assert ("Kettle any time" in page.all("main")[0].text) is not waits
    assert ("Kettle" in wait) is waits


def test_a_run_of_less_than_a_minute_is_told_by_its_length(house: House, guest_of: Callable[..., TestClient]) -> None:
    """There and on the day's own page: from 18:00 to 18:00 would be nothing."""
    form = {"appliance": "well-pump", "start": "18:00", "revision": 1, "tab": "t", "sequence": 1}
    assert house.client.post(f"{house.address()}/runs", data=form, follow_redirects=False).status_code == 303
    day = next(one for one in Page(look(house, guest_of(), sun="1").text).all("section") if "small-day" in one.classes)
    label = next(one["aria-label"] for one in house.page().all("button") if "18:00" in (one.get("aria-label") or ""))

    assert "18:00 Well pump, for 48 s" in day.text
    assert label.replace("\u00a0", " ") == "Well pump, 18:00, for 48 s"


@pytest.mark.parametrize("today", ["2026-05-12", "2026-05-16", "2026-10-24", "2026-11-30"])
def test_days_after_a_plan_of_another_date_are_counted_from_today(
    house: House, guest_of: Callable[..., TestClient], today: str
) -> None:
    """A plan is taken as today's: what comes two dark days after it comes two days after today."""
    guest = guest_of()
    moment = datetime.datetime.fromisoformat(f"{today}T12:00+00:00")
    house.client.app.state.clock = lambda: moment  # type: ignore[attr-defined]
    later = re.findall(
        r"(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d\d:\d\d", Page(look(house, guest, sun="1").text).all("main")[0].text
    )

    tomorrow, then = (f"{moment + datetime.timedelta(days=days):%a}" for days in (1, 2))
    assert then in later
    assert set(later) <= {tomorrow, then}


def test_at_night_what_the_supply_bears_is_told_with_what_to_mind(
    house: House, guest_of: Callable[..., TestClient]
) -> None:
    """Late in the day `rest of the day` is about the supply alone: over it stands what must not run then."""
    guest = guest_of()
    assert not Page(look(house, guest).text).all("p", kind="night")

    house.client.app.state.clock = lambda: NOON.replace(hour=21)  # type: ignore[attr-defined]
    page = Page(look(house, guest).text)
    fine = next(one for one in page.all("section") if "c-fine" in one.classes)
    (night,) = page.all("p", kind="night")
    assert night.inside(fine)
    assert "while you sleep" in night.text
    assert page.elements.index(night) < page.elements.index(next(one for one in page.all("li") if one.inside(fine)))


def test_it_shows_this_plan_and_changes_nothing(house: House, guest_of: Callable[..., TestClient]) -> None:
    """No name of another plan, no link to another page, and the only form asks a question."""
    text = look(house, guest_of()).text
    page = Page(text)

    others = [plan["name"] for plan in house.document["scenarios"] if plan["id"] != "laundry"]
    assert not [name for name in others if name in text]
    assert [one.get("method") for one in page.all("form")] == ["get"]
    assert all(one["href"].startswith(f"{house.address()}/partner") for one in page.all("a"))


def test_nothing_else_opens_with_its_link(house: House, guest_of: Callable[..., TestClient]) -> None:
    """Not the plan's own page, not another plan's, not the list, not the file."""
    guest = guest_of()
    for address in ("/", house.address(), f"{house.address('shed')}/partner", f"/households/{house.key}/file"):
        answer = guest.get(address)
        assert answer.status_code == 403, address
        assert "Saltmarsh" not in answer.text
    assert house.stored.revision == 1


@pytest.mark.parametrize(
    ("asked", "status", "says"),
    [
        ({"run": "oven"}, 200, "Bread oven now: ASK"),
        ({"run": "oven", "start": "14:45"}, 200, "Bread oven at 14:45: GO"),
        ({"run": "nothing"}, 422, "There is no such appliance in this plan"),
        ({"run": ""}, 422, "Choose what you are about to run"),
        ({"run": "oven", "start": "noon-ish"}, 422, "That is no time of this day"),
    ],
)
def test_a_question_is_asked_by_address(
    house: House, guest_of: Callable[..., TestClient], asked: dict[str, str], status: int, says: str
) -> None:
    """`I am about to run` needs no script and stores nothing; what is wrong is said beside its field."""
    oven = next(one["id"] for one in house.document["appliances"] if one["name"] == "Bread oven")
    asked = {name: oven if value == "oven" else value for name, value in asked.items()}
    answer = look(house, guest_of(), **asked)

    assert answer.status_code == status
    assert says in Page(answer.text).by_id("ask").text
    assert house.stored.revision == 1


def test_it_hears_of_a_change_and_of_a_tap(house: House, guest_of: Callable[..., TestClient]) -> None:
    """What waits is answered once something has happened; what is shown already is not sent again."""
    guest = guest_of()
    mark = Page(look(house, guest).text).by_id("now")["data-mark"]
    headers = HTMX | {"Loadstead-Mark": mark}
    pulse = guest.get(f"{house.address()}/wait").headers["loadstead-pulse"]
    assert guest.get(f"{house.address()}/partner", headers=headers).status_code == 204

    house.send("shirts", "start", "17:25")
    heard = guest.get(f"{house.address()}/wait", params={"pulse": pulse})
    assert heard.status_code == 204
    assert heard.headers["loadstead-pulse"] != pulse
    answer = guest.get(f"{house.address()}/partner", headers=headers)
    assert "17:25" in answer.text
    lights = {"appliance": "lights", "to": "on", "tab": "t", "sequence": 1}
    assert house.client.post(f"{house.address()}/switch-on", data=lights, follow_redirects=False).status_code == 303
    again = guest.get(f"{house.address()}/wait", params={"pulse": heard.headers["loadstead-pulse"]})
    assert again.headers["loadstead-pulse"] != heard.headers["loadstead-pulse"]


def test_nothing_new_is_answered_after_a_while(house: House, guest_of: Callable[..., TestClient]) -> None:
    """The word stays the same, so the page asks again with it; a word nobody gave is answered at once."""
    guest = guest_of()
    pulse = guest.get(f"{house.address()}/wait").headers["loadstead-pulse"]
    answer = guest.get(f"{house.address()}/wait", params={"pulse": pulse, "seconds": 0})

    assert (answer.status_code, answer.headers["loadstead-pulse"]) == (204, pulse)
    assert guest.get(f"{house.address()}/wait", params={"pulse": "x" * 201}).status_code == 422
    assert guest.get(f"{house.address()}/wait", params={"seconds": 999}).status_code == 422


def test_a_plan_that_is_deleted_is_said_and_shown_again_when_it_is_back(
    house: House, guest_of: Callable[..., TestClient]
) -> None:
    """Status 410 without a word of any other plan; the same link shows it once it is brought back."""
    guest = guest_of()
    with house.database.session() as session:
        plan = house.address().rpartition("/")[2]
        command = RemovePlan(household_key=house.key, tab="t", sequence=1, link_key=None, scenario_key=plan)
        apply(session, command)
        session.commit()
    page = f"/h/{house.key}/{plan}/partner"
    answer = guest.get(page)

    assert answer.status_code == 410
    assert "was deleted. Should it come back" in answer.text
    assert not [one["name"] for one in house.document["scenarios"] if one["name"] in answer.text]
    mark = Page(answer.text).by_id("now")["data-mark"]
    assert guest.get(page, headers=HTMX | {"Loadstead-Mark": mark}).status_code == 204


def test_it_asks_nobody_who_has_a_wider_link(house: House) -> None:
    """Owners, helpers and readers of the household see the same page."""
    assert house.client.get(f"{house.address()}/partner").status_code == 200


def test_what_was_too_much_this_morning_is_no_trouble_at_noon(
    house: House, guest_of: Callable[..., TestClient]
) -> None:
    """A kiln at six is above the top: told until then, and not after."""
    kiln = {"id": "kiln", "name": "Kiln", "stages": [{"duration_s": 20, "watts": 12000}]}
    document = json.loads(demo_text())
    document["appliances"].append(kiln)
    plan = next(one for one in document["scenarios"] if one["id"] == "ordinary")
    plan["runs"].append({"id": "kiln", "appliance": "kiln", "start": "06:00"})
    with house.database.session() as session:
        other = House(house.database, house.client, import_household(session, document | {"name": "Other"}, None))
        session.commit()
    address = f"{other.address('ordinary')}/partner"

    def seen(hour: int) -> str:
        moment = datetime.datetime(2026, 5, 19, hour, 30, tzinfo=datetime.UTC)
        house.client.app.state.clock = lambda: moment  # type: ignore[attr-defined]
        return Page(house.client.get(address, params={"sun": "1"}).text).all("main")[0].text

    assert "Today is too much as planned." in seen(3)
    noon = seen(11)
    assert "Today is too much" not in noon
    assert "What is left of today" in noon
    assert "Ask whoever planned it" not in noon
