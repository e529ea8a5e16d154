"""Records of sun on their pages: brought in, looked at, a day taken into the plan and out again."""

import datetime
import json
import re
from functools import cache
from typing import Any

import pytest

from app.engine.weather import LARGEST_BYTES
from app.store.households import duplicate_household
from app.web.guard import LARGEST_BODY
from tests.weather_files import epw, high_sun, table, typical_year
from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_editors import shown as shown_form


@cache
def quay() -> str:
    return typical_year()


def bring_in(house: House, content: str | bytes, name: str = "quay.epw", plan: str = "laundry", **fields: str) -> Any:
    address = f"{house.address(plan)}/weather"
    form = Page(house.client.get(address).text)
    sent = form.form(form.by_id("bring-in")) | fields
    data = content.encode() if isinstance(content, str) else content
    return house.client.post(address, data=sent, files={"file": (name, data)}, follow_redirects=False)


def taken_in(house: House, plan: str = "laundry") -> str:
    """The page of a record that was brought in."""
    answer = bring_in(house, quay(), plan=plan)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"]).partition("?")[0]


def press(house: House, page: Page, form: Any, **fields: str) -> Any:
    return house.client.post(form["action"], data=page.form(form) | fields, follow_redirects=False)


def form_with(page: Page, button: str) -> Any:
    return next(one for one in page.all("form") if page.by_id(button).inside(one))


def plan_of(house: House, plan: str = "laundry") -> dict[str, Any]:
    return next(one for one in house.document["scenarios"] if one["id"] == plan)


def test_the_plan_leads_there(house: House) -> None:
    """From the plan's own values; with nothing kept, the page says what a record is."""
    link = house.page().by_id("choose-measured_day")
    page = Page(house.client.get(link["href"]).text)

    assert link.text == "Choose a day"
    assert "None yet." in page.by_id("no-records").text
    assert "none taken" in house.page().by_id("plan-measured_day").text


def test_a_record_is_understood_and_shown(house: House) -> None:
    """Its place, its clock, its step, its columns and its days; the plan's own day is looked at first."""
    here = taken_in(house)
    page = Page(house.client.get(here).text)
    facts = page.by_id("understood").text

    assert "53.31° N, 9.82° W" in facts
    assert "UTC+0, standard time all year" in facts
    assert "a value every hour" in facts
    assert "global, direct and diffuse sun; outdoor temperatures" in facts
    assert "365 days, months out of the years 1997 to 2003" in facts
    assert page.by_id("day")["value"] == str(int(plan_of(house)["date"][8:]))
    assert page.by_id("shown-day").text.startswith("16 May 2003: ")
    assert not [one for one in page.elements if one.get("id") == "elsewhere"]
    listed = Page(house.client.get(here.rpartition("/")[0]).text).by_id("records")
    assert "Test Quay, CO, IRL" in listed.text


def test_how_warm_a_day_was_is_in_the_households_degrees(house: House) -> None:
    """As everywhere else."""
    here = taken_in(house)
    asked = {"day": "3", "month": "6"}
    celsius = Page(house.client.get(here, params=asked).text).by_id("shown-day").text
    formats = shown_form(Page(house.client.get(f"{house.address()}/household").text), "formats")
    house.client.post(f"{house.address()}/household", data=formats | {"temperature": ["F"]})
    fahrenheit = Page(house.client.get(here, params=asked).text).by_id("shown-day").text

    assert re.search(r"\b10 to 1\d °C", celsius)
    assert re.search(r"\b50 to [56]\d °F", fahrenheit)


def test_a_day_is_taken_with_its_temperatures_and_undone(house: House) -> None:
    """In one step: the plan has the record's figures, says so, and one undo brings back both."""
    before = plan_of(house)
    here = taken_in(house)
    page = Page(house.client.get(here, params={"day": "3", "month": "6"}).text)
    answer = press(house, page, form_with(page, "take-day"))

    assert answer.status_code == 303
    taken = plan_of(house)
    assert taken["measured_day"]["on"][4:] == "-06-03"
    assert len(taken["measured_day"]["ghi_w_m2"]) == 48
    assert max(taken["measured_day"]["ghi_w_m2"]) == round(high_sun(datetime.datetime(2001, 6, 3, 12, 30)))
    # The record keeps standard time; the plan's clock in May is an hour ahead.
    assert taken["ambient_c"][:3] == [[0, 12.2], [1, 12.3], [2, 10.0]]
    assert len(taken["ambient_c"]) == 24
    shown = house.page()
    assert "sun of Test Quay, CO, IRL, 3 Jun 1997" in shown.by_id("day-plan").text
    assert "not used: the sun is that of the measured day" in shown.by_id("help-cloud_oktas").text
    undo = shown.by_id("undo")
    assert "Sun back to that of the sky" in undo.text
    press(house, shown, form_with(shown, "undo"))
    assert plan_of(house) == before
    assert "Redo: Sun set to that of Test Quay, CO, IRL, 3 Jun 1997" in house.page().by_id("redo").text


@pytest.mark.parametrize("from_plan", [True, False])
def test_it_is_taken_out_again(house: House, from_plan: bool) -> None:
    """On the plan's sheet or on the records' page; the temperatures stay."""
    here = taken_in(house)
    page = Page(house.client.get(here).text)
    press(house, page, form_with(page, "take-day"))
    page = house.page() if from_plan else Page(house.client.get(here).text)
    answer = press(house, page, form_with(page, "set-measured_day" if from_plan else "leave-day"))

    assert answer.status_code == 303
    assert plan_of(house).get("measured_day") is None
    assert len(plan_of(house)["ambient_c"]) == 24
    assert "Undo: Sun back to that of Test Quay, CO, IRL, 16 May 2003" in house.page().by_id("undo").text


def test_a_removed_record_comes_back_and_plans_keep_their_days(house: House) -> None:
    """Removing is one step that can be undone; a day that was taken is the plan's own."""
    here = taken_in(house)
    page = Page(house.client.get(here).text)
    press(house, page, form_with(page, "take-day"))
    page = Page(house.client.get(here).text)
    answer = press(house, page, form_with(page, "remove"))
    assert answer.status_code == 303
    records = here.rpartition("/")[0]
    page = Page(house.client.get(records).text)

    assert page.by_id("no-records")
    assert plan_of(house)["measured_day"]["source"] == "Test Quay, CO, IRL"
    gone = [house.client.get(here), house.client.post(f"{here}/day", data={"day": "1", "month": "1"})]
    gone.append(house.client.post(f"{here}/remove", data={"tab": "t7", "sequence": "1"}))
    assert [answer.status_code for answer in gone] == [410, 410, 410]
    assert all("emoved meanwhile" in Page(answer.text).by_id("wrong").text for answer in gone)
    assert "Sun record Test Quay, CO, IRL back" in page.by_id("undo").text
    press(house, page, form_with(page, "undo"))
    assert house.client.get(here).status_code == 200


def test_a_file_in_the_households_place_leaves_the_records(house: House) -> None:
    """A household file says nothing of them."""
    here = taken_in(house)
    document = house.document | {"name": "Saltmarsh again"}
    address = f"/households/{house.key}/file"
    sent = {"text": json.dumps(document), "revision": str(house.stored.revision), "tab": "t"}
    assert house.client.post(address, data=sent, follow_redirects=False).status_code == 303

    assert house.client.get(here).status_code == 200


def test_the_same_place_twice_gets_a_number(house: House) -> None:
    """Two records are told apart by their names."""
    taken_in(house)
    second = taken_in(house)

    assert "Test Quay, CO, IRL 2" in house.client.get(second).text


def test_a_plan_with_a_parent_takes_a_day_of_its_own(house: House) -> None:
    """Among its changes; the parent stays as it is, and the parent's can be had back."""
    here = taken_in(house, plan="shed")
    page = Page(house.client.get(here).text)
    press(house, page, form_with(page, "take-day"))

    assert "measured_day" in plan_of(house, "shed")["changes"]["day"]
    assert "ambient_c" in plan_of(house, "shed")["changes"]["day"]
    assert "measured_day" not in plan_of(house, "shed")
    assert house.page("shed").by_id("parents-measured_day").text == "Take that of An ordinary day: none taken"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "this file is empty"),
        (b"PK\x03\x04\x14\x00", "this file is packed; unpack it first and give the file inside"),
        (bytes(range(256)) * 50, "this is no text file"),
        (b"name,colour\na,b\n", "no line names columns of time and sun"),
    ],
)
def test_what_is_no_weather_file_is_refused_in_words(house: House, content: bytes, says: str) -> None:
    """With status 422 beside the file; nothing is stored."""
    answer = bring_in(house, content, "any.csv")

    assert answer.status_code == 422
    assert says in Page(answer.text).by_id("fault-file").text
    assert house.stored.revision == 1


def test_every_line_that_is_wrong_is_named(house: House) -> None:
    """With its number; and how times were said to be meant stays chosen."""
    lines = table(datetime.datetime(2026, 5, 1), 48)
    lines[20] = "2026-05-01 19:00,bright,12"
    lines[30] = "2026-05-32 05:00,0,12"
    answer = bring_in(house, "\n".join(lines), "roof.csv", clock="utc")
    page = Page(answer.text)

    assert answer.status_code == 422
    assert "line 21: GHI (W/m2): 'bright' is no number" in page.by_id("fault-file").text
    assert "line 31: '2026-05-32 05:00' is not a day and time" in page.by_id("fault-file").text
    assert [one["value"] for one in page.all("option") if one.get("selected") is not None] == ["utc", "auto"]


@pytest.mark.parametrize("size", [LARGEST_BYTES + 1, LARGEST_BODY + 5_000_000])
def test_noise_is_refused_by_its_size(house: House, size: int) -> None:
    """Without being read."""
    answer = bring_in(house, b"x" * size, "noise.csv")

    assert answer.status_code == 413
    assert "at most 5 MB are taken" in Page(answer.text).by_id("fault-file").text


def test_no_file_chosen_says_so(house: House) -> None:
    answer = bring_in(house, b"", "")

    assert answer.status_code == 422
    assert "choose a file first" in Page(answer.text).by_id("fault-file").text


def test_a_record_of_some_way_off_is_told_and_one_of_far_away_refused(house: House) -> None:
    """A degree and more is said before a day is taken; beyond ten the sun itself is another."""
    steps = [
        (datetime.datetime(2003, 5, 12, hour), round(high_sun(datetime.datetime(2003, 5, 12, hour, 30))), 0, 0, 9)
        for hour in range(24)
    ]
    near = bring_in(house, epw(steps, latitude=51.0, longitude=-9.0))
    far = bring_in(house, epw(steps, latitude=-33.0, longitude=-9.0))

    page = Page(house.client.get(near.headers["location"]).text)
    assert "measured elsewhere: about 260 km from your household" in page.by_id("elsewhere").text
    assert far.status_code == 422
    assert "33.0° S, 9.0° W" in Page(far.text).by_id("fault-file").text


@pytest.mark.parametrize(
    ("asked", "status", "says"),
    [
        ({"day": "30", "month": "2"}, 422, "‘30’ is not a day of February"),
        ({"day": "soon", "month": "5"}, 422, "‘soon’ is not a day of May"),
        ({"day": "29", "month": "2"}, 200, "This record has no 29 February; 28 Feb 2003 is taken instead."),
        ({"day": "3", "month": "99"}, 200, "3 May"),
    ],
)
def test_a_day_that_is_asked_for(house: House, asked: dict[str, str], status: int, says: str) -> None:
    answer = house.client.get(taken_in(house), params=asked)

    assert answer.status_code == status
    assert says in Page(answer.text).by_id("choose").text


def test_a_short_record_says_which_days_it_has(house: House) -> None:
    """The plan's own day is not among them: nothing can be taken until another is chosen."""
    answer = bring_in(house, "\n".join(table(datetime.datetime(2026, 7, 1), 96)), "roof.csv")
    here = answer.headers["location"].partition("?")[0]
    shown = house.client.get(here)
    assert shown.status_code == 422
    assert "it has 1 Jul 2026 to 4 Jul 2026" in Page(shown.text).by_id("fault-day").text
    sent = {"tab": "t9", "sequence": "1", "revision": "2", "day": "9", "month": "7"}
    assert house.client.post(f"{here}/day", data=sent).status_code == 422


def test_a_reader_sees_and_changes_nothing(house_of: Any) -> None:
    here = taken_in(house_of("owner"))
    reader = house_of("reader")
    page = Page(reader.client.get(here).text)

    assert not page.all("button", id="take-day")
    assert reader.client.post(f"{here}/remove", data={}).status_code == 403
    assert bring_in_refused(reader, here)


def bring_in_refused(reader: House, here: str) -> bool:
    answer = reader.client.post(here.rpartition("/")[0], files={"file": ("a.csv", b"x")})
    return bool(answer.status_code == 403)


@pytest.mark.parametrize(
    ("typed", "status", "stored"),
    [("5,2", 303, 5200), ("12 kWh", 303, 12000), ("lots", 422, None), ("-1", 422, None), ("", 303, None)],
)
def test_an_expected_yield_is_told_in_kilowatt_hours(
    house: House, typed: str, status: int, stored: float | None
) -> None:
    """Empty is by the sky; what cannot be stays in its field with why."""
    page = house.page()
    form = page.by_id("plan-expected_yield_wh")
    answer = press(house, page, form, value=typed)

    assert answer.status_code == status
    assert plan_of(house).get("expected_yield_wh") == stored
    if status == 422:
        page = Page(answer.text)
        assert page.by_id("value-expected_yield_wh")["value"] == typed
        assert "is not an amount of energy; give kWh" in page.by_id("fault-expected_yield_wh").text
    elif stored:
        assert "Undo: Expected yield back to as the sky lets" in house.page().by_id("undo").text


@pytest.mark.parametrize(
    "query", ["month=0122", "month=13&day=9", "day=99999999999999", "day=٣", "year=99999", "month=x"]
)
def test_nonsense_in_the_address_is_no_fault_of_ours(house: House, query: str) -> None:
    """The plan's own month, or words beside the field."""
    assert house.client.get(f"{taken_in(house)}?{query}").status_code in (200, 422)


def test_a_day_that_is_a_number_of_many_digits_is_refused(house: House) -> None:
    """As any day that is none."""
    address = taken_in(house)
    page = Page(house.client.get(address).text)
    form = next(one for one in page.all("form") if one["action"].endswith("/day"))
    sent = page.form(form) | {"day": "99999999999999"}

    assert house.client.post(form["action"], data=sent, follow_redirects=False).status_code == 422


def test_a_copied_household_has_the_records_too(house: House) -> None:
    """Under keys of their own: taking one out of the copy leaves the original's."""
    taken_in(house)
    with house.database.session() as session:
        key = duplicate_household(session, house.key, "Another one", None)
        session.commit()
    copy = House(house.database, house.client, key)

    def records(one: House) -> list[str]:
        page = Page(one.client.get(f"{one.address('laundry')}/weather").text)
        return [link["href"].rpartition("/")[2] for link in page.all("a") if "/weather/" in (link.get("href") or "")]

    assert len(records(house)) == len(records(copy)) == 1
    assert records(house) != records(copy)
    assert copy.client.get(f"{copy.address('laundry')}/weather/{records(copy)[0]}").status_code == 200
