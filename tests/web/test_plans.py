"""This plan's own values, and which plans there are: changed in place, or refused beside the field."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from app.household.demo import demo_text
from app.store.households import import_household
from app.store.links import make_link
from app.store.session import Database
from tests.households import with_plans
from tests.web.conftest import HTMX, House, houses
from tests.web.markup import Page

FIELDS = (
    ("name", "Washing day", "name", "Washing day"),
    ("date", "2026-06-01", "date", "2026-06-01"),
    ("date", "1. 6. 2026", "date", "2026-06-01"),
    ("date", "1 June 2026", "date", "2026-06-01"),
    ("cloud_oktas", "7", "cloud_oktas", 7),
    ("cloud_oktas", "2,5", "cloud_oktas", 2.5),
    ("start_state_of_charge", "75", "start_state_of_charge", 0.75),
    ("start_state_of_charge", "67,5 %", "start_state_of_charge", 0.675),
    ("wanted_margin", "0", "wanted_margin", 0),
    ("wanted_margin", "0.5 %", "wanted_margin", 0.005),
)
BAD = (
    ("name", "   ", "Give it a name, such as Rainy day."),
    ("name", "x" * 201, "At most 200 characters, please; here are 201."),
    ("date", "", "No day is given; give one as 2026-05-12 or 12 May 2026."),
    ("date", "next week", "‘next week’ is not a day; give one as 2026-05-12 or 12 May 2026."),
    ("date", "31.2.2026", "‘31.2.2026’ is not a day; give one as 2026-05-12 or 12 May 2026."),
    ("date", "2026-02-31", "Give a day as YYYY-MM-DD, from 1970 to 2200."),
    ("date", "0002-05-12", "Give a day as YYYY-MM-DD, from 1970 to 2200."),
    ("cloud_oktas", "9", "‘9’ is not a cloud cover; give eighths of the sky, from 0 to 8."),
    ("cloud_oktas", "grey", "‘grey’ is not a cloud cover; give eighths of the sky, from 0 to 8."),
    ("start_state_of_charge", "0.75", "0.75 would be less than 1 %; write 75 for 75 %."),
    ("start_state_of_charge", "full", "‘full’ is not a percentage; give a number from 0 to 100, such as 75 or 67.5."),
    ("start_state_of_charge", "", "Nothing is given; give a number from 0 to 100, such as 75 or 67.5."),
    ("wanted_margin", "120", "‘120’ is not a percentage; give a number from 0 to 100, such as 75 or 67.5."),
    ("wanted_margin", "-5", "‘-5’ is not a percentage; give a number from 0 to 100, such as 75 or 67.5."),
)


def send(house: House, what: str, plan: str = "laundry", htmx: bool = False, **fields: Any) -> Any:
    """A form of the plan, as a browser without the script sends it, or as the script does."""
    form = {"revision": house.stored.revision, "tab": "t1", "sequence": 1}
    return house.client.post(
        f"{house.address(plan)}/{what}",
        data=form | fields,
        headers=HTMX if htmx else {},
        follow_redirects=False,
    )


def scenario(house: House, plan: str = "laundry") -> dict[str, Any]:
    return next(one for one in house.document["scenarios"] if one["id"] == plan)


def names(house: House) -> list[str]:
    return [one.name for one in house.stored.scenarios]


@pytest.mark.parametrize(("field", "typed", "stored", "value"), FIELDS)
def test_each_value_is_changed_in_place(
    house: House, htmx: bool, field: str, typed: str, stored: str, value: object
) -> None:
    """What is typed is stored as the file has it, and the sheet shows it, still unfolded."""
    answer = send(house, "plan", htmx=htmx, field=field, value=typed)
    page = Page(answer.text if htmx else house.client.get(answer.headers["location"]).text)

    assert answer.status_code == (200 if htmx else 303)
    assert scenario(house)[stored] == value
    assert page.by_id("plan-sheet").get("open") is not None
    assert not page.all(role="alert", kind="fault")


@pytest.mark.parametrize(("field", "typed", "why"), BAD)
def test_what_cannot_be_is_said_beside_its_field(house: House, htmx: bool, field: str, typed: str, why: str) -> None:
    """Status 422; the field keeps what was typed and names its message; nothing is stored."""
    before = house.document
    answer = send(house, "plan", htmx=htmx, field=field, value=typed)
    page = Page(answer.text)
    value = page.by_id(f"value-{field}")
    message = page.by_id(value["aria-describedby"].split()[0])

    assert answer.status_code == 422
    assert message.text == why
    assert value["aria-invalid"] == "true"
    assert value.tag == "select" or value["value"] == typed
    assert house.document == before


def test_a_day_that_its_time_zone_left_out_is_said_beside_the_date(database: Database) -> None:
    """What is refused in a file is refused in the field as well, with the zone that decides."""
    document = with_plans("ordinary")
    document["site"]["timezone"] = "Pacific/Apia"
    there = houses(database, document)("owner")
    answer = send(there, "plan", "ordinary", field="date", value="2011-12-30")
    value = Page(answer.text).by_id("value-date")

    assert answer.status_code == 422
    assert Page(answer.text).by_id(value["aria-describedby"].split()[0]).text == (
        "Pacific/Apia left 2011-12-30 out of its calendar; give another day."
    )


def test_the_temperatures_are_stored_in_the_order_of_the_day(house: House, htmx: bool) -> None:
    """Times as clock or hours, commas, either minus sign and an empty line are taken; one command for the list."""
    answer = send(
        house, "plan", htmx=htmx, field="ambient_c",
        hour=["15:30", "6", "", "0900"], degrees=["21", "−2,5", "", " 12 °C"],
    )  # fmt: skip

    assert answer.status_code == (200 if htmx else 303)
    assert scenario(house)["ambient_c"] == [[6, -2.5], [9, 12], [15.5, 21]]
    assert house.stored.revision == 2


def test_a_line_of_the_temperatures_is_removed(house: House, htmx: bool) -> None:
    """Its button leaves out that line and keeps the rest; the page shows an empty line for one more."""
    send(house, "plan", htmx=htmx, field="ambient_c", hour=["5", "15", ""], degrees=["9", "20", ""], without="0")
    page = house.page()

    assert scenario(house)["ambient_c"] == [[15, 20]]
    assert [one["value"] for one in page.all("input", name="hour")] == ["15:00", ""]


@pytest.mark.parametrize(
    ("hours", "degrees", "why"),
    [
        (["25:00"], ["12"], "Line 1: ‘25:00’ is not a time of day; give one from 00:00 to 23:59."),
        (["6"], ["warm"], "Line 1: ‘warm’ is not a temperature; give degrees, such as 19 or −2,5."),
        (["6"], [""], "Line 1: the temperature is missing; give degrees, such as 19 or −2,5."),
        ([""], ["6"], "Line 1: the time is missing; give one from 00:00 to 23:59."),
        (["6"], ["200"], "Line 1: 200 is too warm; give degrees from −80 to 120."),
        (["6", "06:00"], ["1", "2"], "Line 2: 06:00 is in line 1 already; give each time once."),
        ([""], [""], "Give at least one line: a time of day, and how warm it is then."),
    ],
)
def test_temperatures_that_cannot_be_keep_what_was_typed(
    house: House, htmx: bool, hours: list[str], degrees: list[str], why: str
) -> None:
    """Each message names its line, and every line stands there as it was typed."""
    answer = send(house, "plan", htmx=htmx, field="ambient_c", hour=hours, degrees=degrees)
    page = Page(answer.text)
    shown = [one["value"] for one in page.all("input", name="hour")]

    assert answer.status_code == 422
    assert page.by_id("fault-ambient_c").text == why
    assert shown[: len(hours)] == hours
    assert [one["value"] for one in page.all("input", name="degrees")][: len(degrees)] == degrees
    assert house.stored.revision == 1


def test_what_is_said_already_is_no_change(house: House, htmx: bool) -> None:
    """Setting a value to what it is stores nothing, so that no step back is empty."""
    answer = send(house, "plan", htmx=htmx, field="cloud_oktas", value="2")

    assert answer.status_code == (200 if htmx else 303)
    assert house.stored.revision == 1


def test_a_change_to_the_plan_comes_back_as_every_part_it_touches(house: House) -> None:
    """The script gets sheet and head beside everything an assessment shows, the rows for the place that asked."""
    page = Page(send(house, "plan", htmx=True, field="cloud_oktas", value="8").text)
    parts = {one["id"]: one.get("hx-swap-oob") for one in page.elements if one.parent is None and one.get("id")}

    assert parts["day-rows"] is None
    assert {"day-head", "day-plan", "day-verdict", "day-steps"} <= set(parts)
    assert all(how for part, how in parts.items() if part != "day-rows")


def test_what_is_typed_at_another_field_is_left_alone(house: House) -> None:
    """Every form of the sheet but the one that was sent stays on the page as it is."""
    page = Page(send(house, "plan", htmx=True, field="cloud_oktas", value="8").text)
    forms = {one["id"]: one.get("hx-preserve") for one in page.all("form", kind="value")}

    assert forms.pop("plan-cloud_oktas") is None
    assert len(forms) == 7
    assert set(forms.values()) == {"true"}


def test_a_plan_with_a_parent_says_what_comes_from_there(house: House, htmx: bool) -> None:
    """An inherited value names its plan; one of its own can be given up for the parent's."""
    page = house.page("shed")
    forms = {one["id"]: one.text for one in page.all("form", kind="value")}

    assert "from An ordinary day" in forms["plan-start_state_of_charge"]
    assert "from An ordinary day" not in forms["plan-cloud_oktas"]
    assert page.by_id("parents-cloud_oktas").text == "Take that of An ordinary day: half cloudy, 3 of 8"

    answer = send(house, "plan", "shed", htmx, field="cloud_oktas", value="1", parents="true")
    assert answer.status_code == (200 if htmx else 303)
    assert "cloud_oktas" not in scenario(house, "shed")["changes"]["day"]
    assert "from An ordinary day" in house.page("shed").by_id("plan-cloud_oktas").text


def test_a_plan_with_a_parent_keeps_its_own_values_among_its_changes(house: House) -> None:
    """The parent stays as it is, and the plan of its own stands over it."""
    send(house, "plan", "shed", field="start_state_of_charge", value="40")

    assert scenario(house, "shed")["changes"]["day"]["start_state_of_charge"] == 0.4
    assert scenario(house, "ordinary")["start_state_of_charge"] == 0.7


def gone_to(answer: Any, htmx: bool) -> str:
    """Where an answer leads: the script by its own header, a browser by a redirection."""
    assert answer.status_code == (204 if htmx else 303)
    return str(answer.headers["hx-redirect" if htmx else "location"])


def test_a_new_plan_is_empty_and_is_gone_to(house: House, htmx: bool) -> None:
    """It has the name that was typed and no runs, and its page says what to do next."""
    page = Page(house.client.get(gone_to(send(house, "plans", htmx=htmx, name="Bake day"), htmx)).text)

    assert names(house)[-1] == "Bake day"
    assert page.by_id("day-verdict").text.startswith("Nothing is planned yet. Add an appliance to see when it fits.")


@pytest.mark.parametrize("plan", ["laundry", "shed"])
def test_a_copy_has_everything_the_plan_has(house: House, htmx: bool, plan: str) -> None:
    """Runs, values and parent are the same; it stands behind its original, under another name."""
    answer = send(house, "plans", plan, htmx, name="Another one", copied="true")
    before = scenario(house, plan)
    place = [one["id"] for one in house.document["scenarios"]].index(plan)
    copy = house.document["scenarios"][place + 1]

    assert house.client.get(gone_to(answer, htmx)).status_code == 200
    assert copy == before | {"id": copy["id"], "name": "Another one"}


@pytest.mark.parametrize("which", ["new", "copied"])
def test_a_plan_without_a_name_is_refused(house: House, htmx: bool, which: str) -> None:
    """Its message stands beside the field in the unfolded list of plans."""
    answer = send(house, "plans", htmx=htmx, name=" ", **({"copied": "true"} if which == "copied" else {}))
    page = Page(answer.text)
    field = page.by_id(f"name-{which}")

    assert answer.status_code == 422
    assert page.by_id(field["aria-describedby"]).text == "Give it a name, such as Rainy day."
    assert field["value"] == " "
    assert page.by_id("plans").get("open") is not None
    assert len(names(house)) == 3


@pytest.mark.parametrize("fields", [{"name": "boat  shed OPENS"}, {"name": "Boat shed opens", "copied": "true"}])
def test_a_name_another_plan_has_is_refused(house: House, htmx: bool, fields: dict[str, str]) -> None:
    """Beside the field, with a free one; what was typed stays."""
    answer = send(house, "plans", htmx=htmx, **fields)
    page = Page(answer.text)
    field = page.by_id("name-copied" if "copied" in fields else "name-new")

    assert answer.status_code == 422
    assert page.by_id(field["aria-describedby"]).text.startswith("There is a plan of that name already; give another,")
    assert field["value"] == fields["name"]
    assert len(names(house)) == 3


def test_a_rename_to_another_plans_name_is_refused(house: House, htmx: bool) -> None:
    """The sheet says so, with a name that is free."""
    answer = send(house, "plan", htmx=htmx, field="name", value="An ordinary day")

    assert answer.status_code == 422
    assert Page(answer.text).by_id("fault-name").text.endswith("such as An ordinary day 2.")
    assert names(house)[1] == "Laundry day"


def test_a_copy_of_the_longest_name_is_offered_one_that_can_be(house: House) -> None:
    """The offered name is taken as it stands, time and again."""
    send(house, "plan", field="name", value="y" * 200)
    for number in range(2):
        offered = house.page().by_id("name-copied")["value"]
        assert gone_to(send(house, "plans", name=offered, copied="true", sequence=number + 2), htmx=False)

    assert len(set(names(house))) == 5


LONG = "1" * 30_000


@pytest.mark.parametrize("field", ["name", "date", "start_state_of_charge", "wanted_margin"])
def test_far_too_long_a_text_is_refused_beside_its_field(house: House, htmx: bool, field: str) -> None:
    """No text is so long that only the whole form could be refused: it stays where it was typed."""
    answer = send(house, "plan", htmx=htmx, field=field, value=LONG)
    value = Page(answer.text).by_id(f"value-{field}")

    assert answer.status_code == 422
    assert value["value"] == LONG
    assert len(Page(answer.text).by_id(f"fault-{field}").text) < 200


def test_far_too_long_a_line_is_refused_beside_it(house: House, htmx: bool) -> None:
    """A time and a temperature of any length stay, each line with its message; so does a new plan's name."""
    answer = send(house, "plan", htmx=htmx, field="ambient_c", hour=[LONG, "6"], degrees=["5", LONG])
    assert answer.status_code == 422
    assert LONG in answer.text
    assert Page(answer.text).by_id("fault-ambient_c").text.startswith("Line 1: ‘11111")
    answer = send(house, "plans", htmx=htmx, name=LONG)
    assert answer.status_code == 422
    assert Page(answer.text).by_id("fault-plan-new").text == "At most 200 characters, please; here are 30000."


def test_a_field_takes_no_more_than_can_be(house: House) -> None:
    """Every field of the sheet says how long its text may be; only a day is picked."""
    fields = [one for one in house.page().all("input", name="value") if (one.get("id") or "").startswith("value-")]

    assert {one["id"]: one.get("maxlength") for one in fields if one.get("type") != "date"} == {
        "value-name": "200", "value-expected_yield_wh": "40", "value-start_state_of_charge": "40",
        "value-wanted_margin": "40",
    }  # fmt: skip


def test_a_deleted_plan_leads_to_the_one_before_it_where_it_can_be_had_back(house: House, htmx: bool) -> None:
    """Undo stands on that page, and brings back the plan with its keys, runs and place."""
    before, address = house.document, house.address("laundry")
    landed = gone_to(send(house, "delete", htmx=htmx), htmx)
    page = Page(house.client.get(landed).text)
    undo = page.by_id("undo")
    form = undo.parent

    assert landed == house.address("ordinary")
    assert names(house) == ["An ordinary day", "Boat shed opens"]
    assert undo.text == "Undo: Plan Laundry day back"
    assert form is not None
    house.client.post(form["action"], data=page.form(form), follow_redirects=False)
    assert house.document == before
    assert house.client.get(address).status_code == 200


def test_a_plan_that_others_stand_on_stays(house: House, htmx: bool) -> None:
    """It says which plan stands on it, beside the button."""
    answer = send(house, "delete", "ordinary", htmx)
    page = Page(answer.text)

    assert answer.status_code == 422
    assert page.by_id("fault-removed").text == "'Boat shed opens' builds on this one; delete it first."
    assert len(names(house)) == 3


def test_on_the_page_of_a_deleted_plan_one_hears_of_it(house: House, htmx: bool) -> None:
    """Status 410: the plan is named, and there is a way to one that is still there, whatever was sent."""
    address = house.address("laundry")
    send(house, "delete")
    fields = {"revision": 2, "tab": "t2", "sequence": 1, "field": "name", "value": "x", "name": "x"}
    headers = HTMX if htmx else {}
    answers = [house.client.get(address, headers=headers)]
    answers += [
        house.client.post(f"{address}/{what}", data=fields, headers=headers) for what in ("plan", "plans", "delete")
    ]

    for answer in answers:
        page = Page(answer.text)
        news = page.by_id("day-steps").text
        assert answer.status_code == 410
        assert "The plan “Laundry day” was deleted." in news
        assert answer.headers.get("hx-retarget") == ("#day-steps" if htmx else None)
        assert house.address("ordinary") in [one.get("href") for one in page.all("a")]


@pytest.mark.parametrize("what", ["plan", "plans", "delete", "undo", "redo"])
def test_a_reader_changes_no_plan(house_of: Callable[..., House], htmx: bool, what: str) -> None:
    """Every command is refused, and the page shows the values without any form for them."""
    reader = house_of("reader")
    page = reader.page("shed")
    answer = send(reader, what, "shed", htmx, field="name", value="x", name="x", change="x")

    assert answer.status_code == 403
    assert [one.get("id") for one in page.all("form", method="post") if one.inside(page.by_id("day-plan"))] == []
    assert not [one for one in page.all("form") if one.inside(page.by_id("day-head"))]
    assert "70 % at midnight from An ordinary day" in [one.text for one in page.all("dd")]


def test_a_helper_of_the_household_changes_plans(house_of: Callable[..., House]) -> None:
    """A helper's link edits, adds and deletes plans."""
    helper = house_of("helper")

    assert send(helper, "plan", field="name", value="Washing").status_code == 303
    assert send(helper, "plans", name="Bake day").status_code == 303
    assert send(helper, "delete", tab="t2").status_code == 303


def test_a_link_for_another_household_changes_nothing(house: House) -> None:
    """The commands of a plan are refused with a link that opens another household."""
    with house.database.session() as session:
        other = import_household(session, json.loads(demo_text()), None)
        token = make_link(session, "other", "helper", other)
        session.commit()
    house.client.cookies.set("loadstead", token)

    assert send(house, "plan", field="name", value="x").status_code == 403


def test_what_is_no_field_is_not_understood(house: House) -> None:
    """A field nobody knows is answered as what the page did not send."""
    assert send(house, "plan", field="parent", value="laundry").status_code == 422
    assert house.stored.revision == 1
