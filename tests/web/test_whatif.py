"""What-if: begun from any plan, changed by the editors for that plan alone, taken back, made real."""

import json
from typing import Any

from app.store.commands import AddPlan, apply
from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_editors import key_of, shown

PLANS = ("ordinary", "shed")
Document = dict[str, Any]


def page_of(house: House, path: str = "what-if", plan: str = "shed", status: int = 200) -> Page:
    """A page of a plan."""
    answer = house.client.get(f"{house.address(plan)}/{path}")
    assert answer.status_code == status, answer.text
    return Page(answer.text)


def press(house: House, page: Page, form: str, status: int = 303, **typed: Any) -> Any:
    """Send a form as it stands on a page, with something typed in it."""
    fields = shown(page, form) | {name: value if isinstance(value, list) else [value] for name, value in typed.items()}
    answer = house.client.post(page.by_id(form)["action"], data=fields, follow_redirects=False)
    assert answer.status_code == status, answer.text
    return answer


def after(house: House, answer: Any) -> Page:
    """The page an answer leads to."""
    found = house.client.get(answer.headers["location"])
    assert found.status_code == 200, found.text
    return Page(found.text)


def rows(page: Page) -> dict[str, list[str]]:
    """What is different, by its name."""
    found: dict[str, list[str]] = {}
    name = ""
    for row in page.all("li"):
        if row.parent is not None and "differs" in row.parent.classes:
            names = [one.text for one in page.all("b") if one.inside(row)]
            name = names[0] if names else name
            found.setdefault(name, []).extend(
                one.text for one in page.all("p") if one.inside(row) and "help" not in one.classes
            )
    return found


def form_about(page: Page, path: list[str]) -> str:
    """The id of the form that takes back what is said at a path."""
    (field,) = [one for one in page.all("input", name="path") if json.loads(one["value"]) == path]
    assert field.parent is not None
    return str(field.parent["id"])


def plan_of(house: House, plan: str) -> Document:
    return next(one for one in house.document["scenarios"] if one["id"] == plan)


def test_what_is_different_is_told_and_taken_back_as_one_step(house: House) -> None:
    """Machines, runs, the day; taken back it is as in the parent; undone it is there again, to the letter."""
    before = house.document
    page = page_of(house)

    assert rows(page) == {
        "Bandsaw": ["New: 1.1 kW, starts with 4.6 kVA, 2 h, comes and goes"],
        "Dust extractor": ["New: 850 W, starts with 3.1 kVA"],
        "Air compressor": ["New: 1.1 kW, starts with 6.0 kVA, 2 h, comes and goes"],
        "The day": [
            "Date: Tue 12 May 2026 → Tue 19 May 2026", "Sky: half cloudy, 3 of 8 → a few clouds, 1 of 8",
            "Temperatures: 8 to 19 °C → 10 to 22 °C",
        ],
        "Runs": ["Bandsaw at 15:00: new", "Air compressor at 15:00: new"],
    }  # fmt: skip
    told = after(house, press(house, page, form_about(page, ["runs", "sawing"])))
    assert rows(told)["Runs"] == ["Air compressor at 15:00: new"]
    assert "Runs as before, in this plan alone" in told.by_id("step-undo").text
    press(house, page, form_about(page, ["runs", "sawing"]), tab="other", status=410)
    press(house, told, "step-undo")
    assert house.document == before
    refused = press(house, page, form_about(page, ["appliances", "extractor"]), tab="third", status=422)
    assert "extractor" in refused.text  # the saw sets it off
    gone = after(house, press(house, page, form_about(page, ["appliances", "bandsaw"]), tab="fourth"))
    assert ("Bandsaw" in rows(gone), rows(gone)["Runs"]) == (False, ["Air compressor at 15:00: new"])
    press(house, gone, "step-undo")
    assert house.document == before


def test_a_machine_that_goes_out_of_a_rule_of_the_household_says_so(house: House) -> None:
    """Left out of the plan that brings it, a machine is kept apart from none any more: named before it is undone."""
    apart = page_of(house, "household")
    pair = {"interlocks.0": ["bandsaw", ""], "interlocks.1": ["kettle", ""]}
    press(house, apart, "interlocks", **pair, **{f"interlocks.{number}": ["", ""] for number in (2, 3)})
    before = house.document
    assert before["interlocks"] == [{"of": ["bandsaw", "kettle"]}]
    page = page_of(house)
    gone = after(house, press(house, page, form_about(page, ["appliances", "bandsaw"]), tab="another"))

    assert not house.document["interlocks"]
    assert "Bandsaw as before, in this plan alone, and in what never runs together" in gone.by_id("step-undo").text
    undone = after(house, press(house, gone, "step-undo"))
    assert house.document == before
    assert "Bandsaw left out of this plan, and of what never runs together" in undone.by_id("step-redo").text


def test_a_what_if_begins_from_any_plan_and_follows_it(house: House) -> None:
    """Without a name, or with one that is taken, it says so and keeps what was typed."""
    page = page_of(house, plan="ordinary")
    assert page.by_id("name")["value"] == "What if, An ordinary day"
    for typed, why in (("", "Give it a name, such as"), ("boat  SHED opens", "there is a plan of that name already")):
        answer = press(house, page, "begin-what-if", 422, name=typed)
        assert why.lower() in Page(answer.text).by_id("fault-name").text.lower()
        assert Page(answer.text).by_id("name")["value"] == typed.strip()
    there = after(house, press(house, page, "begin-what-if", name="Larger inverter"))
    assert rows(there) == {}
    assert (plan_of(house, "larger-inverter")["parent"], plan_of(house, "larger-inverter")["date"]) == (
        "ordinary", "2026-05-12",
    )  # fmt: skip
    house.send("bread", "start", "09:00", plan="ordinary")
    day = house.stored.days["larger-inverter"]
    assert next(run.start for run in day.runs if run.id == "bread") == "09:00"


def test_the_supply_for_one_plan_alone(house: House) -> None:
    """A figure given there is the plan's alone, beside it what the plan is built on has; set back it follows again."""
    before = house.document
    page = page_of(house, "supply?alone=1")
    assert "of “Boat shed opens” alone" in page.all("p", kind="whose")[0].text
    told = after(house, press(house, page, "inverter", rated_va="5500"))

    assert plan_of(house, "shed")["changes"]["supply"] == {"inverter": {"rated_va": 5500}}
    assert house.document["supply"] == before["supply"]
    assert [one.text for one in told.elements if (one.get("id") or "").startswith("else-inverter-rated_va")] == [
        "In the plan An ordinary day: 5000 VA."
    ]
    assert "Inverter" in rows(page_of(house))
    wrong = Page(press(house, told, "inverter", 422, rated_va="9000").text)
    assert "9000" in [one["value"] for one in wrong.all("input", name="rated_va")]
    assert wrong.all("p", kind="fault")
    press(house, page_of(house, "supply?alone=1"), "inverter", rated_va="5000")
    assert "supply" not in plan_of(house, "shed")["changes"]
    added = after(house, press(house, page_of(house, "supply?alone=1"), "adding-circuits", what="add"))
    assert len(plan_of(house, "shed")["changes"]["supply"]["circuits"]) == len(before["supply"]["circuits"]) + 1
    press(house, added, "step-undo")
    assert house.document == before


def test_an_appliance_for_one_plan_alone(house: House) -> None:
    """One of the plan's own, one of the household's, a new one of the library; the household keeps its own."""
    before = house.document["appliances"]
    listed = page_of(house, "appliances?alone=1")
    saw = next(one for one in listed.all("a") if one.text.startswith("Bandsaw"))
    editor = Page(house.client.get(saw["href"]).text)
    assert not [one for one in editor.elements if one.get("id") in ("take-out", "any-time")]
    softer = after(house, press(house, editor, "stage-0", **{"start.va": "3000"}))
    assert softer.all("h1")
    saws = [one for one in plan_of(house, "shed")["changes"]["appliances"] if one["id"] == "bandsaw"]
    assert saws[0]["stages"][0]["start"]["va"] == 3000
    wrong = Page(press(house, softer, "stage-0", 422, **{"start.va": "10"}).text)
    assert wrong.all("p", kind="fault")

    kettle = Page(house.client.get(f"{house.address('shed')}/appliances/{key_of(house, 'kettle')}?alone=1").text)
    press(house, kettle, "stage-0", watts="1500")
    found = page_of(house, "appliances?alone=1&find=planer")
    (first, *_) = found.all("button", name="typical")
    assert first.parent is not None
    then = after(house, press(house, found, str(first.parent["id"]), typical=first["value"]))
    told = rows(page_of(house))
    assert told["Kettle"][0].endswith("→ 1500 W")
    new = set(told) - {"Kettle", "Bandsaw", "Dust extractor", "Air compressor", "The day", "Runs"}
    assert len(new) >= 1
    assert then.all("p", kind="whose")
    assert house.document["appliances"] == before


def test_made_real_after_a_look_and_undone(house: House) -> None:
    """The preview says what would change and how every plan stands; a preview overtaken by a change does nothing."""
    before = house.document
    look = page_of(house, "what-if/real")
    assert "New: 1.1 kW, starts with 4.6 kVA, 2 h, comes and goes" in look.by_id("real-appliances").text
    assert [one.text for one in look.all("b") if one.text in ("Bandsaw", "Air compressor")] == [
        "Bandsaw", "Air compressor",
    ]  # fmt: skip
    house.send("bread", "start", "09:00", plan="ordinary")
    stale = press(house, look, "make-real", 409)
    assert "Look again" in stale.text
    told = after(house, press(house, Page(stale.text), "make-real"))
    revision = house.stored.revision
    press(house, Page(stale.text), "make-real")  # a double tap
    assert house.stored.revision == revision
    assert {"bandsaw", "compressor"} <= {one["id"] for one in house.document["appliances"]}
    assert set(plan_of(house, "shed")["changes"]) == {"runs", "day"}
    assert "made real" in told.by_id("step-undo").text
    press(house, told, "step-undo")
    assert house.document["appliances"] == before["appliances"]
    nothing = page_of(house, "what-if/real", "ordinary")
    assert "nothing to make real" in nothing.by_id("h-real").parent.text  # type: ignore[union-attr]
    answer = house.client.post(
        f"{house.address('ordinary')}/what-if/real",
        data={"revision": house.stored.revision, "tab": "x", "sequence": 1},
    )
    assert answer.status_code == 422


def test_nonsense_is_no_change(house: House) -> None:
    """A path no page sends is not found; a plan that was deleted leads to the one before it."""
    before = house.document
    about = {"revision": house.stored.revision, "tab": "x", "sequence": 1}
    for path in (
        "",
        "[",
        "[1]",
        '["supply"]',
        '["off", "x"]',
        json.dumps(["supply", *["x"] * 20]),
        "[" * 900,
        "[" * 1500,
        '["appliances", "bandsaw", "stages"]',
    ):
        answer = house.client.post(f"{house.address('shed')}/what-if/take-back", data=about | {"path": path})
        assert answer.status_code == 404, path
    for path in (["supply", "inverter", "rated_va"], ["appliances", "nobody"], ["runs", "none"], ["day", "none"]):
        answer = house.client.post(
            f"{house.address('shed')}/what-if/take-back", data=about | {"path": json.dumps(path)}
        )
        assert answer.status_code == 410, path
    assert house.client.get(f"/h/{house.key}/{'0' * 32}/what-if").status_code == 404
    assert house.document == before


def test_a_deleted_plans_pages_change_no_other(house: House) -> None:
    """410, and nothing is stored: neither figures of its own, nor a what-if on it, nor what would be made real."""
    supply, page, look = page_of(house, "supply?alone=1"), page_of(house), page_of(house, "what-if/real")
    gone = house.address("shed")
    assert house.client.post(f"{gone}/delete", data={"revision": 1, "tab": "x", "sequence": 1}).status_code == 200
    before = house.document
    press(house, supply, "inverter", 410, rated_va="5500")
    press(house, page, "begin-what-if", 410, name="On nothing")
    press(house, look, "make-real", 410, revision=str(house.stored.revision))
    for path in ("what-if", "what-if/real", "supply?alone=1", "appliances?alone=1"):
        answer = house.client.get(f"{gone}/{path}")
        assert (answer.status_code, "This plan was deleted" in answer.text) == (410, True), path
    assert house.document == before


def test_two_workshops_do_not_stand_in_each_others_way(house: House) -> None:
    """Made real, a plan's new circuit comes into other plans' own lists of circuits too."""
    for name in ("one", "other"):
        circuits = [*house.document["supply"]["circuits"], {"id": name, "name": name}]
        kettle = {
            "id": f"kettle-{name}",
            "name": f"Kettle {name}",
            "circuit": name,
            "stages": [{"duration_s": 60, "watts": 9}],
        }
        changes = {"supply": {"circuits": circuits}, "appliances": [kettle]}
        document = {"id": name, "name": name, "date": "2026-05-12", "parent": "ordinary", "changes": changes}
        with house.database.session() as session:
            about: Document = {"household_key": house.key, "tab": name, "link_key": None, "sequence": 1}
            apply(session, AddPlan(**about, document=document))
            session.commit()
    press(house, page_of(house, "what-if/real", "one"), "make-real")
    press(house, page_of(house, "what-if/real", "other"), "make-real")
    assert {one["id"] for one in house.document["supply"]["circuits"]} >= {"one", "other"}


def test_what_a_new_circuit_carries_is_told_before_it_is_made_real(house: House) -> None:
    """Its breaker and its cable; that it is new where neither is given."""
    rated = {"id": "barn", "name": "Barn", "breaker_a": 20, "curve": "D", "cable_a": 27.5}
    circuits = [*house.document["supply"]["circuits"], rated, {"id": "attic", "name": "Attic"}]
    document = {"name": "Barn", "date": "2026-05-19", "changes": {"supply": {"circuits": circuits}}, "parent": "shed"}
    with house.database.session() as session:
        add = AddPlan(household_key=house.key, tab="t", sequence=1, link_key=None, document=document)
        key = apply(session, add).part_key
        session.commit()
    page = Page(house.client.get(f"/h/{house.key}/{key}/what-if/real").text)
    told = page.by_id("real-supply").text
    assert "New: breaker D 20 A, cable for 27.5 A Circuit Attic" in told
    assert told.endswith("New")


def test_a_new_circuit_has_a_name_that_no_plan_has(house: House) -> None:
    """Under the same name it would be the same circuit, and made real overwrite the household's."""

    def add(path: str) -> None:
        page = page_of(house, path)
        press(house, page, "adding-circuits", what="add", tab=path)

    add("supply?alone=1")
    add("supply")
    alone = plan_of(house, "shed")["changes"]["supply"]["circuits"]
    own = house.document["supply"]["circuits"]
    assert len({one["id"] for one in alone}) == len(alone)
    assert own[-1]["id"] == alone[-1]["id"]  # it came to the plan
    assert alone[-2]["id"] not in {one["id"] for one in own}


def test_a_redo_that_cannot_be_says_why(house: House) -> None:
    """On an editor's page, as an undo does: here the plan's own list would lose what was done to it since."""
    press(house, page_of(house, "supply?alone=1"), "adding-circuits", what="add")
    press(house, page_of(house, "supply", "ordinary"), "adding-circuits", what="add", tab="second")
    press(house, page_of(house, "supply", "ordinary"), "step-undo", tab="third")
    press(house, page_of(house, "supply?alone=1"), "step-undo", tab="fourth")
    told = after(house, press(house, page_of(house, "supply", "ordinary"), "step-redo", tab="fifth"))
    assert "That cannot be done again as things stand." in told.by_id("wrong").text


def test_a_part_that_a_plan_needs_is_not_taken_out_unsaid(house: House) -> None:
    """The household's supply page says which plan has figures of its own for it, and what to do; nothing is lost."""
    press(house, page_of(house, "supply", "ordinary"), "adding-generator", what="add")
    press(house, page_of(house, "supply?alone=1"), "generator", rated_w="4000", tab="second")
    before = house.document
    answer = press(house, page_of(house, "supply", "ordinary"), "taking-generator", 422, what="remove", tab="third")
    assert (
        "The plan 'Boat shed opens' has figures of its own for the generator and needs the others; take those back"
        in Page(answer.text).by_id("wrong").text
    )
    assert house.document == before
    told = page_of(house)
    assert "Generator" in rows(told)
