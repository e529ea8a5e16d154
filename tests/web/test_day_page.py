"""The day page: what it shows, and that every change works with and without the script."""

import json
import re

import pytest

from tests.web.conftest import HTMX, House
from tests.web.markup import Page

PARTS = ("day-verdict", "day-moment", "day-limits", "day-chart", "day-rows", "day-cautions")
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
    assert len(page.all("svg", kind="demand")) == len(page.all("svg", kind="starts")) == 1
    assert page.all("li", kind="row")


def test_every_colour_of_a_verdict_comes_with_its_word(house: House) -> None:
    """A ruler says its verdict in words, and so does each line of the table."""
    page = house.page("shed", unfold="all-limits,chart-table")
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
    page = house.page("laundry", unfold="chart-table")
    hours, starts = [
        one for one in page.all("tbody") if one.parent and one.parent.parent and one.inside(page.by_id("chart-table"))
    ]
    rows = page.all("tr")

    assert len([one for one in rows if one.parent is hours]) == 36
    assert [one for one in rows if one.parent is starts]


def test_a_fragment_is_found_inside_the_page(house: House) -> None:
    """What the script gets for opening a run is the list of rows the page shows, but for links that carry its state."""
    query = f"?run={house.run_key('wash-1')}"
    page = house.client.get(house.address() + query).text
    fragment = house.client.get(house.address() + query, headers=HTMX).text

    aside = re.compile(r'name="tab" value="\w+"|href="[^"]*"|data-state="\w+"')
    assert aside.sub("", fragment.strip()) in aside.sub("", page)
    assert "<html" not in fragment


def test_answers_for_page_and_script_are_kept_apart(house: House, htmx: bool) -> None:
    """Every answer says that it depends on who asks, and that it is not to be kept."""
    answer = house.client.get(house.address(), headers=HTMX if htmx else {})

    assert "HX-Request" in answer.headers["vary"]
    assert answer.headers["cache-control"] == "no-store"


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


@pytest.mark.parametrize("address", ["/h/nobody/nothing", "/h/{key}/nothing", "/h/{key}/" + "0" * 32])
def test_what_is_not_there_is_a_page_that_says_so(house: House, address: str) -> None:
    """An unknown household or plan answers 404 with a way back."""
    answer = house.client.get(address.format(key=house.key))

    assert answer.status_code == 404
    assert any(one["href"] == "/" for one in Page(answer.text).all("a"))
