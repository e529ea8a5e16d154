"""What may be switched on this minute: by the clock, with what people tapped, and never a change of the plan."""

import datetime
import re
from collections.abc import Callable
from typing import Any

import pytest

from app.store.commands import AddAppliance, AddRun, Command, RemoveAppliance, RemovePlan, SetPlanField, apply
from app.store.households import import_household
from app.web.switchboard import MARK
from tests.web.conftest import HTMX, House
from tests.web.markup import Element, Page

SATURDAY = "2026-05-16"  # the day of the plan


def at(house: House, clock: str, date: str = SATURDAY, offset: str = "+01:00") -> None:
    """Set the server's clock."""
    moment = datetime.datetime.fromisoformat(f"{date}T{clock}{offset}")
    house.client.app.state.clock = lambda: moment.astimezone(datetime.UTC)  # type: ignore[attr-defined]


def look(house: House, plan: str = "laundry", status: int = 200, **asked: str) -> Page:
    answer = house.client.get(f"{house.address(plan)}/switch-on", params=asked)
    assert answer.status_code == status, answer.text
    return Page(answer.text)


def send(house: House, appliance: str, to: str, plan: str = "laundry", htmx: bool = True, **given: Any) -> Any:
    form = {"appliance": appliance, "to": to, "tab": f"page of {appliance} {to}", "sequence": 1}
    return house.client.post(
        f"{house.address(plan)}/switch-on",
        data=form | given,
        headers=HTMX if htmx else {},
        follow_redirects=False,
    )


def row(page: Page, name: str) -> Element:
    """The row of an appliance."""
    title = next(one for one in page.all("h3") if one.text == name)
    return next(one for one in page.all("li") if title.inside(one))


def is_on(page: Page, name: str) -> bool:
    return row(page, name)["id"].startswith("on-")


def test_the_answer_comes_first(house: House) -> None:
    """How much room there is, until when, and what then; then four figures, and what is on."""
    at(house, "10:12")
    page = look(house, sun="1")

    assert page.by_id("room").text.startswith("Room for 2.8 kW more until 10:18. Then 3.0 kW, once Washing machine")
    figures = [one.text for one in page.all("dd")]
    assert figures[0] == "2.8 kW left"
    assert [text.split(" ", 1)[1] for text in figures[1:3]] == ["kVA left", "A left"]
    assert figures[3] == "24 h and more"
    assert row(page, "Washing machine").text == "Washing machine tumbles until 10:18, done 10:46 OnOff"
    assert "comes and goes, counted as on" in row(page, "Fridge").text
    assert "by itself" in row(page, "Well pump").text
    assert "OnOff" not in row(page, "Well pump").text


def test_every_appliance_is_on_or_has_an_answer(house: House) -> None:
    """Go, ask, not now: in words, with until when and why, each once."""
    at(house, "11:05")
    page = look(house)
    shown = [one.text for one in page.all("h3")]

    assert sorted(shown) == sorted(one.name for one in house.stored.household.appliances)
    assert "too much" in page.by_id("room").text
    assert "NOT NOW until 11:" in row(page, "Bread oven").text
    words = {one.text for one in page.all("b", kind="word")}
    assert words <= {"GO", "ASK", "NOT NOW"}
    assert "NOT NOW" in words
    # What should not go on now has no large switch, and still a way to say that it is.
    assert "It is on already" in row(page, "Bread oven").text
    assert not [one for one in page.all("button", kind="rocker") if one.inside(row(page, "Bread oven"))]


def test_a_tap_says_that_something_is_on_and_changes_no_plan(house: House, htmx: bool) -> None:
    """It stands under what is on, with who said so and since when; plan, history and file are as they were."""
    at(house, "10:12")
    before = house.document
    answer = send(house, "kettle", "on", htmx=htmx)
    assert answer.status_code == (200 if htmx else 303)
    page = Page(answer.text) if htmx else look(house)

    assert is_on(page, "Kettle")
    assert "boils until 10:15; on since 10:12, by owner" in row(page, "Kettle").text
    assert page.by_id("last").text == "Last tapped just now by owner: Kettle on."
    assert house.document == before
    assert house.stored.revision == 1
    assert "switch" not in house.page().by_id("day-steps").text.casefold()
    at(house, "10:24:30")
    page = look(house)
    assert not is_on(page, "Kettle")
    assert page.by_id("last").text == "Last tapped 12 minutes ago by owner: Kettle on."


def test_what_a_tap_sets_off_was_not_tapped_itself(house: House) -> None:
    """The pump follows the washer that somebody switched on: only the washer has a way back to the plan."""
    at(house, "19:00")
    page = Page(send(house, "washer", "on").text)

    assert "Back to the plan" in row(page, "Washing machine").text
    assert "by itself" in row(page, "Well pump").text
    assert "Back to the plan" not in row(page, "Well pump").text


def test_what_the_plan_says_is_on_can_be_off(house: House) -> None:
    """And gone back to: for this one alone, or for everything."""
    at(house, "10:00")
    page = Page(send(house, "washer", "off").text)
    assert not is_on(page, "Washing machine")
    assert "Off since 10:00, by owner. The plan has it on until 10:46." in row(page, "Washing machine").text

    send(house, "kettle", "on")
    page = Page(send(house, "washer", "plan").text)
    assert is_on(page, "Washing machine")
    assert is_on(page, "Kettle")
    page = Page(send(house, "", "plan").text)
    assert not is_on(page, "Kettle")
    assert page.by_id("last").text == "Nobody has tapped anything on this plan today."


def test_what_was_stopped_and_ran_again_is_told_as_it_is_now(house: House) -> None:
    """That it was stopped in the morning is no news after its later run; its short name stays."""
    at(house, "10:00")
    assert "Off since 10:00" in row(Page(send(house, "washer", "off").text), "Washing machine").text
    at(house, "12:30")  # planned again from 10:48 to 12:04

    assert "Off since" not in row(look(house), "Washing machine").text


def test_a_motor_that_was_just_switched_off_is_to_rest(house: House) -> None:
    """Five minutes, said beside its answer; and no longer."""
    at(house, "10:00")
    page = Page(send(house, "fridge", "off").text)
    assert "not before 10:05" in row(page, "Fridge").text
    assert "The plan has it on." in row(page, "Fridge").text

    at(house, "10:05:01")
    assert "compressor" not in row(look(house), "Fridge").text


def test_what_could_cut_out_without_it_is_not_laid_at_its_door(house: House) -> None:
    """The shed's compressor may be too much at 15:00 whatever else is on: a laptop is told so."""
    at(house, "14:50", "2026-05-19")
    page = look(house, "shed", sun="1")

    assert "could cut out at 15:00, even without it" in row(page, "Laptop").text


def test_tapping_twice_is_tapping_once(house: House) -> None:
    """The same form again, the same said by another phone, on of what is always on: an answer, and nothing kept."""
    at(house, "10:12")
    send(house, "kettle", "on", tab="a", sequence=1)
    assert send(house, "kettle", "on", tab="a", sequence=1).status_code == 200
    at(house, "10:13")
    for tab, appliance in (("b", "kettle"), ("c", "fridge"), ("d", "washer")):
        page = Page(send(house, appliance, "on", tab=tab).text)
        assert page.by_id("last").text == "Last tapped a minute ago by owner: Kettle on."
    page = Page(send(house, "iron", "off", tab="e").text)
    assert page.by_id("last").text == "Last tapped a minute ago by owner: Kettle on."


def test_a_slow_first_tap_is_told_that_it_was_overtaken(house: House, htmx: bool) -> None:
    """Status 409, beside its row, and what is shown is what is kept."""
    at(house, "10:12")
    send(house, "kettle", "on", tab="a", sequence=2)
    answer = send(house, "kettle", "off", tab="a", sequence=1, htmx=htmx)

    assert answer.status_code == 409
    assert is_on(Page(answer.text), "Kettle")
    assert "Something newer was done meanwhile." in row(Page(answer.text), "Kettle").text


@pytest.mark.parametrize(
    ("appliance", "words"),
    [
        ("sauna", "There is no such appliance in this plan"),
        ("", "There is no such appliance in this plan"),
        ("well-pump", "Well pump starts and stops by itself"),
    ],
)
def test_what_cannot_be_tapped_is_refused_in_words(house: House, appliance: str, words: str, htmx: bool) -> None:
    """Status 422, and nothing is kept."""
    at(house, "10:12")
    answer = send(house, appliance, "on", htmx=htmx)

    assert answer.status_code == 422
    assert words in Page(answer.text).by_id("wrong").text
    assert "Nobody has tapped anything on this plan today." in answer.text


@pytest.mark.parametrize("fields", [{"to": "maybe"}, {"tab": ""}, {"sequence": "x"}, {"appliance": "a" * 101}])
def test_what_no_page_sends_is_not_understood(house: House, fields: dict[str, str]) -> None:
    """Nothing is kept of it."""
    at(house, "10:12")

    form = {"appliance": "kettle", "to": "on", "tab": "a", "sequence": "1"} | fields
    assert house.client.post(f"{house.address()}/switch-on", data=form).status_code == 422
    assert "Nobody has tapped anything on this plan today." in house.client.get(f"{house.address()}/switch-on").text


PRESS = {
    "id": "press",
    "name": "Press",
    "stages": [{"watts": 300, "duration_s": 600, "sets_off": [{"appliance": "cooler"}]}],
}
COOLER = {
    "id": "cooler",
    "name": "Cooler",
    "stages": [{"watts": 200, "duration_s": 900}, {"watts": 50, "duration_s": 900}],
}


def change(house: House, command: type[Command], **fields: Any) -> None:
    envelope = {"household_key": house.key, "tab": "t", "sequence": house.stored.revision, "link_key": None}
    with house.database.session() as session:
        apply(session, command(**envelope, **fields))
        session.commit()


def test_what_the_engine_cannot_lay_is_not_kept(house: House, htmx: bool) -> None:
    """What is set off would run already: status 422, beside the row."""
    change(house, AddAppliance, documents=[PRESS, COOLER])
    at(house, "10:12")
    assert is_on(Page(send(house, "cooler", "on").text), "Cooler")
    answer = send(house, "press", "on", htmx=htmx)

    assert answer.status_code == 422
    assert "Cooler" in row(Page(answer.text), "Press").text.replace("Press", "", 1)
    assert not is_on(Page(answer.text), "Press")
    assert is_on(Page(answer.text), "Cooler")


def test_a_plan_that_taps_no_longer_fit_is_shown_without_them(house: House) -> None:
    """It says why, and going back to the plan ends it."""
    change(house, AddAppliance, documents=[PRESS, COOLER])
    at(house, "10:12")
    send(house, "cooler", "on")
    scenario = next(one.key for one in house.stored.scenarios if one.id == "laundry")
    run = {"appliance": "press", "start": "10:20"}
    change(house, AddRun, scenario_key=scenario, document=run)
    page = look(house)

    assert "cannot be with it any more" in page.by_id("wrong").text
    assert not is_on(page, "Cooler")
    assert "wrong" not in [one.get("id") for one in Page(send(house, "", "plan").text).elements]


def test_a_planned_run_that_would_begin_meanwhile_is_left_out_and_said_so(house: House) -> None:
    """One machine."""
    at(house, "10:30")
    page = Page(send(house, "dryer", "on").text)

    notes = " ".join(one.text for one in page.all("p", kind="help"))
    assert "Heat-pump dryer was to run at 10:50. It runs already then, so that run is left out today." in notes


def test_an_appliance_that_is_deleted_meanwhile(house: House) -> None:
    """What was tapped of it is left out and said; a tap on it is told that it is gone, with status 410."""
    change(house, AddAppliance, documents=[{"id": "fan", "name": "Fan", "stages": [{"watts": 60}]}])
    at(house, "10:12")
    assert "on since 10:12, by owner, until somebody says off" in row(Page(send(house, "fan", "on").text), "Fan").text
    change(house, RemoveAppliance, name="fan")

    assert "in the library no longer" in " ".join(one.text for one in look(house).all("p", kind="help"))
    answer = send(house, "fan", "off")
    assert answer.status_code == 410
    assert "deleted from the library meanwhile" in Page(answer.text).by_id("wrong").text


def test_a_plan_that_is_deleted_meanwhile(house: House, htmx: bool) -> None:
    """The page of the one in its place, which says so; a plan that never was is nothing."""
    at(house, "10:12")
    address = f"{house.address('shed')}/switch-on"
    scenario = next(one.key for one in house.stored.scenarios if one.id == "shed")
    change(house, RemovePlan, scenario_key=scenario)
    form = {"appliance": "kettle", "to": "on", "tab": "a", "sequence": 1}
    for answer in (
        house.client.get(address, headers=HTMX if htmx else {}),
        house.client.post(address, data=form, headers=HTMX if htmx else {}),
    ):
        assert answer.status_code == 410
        assert "was deleted. This is" in Page(answer.text).by_id("wrong").text
    assert house.client.get(address.replace(scenario, "0" * 32)).status_code == 404
    assert house.client.post(address.replace(scenario, "0" * 32), data=form).status_code == 404


def test_a_reader_asks_and_taps_nothing(house_of: Callable[..., House], htmx: bool) -> None:
    """No switch is there, a tap is refused; the question is answered by an address and stores nothing."""
    reader = house_of("reader")
    at(reader, "10:12")
    page = look(reader, run="bread-oven", start="11:00")

    assert not page.all("button", kind="rocker")
    assert [one["method"] for one in page.all("form")] == ["get"]
    answered = page.by_id("asked").text
    assert answered.startswith("Bread oven at 11:00: ")
    assert any(word in answered for word in ("GO", "ASK", "NOT NOW"))
    assert "It would run for 1 h 10 min." in answered
    assert send(reader, "kettle", "on", htmx=htmx).status_code == 403
    assert "Nobody has tapped anything on this plan today." in page.by_id("last").text


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"run": "sauna"}, "There is no such appliance in this plan"),
        ({"run": ""}, "Choose what you are about to run."),
        ({"run": "kettle", "start": "25:99"}, "That is no time of this day."),
        ({"run": "kettle", "start": "+01:00"}, "That is no time of this day."),
        ({"run": "kettle", "start": "09:00"}, "Give a time from 10:12 on."),
        ({"at": "25:99"}, "That is no time of this day."),
        ({"at": "+03:00"}, "That is no time of this day."),
    ],
)
def test_what_cannot_be_asked_is_said_beside_its_field(house: House, asked: dict[str, str], words: str) -> None:
    """Status 422; what was typed is still there, and so is the page."""
    at(house, "10:12")
    page = look(house, status=422, **asked)

    assert words in " ".join(one.text for one in page.all() if one.get("role") == "alert")
    assert page.by_id("room").text.startswith("Room for")
    if "start" in asked:
        assert page.by_id("ask-start")["value"] == asked["start"]


@pytest.mark.parametrize(
    ("run", "words"),
    [
        ("washer", "Washing machine is on at 10:12 already."),
        ("fridge", "Fridge is always on, or comes on by itself"),
        ("well-pump", "Well pump is always on, or comes on by itself"),
    ],
)
def test_what_is_on_needs_no_asking(house: House, run: str, words: str) -> None:
    """It says so."""
    at(house, "10:12")

    assert words in look(house, run=run).by_id("asked").text


def test_another_time_can_be_looked_at_and_not_tapped(house: House) -> None:
    """It says which, has no switches, and a way back to now."""
    at(house, "10:12")
    page = look(house, at="18:30")

    assert "This is a look at 18:30" in " ".join(one.text for one in page.all("p"))
    assert is_on(page, "Induction hob")
    assert not page.all("button", kind="rocker")
    assert [one.text for one in page.all("a") if one["href"].endswith("/switch-on")][-1] == "Back to now"


def test_a_plan_of_another_day_is_taken_as_todays_and_says_so(house: House) -> None:
    """By the clock of the place, wherever the server stands; on the plan's own day it says nothing."""
    at(house, "10:12", date="2026-06-03")
    page = look(house)
    assert "Planned for Sat 16 May; taken as today’s" in " ".join(one.text for one in page.all("p"))
    assert "Wed 3 Jun 10:12" in page.all("p", kind="when")[0].text
    assert is_on(page, "Washing machine")

    at(house, "04:12", offset="-05:00")
    page = look(house)
    assert "Planned for" not in " ".join(one.text for one in page.all("p"))
    assert page.by_id("now")["data-at"] == "10:12"


def test_taps_end_at_midnight(house: House) -> None:
    """The page that stayed open hears of it, and a tap on it is one of the new day."""
    at(house, "23:58")
    send(house, "kettle", "on")
    mark = look(house).by_id("now")["data-mark"]
    at(house, "00:00:10", date="2026-05-17")
    answer = house.client.get(f"{house.address()}/switch-on", headers=HTMX | {MARK: mark})

    assert answer.status_code == 200
    assert "Nobody has tapped anything on this plan today." in answer.text
    page = Page(send(house, "kettle", "on", tab="late").text)
    assert "on since 00:00, by owner" in row(page, "Kettle").text


def test_in_the_hour_that_comes_twice_taps_wait(house: House) -> None:
    """The first passing takes them; in the second no plan can say what time it is."""
    at(house, "01:30", date="2026-10-25")
    assert send(house, "kettle", "on", tab="first").status_code == 200
    at(house, "01:40", date="2026-10-25", offset="+00:00")
    assert house.client.get(f"{house.address()}/switch-on").status_code == 200
    answer = send(house, "iron", "on", tab="second")

    assert answer.status_code == 422
    assert "tap again from 02:00 on" in row(Page(answer.text), "Iron").text


def test_an_open_page_hears_only_what_is_new(house: House) -> None:
    """Nothing within the minute; another's tap, a change of the plan, and the next minute at once."""
    at(house, "10:12")
    mark = look(house).by_id("now")["data-mark"]
    address = f"{house.address()}/switch-on"

    def hears(known: str) -> int:
        return int(house.client.get(address, headers=HTMX | {MARK: known}).status_code)

    at(house, "10:12:50")
    assert hears(mark) == 204
    assert house.client.get(address, headers={MARK: mark}).status_code == 200
    send(house, "kettle", "on")
    assert hears(mark) == 200
    mark = look(house).by_id("now")["data-mark"]
    house.send("shirts", "start", "17:25")
    assert hears(mark) == 200
    mark = look(house).by_id("now")["data-mark"]
    at(house, "10:13")
    assert hears(mark) == 200


def test_what_the_plan_has_off_for_the_day_is_answered_for(house: House) -> None:
    """It is off, says so, and may be tapped on."""
    document = house.document
    next(one for one in document["scenarios"] if one["id"] == "laundry")["off"] = ["iron"]
    with house.database.session() as session:
        other = House(house.database, house.client, import_household(session, document | {"name": "Other"}, None))
        session.commit()
    at(house, "16:10")
    page = look(other)
    assert "Off for the day in this plan." in row(page, "Iron").text
    assert is_on(Page(send(other, "iron", "on").text), "Iron")


def test_taps_of_the_question_keep_it(house: House) -> None:
    """Who asked something and taps meanwhile still has the answer."""
    at(house, "10:12")
    page = look(house, run="bread-oven", start="11:00")
    form = next(one for one in page.all("form") if one.get("method") == "post")
    answer = house.client.post(form["action"], data=page.form(form), headers=HTMX)

    assert Page(answer.text).by_id("asked").text.startswith("Bread oven at 11:00: ")


def test_on_nights_on_which_clocks_change_what_is_on_is_on_as_long_as_it_takes(house: House) -> None:
    """The plan is of another date, and its clock goes on evenly: it counts how long ago a tap was.

    The bread oven takes 70 minutes. Tapped at 01:20, 45 minutes before 01:05 comes for the second time, it is on, and
    off 35 minutes later; tapped at 00:30, 35 minutes before 02:05, it is on until 02:40.
    """
    at(house, "01:20", "2026-10-25", "+01:00")
    send(house, "bread-oven", "on")
    at(house, "01:05", "2026-10-25", "+00:00")
    assert is_on(look(house), "Bread oven")
    assert "01:20" in row(look(house), "Bread oven").text
    at(house, "01:40", "2026-10-25", "+00:00")
    assert not is_on(look(house), "Bread oven")

    at(house, "00:30", "2026-03-29", "+00:00")
    send(house, "bread-oven", "on")
    at(house, "02:05", "2026-03-29", "+01:00")
    assert is_on(look(house), "Bread oven")
    at(house, "02:45", "2026-03-29", "+01:00")
    assert not is_on(look(house), "Bread oven")


@pytest.mark.parametrize(
    ("planned_for", "today", "offset"),
    [
        ("2026-03-29", "2026-03-31", "+01:00"),
        ("2026-10-25", "2026-10-27", "+00:00"),
        ("2026-10-24", "2026-10-27", "+00:00"),
    ],
)
def test_a_plan_of_a_day_on_which_clocks_change_is_asked_by_todays_clock(
    house: House, planned_for: str, today: str, offset: str
) -> None:
    """What its own night left out, or had twice, is there once today."""
    scenario = next(one.key for one in house.stored.scenarios if one.id == "laundry")
    change(house, SetPlanField, scenario_key=scenario, field="date", value=planned_for)
    at(house, "00:30", today, offset)
    send(house, "bread-oven", "on")
    at(house, "01:20", today, offset)
    page = look(house)

    assert page.by_id("now")["data-at"] == "01:20"
    assert "until 01:40" in row(page, "Bread oven").text or "done 01:40" in row(page, "Bread oven").text
    assert f"Planned for {'Sun 29 Mar' if planned_for == '2026-03-29' else 'S'}" in page.by_id("now").text
    assert "second" not in page.by_id("now").text


def test_what_runs_past_midnight_is_told_until_somebody_says_more(house: House) -> None:
    """Today's page counts from midnight; what was tapped yesterday may be on still, as long as it takes."""

    def told() -> str:
        return look(house).by_id("now").text

    change(house, AddAppliance, documents=[{"id": "fan", "name": "Fan", "stages": [{"watts": 60}]}])
    at(house, "23:30", date="2026-05-17")
    for one in ("bread-oven", "dishwasher", "fan"):
        send(house, one, "on")
    at(house, "00:05", date="2026-05-18")
    assert "Bread oven may still be on from yesterday, until 00:40." in told()
    assert "Fan may still be on from yesterday, for nobody said off." in told()
    assert not is_on(look(house), "Bread oven")
    page = Page(send(house, "bread-oven", "on", tab="still").text)
    assert "Bread oven may" not in page.by_id("now").text
    assert "Bread oven may" not in told()
    assert "Dishwasher may still be on from yesterday" in told()
    assert "It is off: Fan" in told()
    send(house, "fan", "off", tab="another")
    assert "Fan may" not in told()
    send(house, "fan", "off", tab="a third")  # nothing new: it is not kept
    send(house, "fan", "plan")
    assert "Fan may still be on from yesterday" in told()
    at(house, "00:57", date="2026-05-18")
    assert "Dishwasher may" not in told()
    at(house, "12:00", date="2026-05-18")
    assert "from yesterday" not in told()


def test_what_runs_on_in_a_night_on_which_clocks_change_is_told_by_todays_clock(house: House) -> None:
    """70 minutes from 23:55 on, the evening before they go forward at 01:00: until 02:05."""
    at(house, "23:55", date="2026-03-28", offset="+00:00")
    send(house, "bread-oven", "on")
    at(house, "00:10", date="2026-03-29", offset="+00:00")
    assert "Bread oven may still be on from yesterday, until 02:05." in look(house).by_id("now").text


def test_what_is_tapped_on_on_another_plan_is_told(house: House) -> None:
    """People follow different plans of one house; what one of them switched on is on for all."""
    at(house, "11:00")
    send(house, "hob", "on", plan="ordinary")
    page = look(house).by_id("now").text
    assert "Tapped on in “An ordinary day”: Induction hob since 11:00, by" in page
    assert "It is not counted here." in page
    assert "Tapped on in" not in look(house, plan="ordinary").by_id("now").text
    send(house, "hob", "on")
    assert "Tapped on in" not in look(house).by_id("now").text
    send(house, "hob", "plan")
    send(house, "hob", "off", plan="ordinary", tab="off")
    assert "Tapped on in" not in look(house).by_id("now").text


def test_what_was_tapped_last_night_on_another_plan_is_told(house: House) -> None:
    at(house, "23:55", date="2026-05-17")
    send(house, "bread-oven", "on", plan="ordinary")
    at(house, "00:05", date="2026-05-18")
    assert "Tapped on in “An ordinary day”: Bread oven since yesterday, until 01:05." in look(house).by_id("now").text
    send(house, "bread-oven", "off", plan="ordinary", tab="off")
    assert "since yesterday" not in look(house).by_id("now").text


def test_now_may_be_typed(house: House) -> None:
    at(house, "11:00")
    assert "at once" in look(house, run="kettle", start="now").by_id("asked").text or look(
        house, run="kettle", start="Now"
    )
    assert look(house, run="kettle", start="now").by_id("asked").text == look(house, run="kettle").by_id("asked").text


def test_before_the_charge_is_known_no_hours_are_told(house: House) -> None:
    """It was read off the display in the evening, and it is the next morning: not "24 h and more"."""
    scenario = next(one.key for one in house.stored.scenarios if one.id == "laundry")
    told = {"field": "start_state_of_charge", "value": 0.26, "beside": {"state_of_charge_at": "19:30"}}
    change(house, SetPlanField, scenario_key=scenario, **told)
    at(house, "08:00", date="2026-05-17")
    page = look(house, sun="1").by_id("now").text
    assert "? h, not known yet" in page
    assert "The bank’s charge is known from 19:30 on" in page
    assert "Put in what the display shows now" in page
    assert "24 h and more" not in page
    partner = house.client.get(f"{house.address('laundry')}/partner", params={"sun": "1"}).text
    assert "The bank’s charge is known from 19:30 on" in partner
    assert "Put in what the display shows" not in partner
    at(house, "19:31", date="2026-05-17")
    assert "not known yet" not in look(house, sun="1").by_id("now").text


def test_a_compressor_that_rests_is_not_fine_for_a_partner_either(house: House) -> None:
    """What was switched off a minute ago waits; on both pages."""
    at(house, "20:00")
    send(house, "dryer", "on")
    at(house, "20:30")
    send(house, "dryer", "off", tab="off")
    at(house, "20:31")
    page = look(house)
    groups = [one for one in page.all("section") if row(page, "Heat-pump dryer").inside(one)]
    assert "a-ask" in groups[-1]["class"]
    text = Page(house.client.get(f"{house.address()}/partner").text).by_id("now").text
    assert text.index("Better not now") < text.index("in a few minutes")
    assert "rests until 20:35" in row(page, "Heat-pump dryer").text


def test_what_fits_for_less_than_a_minute_is_answered_as_it_is_after(house: House) -> None:
    """Nobody reads an answer and plugs in within seconds; the page is looked at anew every minute."""

    def goes() -> set[str]:
        page = look(house)
        there = page.all("section", kind="a-go")
        return {one.text for one in page.all("h3") if there and one.inside(there[0])}

    for minute in ("10:12", "10:51", "11:27"):
        at(house, minute)
        first = goes()
        at(house, f"{minute}:59")
        assert first <= goes()


def test_how_often_it_could_cut_out_is_a_question_away(house: House) -> None:
    """Beside ASK stands a link that asks; the answer has a figure, the exact one behind it, and what it is not for."""
    at(house, "15:05", "2026-05-19")
    page = look(house, "shed", sun="1")
    asks = next(one for one in page.all("a") if one.inside(row(page, "Washing machine")))
    assert asks.text == "How often? Washing machine"

    answer = Page(house.client.get(asks["href"].partition("#")[0]).text).by_id("asked").text
    assert "Washing machine now: ASK: could cut out at" in answer
    assert re.search(r"About once in such a run, without it once in \d+ such runs", answer)
    assert re.search(r"To be exact: 1\.\d\d times in such a run; without it 0\.\d+ times in such a run, ", answer)
    assert "Never rely on it for medical devices" in answer


def test_no_odds_are_told_of_what_goes(house: House) -> None:
    at(house, "10:12")
    answer = look(house, run="kettle").by_id("asked").text

    assert "Kettle now: GO" in answer
    assert "such a run" not in answer
    assert "guess" not in answer


@pytest.mark.parametrize("start", ["7 pm", "19", "19:00", "19.00", "19 h"])
def test_a_time_is_read_as_people_type_it(house: House, start: str) -> None:
    at(house, "10:12")

    assert look(house, run="lights", start=start).by_id("asked").text.startswith("Lights at 19:00: ")


def test_that_the_house_is_dark_by_now_is_told_first(house: House) -> None:
    """A bank that starts the day nearly empty: power says little then."""
    scenario = next(one.key for one in house.stored.scenarios if one.id == "ordinary")
    told = {"field": "start_state_of_charge", "value": 0.03, "beside": {"state_of_charge_at": "00:00"}}
    change(house, SetPlanField, scenario_key=scenario, **told)
    at(house, "05:00", "2026-05-19")
    for page in ("switch-on", "partner"):
        answer = house.client.get(f"{house.address('ordinary')}/{page}", params={"sun": "1"})
        assert "By the plan the battery is empty since 0" in Page(answer.text).all("main")[0].text


def test_what_needs_a_power_cut_first_comes_last(house: House) -> None:
    """And where nothing else could, no word is said of what could cut out."""
    seen = set[tuple[bool, bool]]()
    for plan, date, tapped in (("laundry", SATURDAY, ()), ("shed", "2026-05-19", ("table-saw", "compressor"))):
        for clock in ("10:12", "11:05", "15:05", "19:00"):
            at(house, clock, date)
            for one in tapped:
                send(house, one, "on", plan)
            page = look(house, plan)
            for group in page.all("section", kind="a-ask"):
                rows = [one.text for one in page.all("li") if one.inside(group)]
                after = ["after a power cut" in one for one in rows]
                assert after == sorted(after)
                could = any("could cut out at" in one for one in rows)
                assert ("Could cut out: if everything" in group.text) == could
                seen.add((any(after), could))
    assert {(True, False), (True, True), (False, True)} <= seen
