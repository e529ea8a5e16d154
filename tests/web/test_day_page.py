"""The day page: what it shows, and that every change works with and without the script."""

import json
import re

import pytest

from tests.web.conftest import HTMX, House
from tests.web.markup import Page

PARTS = ("day-verdict", "day-makers", "day-limits", "day-chart", "day-rows", "day-cautions")
PLANS = ("ordinary", "laundry", "shed")


@pytest.mark.parametrize("plan", PLANS)
def test_every_plan_has_its_page_with_sentence_rulers_chart_and_rows(house: House, plan: str) -> None:
    """A page says the verdict and carries four rulers, two drawings and rows."""
    page = house.page(plan)

    for part in PARTS:
        page.by_id(part)
    assert page.all("h1")[0].text == "Saltmarsh Ferry House"
    assert page.all("strong", kind=f"s-{page.all('strong')[0]['class'][2:]}")
    assert len([one for one in page.all("li") if one.parent and "rulers" in one.parent.classes]) == 4
    assert len(page.all("svg", role="img")) == 2
    assert page.all("li", kind="row")


def test_every_colour_of_a_verdict_comes_with_its_word(house: House) -> None:
    """A ruler says its verdict in words, and so does each line of the table."""
    page = house.page("shed")
    words = {"It fits", "Only just", "Could cut out", "Too much"}

    shown = [one.text for one in page.all(kind="word")]
    assert len(shown) > 20
    assert all(word in words or word.startswith("Fine, but only for") for word in shown)


@pytest.mark.parametrize("plan", PLANS)
def test_every_id_is_there_once_and_every_reference_leads_somewhere(house: House, plan: str) -> None:
    """Ids are unique on the page; labels, descriptions and forms of buttons name one that is there."""
    page = house.page(plan, run="dishes")
    ids = [one["id"] for one in page.elements if "id" in one.attributes]
    named = {
        name
        for one in page.elements
        for attribute in ("aria-labelledby", "aria-describedby", "form", "for", "hx-target")
        for name in one.attributes.get(attribute, "").replace("#", "").split()
    }

    assert len(ids) == len(set(ids))
    assert named <= set(ids)


def test_what_makes_the_use_is_listed_and_adds_up(house: House) -> None:
    """The draws under the verdict sum to what stands as together, and the largest is named first."""
    page = house.page("shed")
    makers = page.by_id("day-makers")
    shown = [one.text for one in page.all(kind="much") if one.inside(makers)]
    sizes = [float(size) * (1000 if unit == "kVA" else 1) for size, unit in (text.split()[-2:] for text in shown)]
    together = page.all(kind="sum")[0].text.split()

    assert abs(sum(sizes) - float(together[1]) * 1000) < 60 * len(sizes)
    assert page.all(kind="who")[0].text.startswith("Air compressor")


def test_the_plans_are_links(house: House) -> None:
    """Each plan of the household is a link on the page of each, the current one marked."""
    page = house.page("laundry")
    links = [
        one
        for one in page.all("a")
        if one.get(
            "href",
        )
        and one["href"].startswith(f"/h/{house.key}/")
    ]
    plans = [one for one in links if one.parent and one.parent.tag == "li"]

    assert [one.get("aria-current") for one in plans] == [None, "page", None]
    for link in plans:
        assert house.client.get(link["href"]).status_code == 200


def test_chart_and_starts_have_a_table_twin(house: House) -> None:
    """The chart's table has every hour of the horizon, and the starts have theirs."""
    page = house.page("laundry")
    hours, starts = [
        one for one in page.all("tbody") if one.parent and one.parent.parent and one.inside(page.by_id("chart-table"))
    ]
    rows = page.all("tr")

    assert len([one for one in rows if one.parent is hours]) == 36
    assert [one for one in rows if one.parent is starts]


def test_a_fragment_is_found_inside_the_page(house: House) -> None:
    """What the script gets for opening a run is the very list of rows the page shows."""
    query = f"?run={house.run_key('wash-1')}"
    page = house.client.get(house.address() + query).text
    fragment = house.client.get(house.address() + query, headers=HTMX).text

    without_tab = re.compile(r'name="tab" value="\w+"')
    assert without_tab.sub("", fragment.strip()) in without_tab.sub("", page)
    assert "<html" not in fragment


def test_answers_for_page_and_script_are_kept_apart(house: House, htmx: bool) -> None:
    """Every answer says that it depends on who asks, and that it is not to be kept."""
    answer = house.client.get(house.address(), headers=HTMX if htmx else {})

    assert "HX-Request" in answer.headers["vary"]
    assert answer.headers["cache-control"] == "no-store"


def test_a_tap_switches_a_run_off_and_on(house: House, htmx: bool) -> None:
    """The form on the track switches the run; the page then offers the other way."""
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
    tap = page.by_id(f"tap-{key}")
    button = page.by_id(f"run-{key}")
    answer = house.client.post(
        tap["action"], data=page.form(tap) | {button["name"]: button["value"]}, follow_redirects=False
    )
    assert answer.status_code == 303

    page = house.page(run="dishes")
    move = page.by_id(f"later-{key}")
    later = page.by_id(f"later-15-{key}")
    answer = house.client.post(
        move["action"], data=page.form(move) | {later["name"]: later["value"]}, follow_redirects=False
    )
    assert answer.status_code == 303
    assert answer.headers["location"].endswith(f"?run={key}")
    run = next(run for run in house.document["scenarios"][1]["runs"] if run["id"] == "dishes")
    assert (run["start"], run["on"]) == ("11:10", False)


def test_a_change_comes_back_as_every_part_it_touches(house: House) -> None:
    """The script gets the rows for the place that asked and the other parts for theirs."""
    fragment = Page(house.send("wash-2", "on", "off", htmx=True).text)

    for part in PARTS:
        assert fragment.by_id(part).parent is None
        swapped = fragment.by_id(part).get("hx-swap-oob")
        assert swapped == {"day-rows": None, "day-verdict": "innerHTML"}.get(part, "true")


def test_switching_a_run_off_changes_the_sentence(house: House, htmx: bool) -> None:
    """Without the second wash, the laundry day's sentence is another one."""
    before = house.page().by_id("day-verdict").text
    house.send("wash-2", "on", "off", htmx=htmx)

    assert house.page().by_id("day-verdict").text != before


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


def test_a_move_onto_another_run_of_the_machine_is_refused(house: House, htmx: bool) -> None:
    """Two washes at once are one line beside the field, with the times; nothing is stored."""
    before = house.document
    answer = house.send("wash-2", "start", "09:40", htmx=htmx)
    page = Page(answer.text)
    message = page.by_id(f"fault-{house.run_key('wash-2')}").text

    assert answer.status_code == 422
    assert "still runs from 09:30" in message
    assert page.by_id(f"time-{house.run_key('wash-2')}")["value"] == "09:40"
    assert house.document == before


def test_switching_on_what_would_overlap_says_so_beside_the_run(house: House, htmx: bool) -> None:
    """The run that cannot be switched on is opened, with the reason and its own start in the field."""
    house.send("wash-2", "on", "off")
    house.send("wash-2", "start", "09:40", sequence=2)
    answer = house.send("wash-2", "on", "on", htmx=htmx, sequence=3)
    page = Page(answer.text)

    assert answer.status_code == 422
    assert page.by_id(f"fault-{house.run_key('wash-2')}").text
    assert page.by_id(f"time-{house.run_key('wash-2')}")["value"] == "09:40"


def test_an_overtaken_change_gets_the_page_as_it_stands(house: House, htmx: bool) -> None:
    """Somebody moved the run since: status 409, their time in the page, what was typed still in the field."""
    revision = house.stored.revision
    house.send("shirts", "start", "17:00", tab="other")
    answer = house.send("shirts", "start", "15:00", htmx=htmx, revision=revision)
    page = Page(answer.text)
    key = house.run_key("shirts")

    assert answer.status_code == 409
    assert house.start_of("shirts") == "17:00"
    assert page.by_id(f"time-{key}")["value"] == "15:00"
    assert "changed somewhere else" in page.by_id(f"fault-{key}").text
    assert page.by_id(f"chip-{key}").text.startswith("17:00")


def test_changes_of_two_fields_of_one_run_do_not_collide(house: House, htmx: bool) -> None:
    """One page switches the run off, another that did not see it moves it: both are done."""
    revision = house.stored.revision
    house.send("shirts", "on", "off", tab="other")
    answer = house.send("shirts", "start", "15:00", htmx=htmx, revision=revision)

    assert answer.status_code == (200 if htmx else 303)
    assert house.start_of("shirts") == "15:00"


def test_a_form_sent_twice_is_done_once(house: House) -> None:
    """The same command of the same page again changes nothing and is no fault."""
    for _ in range(2):
        assert house.send("shirts", "start", "15:00").status_code == 303
    assert house.stored.revision == 2


def test_what_is_typed_at_another_run_is_left_alone(house: House) -> None:
    """A tap on one run, while another is open, leaves the open one's bar on the page as it is."""
    open_key = house.run_key("shirts")
    fragment = Page(house.send("wash-2", "on", "off", htmx=True, open=open_key).text)
    own = Page(house.send("shirts", "on", "off", htmx=True, open=open_key).text)

    assert fragment.by_id(f"adjust-{open_key}")["hx-preserve"] == "true"
    assert own.by_id(f"adjust-{open_key}").get("hx-preserve") is None


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


def test_names_with_markup_stay_text(house: House) -> None:
    """A name that looks like markup is shown as it is, in the page, the drawing and the title."""
    document = house.document
    document["name"] = "<script>alert(1)</script> & co"
    document["appliances"][4]["name"] = 'Washer "<img src=x onerror=alert(1)>"'
    answer = house.client.post("/import", data={"text": json.dumps(document)}, follow_redirects=True)
    plan = [one["href"] for one in Page(answer.text).all("a") if one["href"].startswith("/h/")][1]
    text = house.client.get(plan).text

    assert "<script>alert" not in text
    assert "<img" not in text
    assert 'Washer "<img src=x onerror=alert(1)>"' in Page(text).by_id("day-rows").text


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


@pytest.mark.parametrize("address", ["/h/nobody/nothing", "/h/{key}/nothing", "/h/{key}/" + "0" * 32])
def test_what_is_not_there_is_a_page_that_says_so(house: House, address: str) -> None:
    """An unknown household or plan answers 404 with a way back."""
    answer = house.client.get(address.format(key=house.key))

    assert answer.status_code == 404
    assert any(one["href"] == "/" for one in Page(answer.text).all("a"))


def test_a_command_for_a_run_that_is_not_there_is_refused(house: House, htmx: bool) -> None:
    """An unknown run answers 404, and nothing is stored."""
    answer = house.client.post(
        f"{house.address()}/runs/{'0' * 32}",
        data={"field": "on", "value": "off", "revision": 1, "tab": "t", "sequence": 1},
        headers=HTMX if htmx else {},
    )

    assert answer.status_code == 404
    assert house.stored.revision == 1
