"""Undo and redo on a plan's page: in words, in order, and with a reason where it cannot be."""

from dataclasses import replace
from typing import Any

import pytest

from app.store.commands import AddRun, apply
from app.store.history import recent
from app.web import words
from app.web.planned import planned
from tests.web.conftest import HTMX, House
from tests.web.markup import Page
from tests.web.test_plans import scenario, send


def step(house: House, which: str, plan: str = "laundry", htmx: bool = False) -> Any:
    """Press undo or redo as the page offers it."""
    page = house.page(plan)
    form = page.by_id(which).parent
    assert form is not None
    return house.client.post(form["action"], data=page.form(form), headers=HTMX if htmx else {}, follow_redirects=False)


def offered(house: House, plan: str = "laundry") -> tuple[str, str]:
    """What undo and redo say; empty where there is none."""
    page = house.page(plan)
    found = {one["id"]: one.text for one in page.all("button", kind="step")}
    return found.get("undo", ""), found.get("redo", "")


def run(house: House, run_id: str) -> dict[str, Any]:
    runs: list[dict[str, Any]] = scenario(house)["runs"]
    return next(one for one in runs if one["id"] == run_id)


def test_there_is_nothing_to_undo_at_first(house: House) -> None:
    """An untouched plan offers neither; bringing a household in is no step."""
    assert offered(house) == ("", "")


def test_a_move_is_undone_and_redone(house: House, htmx: bool) -> None:
    """The buttons say where the run goes back to and where it would go again."""
    before = house.document
    house.send("dry-1", "start", "11:00")
    assert offered(house) == ("Undo: Heat-pump dryer back to 10:50", "")

    assert step(house, "undo", htmx=htmx).status_code == (200 if htmx else 303)
    assert house.document == before
    assert offered(house) == ("", "Redo: Heat-pump dryer moved to 11:00")

    assert step(house, "redo", htmx=htmx).status_code == (200 if htmx else 303)
    assert run(house, "dry-1")["start"] == "11:00"


WORDED = (
    ("runs", {"run": "dry-1", "field": "on", "value": "off"},
     "Heat-pump dryer at 10:50 switched off", "Heat-pump dryer at 10:50 on again"),
    ("plan", {"field": "name", "value": "Washing day"}, "Plan renamed to Washing day", "Plan named Laundry day again"),
    ("plan", {"field": "date", "value": "2026-06-01"}, "Date moved to Mon 1 Jun", "Date back to Sat 16 May"),
    ("plan", {"field": "cloud_oktas", "value": "8"},
     "Sky set to overcast, 8 of 8", "Sky back to a few clouds, 2 of 8"),
    ("plan", {"field": "ambient_c", "hour": ["6", "15"], "degrees": ["-1", "4"]},
     "Temperatures set to −1 to 4 °C", "Temperatures back to 9 to 20 °C"),
    ("plan", {"field": "start_state_of_charge", "value": "55"},
     "Battery set to 55 % at midnight", "Battery back to 70 % at midnight"),
    ("plan", {"field": "wanted_margin", "value": "20"}, "Wanted margin set to 20 %", "Wanted margin back to 15 %"),
    ("plans", {"name": "Bake day"}, "Plan Bake day added", "Plan Bake day taken away"),
    ("plans", {"name": "Two", "copied": "true"}, "Plan Two copied from Laundry day", "Plan Two taken away"),
)  # fmt: skip


@pytest.mark.parametrize(("what", "fields", "did", "undoing"), WORDED)
def test_every_change_has_its_words(house: House, what: str, fields: dict[str, Any], did: str, undoing: str) -> None:
    """What it did, for the other phone and for redo; what undoing it does, for undo."""
    if what == "runs":
        house.send(fields["run"], fields["field"], fields["value"])
    else:
        send(house, what, **fields)
    with house.database.session() as session:
        change = recent(session, house.key, 1)[0]
    stored = house.stored
    plan = next(one for one in stored.scenarios if one.id == "laundry")
    told = words.what_it_did(change, stored, plan, planned(stored, plan).resolved)

    assert told.replace("\u00a0", " ") == did
    page = next(one.id for one in stored.scenarios if one.key in (change.scenario_key, change.command.get("scenario")))
    assert offered(house, page)[0] == f"Undo: {undoing}"
    left = house.client.get(step(house, "undo", page).headers["location"])
    assert Page(left.text).by_id("redo").text == f"Redo: {did}"


def test_a_household_renamed_is_a_step_on_every_plan(house: House) -> None:
    """The new name is taken back from any plan's page."""
    house.client.post(f"/households/{house.key}/name", data={"name": "Ferry", "tab": "t", "sequence": 1})
    assert offered(house, "shed")[0] == "Undo: Household named Saltmarsh Ferry House again"

    step(house, "undo", "shed")
    assert house.document["name"] == "Saltmarsh Ferry House"


def test_steps_go_back_one_after_the_other_and_a_new_change_ends_redo(house: House) -> None:
    """Newest first; whoever does something else has nothing to redo."""
    send(house, "plan", field="cloud_oktas", value="8")
    send(house, "plan", field="wanted_margin", value="20", tab="t2")
    step(house, "undo")
    step(house, "undo")
    assert offered(house) == ("", "Redo: Sky set to overcast, 8 of 8")

    send(house, "plan", field="name", value="Washing day", tab="t3")
    assert offered(house) == ("Undo: Plan named Laundry day again", "")


def test_other_plans_changes_are_no_steps_here(house: House) -> None:
    """A change of one plan is undone on its own page alone."""
    send(house, "plan", "shed", field="cloud_oktas", value="8")

    assert offered(house, "laundry") == ("", "")
    assert offered(house, "shed")[0] == "Undo: Sky back to a few clouds, 1 of 8"


def test_a_step_that_cannot_be_undone_says_why(house: House, htmx: bool) -> None:
    """Where undoing would put a machine on itself, the reason stands at the button and nothing is stored."""
    shed = next(one for one in house.stored.scenarios if one.id == "shed")
    add = AddRun(
        household_key=house.key, scenario_key=shed.key, tab="t0", sequence=1, link_key=None,
        document={"appliance": "vacuum", "start": "16:00"},
    )  # fmt: skip
    with house.database.session() as session:
        apply(session, add)
        session.commit()
    house.send("floors", "start", "20:00", "shed")
    # The parent moves the run on which undoing would let this plan fall back.
    house.send("floors", "start", "16:00", "ordinary")
    before = house.document
    answer = step(house, "undo", "shed", htmx)
    page = Page(answer.text)

    assert answer.status_code == 422
    assert page.by_id("why-not").text.startswith(
        "There is a run of Vacuum cleaner from 16:00 to 16:20 already; begin at"
    )
    assert page.by_id("undo").text.startswith("Undo: ")
    assert house.document == before


def test_a_step_that_is_the_last_no_more_is_not_undone(house: House, htmx: bool) -> None:
    """Whoever presses a button that is out of date sees how it stands now, and why nothing was done."""
    house.send("dry-1", "start", "11:00")
    page = house.page()
    form = page.by_id("undo").parent
    assert form is not None
    sent = page.form(form)
    house.send("wash-1", "start", "07:00", tab="t2")
    answer = house.client.post(form["action"], data=sent, headers=HTMX if htmx else {}, follow_redirects=False)

    assert answer.status_code == 409
    assert Page(answer.text).by_id("why-not").text.startswith("Something newer was done meanwhile.")
    assert house.stored.revision == 3


def test_a_step_sent_twice_is_done_once(house: House) -> None:
    """The same form again, as after a slow answer, changes nothing more."""
    house.send("dry-1", "start", "11:00")
    page = house.page()
    form = page.by_id("undo").parent
    assert form is not None
    sent = [house.client.post(form["action"], data=page.form(form), follow_redirects=False) for _ in range(2)]

    assert [one.status_code for one in sent] == [303, 303]
    assert house.stored.revision == 3


def test_undoing_a_new_plan_on_its_own_page_leads_away_from_it(house: House, htmx: bool) -> None:
    """The plan is gone then, so the plan before it is shown, which offers to do it again."""
    send(house, "plans", name="Bake day", copied="true")
    stored = house.stored
    copy = next(one for one in stored.scenarios if one.name == "Bake day")
    answer = step(house, "undo", copy.id, htmx)
    there = answer.headers["hx-redirect" if htmx else "location"]

    assert answer.status_code == (204 if htmx else 303)
    assert there == house.address("laundry")
    assert offered(house)[1] == "Redo: Plan Bake day copied from Laundry day"


def test_the_answer_to_a_step_has_every_part(house: House) -> None:
    """The script gets the rows for the place that asked, and sheet and head too."""
    send(house, "plan", field="cloud_oktas", value="8")
    page = Page(step(house, "undo", htmx=True).text)
    parts = [one["id"] for one in page.elements if one.parent is None and one.get("id")]

    assert parts[0] == "day-rows"
    assert {"day-plan", "day-head", "day-steps", "day-verdict"} <= set(parts)


def line(do: str, **fields: Any) -> dict[str, Any]:
    return {"do": do, **fields}


LOGGED = (
    (
        line("set_run_field", run_id="shirts", field="duration_s", appliance="iron", start="16:00", becomes=2700),
        line("clear_run_field", run_id="shirts", field="duration_s", appliance="iron", start="16:00", becomes=None),
        "Iron at 16:00 set to 45 min", "Iron at 16:00 back to its usual length",
    ),
    (
        line("add_run", run_id="iron-2", appliance="iron", start="18:05:30", document={}),
        line("remove_run", run="k", run_id="iron-2", appliance="iron", start="18:05:30"),
        "Iron at 18:05:30 added", "Iron at 18:05:30 taken off",
    ),
    (
        line("remove_run", run="k", run_id="iron-2", appliance="iron", start="18:05"),
        line("add_run", run_id="iron-2", appliance="iron", start="18:05", document={}),
        "Iron at 18:05 removed", "Iron at 18:05 back on the day",
    ),
    (
        line("remove_run", run="k", run_id="x", appliance="loom", start="18:05"),
        line("add_run", run_id="x", appliance="loom", start="18:05", document={}),
        "loom at 18:05 removed", "loom at 18:05 back on the day",
    ),
    (
        line("remove_appliance", name="x", title="Loom", runs=2, rules=["any_time", "interlocks"]), line("put_back"),
        "Loom taken out of the appliances, and of the any-time loads and what never runs together",
        "Loom back, with 2 runs, and in the any-time loads and what never runs together",
    ),
    (
        line("remove_plan", name="Shed", rules=["interlocks"]),
        line("restore_plan", name="Shed", rules=["interlocks"]),
        "Plan Shed deleted, and its machines out of what never runs together",
        "Plan Shed back, and its machines in what never runs together",
    ),
    # As the log had them before it kept words beside a command.
    (
        line("set_run_field", run="{shirts}", field="start", value="17:00"),
        line("set_run_field", run="{shirts}", field="start", value="16:00"),
        "Iron moved to 17:00", "Iron back to 16:00",
    ),
    (
        line("set_run_field", run="{shirts}", field="on", value=False),
        line("clear_run_field", run="{shirts}", field="on"),
        "Iron at 16:00 switched off", "Iron at 16:00 on again",
    ),
    (
        line("import_household", document={}), line("remove_household"),
        "Household brought in", "The last change taken back",
    ),
    (line("paint_it_red"), line("paint_it_white"), "Something else was changed", "The last change taken back"),
)  # fmt: skip


@pytest.mark.parametrize(("command", "inverse", "did", "undoing"), LOGGED)
def test_every_line_of_the_log_has_its_words(
    house: House, command: dict[str, Any], inverse: dict[str, Any], did: str, undoing: str
) -> None:
    """Lengths, runs that came and went, appliances that are no more, and what an older log says."""
    stored = house.stored
    plan = next(one for one in stored.scenarios if one.id == "laundry")
    resolved = planned(stored, plan).resolved
    keys = {"{shirts}": house.run_key("shirts")}
    command, inverse = ({what: keys.get(str(said), said) for what, said in one.items()} for one in (command, inverse))
    with house.database.session() as session:
        change = replace(recent(session, house.key, 1)[0], command=command, inverse=inverse)

    assert words.what_it_did(change, stored, plan, resolved).replace("\u00a0", " ") == did
    assert words.what_undoing_does(change, stored, plan, resolved).replace("\u00a0", " ") == undoing
