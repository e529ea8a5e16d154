"""What a page hears of others: nothing, mostly; else everything that may be new, and in words who did what."""

import re
from typing import Any

import pytest

from app.store.households import load
from tests.web.conftest import HTMX, House
from tests.web.markup import Page

FRAGMENTS = ("day-rows", "day-verdict", "day-limits", "day-chart", "day-steps")


def look(house: House, since: int, tab: str = "mine", **more: Any) -> Any:
    """Ask what is new, as the page's script does every few seconds."""
    query = {"since": since, "tab": tab} | more
    return house.client.get(f"{house.address()}/changes", params=query, headers=HTMX)


def test_nothing_new_is_answered_with_nothing(house: House) -> None:
    """Status 204 without a body, and the revision all the same."""
    answer = look(house, house.stored.revision)

    assert answer.status_code == 204
    assert answer.content == b""
    assert answer.headers["loadstead-revision"] == str(house.stored.revision)


def test_what_another_page_did_comes_with_its_words(house: House) -> None:
    """Rows and everything an assessment shows, and a line that says what was moved where to."""
    since = house.stored.revision
    house.send("shirts", "start", "17:25", tab="other")
    answer = look(house, since)
    page = Page(answer.text)

    assert answer.status_code == 200
    for part in FRAGMENTS:
        page.by_id(part)
    assert "On another phone: Iron moved to 17:25." in page.by_id("day-steps").text
    assert page.by_id("day-steps")["data-revision"] == str(house.stored.revision)


def test_ones_own_changes_are_no_news(house: House) -> None:
    """They are shown, but not told."""
    since = house.stored.revision
    house.send("shirts", "start", "17:25", tab="mine")

    assert "On another phone" not in look(house, since).text


def test_many_changes_are_told_by_the_last_of_them(house: House) -> None:
    """Five changes: how many before, and the last three."""
    since = house.stored.revision
    for number in range(5):
        house.send("shirts", "start", f"17:0{number}", tab="other", sequence=number + 1)
    news = Page(look(house, since).text).by_id("day-steps").text

    assert "2 changes, then Iron moved to 17:02; Iron moved to 17:03; Iron moved to 17:04." in news


def test_a_row_that_is_open_stays_so(house: House) -> None:
    """The page says which one, and gets it opened."""
    since = house.stored.revision
    house.send("wash-2", "on", "off", tab="other")
    key = house.run_key("shirts")

    assert Page(look(house, since, run=key).text).by_id(f"adjust-{key}")


def test_a_change_of_another_plan_is_no_news_here(house: House) -> None:
    """The page takes note of the revision and says nothing."""
    since = house.stored.revision
    house.send("film", "start", "21:00", plan="ordinary", tab="other")
    answer = look(house, since)

    assert answer.status_code == 200
    assert "On another phone" not in answer.text


@pytest.mark.parametrize("query", [{"since": "x"}, {"since": -1}, {"since": 1, "tab": "x" * 65}, {}])
def test_what_no_page_asks_is_refused(house: House, query: dict[str, object]) -> None:
    """Nonsense is answered as what cannot be read, not with a fault of ours; an open page is left as it is."""
    address = f"{house.address()}/changes"

    assert house.client.get(address, params=query).status_code == 422
    assert house.client.get(address, params=query, headers=HTMX).status_code == 400


def test_a_reader_hears_too(house_of: Any) -> None:
    """Who may only look sees what others change."""
    owner, reader = house_of("owner"), house_of("reader")
    since = owner.stored.revision
    owner.send("shirts", "start", "17:25", tab="other")

    assert look(reader, since).status_code == 200


def test_a_plan_that_was_deleted_is_said_with_a_way_on(house: House) -> None:
    """Status 410, one line that names it, and a link to another plan; what is on the page stays."""
    since = house.stored.revision
    address = house.address()
    with house.database.session() as session:
        stored = load(session, house.key)
        assert stored is not None
        plan = next(one for one in stored.scenarios if one.id == "laundry")
    form = {"revision": since, "tab": "other", "sequence": 1}
    house.client.post(f"{address}/delete", data=form, follow_redirects=False)
    answer = house.client.get(f"{address}/changes", params={"since": since, "tab": "mine"}, headers=HTMX)

    assert plan.name in answer.text
    assert answer.status_code == 410
    assert Page(answer.text).by_id("day-steps")
    assert [one for one in Page(answer.text).all("a") if one["href"].startswith(f"/h/{house.key}/")]


def states(page: Page) -> dict[str, str]:
    """What the page says of each row's state."""
    return {row["id"]: row["data-state"] for row in page.all("li") if row.get("data-state") is not None}


def whole(page: Page) -> list[str]:
    """The rows that are written out."""
    return [row["id"] for row in page.all("li", "row")]


def test_rows_that_the_page_has_are_left_out(house: House) -> None:
    """A switched run brings its own row; of the others, whose states the page named, come the places alone."""
    before = states(house.page())
    form = {"field": "on", "value": "off", "revision": 1, "tab": "t1", "sequence": 1}
    key = house.run_key("dinner")
    headers = HTMX | {"Loadstead-Has": ",".join(before.values())}
    answer = Page(house.client.post(f"{house.address()}/runs/{key}", data=form, headers=headers).text)

    (row,) = whole(answer)
    assert answer.by_id(f"run-{key}").inside(answer.by_id(row))
    assert states(answer).keys() == before.keys()
    assert {name for name, state in states(answer).items() if state != before[name]} == {row}


def test_a_page_that_names_nothing_gets_every_row(house: House) -> None:
    """So does one that names what is not there, and a browser without the script, whatever it names."""
    page = house.page()
    for headers in (HTMX, HTMX | {"Loadstead-Has": "nonsense,,"}, {"Loadstead-Has": ",".join(states(page).values())}):
        answer = Page(house.client.get(house.address(), headers=headers).text)
        assert whole(answer) == whole(page)


def test_a_row_that_is_open_is_never_left_out(house: House) -> None:
    """Its forms say on which state of the household they were written."""
    key = house.run_key("shirts")
    address, asked = house.address(), {"run": key}
    shown = Page(house.client.get(address, params=asked, headers=HTMX).text)
    named = {"Loadstead-Has": ",".join(states(shown).values())}
    answer = Page(house.client.get(address, params=asked, headers=HTMX | named).text)

    (row,) = whole(answer)
    assert answer.by_id(f"adjust-{key}").inside(answer.by_id(row))
    assert answer.by_id(row)["data-state"] == ""


SCREENS = ("supply", "appliances", "household", "what-if", "side-by-side", "growth", "workshop", "laundry", "history")


@pytest.mark.parametrize("screen", SCREENS)
def test_every_screen_says_which_state_it_shows_and_listens(house: House, screen: str) -> None:
    """So that it can tell by itself that somebody changed something elsewhere."""
    page = Page(house.client.get(f"{house.address()}/{screen}").text)

    assert page.by_id("meanwhile")["data-revision"] == str(house.stored.revision)
    assert any("meanwhile" in script["src"] for script in page.all("script"))


def test_what_was_changed_since_is_told_in_one_line(house: House) -> None:
    """The last change with its time, how many were before it, and in which plan where that is another."""
    since = house.stored.revision
    news = f"{house.address()}/news"
    assert house.client.get(news, params={"since": since}).text == ""
    house.send("shirts", "start", "17:25", tab="other")
    told = house.client.get(news, params={"since": since}).text
    house.send("film", "start", "21:00", plan="ordinary", tab="other")
    later = house.client.get(news, params={"since": since}).text

    assert re.fullmatch(
        r"Changed elsewhere at \d\d:\d\d: Iron moved to 17:25\. This page shows what was before\.", told
    )
    assert re.search(r"at \d\d:\d\d, in .+: .+ moved to 21:00, after 1 other change\.", later)
