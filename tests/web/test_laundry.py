"""Laundry day: what is wanted stays in the address, a day is found for it beside today's, and taken as one step."""

import datetime
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import pytest

from app.jobs.jobs import Jobs
from app.jobs.shelf import Shelf
from app.jobs.work import work_once
from app.store.commands import ChangePart, RemovePlan, apply
from app.web.laundry_page import READER_BEHIND_AT_MOST
from app.web.words.laundry import BUSY
from app.worker import KINDS
from tests.web.conftest import HTMX, House
from tests.web.markup import Element, Page

SATURDAY = "2026-05-16"  # the day of the plan


Said = Sequence[tuple[str, str]]


class Laundry:
    """The page and its worker, which works when it is told to."""

    def __init__(self, house: House, place: str) -> None:
        self.house = house
        self.place = place
        house.client.app.state.jobs = Jobs(place, lambda _: None)  # type: ignore[attr-defined]

    def get(self, said: Said = (), plan: str = "laundry", status: int = 200, **more: str) -> Page:
        """The page at an address. said, more: what that says."""
        asked = [*said, *more.items()]
        answer = self.house.client.get(f"{self.house.address(plan)}/laundry", params=asked)
        assert answer.status_code == status, answer.text
        return Page(answer.text)

    def work(self) -> None:
        """Do everything that waits."""
        shelf = Shelf(self.place)
        while work_once(shelf, KINDS):
            pass
        shelf.close()

    def found(self, said: Said = (), plan: str = "laundry") -> Page:
        """The page once the search has ended."""
        self.get(said, plan, find="1")
        self.work()
        return self.get(said, plan, find="1")

    def send(
        self, page: Page, ticks: list[str] | None = None, htmx: bool = False, do: str = "take", **fields: Any
    ) -> Any:
        """Press the button under a day, with what its form says."""
        form = page.all("form", kind="take")[0]
        hidden = page.form(form)
        starts = [one["value"] for one in page.all("input", name="start")]
        every = [one["value"] for one in page.all("input", name="tick") if one.get("checked") is not None]
        data: dict[str, Any] = hidden | {"start": starts, "tick": every if ticks is None else ticks, "do": do}
        return self.house.client.post(
            form["action"], data=data | fields, headers=HTMX if htmx else {}, follow_redirects=False
        )


@pytest.fixture
def laundry(house: House, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Laundry]:
    monkeypatch.setattr("app.web.laundry_day.SEARCH_S", 0.5)
    page = Laundry(house, str(tmp_path / "jobs.sqlite3"))
    yield page
    house.client.app.state.jobs.close()  # type: ignore[attr-defined]


def at(house: House, clock: str, date: str = SATURDAY) -> None:
    """Set the server's clock."""
    moment = datetime.datetime.fromisoformat(f"{date}T{clock}+01:00")
    house.client.app.state.clock = lambda: moment.astimezone(datetime.UTC)  # type: ignore[attr-defined]


def typed(page: Page, **changed: Any) -> list[tuple[str, str]]:
    """What the form on a page would send, with some of its fields filled in otherwise; None leaves one out."""
    form = page.by_id("wish")
    said = []
    for one in page.elements:
        if not one.inside(form):
            continue
        if one.tag == "input" and one.get("type") == "checkbox" and one.get("checked") is None:
            continue
        if one.tag == "input" and one.get("name"):
            said.append((one["name"], one.get("value") or ""))
        if one.tag == "option" and one.get("selected") is not None:
            assert one.parent is not None
            said.append((one.parent["name"], one["value"]))
    kept = [(name, value) for name, value in said if name not in changed]
    return kept + [(name, value) for name, value in changed.items() if value is not None]


def machine(page: Page, name: str) -> Element:
    """The row of an appliance."""
    return next(one for one in page.all("li", kind="machine") if page_title(page, one) == name)


def page_title(page: Page, row: Element) -> str:
    return next(one.text for one in page.all("h3") if one.inside(row))


def loads(page: Page, name: str) -> list[str]:
    row = machine(page, name)
    return [one.text for one in page.all("summary") if one.inside(row)]


def beside(page: Page, name: str) -> str:
    """What is said beside the field of that name."""
    (field,) = [one for one in page.elements if one.get("name") == name and one.tag in ("input", "select")]
    assert field["aria-invalid"] == "true"
    return page.by_id(field["aria-describedby"]).text


def test_what_the_plan_has_comes_first(laundry: Laundry) -> None:
    """Its loads with when they may run, which of them may be moved, and everything else that a hand switches on."""
    page = laundry.get()
    names = [page_title(page, one) for one in page.all("li", kind="machine")]
    assert names == [
        "Washing machine", "Heat-pump dryer", "Dishwasher", "Induction hob", "Iron", "Lights",
        "Bread oven", "Vacuum cleaner", "Laptop", "Television",
    ]  # fmt: skip
    assert loads(page, "Washing machine")[0] == "Washing machine 1 now at 09:30, 08:00 to 18:00"
    assert loads(page, "Heat-pump dryer")[1] == (
        "Heat-pump dryer 2 now at 13:15, 09:00 to 19:00, after Washing machine 2 within 2 h"
    )
    assert loads(page, "Iron") == ["Iron now at 16:00, stays there"]
    moved = [one["name"] for one in page.all("input", type="checkbox") if one.get("checked") is not None]
    assert moved == ["move:wash-1", "move:wash-2", "move:dry-1", "move:dry-2", "move:dishes"]
    assert "unattended" in page.all(kind="caution")[0].text
    assert not [one for one in page.elements if one.get("id") == "found"]


def test_one_load_more_is_like_the_last_and_follows_its_wash(laundry: Laundry) -> None:
    """The buttons beside a number add and take away; a third dryer follows the third wash as the others do."""
    page = laundry.get(typed(laundry.get(), more="washer"))
    page = laundry.get(typed(page, more="dryer"))
    assert loads(page, "Washing machine")[2] == "Washing machine 3 new, 08:00 to 18:00"
    assert loads(page, "Heat-pump dryer")[2] == (
        "Heat-pump dryer 3 new, 09:00 to 19:00, after Washing machine 3 within 2 h"
    )
    page = laundry.get(typed(page, fewer="washer"))
    assert len(loads(page, "Washing machine")) == 2
    assert page.by_id("m0-n")["value"] == "2"


def test_a_day_is_found_at_once_and_goes_on_getting_better(laundry: Laundry) -> None:
    """The first answer has a day already; the page asks again by itself, or by a link, until the search has ended."""
    page = laundry.get(find="1")
    first = page.by_id("found")
    assert "now at" not in first.text
    assert "→" in first.text
    assert page.by_id("stop").text == "Stop here, keep the best"
    assert [one for one in page.all("a") if one.text == "See how far it is"]
    assert not page.all("input", name="tick")
    poll = first["hx-get"]
    assert laundry.house.client.get(poll, headers=HTMX).status_code == 204

    laundry.work()
    ended = laundry.house.client.get(poll, headers=HTMX)
    assert ended.status_code == 200
    page = Page(ended.text)
    assert page.by_id("found").get("hx-get") is None
    assert page.by_id("standing").text == "Proven. No day takes less through the battery."
    assert len(page.all("p", kind="reason")) == 5
    assert page.all("p", kind="verdict")[0].text.startswith(("Fits", "Only just"))
    figures = {one.text: one for one in page.all("th", scope="row")}
    assert list(figures) == [
        "Lowest charge", "Straight from the sun", "Through the battery", "Room left when it is tightest",
        "All of it done",
    ]  # fmt: skip
    assert [one.text for one in page.all("td", kind="better")][:2] == ["8.5 kWh, better", "2.4 kWh, better"]
    assert page.all("svg", kind="two-days")


def test_taken_as_one_step_and_taken_back(laundry: Laundry, htmx: bool) -> None:
    """All starts are stored at once, with what was wished of them; one step undoes it to the letter, and redoes it."""
    house = laundry.house
    before = house.document
    page = laundry.found()
    count = len(page.all("input", name="tick"))
    answer = laundry.send(page, htmx=htmx)
    assert answer.status_code == (204 if htmx else 303), answer.text
    assert (answer.headers.get("HX-Redirect") or answer.headers.get("Location")) == house.address()
    assert house.stored.revision == 2
    shown = {one["value"].split(" ", 1)[1]: one["value"].split(" ", 1)[0] for one in page.all("input", name="start")}
    assert {run: house.start_of(run) for run in shown} == shown
    day = house.page()
    assert f"Laundry day: {count} runs as before" in day.by_id("undo").text
    taken = house.document

    for way, wanted in (("undo", before), ("redo", taken)):
        day = house.page()
        button = day.by_id(way)
        form = next(one for one in day.all("form") if button.inside(one))
        house.client.post(form["action"], data=day.form(form) | {"way": way})
        assert house.document == wanted
    assert f"Laundry day: {count} runs as before" in house.page().by_id("undo").text


def test_new_loads_wishes_and_what_is_left_out_are_stored_with_it(laundry: Laundry) -> None:
    """A third wash with its dryer gets a place and keeps its window and order; a dishwasher not wanted is off."""
    house = laundry.house
    page = laundry.get(typed(laundry.get(), more="washer"))
    page = laundry.get(typed(page, more="dryer"))
    page = laundry.found(typed(page, **{"n:dishwasher": "0", "by:wash-1": "17:00"}))
    assert "left out" in page.by_id("found").text
    assert "adds 2 runs and leaves 1 run out" in page.by_id("found").text
    count = len(page.all("input", name="tick"))
    assert laundry.send(page).status_code == 303

    runs = {
        run["id"]: run for run in next(one for one in house.document["scenarios"] if one["id"] == "laundry")["runs"]
    }
    assert runs["dishes"]["on"] is False
    assert runs["wash-1"]["window"] == ["08:00", "17:00"]
    new_wash, new_dry = runs["washer-1"], runs["dryer-1"]
    assert new_wash["window"] == ["08:00", "18:00"]
    assert (new_dry["after"], new_dry["within_s"]) == ("washer-1", 7200)
    assert f"Laundry day: {count} runs as before" in house.page().by_id("undo").text
    assert len(loads(laundry.get(), "Washing machine")) == 3


def test_a_day_that_is_as_good_already_stays(laundry: Laundry) -> None:
    """Looked for again until nothing better is found, what was taken stays, and nothing is to be taken."""
    page = laundry.found()
    for _ in range(10):  # a search that its time cuts short leaves something for the next, and each is better
        assert laundry.send(page).status_code == 303
        page = laundry.found()
        if not page.all("input", name="tick"):
            break
    assert len(page.all("b", kind="bare")) == 5
    assert "stays at" in page.by_id("found").text
    assert not page.all("input", name="tick")


def test_part_of_a_day_is_shown_before_it_is_stored(laundry: Laundry) -> None:
    """With one tick gone, the day is assessed so, and stored only when it was seen; with none nothing is."""
    page = laundry.found()
    looked = laundry.send(page, ticks=["dishes"])
    assert looked.status_code == 200
    assert laundry.house.stored.revision == 1
    part = Page(looked.text)
    assert "Nothing is stored yet" in part.by_id("part").text
    assert part.by_id("take").text == "Take what is ticked"
    assert "Moves 1 run." in part.by_id("found").text

    assert laundry.send(page, ticks=[]).status_code == 422
    taken = laundry.send(part)
    assert taken.status_code == 303
    assert laundry.house.start_of("dishes") != "10:55"
    assert laundry.house.start_of("wash-1") == "09:30"
    assert "Laundry day: 1 run as before" in laundry.house.page().by_id("undo").text


def test_what_cannot_be_without_the_rest_keeps_day_and_ticks(laundry: Laundry) -> None:
    """One machine has two runs, of which one alone would run into the other: said beside what is ticked."""
    page = laundry.found()
    every = [one.attributes["value"] for one in page.all("input", name="tick")]
    refused = []
    for without in every:
        answer = laundry.send(page, ticks=[one for one in every if one != without])
        if answer.status_code == 422 and "cannot" in answer.text and Page(answer.text).all("div", id="cannot"):
            refused.append((without, Page(answer.text)))
    assert refused
    for without, shown in refused:
        assert "is one machine" in shown.by_id("cannot").text
        boxes = {one.attributes["value"]: "checked" in one.attributes for one in shown.all("input", name="tick")}
        assert boxes == {one: one != without for one in every}
        assert shown.by_id("take").text == "Take what is ticked"
        assert laundry.send(shown).status_code == 422  # it was not shown, so it is not taken
    assert laundry.house.stored.revision == 1


def test_what_follows_a_load_that_is_not_ticked_says_so(laundry: Laundry) -> None:
    """A new dryer load cannot be taken without the new wash it waits for."""
    house = laundry.house
    page = laundry.get(typed(laundry.get(), more="washer"))
    page = laundry.found(typed(laundry.get(typed(page, more="dryer"))))
    answer = laundry.send(page, ticks=["dryer*3"])
    assert answer.status_code == 422
    assert "It follows Washing machine 3, which is not ticked; tick that too." in Page(answer.text).by_id("found").text
    assert house.stored.revision == 1


def test_a_plan_that_changed_meanwhile_is_not_overwritten(laundry: Laundry, htmx: bool) -> None:
    """Another phone moved a run: nothing is stored, and what was wanted still stands in the form."""
    page = laundry.found(typed(laundry.get(), done_by="17:30"))
    laundry.house.send("shirts", "start", "17:00")
    answer = laundry.send(page, htmx=htmx)
    assert answer.status_code == 409
    assert "The plan was changed meanwhile" in Page(answer.text).by_id("wrong").text
    assert Page(answer.text).by_id("f-done_by")["value"] == "17:30"
    assert laundry.house.start_of("wash-1") == "09:30"


def test_a_plan_that_was_deleted_meanwhile_leads_to_another(laundry: Laundry) -> None:
    """The page of the plan that stands in its place says what happened."""
    house = laundry.house
    page = laundry.found()
    key = house.address().rsplit("/", 1)[1]
    with house.database.session() as session:
        apply(session, RemovePlan(household_key=house.key, scenario_key=key, tab="other", sequence=1, link_key=None))
        session.commit()
    answer = laundry.send(page)
    assert answer.status_code == 410
    assert "was deleted. This is" in Page(answer.text).by_id("wrong").text


@pytest.mark.parametrize(
    ("fields", "field", "says"),
    [
        ({"n:washer": "forty"}, "n:washer", "Give a whole number from 0 to 9."),
        ({"n:washer": "40"}, "n:washer", "Give a whole number from 0 to 9."),
        ({"from:wash-1": "soon"}, "from:wash-1", "Give a time of day as 18:00, or leave it empty."),
        ({"by:wash-1": "25:00"}, "by:wash-1", "Give a time of day as 18:00, or leave it empty."),
        ({"from:wash-1": "10:00", "by:wash-1": "10:30"}, "from:wash-1", "only 30 min; widen the window"),
        ({"within:dry-1": "some"}, "within:dry-1", "Give a length in minutes, or as h:mm"),
        ({"after:dry-1": "", "within:dry-1": "2 h"}, "within:dry-1", "choose which one it follows"),
        ({"within:dry-1": "2 min"}, "within:dry-1", "4 min after its end; give at least that"),
        ({"after:dry-1": "nobody"}, "after:dry-1", "There is no such load"),
        ({"after:dry-1": "\0"}, "after:dry-1", "There is no such load"),
        ({"after:dry-1": "wash\n1"}, "after:dry-1", "There is no such load"),
        ({"after:dry-1": "dry-1"}, "after:dry-1", "A load cannot follow itself"),
        ({"after:wash-1": "dry-1", "within:wash-1": ""}, "after:wash-1", "in a circle"),
        ({"n:washer": "0"}, "after:dry-1", "which is off"),
        ({"n:washer": "9"}, "n:washer", "9 runs take"),
        ({"done_by": "noon"}, "done_by", "Give a time of day as 18:00, or leave it empty."),
        ({"done_by": "07:00"}, "done_by", "give it more time"),
        ({"quiet_from": "22:00"}, "quiet_to", "Quiet hours need both ends"),
        ({"quiet_to": "<b>"}, "quiet_from", "Quiet hours need both ends"),
        ({"quiet_from": "07:00", "quiet_to": "07:00"}, "quiet_from", "give another end"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said_beside_its_field(
    laundry: Laundry, htmx: bool, fields: dict[str, str], field: str, says: str
) -> None:
    """In words, with everything as it was typed, and nothing is searched."""
    asked = typed(laundry.get(), **fields, find="1")
    answer = laundry.house.client.get(f"{laundry.house.address()}/laundry", params=asked, headers=HTMX if htmx else {})
    assert answer.status_code == 422
    page = Page(answer.text)
    assert says in beside(page, field)
    for name, value in fields.items():
        (shown,) = [one for one in page.elements if one.get("name") == name and one.tag in ("input", "select")]
        if shown.tag == "input":
            assert shown["value"] == value
    assert not [one for one in page.elements if one.get("id") == "found"]


def test_nonsense_in_every_field_is_refused_at_each(laundry: Laundry) -> None:
    """All at once, each beside its own field."""
    page = laundry.get()
    names = [name for name, _ in typed(page) if name.split(":")[0] in ("n", "from", "by", "within")]
    nonsense = dict.fromkeys([*names, "done_by", "quiet_from", "quiet_to"], "<i>¿\u202e")
    page = laundry.get(typed(page, **nonsense, find="1"), status=422)
    for name in ("n:washer", "from:wash-1", "by:dry-2", "within:dry-1", "done_by", "quiet_from", "quiet_to"):
        assert beside(page, name)
    assert not page.all("i")


def test_too_many_loads_and_none_are_refused(laundry: Laundry) -> None:
    """Twenty can be placed at once; and with nothing to place there is nothing to find."""
    page = laundry.get()
    many = {f"n:{one}": "9" for one in ("washer", "dryer", "dishwasher", "vacuum")}
    refused = laundry.get(typed(page, **many, find="1"), status=422)
    assert "36 loads are too many for one day; 20 at most" in refused.by_id("wrong").text
    none = {f"n:{one}": "0" for one in ("washer", "dryer", "dishwasher")}
    refused = laundry.get(typed(page, **none, find="1"), status=422)
    assert "Nothing is to be placed yet" in refused.by_id("wrong").text


def test_today_nothing_is_placed_in_the_past(laundry: Laundry) -> None:
    """Loads begin in the next five minutes at the earliest; what has begun stays; done before now is refused."""
    at(laundry.house, "11:02")
    page = laundry.get()
    assert loads(page, "Washing machine")[0].endswith("stays there")
    found = laundry.found(typed(page))
    starts = [one["value"].split(" ")[0] for one in found.all("input", name="start")]
    assert starts
    assert min(starts) >= "11:05"
    refused = laundry.get(typed(page, done_by="10:30", find="1"), status=422)
    assert "t is 11:05 already" in beside(refused, "done_by")


def test_nothing_fits_says_what_stands_in_the_way_and_what_would_help(
    laundry: Laundry, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Which loads, which limit, and changes of one thing, each with the day it leads to."""
    monkeypatch.setattr("app.web.laundry_day.SEARCH_S", 2.0)  # enough to be asked why
    house = laundry.house
    page = laundry.found(typed(laundry.get(), done_by="12:30"))
    assert page.by_id("h-found").text == "Nothing fits yet"
    assert "Washing machine" in page.by_id("standing").text
    helps = [one for one in page.all("a", kind="go") if one.text == "Show that day"]
    assert helps
    says = page.all("ul", kind="easings")[0].text
    assert "Let everything be done by 13:30." in says
    for one in helps:
        shown = Page(house.client.get(one["href"].split("#")[0]).text)
        assert shown.all("p", kind="verdict"), dict(parse_qsl(urlsplit(one["href"]).query))
    assert Page(house.client.get(helps[0]["href"].split("#")[0]).text).by_id("f-done_by")["value"] == "13:30"


def test_stopped_a_search_keeps_its_best_and_can_go_on(laundry: Laundry, htmx: bool) -> None:
    """The button stops it; once it has ended there is one to look on."""
    page = laundry.get(find="1")
    form = page.all("form", kind="steer")[0]
    sent = page.form(form) | {"do": "stop"}
    answer = laundry.house.client.post(form["action"], data=sent, headers=HTMX if htmx else {}, follow_redirects=False)
    assert answer.status_code == (200 if htmx else 303)
    laundry.work()
    page = laundry.get(find="1")
    assert page.by_id("standing").text.startswith(("Stopped.", "Proven."))
    assert page.all("input", name="tick")


def test_a_reader_may_look_and_not_take(
    house_of: Callable[..., House], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The day is found and shown; there is nothing to take it or stop the search with, and doing so is refused."""
    monkeypatch.setattr("app.web.laundry_day.SEARCH_S", 0.5)
    reader = house_of("reader")
    laundry = Laundry(reader, str(tmp_path / "jobs.sqlite3"))
    page = laundry.found()
    assert page.all("p", kind="verdict")
    assert not page.all("input", name="tick")
    assert not [one for one in page.elements if one.get("id") == "take"]
    assert not page.all("form", method="post")
    for end in ("take", "search"):
        answer = reader.client.post(f"{reader.address()}/laundry/{end}", data={"wish": "", "state": "x"})
        assert answer.status_code == 403
    assert reader.stored.revision == 1


def test_a_plan_with_a_parent_is_changed_in_its_own_patch(laundry: Laundry) -> None:
    """What is taken is said by the plan itself; its parent stays as it was."""
    house = laundry.house
    before, shed = (one for one in house.document["scenarios"] if one["id"] in ("ordinary", "shed"))
    page = laundry.found(typed(laundry.get(plan="shed"), **{"n:washer": "1", "from:bread": "10:00"}), "shed")
    assert laundry.send(page).status_code == 303
    after = {one["id"]: one for one in house.document["scenarios"]}
    assert after["ordinary"] == before
    said = after["shed"]["changes"]["runs"]
    assert set(said) >= {"sawing", "air", "bread", "washer-1"}
    assert said["bread"]["window"] == ["10:00", "16:00"]
    assert "id" not in said["washer-1"]
    day = house.page("shed")
    form = next(one for one in day.all("form") if day.by_id("undo").inside(one))
    house.client.post(form["action"], data=day.form(form) | {"way": "undo"})
    assert {one["id"]: one for one in house.document["scenarios"]}["shed"] == shed


def test_without_a_worker_there_is_a_first_look(laundry: Laundry, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no search can be started the page says so, and its first look can be taken."""

    def none(_: str) -> None:
        raise OSError("no processes left")

    laundry.house.client.app.state.jobs = Jobs(laundry.place, none)  # type: ignore[attr-defined]
    page = laundry.get(find="1")
    assert "could not be started" in page.by_id("found").text
    assert laundry.send(page).status_code == 303


def test_what_is_kept_apart_is_told_with_the_way_to_say_it(laundry: Laundry) -> None:
    """The household's own: a day that is found keeps to it, and whoever looks for one can see and change it."""
    told = laundry.get().all("p", kind="apart")[0]
    assert told.text == "No machines are kept apart. Say which never run together"
    pairs = [{"of": ["washer", "dishwasher"]}, {"of": ["dryer", "washer", "dishwasher"], "at_most": 2}]
    with laundry.house.database.session() as session:
        about = {"kind": "section", "name": "interlocks", "changes": [[[], pairs]]}
        apply(session, ChangePart(household_key=laundry.house.key, tab="t", sequence=1, link_key=None, **about))
        session.commit()
    page = laundry.get()
    assert (
        "Never together: Washing machine and Dishwasher. At most 2 at once: Heat-pump dryer, Washing"
        in page.all("p", kind="apart")[0].text
    )
    (way,) = [one for one in page.all("a") if one.text == "Say which never run together"]
    assert "Never together" in laundry.house.client.get(way["href"]).text


def test_who_only_reads_does_not_keep_others_from_their_search(house_of: Callable[..., House], tmp_path: Path) -> None:
    """Where several wait already a reader's wish has a first look alone, and says so; a helper's is begun."""
    helper = house_of("helper")
    laundry = Laundry(helper, str(tmp_path / "jobs.sqlite3"))
    jobs = helper.client.app.state.jobs  # type: ignore[attr-defined]
    for number in range(READER_BEHIND_AT_MOST + 1):
        jobs.ask("laundry", {"number": number})
    reader = house_of("reader", helper.key)
    reader.client.app.state.jobs = jobs  # type: ignore[attr-defined]
    page, address = laundry.get(), f"{helper.address()}/laundry"

    def answer(house: House, done_by: str) -> str:
        return str(house.client.get(address, params=typed(page, done_by=done_by, find="1")).text)

    assert BUSY not in answer(helper, "19:00")
    assert BUSY not in answer(reader, "19:00")
    assert BUSY in answer(reader, "20:00")
    jobs.close()
