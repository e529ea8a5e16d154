"""The sheet that puts an appliance on the day, and what a tap on a track sends."""

import datetime
import json
from typing import Any

import pytest

from app.web.views import add
from tests.web.conftest import HTMX, House
from tests.web.markup import Element, Page


def sheet(house: House, plan: str = "laundry", find: str = "") -> Page:
    """A plan's page with the sheet unfolded."""
    answer = house.client.get(f"{house.address(plan)}?part=add&unfold=day-add&find={find}")
    assert answer.status_code == 200
    return Page(answer.text)


def items(page: Page) -> dict[str, Element]:
    """The appliances on the sheet, by name."""
    return {one["data-name"]: one for one in page.all("li") if one.get("data-name")}


def put(house: House, appliance: str, start: str, plan: str = "laundry", htmx: bool = False, **fields: Any) -> Any:
    """Put an appliance on the day, as the sheet or a tap on a track does."""
    form = {"appliance": appliance, "start": start, "revision": 1, "tab": "t1", "sequence": 1}
    return house.client.post(
        f"{house.address(plan)}/runs",
        data=form | fields,
        headers=HTMX if htmx else {},
        follow_redirects=False,
    )


def last_run(house: House, plan: str = "laundry") -> dict[str, Any]:
    scenario = next(one for one in house.document["scenarios"] if one["id"] == plan)
    return dict(scenario["runs"][-1])


def test_the_sheet_is_written_when_it_is_unfolded(house: House) -> None:
    """The day's page carries only the way to it."""
    page = house.page()

    assert not items(page)
    (link,) = [one for one in page.all("a", kind="unfold") if one.inside(page.by_id("day-add"))]
    fragment = house.client.get(link["href"], headers=HTMX)
    assert items(Page(fragment.text))
    assert "<html" not in fragment.text


def test_the_sheet_has_everything_that_can_be_placed(house: House) -> None:
    """Every appliance but those that are always on, each with what it draws, how long, how much, and when it runs."""
    found = items(sheet(house))

    assert set(found) == {one["name"] for one in house.document["appliances"] if not one.get("always_on")}
    assert "2.0 kW, 1 h 16 min, 853 Wh" in found["Washing machine"].text
    assert "on this day at 09:30, 10:48" in found["Washing machine"].text
    assert "on this day" not in found["Bread oven"].text


def test_the_sheet_finds_without_a_script(house: House) -> None:
    """Looking for a part of a name leaves those that have it; none found is said."""
    assert set(items(sheet(house, find="DISH"))) == {"Dishwasher"}
    assert sheet(house, find="zeppelin").by_id("none-found").get("hidden") is None
    assert sheet(house, find="dish").by_id("find-appliance")["value"] == "dish"


def test_a_machine_is_offered_a_time_at_which_it_is_free(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """On another day from the morning on; today from the next half hour; never on its own other run."""
    page = sheet(house)
    found = items(page)

    def offered(name: str) -> str:
        return next(one["value"] for one in page.all("input", name="start") if one.inside(found[name]))

    assert offered("Bread oven") == "08:00"
    house.send("wash-1", "start", "08:10")
    page = sheet(house)
    found = items(page)
    assert offered("Washing machine") == "09:30"  # 08:00 runs into 08:10, and so does the double after it

    class Noon(datetime.datetime):
        @classmethod
        def now(cls, tz: datetime.tzinfo | None = None) -> "Noon":
            return cls(2026, 5, 16, 12, 3, tzinfo=tz)

    monkeypatch.setattr(add.datetime, "datetime", Noon)
    page = sheet(house)
    found = items(page)
    assert offered("Bread oven") == "12:30"


def test_an_appliance_is_put_on_the_day_and_opened(house: House, htmx: bool) -> None:
    """The new run is stored, and the answer shows it opened, the sheet beside it."""
    answer = put(house, "bread-oven", "7:30", htmx=htmx)
    run = last_run(house)
    key = house.stored.run_keys["laundry", run["id"]].key

    assert answer.status_code == (200 if htmx else 303)
    assert (run["appliance"], run["start"]) == ("bread-oven", "07:30")
    if htmx:
        page = Page(answer.text)
        assert page.by_id(f"adjust-{key}")
        assert page.by_id("day-add")["hx-swap-oob"] == "true"
    else:
        assert answer.headers["location"].partition("#")[0].endswith(f"?run={key}")


def test_the_sheets_own_form_does_what_it_says(house: House) -> None:
    """Sent as it stands, it puts the appliance at the offered time; what is there can be put there again."""
    page = sheet(house)
    item = items(page)["Washing machine"]
    (form,) = [one for one in page.all("form") if one.inside(item)]
    (start,) = [one for one in page.all("input", name="start") if one.inside(form)]
    answer = house.client.post(form["action"], data=page.form(form) | {"start": start["value"]}, follow_redirects=False)

    assert answer.status_code == 303
    assert (last_run(house)["appliance"], last_run(house)["start"]) == ("washer", start["value"])


TAKEN = (
    "There is a run of Washing machine from 09:30 to 10:46 already;"
    " begin at 08:14 or earlier, at 12:04 or later, or move that run."
)


@pytest.mark.parametrize(("start", "why"), [("09:40", TAKEN), ("late", "from 00:00 to 23:59")])
def test_what_cannot_be_put_there_is_said_beside_its_time(house: House, htmx: bool, start: str, why: str) -> None:
    """Status 422, the item's message, what was typed kept, the sheet unfolded, and nothing stored."""
    before = house.document
    answer = put(house, "washer", start, htmx=htmx)
    page = Page(answer.text)
    item = items(page)["Washing machine"]
    field = next(one for one in page.all("input", name="start") if one.inside(item))

    assert answer.status_code == 422
    assert page.by_id("day-add").get("open") is not None
    assert (field["value"], field["aria-invalid"]) == (start, "true")
    assert why in page.by_id(field["aria-describedby"]).text
    assert house.document == before


@pytest.mark.parametrize("appliance", ["fridge", "nobody", ""])
def test_what_cannot_be_placed_is_not(house: House, appliance: str) -> None:
    """An appliance that is always on, or is none, is refused, whoever asks."""
    before = house.document

    assert put(house, appliance, "10:00").status_code == 422
    assert house.document == before


def test_a_refused_addition_keeps_what_was_looked_for(house: House, htmx: bool) -> None:
    """The search is as it was, and so is what it found."""
    answer = put(house, "washer", "late", htmx=htmx, find="WASH")
    page = Page(answer.text)

    assert page.by_id("find-appliance")["value"] == "WASH"
    assert set(items(page)) == {"Dishwasher", "Washing machine"}
    kept = [one["value"] for one in page.all("input", name="find") if one.get("type") == "hidden"]
    assert kept == ["WASH", "WASH"]


def test_far_too_long_a_time_is_refused_beside_it(house: House, htmx: bool) -> None:
    """However long, it stays where it was typed."""
    answer = put(house, "washer", "9" * 30_000, htmx=htmx)
    page = Page(answer.text)
    field = next(one for one in page.all("input", name="start") if one.inside(items(page)["Washing machine"]))

    assert answer.status_code == 422
    assert len(field["value"]) == 30_000
    assert "from 00:00 to 23:59" in page.by_id(field["aria-describedby"]).text


def test_a_tap_before_another_run_is_refused_for_itself(house: House, htmx: bool) -> None:
    """The words are about the run that was tapped in, not about the one that is there."""
    answer = put(house, "iron", "15:45", htmx=htmx)
    message = Page(answer.text).all(kind="fault")[0].text

    assert answer.status_code == 422
    assert message == (
        "There is a run of Iron from 16:00 to 16:30 already, and this one would last until 16:15;"
        " begin at 15:30 or earlier, at 16:30 or later, or move that run."
    )


def with_open_end(house: House) -> str:
    """A household whose extractor runs as long as each run says; the address of its ordinary day."""
    document = house.document
    document["appliances"].append(
        {"id": "extractor", "name": "Dust extractor", "stages": [{"duration_s": None, "watts": 850}]}
    )
    answer = house.client.post("/import", data={"text": json.dumps(document)}, follow_redirects=False)
    return str(answer.headers["location"])


def test_what_has_no_length_is_asked_for_one(house: House) -> None:
    """The item has a field for it; a tap on a track, which gives none, means half an hour."""
    plan = with_open_end(house)
    found = items(Page(house.client.get(f"{plan}?part=add&unfold=day-add").text))
    assert "lasts" in found["Dust extractor"].text
    form = {"appliance": "extractor", "start": "10:00", "revision": 1, "tab": "t1", "sequence": 1}
    refused = house.client.post(f"{plan}/runs", data=form | {"length": "ages"})
    assert refused.status_code == 422
    page = Page(refused.text)
    field = next(one for one in page.all("input", name="length") if one["value"] == "ages")
    assert "in minutes" in page.by_id(field["aria-describedby"]).text
    for number, length in enumerate(({"length": "1 h"}, {})):
        sent = form | {"start": f"1{number * 3}:00", "sequence": number + 2} | length
        assert house.client.post(f"{plan}/runs", data=sent, follow_redirects=False).status_code == 303
    text = house.client.get(plan).text
    assert "Dust extractor, 10:00 to 11:00" in text
    assert "Dust extractor, 13:00 to 13:30" in text


def test_only_rows_of_runs_can_be_tapped_to_add(house: House) -> None:
    """What is always on, or comes on with something else, is not put on the day by a tap."""
    page = house.page()
    tappable = {one["data-appliance"] for one in page.elements if one.get("data-appliance")}

    assert {"washer", "dryer", "hob"} <= tappable
    assert tappable.isdisjoint({"well-pump", "fridge", "base", ""})
    for link in page.all("a", kind="plus"):
        assert sheet(house).by_id(link["href"].partition("#")[2])


def test_who_only_looks_gets_no_way_to_add(house_of: Any) -> None:
    """A reader's page has tracks that do nothing, and no sheet."""
    reader = house_of("reader")
    page = reader.page()

    assert not page.all("a", kind="plus")
    assert not [one for one in page.elements if one.get("id") == "day-add" or one.get("data-appliance")]
    assert put(reader, "washer", "07:00").status_code == 403
