"""Without the script a command loads the page anew: it comes back to where it was, not to its beginning."""

from typing import Any

from tests.web.conftest import House
from tests.web.markup import Page

PLANS = ("laundry",)


def back(house: House, answer: Any) -> tuple[str, Page]:
    """The place a redirect leads to, and the page it leads to."""
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].partition("#")[2], Page(house.client.get(answer.headers["location"]).text)


def row_of(page: Page, run_key: str) -> str:
    """The id of the row a run stands in."""
    track = page.by_id(f"run-{run_key}").parent
    assert track is not None
    assert track.parent is not None
    return track.parent["id"]


def ask(house: House, run: str, what: str) -> Any:
    sent = {"revision": house.stored.revision, "tab": "t2", "sequence": 1}
    address = f"{house.address()}/runs/{house.run_key(run)}/{what}"
    return house.client.post(address, data=sent, follow_redirects=False)


def taken_back(house: House, page: Page) -> tuple[str, Page]:
    """Press Undo of a page: where the answer begins, and the page."""
    undo = page.by_id("undo").parent
    assert undo is not None
    return back(house, house.client.post(undo["action"], data=page.form(undo), follow_redirects=False))


def test_a_change_of_a_run_comes_back_to_its_row(house: House) -> None:
    """Switched, moved and doubled: the page begins at that machine's row, which is there; so does a step back."""
    key = house.run_key("shirts")
    for number, (field, value) in enumerate([("on", "off"), ("start", "16:10"), ("duration_s", "20")]):
        place, page = back(house, house.send("shirts", field, value, sequence=number + 1))
        assert place == row_of(page, key)
    place, page = back(house, ask(house, "shirts", "duplicate"))
    assert place == row_of(page, key)
    place, page = taken_back(house, page)
    assert place == row_of(page, key)


def test_what_is_taken_off_the_day_leaves_one_at_the_rows(house: House) -> None:
    """The row of a machine's only run goes with it, so the page begins at all rows; taken back, at the row again."""
    key = house.run_key("dishes")
    place, page = back(house, ask(house, "dishes", "remove"))
    assert place == page.by_id("day-rows")["id"]
    place, page = taken_back(house, page)
    assert place == row_of(page, key)


def test_what_is_refused_is_shown_where_it_was_sent_from(house: House) -> None:
    """The answer to a form has the form's address: each ends in the place of which the refusal is said."""
    key = house.run_key("wash-1")
    page = house.page(run="wash-1", unfold="day-add")
    row = row_of(page, key)
    assert page.by_id(f"run-{key}")["formaction"].endswith(f"/{key}#{row}")
    for part in ("turn", "earlier"):
        assert page.by_id(f"{part}-{key}")["action"].endswith(f"/{key}#{row}")
    assert page.by_id(f"type-{key}")["action"].endswith(f"/{key}#time-{key}")  # the field, which has the focus then
    for part in ("remove", "duplicate"):
        assert page.by_id(f"{part}-{key}")["formaction"].endswith(f"/{part}#{row}")
    items = [one for one in page.all("form") if (one.get("id") or "").startswith("put-")]
    assert items
    for item in items:
        assert item["action"].endswith(f"#{item['id'].removeprefix('put-')}")
    answer = ask(house, "wash-1", "remove")
    assert answer.status_code == 422
    refused = Page(answer.text)
    assert refused.by_id(f"fault-{key}").inside(refused.by_id(row))


def test_a_tap_comes_back_to_what_was_tapped(house: House) -> None:
    """It stands among what is on then, and its name is there; sent where it was tapped, so a refusal is shown there."""
    address = f"{house.address()}/switch-on"
    page = Page(house.client.get(address).text)
    form = [one for one in page.all("form") if one.get("data-tap") is not None][-1]
    place, then = back(house, house.client.post(form["action"], data=page.form(form), follow_redirects=False))
    assert form["action"] == f"{address}#{place}"
    assert then.by_id(place).inside(then.by_id(place.replace("name-", "on-")))
    button = then.by_id("back-all")
    assert button.parent is not None
    sent = then.form(button.parent)
    place, then = back(house, house.client.post(address, data=sent, follow_redirects=False))
    assert then.by_id(place).text == "On now"


def pressed(house: House, page: Page, button_id: str) -> tuple[str, Page]:
    """Press a button of the page's own forms."""
    button = page.by_id(button_id)
    assert button.parent is not None
    sent = page.form(button.parent) | ({button["name"]: button["value"]} if button.get("name") else {})
    return back(house, house.client.post(button.parent["action"], data=sent, follow_redirects=False))


def test_an_editor_comes_back_to_the_form(house: House) -> None:
    """To what was added, to where one more could be, to what a step back changed; each form ends in its own place."""
    supply = Page(house.client.get(f"{house.address()}/supply").text)
    for form in supply.all("form", kind="figures"):
        assert form["action"].endswith(f"/supply#{form['id']}")
    place, added = pressed(house, supply, "add-circuits")
    assert added.by_id(place).tag == "form"
    fresh = place
    place, out = pressed(house, added, f"out-{fresh}")
    assert place == out.by_id("adding-circuits")["id"]
    place, again = pressed(house, out, "undo")
    assert place == again.by_id(fresh)["id"]
    place, out = pressed(house, again, "redo")
    assert place == out.by_id("adding-circuits")["id"]


def test_an_appliance_s_stage_is_come_back_to(house: House) -> None:
    """What is split, and what taking that back changed."""
    washer = next(one.key for one in house.stored.pieces.values() if (one.kind, one.name) == ("appliance", "washer"))
    page = Page(house.client.get(f"{house.address()}/appliances/{washer}").text)
    place, then = pressed(house, page, "split-stage-1")
    assert then.by_id(place).get("open") is not None
    place, then = pressed(house, then, "undo")
    assert then.by_id(place).get("open") is not None
