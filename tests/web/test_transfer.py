"""A household file in the place of a household: what it would change is shown first, and then it can be done."""

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest

from app.household.demo import demo_text
from app.household.file import LARGEST_BYTES
from tests.household.sample import put
from tests.web.conftest import HTMX, House
from tests.web.markup import Page


def demo(*changes: Callable[[dict[str, Any]], object]) -> dict[str, Any]:
    """The demo household's file, with some changes."""
    document: dict[str, Any] = json.loads(demo_text())
    for change in changes:
        change(document)
    return document


def other() -> dict[str, Any]:
    """A file of the demo household in which something of every kind is another."""
    heater = {"id": "heater", "name": "Fan heater", "stages": [{"watts": 1500, "duration_s": 3600}]}
    bake = {"id": "bake", "name": "Baking day", "date": "2026-05-20", "runs": []}
    return demo(
        put("name", "Saltmarsh, spring"),
        put("supply.inverter.continuous_w", [[25, 3800], [40, 3100]]),
        put("supply.battery.modules", 5),
        put("supply.generator", {"rated_w": 3000, "start_below": 0.3, "stop_above": 0.6}),
        put("appliances.0.stages.0.watts", 80),
        put("any_time", []),
        put("scenarios.1.runs.0.start", "07:10"),
        lambda it: it["appliances"].append(heater),
        lambda it: it["scenarios"].append(bake),
        lambda it: it["scenarios"].pop(2),
    )


def upload(house: House, document: Any, htmx: bool = False) -> Any:
    """The form with a file, as a browser sends it."""
    text = document if isinstance(document, str | bytes) else json.dumps(document)
    return house.client.post(
        f"/households/{house.key}/import",
        files={"file": ("home.json", text)},
        headers=HTMX if htmx else {},
        follow_redirects=False,
    )


def do_it(house: House, preview: Page, htmx: bool = False, **changed: str) -> Any:
    """The preview's button."""
    (form,) = preview.all("form")
    fields = preview.form(form) | changed
    return house.client.post(
        form["action"],
        files={name: (None, value) for name, value in fields.items()},
        headers=HTMX if htmx else {},
        follow_redirects=False,
    )


def said(preview: Page, group: str) -> dict[str, list[str]]:
    """What would be another of one kind: by its name, each line of it."""
    lines: dict[str, list[str]] = {}
    for cell in preview.all("td"):
        row = cell.parent
        if row is not None and row.inside(preview.by_id(f"changed-{group}")):
            name = next(one.text for one in preview.all("th") if one.parent is row)
            lines[name] = [one.text for one in preview.all("p") if one.parent is cell]
    return lines


def verdicts(preview: Page) -> dict[str, list[str]]:
    """How each plan stands, before and after, in words."""
    table = preview.by_id("stands")
    rows = [row for row in preview.all("tr") if row.inside(table)][1:]
    cells = [[one.text for one in preview.elements if one.parent is row] for row in rows]
    return {name: words for name, *words in cells}


def test_what_would_change_is_shown_in_words_and_counted(house: House) -> None:
    """By kind, each thing under its name, each figure from what to what; nothing is stored."""
    before = house.document
    answer = upload(house, other())
    preview = Page(answer.text)

    assert answer.status_code == 200
    assert said(preview, "household") == {
        "Its name": ["Saltmarsh Ferry House → Saltmarsh, spring"],
        "Any-time loads": ["Kettle: not any time any more"],
    }
    assert said(preview, "supply") == {
        "Inverter": ["What it carries for hours: 25 °C 4500 W, 40 °C 3900 W → 25 °C 3800 W, 40 °C 3100 W"],
        "Battery": ["Modules side by side: 4 → 5"],
        "Generator": ["New"],
    }
    assert said(preview, "appliances") == {
        "Always there": ["Stage 1 (on), draws: 65 W → 80 W"],
        "Fan heater": ["New: 1.5 kW, 1 h"],
    }
    assert said(preview, "scenarios") == {
        "Laundry day": ["Washing machine, starts: 09:30 → 07:10"],
        "Boat shed opens": ["Goes"],
        "Baking day": ["New"],
    }
    counts = [one.text for one in preview.all("small")]
    assert counts == ["2 changed", "1 new, 2 changed", "1 new, 1 changed", "1 new, 1 gone, 1 changed"]
    assert preview.by_id("preview-lead").text.startswith("10 things in Saltmarsh Ferry House would change.")
    assert house.document == before
    assert house.stored.revision == 1


def test_the_verdict_of_each_plan_stands_before_and_after(house: House) -> None:
    """A new plan has none before, one that goes none after."""
    found = verdicts(Page(upload(house, other()).text))

    assert list(found) == ["An ordinary day", "Laundry day", "Baking day", "Boat shed opens"]
    assert found["An ordinary day"] == ["Only just", "Fine, but only for a while"]
    assert found["Baking day"] == ["New", "It fits"]
    assert found["Boat shed opens"][1] == "Goes"


def test_doing_it_leads_to_a_plan_where_it_can_be_undone(house: House, htmx: bool) -> None:
    """The household is what the file says, under its own key; one step back and it is as it was."""
    before, address = house.document, house.address()
    answer = do_it(house, Page(upload(house, other(), htmx).text), htmx)
    goes_to = answer.headers["hx-redirect" if htmx else "location"]

    assert answer.status_code == (204 if htmx else 303)
    assert json.dumps(house.document) == json.dumps(other())
    assert house.address() == address
    page = Page(house.client.get(goes_to).text)
    undo = page.by_id("undo")
    assert undo.text == "Undo: Household as before the file"
    (form,) = [one for one in page.all("form") if undo.inside(one)]
    house.client.post(form["action"], data=page.form(form))
    assert json.dumps(house.document) == json.dumps(before)
    assert Page(house.client.get(goes_to).text).by_id("redo").text == "Redo: Household file brought in"


def test_pressed_twice_it_is_done_once(house: House) -> None:
    """The second answer leads to the same place and stores nothing."""
    preview = Page(upload(house, other()).text)
    first, second = do_it(house, preview), do_it(house, preview)

    assert (first.status_code, second.status_code) == (303, 303)
    assert house.stored.revision == 2


def test_a_file_that_says_what_is_there_already_has_nothing_to_be_done(house: House) -> None:
    """Written in another way too: defaults left out, whole numbers with a point."""
    document = demo(put("supply.battery.modules", 4), put("supply.inverter.rated_va", 5000.0))
    preview = Page(upload(house, document).text)

    assert preview.by_id("preview-lead").text == (
        "The file says what is here already; nothing in Saltmarsh Ferry House would change."
    )
    assert not preview.all("form")


def test_what_changed_since_the_preview_is_shown_before_it_is_done(house: House, htmx: bool) -> None:
    """Status 409 with a line of what it was, the file still there; the second time it is done."""
    preview = Page(upload(house, other()).text)
    house.send("shirts", "on", "off")
    answer = do_it(house, preview, htmx)
    again = Page(answer.text)

    assert answer.status_code == 409
    assert "at 16:00 switched off" in again.by_id("faults").text
    assert house.stored.revision == 2
    assert house.document["name"] == "Saltmarsh Ferry House"
    assert do_it(house, again, htmx).status_code == (204 if htmx else 303)
    assert house.document["name"] == "Saltmarsh, spring"


def test_every_fault_is_one_line_and_nothing_changes(house: House, htmx: bool) -> None:
    """Status 422, what was sent is still there, and the form goes to the same household again."""
    document = demo(put("colour", "red"), put("appliances.0.stages.0.watts", -65), put("supply.battery.modules", 0))
    answer = upload(house, document, htmx)
    page = Page(answer.text)
    lines = [one.text for one in page.all("li") if one.parent is page.by_id("faults")]

    assert answer.status_code == 422
    assert {line.partition(":")[0] for line in lines} == {
        "appliances[0].stages[0].watts",
        "supply.battery.modules",
        "colour",
    }
    assert json.loads("".join(page.by_id("text").words)) == document
    assert page.all("form")[0]["action"] == f"/households/{house.key}/import"
    assert house.stored.revision == 1


def test_a_file_without_a_plan_is_refused(house: House) -> None:
    """There would be no page on which to take it back."""
    answer = upload(house, demo(put("scenarios", [])))

    assert answer.status_code == 422
    assert "a household keeps at least one plan" in Page(answer.text).by_id("faults").text


@pytest.mark.parametrize("text", ["", "not json", "[]", "NaN", '{"format": "loadstead-household", "version": 2}'])
def test_what_is_no_household_file_is_one_line(house: House, text: str) -> None:
    """Whatever comes in, status 422 and one clear line."""
    answer = upload(house, text)
    page = Page(answer.text)

    assert answer.status_code == 422
    assert len([one for one in page.all("li") if one.parent is page.by_id("faults")]) == 1


@pytest.mark.parametrize("size", [LARGEST_BYTES + 1, LARGEST_BYTES + 200_000])
def test_too_large_a_file_is_refused_with_its_size(house: House, size: int) -> None:
    """Status 413 with what would be right."""
    answer = upload(house, " " * size)

    assert answer.status_code == 413
    assert "at most 5 MB" in Page(answer.text).by_id("faults").text


def test_a_preview_that_was_meddled_with_is_refused(house: House) -> None:
    """The file is read and checked again when it is done."""
    preview = Page(upload(house, other()).text)
    answer = do_it(house, preview, text='{"format": "loadstead-household", "version": 1}')

    assert answer.status_code == 422
    assert house.stored.revision == 1


def test_the_form_says_where_a_file_can_go_to(house: House) -> None:
    """As a new household or into one that is there; the place one is at is marked."""
    page = Page(house.client.get("/import").text)
    ways = {one.text: one for one in page.all("a") if one.parent and one.parent.tag == "li"}
    assert list(ways) == ["✓ As a new household", "Into Saltmarsh Ferry House"]

    into = Page(house.client.get(ways["Into Saltmarsh Ferry House"]["href"]).text)
    marked = [one.text for one in into.all("a", aria_current="page")]
    assert marked == ["✓ Into Saltmarsh Ferry House"]
    assert "nothing is stored before that" in into.all("p", kind="help")[0].text


def test_only_an_owner_may_and_one_of_this_household_too(house_of: Callable[..., House]) -> None:
    """Whose link is for this household alone finds no other place to bring a file to."""
    helper = house_of("helper")
    assert upload(helper, other()).status_code == 403
    owner = house_of("owner", household_key=helper.key)
    form = Page(owner.client.get(f"/households/{owner.key}/import").text)
    assert [one.text for one in form.all("a") if one.parent and one.parent.tag == "li"] == [
        "✓ Into Saltmarsh Ferry House"
    ]
    assert do_it(owner, Page(upload(owner, other()).text)).status_code == 303


def test_a_household_that_is_not_there_is_not_replaced(house: House) -> None:
    """Nor is one that was deleted meanwhile."""
    preview = Page(upload(house, other()).text)
    house.client.post(f"/households/{house.key}/delete")

    assert upload(house, other()).status_code == 404
    assert do_it(house, preview).status_code == 404


def test_a_name_by_half_a_character_does_no_harm(house: House) -> None:
    """JSON can spell one; the page shows that something stands there, and the file keeps it."""
    document = demo()
    document["scenarios"][2]["changes"] = {"supply": {"\ud800": None}}
    preview = Page(upload(house, document).text)
    answer = do_it(house, preview)

    assert answer.status_code == 303
    assert house.document["scenarios"][2]["changes"] == {"supply": {"\ud800": None}}
    assert house.client.get(f"/households/{house.key}/file").status_code == 200


def test_all_kinds_of_figures_are_told_in_words(house: House) -> None:
    """Cycles, starts, circuits, interlocks, patches of plans, and what stands in another order."""
    document = copy.deepcopy(demo())
    appliances = {one["id"]: one for one in document["appliances"]}
    fridge = appliances["fridge"]["stages"][0]
    fridge["cycle"]["on_s"] = 600
    fridge["start"] = None
    appliances["base"]["stages"][0]["sets_off"] = None
    appliances["base"] |= {"circuit": "kitchen", "after_cut": "waits", "basis": "typical"}
    document["supply"]["circuits"][0] |= {"curve": "C", "conductor_mm2": 4}
    document["supply"]["water"]["taps_between"] = ["07:00", "22:30"]
    document["interlocks"] = [{"of": ["fridge", "base"], "at_most": 1}]
    document["scenarios"][1] |= {"wanted_margin": 0.2, "off": ["fridge"], "date": "2026-05-14"}
    document["scenarios"][1]["runs"][0]["on"] = False
    document["scenarios"][1]["runs"].reverse()
    preview = Page(upload(house, document).text)
    appliance, supply, plans = (said(preview, group) for group in ("appliances", "supply", "scenarios"))

    assert "Stage 1 (cooling), by itself on for: 18 min → 10 min" in appliance["Fridge"]
    assert any(line.startswith("Stage 1 (cooling), start draws: ") for line in appliance["Fridge"])
    assert "Circuit: Rooms and lights → Kitchen sockets" in appliance["Always there"]
    assert "Figures are: measured here → typical of its kind" in appliance["Always there"]
    assert supply["Circuit Kitchen sockets"] == ["Its letter: B → C", "Wire size: 2.5 mm² → 4 mm²"]
    assert supply["Water"] == ["Taps run: 06:30 to 22:30 → 07:00 to 22:30"]
    assert said(preview, "household")["One at a time"] == ["Fridge and Always there: new"]
    assert "Fridge: off in this plan" in plans["Laundry day"]
    assert "Runs in another order" in plans["Laundry day"]
    assert "Wanted margin: 15 % → 20 %" in plans["Laundry day"]
    assert "Washing machine at 09:30, on: yes → no" in plans["Laundry day"]


def test_what_a_plan_says_beside_its_parent_is_told_as_its_own(house: House) -> None:
    """Runs it leaves out or has otherwise, figures that hold in it alone, its own day."""
    document = demo()
    changes = document["scenarios"][2].setdefault("changes", {})
    runs = [run["id"] for run in document["scenarios"][0]["runs"]]
    changes["runs"] = dict(changes.get("runs") or {}) | {runs[0]: None, runs[1]: {"on": False}}
    changes["supply"] = {"inverter": {"no_load_w": 50}, "water": None}
    changes["day"] = changes["day"] | {"cloud_oktas": 8, "wanted_margin": 0.2}
    told = said(Page(upload(house, document).text), "scenarios")["Boat shed opens"]

    assert "Only in this plan, Inverter, its own use: not given → 50 W" in told
    assert "Only in this plan, water: taken out" in told
    assert "Sky: a few clouds, 1 of 8 → overcast, 8 of 8" in told
    assert "Wanted margin: not given → 20 %" in told
    assert len([one for one in told if one.endswith(": left out of this plan")]) == 1
    assert len([one for one in told if one.endswith(": not as in the plan it builds on")]) == 1


def test_what_the_engine_refuses_names_its_plan(house: House) -> None:
    """A machine that would be set off while it still runs: every such plan is told at once."""
    sweep = {"id": "sweep", "name": "Sweeper", "stages": [
        {"duration_s": 60, "watts": 50}, {"duration_s": 3000, "watts": 90}
    ]}  # fmt: skip
    saw = {"id": "saw", "name": "Saw", "stages": [
        {"duration_s": 600, "watts": 900, "sets_off": [{"appliance": "sweep"}]}
    ]}  # fmt: skip
    runs = [{"id": f"saw-{hour}", "appliance": "saw", "start": f"{hour}:00"} for hour in ("02", "03")]
    runs[1]["start"] = "02:20"
    document = demo(lambda it: it["appliances"].extend([saw, sweep]))
    for plan in document["scenarios"][:2]:
        plan["runs"] += runs
    answer = upload(house, document)
    faults = Page(answer.text).by_id("faults").text

    assert answer.status_code == 422
    assert "in the plan 'An ordinary day', 'Sweeper' is one machine" in faults
    assert "in the plan 'Laundry day', 'Sweeper' is one machine" in faults
    assert house.stored.revision == 1


def test_what_a_plan_says_of_sun_and_bank_is_shown_in_words(house: House) -> None:
    """The time of the charge, the yield, and other figures of the same measured day."""
    day = {"source": "Harbour", "on": "2019-05-12", "utc_offset_h": 0, "step_s": 3600}
    plan = {"start_state_of_charge": 0.62, "state_of_charge_at": "14:05", "expected_yield_wh": 5200}
    first = demo(put("scenarios.0.measured_day", day | {"plane_w_m2": [100.0] * 24}))
    assert do_it(house, Page(upload(house, first).text)).status_code == 303
    answer = upload(
        house,
        demo(
            put("scenarios.0.measured_day", day | {"plane_w_m2": [200.0] * 24}),
            *(put(f"scenarios.0.{name}", value) for name, value in plan.items()),
        ),
    )
    text = " ".join(line for lines in said(Page(answer.text), "scenarios").values() for line in lines)

    assert answer.status_code == 200
    assert "midnight → 14:05" in text
    assert "5.2 kWh" in text
    assert "Harbour, 12 May 2019, with other figures" in text
    assert "{" not in text
