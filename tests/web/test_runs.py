"""Commands about runs: switched, moved, made longer, doubled, taken away; with and without the script."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.web.conftest import HTMX, House
from tests.web.markup import Page


def run_of(house: House, run: str, plan: str = "laundry") -> dict[str, Any] | None:
    """A run as the file has it, None where it is no more."""
    scenario = next(one for one in house.document["scenarios"] if one["id"] == plan)
    return next((one for one in scenario["runs"] if one["id"] == run), None)


def ask(house: House, run: str, what: str, htmx: bool = False, plan: str = "laundry", **fields: Any) -> Any:
    """Ask for a run to be doubled or taken away, as the adjust row does."""
    form = {"revision": house.stored.revision, "tab": "t1", "sequence": 1, "open": house.run_key(run, plan)}
    return house.client.post(
        f"{house.address(plan)}/runs/{house.run_key(run, plan)}/{what}",
        data=form | fields,
        headers=HTMX if htmx else {},
        follow_redirects=False,
    )


def test_a_tap_switches_a_run_off_and_on(house: House, htmx: bool) -> None:
    """The button on the track switches the run; the page then offers the other way."""
    for sequence, value in ((1, "off"), (2, "on")):
        answer = house.send("wash-1", "on", value, htmx=htmx, sequence=sequence)

        assert answer.status_code == (200 if htmx else 303)
        button = house.page().by_id(f"run-{house.run_key('wash-1')}")
        assert button["aria-pressed"] == ("true" if value == "on" else "false")
        assert button["value"] == ("off" if value == "on" else "on")


def test_the_forms_of_the_page_do_what_they_say(house: House) -> None:
    """Sending the page's own forms, field by field as they stand, switches and moves the run."""
    key = house.run_key("dishes")
    page = house.page(run="dishes")
    button = page.by_id(f"run-{key}")
    sent = page.form(page.by_id(button["form"])) | {button["name"]: button["value"]}
    assert house.client.post(button["formaction"], data=sent, follow_redirects=False).status_code == 303

    page = house.page(run="dishes")
    move = page.by_id(f"later-{key}")
    later = page.by_id(f"later-15-{key}")
    answer = house.client.post(
        move["action"], data=page.form(move) | {later["name"]: later["value"]}, follow_redirects=False
    )
    assert answer.status_code == 303
    assert answer.headers["location"].partition("#")[0].endswith(f"?run={key}")
    run = run_of(house, "dishes")
    assert run is not None
    assert (run["start"], run["on"]) == ("11:10", False)


def test_all_runs_are_buttons_of_one_form(house: House) -> None:
    """A day of many runs stays light: the hidden fields stand once in the page."""
    page = house.page()
    form = page.by_id("switching")
    hidden = [one["name"] for one in page.all("input", type="hidden") if one.inside(form)]
    assert hidden == ["field", "revision", "tab", "sequence"]
    runs = page.all("button", kind="run")
    assert runs
    assert {one["form"] for one in runs} == {"switching"}


@pytest.mark.parametrize(
    ("typed", "start"), [("14:05", "14:05"), ("9:05", "09:05"), ("0905", "09:05"), ("14.30", "14:30")]
)
def test_a_typed_time_moves_the_run(house: House, htmx: bool, typed: str, start: str) -> None:
    """A time is taken as people type it."""
    answer = house.send("shirts", "start", typed, htmx=htmx)

    assert answer.status_code == (200 if htmx else 303)
    assert house.start_of("shirts") == start


@pytest.mark.parametrize("typed", ["25:00", "soon", "", "<b>9</b>", "12:60", "-1:00"])
def test_a_time_that_is_none_is_refused_beside_the_field(house: House, htmx: bool, typed: str) -> None:
    """Status 422, the message tied to the field, what was typed still in it, and nothing stored."""
    before = house.document
    answer = house.send("shirts", "start", typed, htmx=htmx)
    page = Page(answer.text)
    field = page.by_id(f"time-{house.run_key('shirts')}")

    assert answer.status_code == 422
    assert field["value"] == typed
    assert field["aria-invalid"] == "true"
    assert "from 00:00 to 23:59" in page.by_id(field["aria-describedby"]).text
    assert house.document == before
    assert ("<html" in answer.text) is not htmx


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [("45", 2700), ("45 min", 2700), ("0:45", 2700), ("1 h 30", 5400), ("1,5 h", 5400), ("2.5", 150)],
)
def test_a_typed_length_makes_the_run_that_long(house: House, htmx: bool, typed: str, seconds: int) -> None:
    """A length is taken as people type it, and stands in the field so that it means the same again."""
    answer = house.send("shirts", "duration_s", typed, htmx=htmx)
    run = run_of(house, "shirts")

    assert answer.status_code == (200 if htmx else 303)
    assert run is not None
    assert run["duration_s"] == seconds
    shown = house.page(run="shirts").by_id(f"length-{house.run_key('shirts')}")["value"]
    assert house.send("shirts", "duration_s", shown, sequence=2).status_code == 303
    assert run_of(house, "shirts") == run


def test_an_empty_length_is_the_programmes_own(house: House, htmx: bool) -> None:
    """Emptying the field gives the run its usual length back."""
    house.send("shirts", "duration_s", "45")
    answer = house.send("shirts", "duration_s", "", htmx=htmx, sequence=2)

    assert answer.status_code == (200 if htmx else 303)
    assert (run_of(house, "shirts") or {})["duration_s"] is None
    field = house.page(run="shirts").by_id(f"length-{house.run_key('shirts')}")
    assert (field["value"], field["placeholder"]) == ("", "30 min")


@pytest.mark.parametrize("typed", ["0", "long", "25 h", "-5", "1:75", "99999999999"])
def test_a_length_that_is_none_is_refused_beside_its_field(house: House, htmx: bool, typed: str) -> None:
    """The message stands at the length, not at the time, and what was typed is kept."""
    before = house.document
    answer = house.send("shirts", "duration_s", typed, htmx=htmx)
    page = Page(answer.text)
    key = house.run_key("shirts")
    field = page.by_id(f"length-{key}")

    assert answer.status_code == 422
    assert field["value"] == typed
    assert "in minutes, or as h:mm" in page.by_id(field["aria-describedby"]).text
    assert page.by_id(f"time-{key}").get("aria-invalid") is None
    assert house.document == before


@pytest.mark.parametrize("field", ["start", "duration_s"])
def test_far_too_long_a_text_is_refused_beside_its_field(house: House, htmx: bool, field: str) -> None:
    """However long, it stays where it was typed, with what would be right."""
    typed = "1 h " * 10_000
    answer = house.send("shirts", field, typed, htmx=htmx)
    part = "time" if field == "start" else "length"
    entry = Page(answer.text).by_id(f"{part}-{house.run_key('shirts')}")

    assert answer.status_code == 422
    assert entry["value"] == typed
    assert Page(answer.text).by_id(entry["aria-describedby"]).text.startswith("Give a ")


def test_a_move_to_where_the_machine_is_needed_later_names_the_run_that_is_moved(house: House, htmx: bool) -> None:
    """The earlier of two is moved before the later one: the words are about it, with the times at which it could."""
    house.send("dry-2", "on", "off")
    answer = house.send("wash-1", "start", "10:00", htmx=htmx, sequence=2)

    assert answer.status_code == 422
    assert Page(answer.text).by_id(f"fault-{house.run_key('wash-1')}").text == (
        "There is a run of Washing machine from 10:48 to 12:04 already, and this one would last until 11:16;"
        " begin at 09:32 or earlier, at 12:04 or later, or move that run."
    )


def test_a_parents_change_that_a_child_could_not_bear_names_the_child(house: House, htmx: bool) -> None:
    """The shed's plan has a run of its own where the ordinary day's would come to be: that is said, and both stay."""
    answer = house.client.post(
        f"{house.address('shed')}/runs",
        data={"appliance": "vacuum", "start": "16:00", "revision": 1, "tab": "t1", "sequence": 1},
        follow_redirects=False,
    )
    assert answer.status_code == 303
    before = house.document
    answer = house.send("floors", "start", "16:05", "ordinary", htmx=htmx, sequence=2)

    assert answer.status_code == 422
    message = Page(answer.text).by_id(f"fault-{house.run_key('floors', 'ordinary')}").text
    assert message.startswith("In the plan 'Boat shed opens', 'Vacuum cleaner' is one machine: its run at 16:05")
    assert message.endswith(
        " or later, or else move the run that is there already, or take it off, on that plan's page first."
    )
    assert house.document == before


def test_a_programme_of_stages_has_no_field_for_its_length(house: House) -> None:
    """A wash takes as long as its stages."""
    ids = [one.get("id") for one in house.page(run="wash-1").elements]

    assert f"time-{house.run_key('wash-1')}" in ids
    assert f"length-{house.run_key('wash-1')}" not in ids


def test_a_move_onto_another_run_of_the_machine_is_refused(house: House, htmx: bool) -> None:
    """Two washes at once are one line beside the field, with the times; nothing is stored."""
    before = house.document
    answer = house.send("wash-2", "start", "09:40", htmx=htmx)
    page = Page(answer.text)
    message = page.by_id(f"fault-{house.run_key('wash-2')}").text

    assert answer.status_code == 422
    assert message.startswith("There is a run of Washing machine from 09:30 to 10:46 already; begin at")
    assert page.by_id(f"time-{house.run_key('wash-2')}")["value"] == "09:40"
    assert house.document == before


def test_switching_on_what_would_overlap_says_so_beside_the_run(house: House, htmx: bool) -> None:
    """The run that cannot be switched on is opened, with the reason and its own start in the field."""
    house.send("wash-2", "on", "off")
    house.send("wash-2", "start", "09:40", sequence=2)
    answer = house.send("wash-2", "on", "on", htmx=htmx, sequence=3)
    page = Page(answer.text)
    field = page.by_id(f"time-{house.run_key('wash-2')}")

    assert answer.status_code == 422
    assert page.by_id(f"fault-{house.run_key('wash-2')}").text
    assert (field["value"], field.get("aria-invalid")) == ("09:40", None)


def test_of_two_phones_the_later_one_wins(house: House, htmx: bool) -> None:
    """A change made on an older state is done all the same: the other phone is told of it."""
    revision = house.stored.revision
    house.send("shirts", "start", "17:00", tab="other")
    answer = house.send("shirts", "start", "15:00", htmx=htmx, revision=revision)

    assert answer.status_code == (200 if htmx else 303)
    assert house.start_of("shirts") == "15:00"


def test_what_one_page_sent_before_does_not_win_when_it_comes_after(house: House, htmx: bool) -> None:
    """A slow first tap of the same page is overtaken by the second: status 409, and what is stored stays."""
    house.send("shirts", "start", "17:00", sequence=2)
    answer = house.send("shirts", "start", "15:00", htmx=htmx, sequence=1)
    page = Page(answer.text)
    key = house.run_key("shirts")

    assert answer.status_code == 409
    assert house.start_of("shirts") == "17:00"
    assert page.by_id(f"time-{key}")["value"] == "15:00"
    assert "Something newer was done" in page.by_id(f"fault-{key}").text


def test_a_form_sent_twice_is_done_once(house: House) -> None:
    """The same command of the same page again changes nothing and is no fault."""
    for _ in range(2):
        assert house.send("shirts", "start", "15:00").status_code == 303
    assert house.stored.revision == 2


def test_a_run_is_not_nudged_out_of_its_day(house: House) -> None:
    """At five past midnight, the button for 15 minutes earlier can't be pressed."""
    house.send("shirts", "start", "00:05")
    key = house.run_key("shirts")
    page = house.page(run="shirts")

    assert page.by_id(f"earlier-15-{key}").get("disabled") is not None
    assert page.by_id(f"earlier-5-{key}")["value"] == "00:00"


def test_a_plan_with_a_parent_is_changed_alone(house: House, htmx: bool) -> None:
    """A run inherited from the ordinary day is moved on the shed's day; the ordinary day keeps its own."""
    answer = house.send("floors", "start", "10:00", plan="shed", htmx=htmx)

    assert answer.status_code == (200 if htmx else 303)
    assert house.start_of("floors", "ordinary") == "11:30"
    key = house.run_key("floors", "shed")
    assert house.page("shed").by_id(f"chip-{key}").text.startswith("10:00")


def test_a_double_stands_right_after_and_is_opened(house: House, htmx: bool) -> None:
    """The iron again, from the minute it ends, of the same length."""
    house.send("shirts", "duration_s", "40")
    answer = ask(house, "shirts", "duplicate", htmx)
    new = [one for one in house.document["scenarios"][1]["runs"] if one["appliance"] == "iron"][-1]

    assert answer.status_code == (200 if htmx else 303)
    assert (new["start"], new["duration_s"]) == ("16:40", 2400)
    key = house.stored.run_keys["laundry", new["id"]].key
    if htmx:
        assert Page(answer.text).by_id(f"adjust-{key}")
    else:
        assert answer.headers["location"].partition("#")[0].endswith(f"?run={key}")


def test_a_double_goes_where_its_machine_is_free(house: House) -> None:
    """The first wash's double goes behind the second; it waits for no run, whatever the first waited for."""
    ask(house, "dry-1", "duplicate")
    new = house.document["scenarios"][1]["runs"][-1]

    assert (new["appliance"], new["start"]) == ("dryer", "14:55")
    assert "after" not in new


def test_a_double_that_finds_no_room_says_so(house: House, htmx: bool) -> None:
    """A run late in the evening has no double on this day."""
    house.send("evening", "start", "23:30")
    before = house.document
    answer = ask(house, "evening", "duplicate", htmx)

    assert answer.status_code == 422
    assert "no free time" in Page(answer.text).by_id(f"fault-{house.run_key('evening')}").text
    assert house.document == before


def test_a_removed_run_is_gone_from_the_day(house: House, htmx: bool) -> None:
    """Its row goes with it when it was the only one, and nothing stays open."""
    answer = ask(house, "shirts", "remove", htmx)

    assert answer.status_code == (200 if htmx else 303)
    assert run_of(house, "shirts") is None
    page = Page(answer.text) if htmx else house.page()
    assert not page.all(kind="adjust")
    assert "Iron" not in [one.text for one in page.all(kind="name")]


def test_what_another_run_waits_for_is_not_removed(house: House, htmx: bool) -> None:
    """The dryer waits for the wash: that is said, and both stay."""
    before = house.document
    answer = ask(house, "wash-1", "remove", htmx)

    assert answer.status_code == 422
    assert "waits for this run" in Page(answer.text).by_id(f"fault-{house.run_key('wash-1')}").text
    assert house.document == before


def test_a_run_that_was_removed_meanwhile_is_said(house: House, htmx: bool) -> None:
    """Status 410, the day as it is, and a line that names what was removed."""
    key = house.run_key("shirts")
    ask(house, "shirts", "remove", tab="other")
    form = {"field": "start", "value": "15:00", "revision": 1, "tab": "t1", "sequence": 1}
    answer = house.client.post(f"{house.address()}/runs/{key}", data=form, headers=HTMX if htmx else {})
    page = Page(answer.text)

    assert answer.status_code == 410
    assert "Iron at 16:00 removed meanwhile" in page.by_id("day-steps").text
    assert f"run-{key}" not in [one.get("id") for one in page.elements]
    again = house.client.post(f"{house.address()}/runs/{key}/duplicate", data=form, headers=HTMX if htmx else {})
    assert again.status_code == 410


@pytest.mark.parametrize("fields", [{"field": "watts"}, {"revision": "x"}, {"tab": ""}, {"sequence": -1}])
def test_a_form_that_no_page_sends_is_refused(house: House, fields: dict[str, object]) -> None:
    """What the page never sends is refused with a page of its own; nothing is stored."""
    before = house.document
    answer = (
        house.send("shirts", "start", "15:00", **fields)
        if "field" not in fields
        else house.send("shirts", "watts", "1")
    )

    assert answer.status_code == 422
    assert "Nothing was stored" in answer.text
    assert house.document == before


@pytest.mark.parametrize("what", ["", "/duplicate", "/remove"])
def test_a_command_for_a_run_that_is_not_there_is_refused(house: House, htmx: bool, what: str) -> None:
    """An unknown run answers 404, and nothing is stored."""
    answer = house.client.post(
        f"{house.address()}/runs/{'0' * 32}{what}",
        data={"field": "on", "value": "off", "revision": 1, "tab": "t", "sequence": 1},
        headers=HTMX if htmx else {},
    )

    assert answer.status_code == 404
    assert house.stored.revision == 1


def test_a_time_that_stands_already_is_no_step(house: House, htmx: bool) -> None:
    """Sending the time a run has stores nothing, so there is nothing to take back."""
    before = house.stored.revision
    answer = house.send("wash-1", "start", house.start_of("wash-1"), htmx=htmx)

    assert answer.status_code == (200 if htmx else 303)
    assert house.stored.revision == before


def test_a_reader_sees_times_that_lead_nowhere_as_text(house_of: Callable[..., House]) -> None:
    """Who may only look gets the times of the runs, and no link that opens nothing."""
    page = house_of("reader").page()

    assert [one.text for one in page.all(kind="chip")]
    assert {one.tag for one in page.all(kind="chip")} == {"span"}


def test_the_title_goes_with_the_verdict(house: House) -> None:
    """An answer carries the title the window shows then."""
    page = Page(house.send("wash-2", "on", "off", htmx=True).text)

    assert page.by_id("day-steps")["data-title"].startswith("Laundry day: ")
