"""The editors in a browser: whatever is typed is stored or stays where it was typed, with what is wrong beside it."""

import re
from collections.abc import Iterable
from typing import Any

import pytest
from playwright.sync_api import Dialog, Locator, Page, Route, expect

from app.store.households import export_document, load
from app.web.fields import appliance, supply
from app.web.fields import site as place
from app.web.fields.customs import Customs
from app.web.fields.entry import Field, Points
from app.web.fields.questions import QUESTIONS
from tests.browser.conftest import Open, Site
from tests.browser.scanning import scan_by_screen

PLANS = ("laundry",)
NONSENSE = "about <b>ten</b>"
# Of fields, by their ids: what stands in each, and what is said beside it in sight.
STANDING = """(ids) => Object.fromEntries(ids.map((id) => {
  const fault = document.getElementById(`fault-${id.replace(/-1-1$/, '')}`);
  return [id, [document.getElementById(id).value, fault && fault.checkVisibility() ? fault.textContent : null]];
}))"""


def document(site: Site) -> dict[str, Any]:
    """The household as it is stored."""
    with site.database.session() as session:
        return export_document(session, site.key)


def stored(site: Site, appliance_id: str) -> dict[str, Any]:
    """One appliance as it is stored."""
    found: dict[str, Any] = next(one for one in document(site)["appliances"] if one["id"] == appliance_id)
    return found


def editor(site: Site, appliance_id: str) -> str:
    """The address of an appliance's editor."""
    with site.database.session() as session:
        household = load(session, site.key)
    assert household is not None
    pieces = household.pieces.values()
    key = next(one.key for one in pieces if (one.kind, one.name) == ("appliance", appliance_id))
    return f"{site.address()}/appliances/{key}"


def unfold(page: Page) -> None:
    """Open whatever is folded."""
    page.evaluate("() => document.querySelectorAll('details').forEach((one) => { one.open = true; })")


def numbers(fields: Iterable[Field]) -> list[str]:
    """Ends of the ids of fields in which nonsense is none of what is meant."""
    found = []
    for field in fields:
        if isinstance(field, Points):
            found.append(f"{field.path}-1-1")
        elif field.measure is not None and field.measure.read("nonsense", Customs()) is None:
            found.append(field.path.replace(".", "-"))
    return found


def put(page: Page, field: str, text: str) -> Locator:
    """Type into a field and leave it."""
    typed = page.locator(f"#{field}")
    typed.fill(text)
    typed.press("Tab")
    return typed


def stay_once(page: Page) -> list[str]:
    """Stay where one is, the next time the page asks; which kinds of questions were asked."""
    asked: list[str] = []

    def stay(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    page.once("dialog", stay)
    return asked


def choose(page: Page, field: str, value: str) -> Locator:
    """Choose as people do: where one is."""
    chosen = page.locator(f"#{field}")
    chosen.focus()
    chosen.select_option(value)
    return chosen


def type_all(page: Page, texts: dict[str, str]) -> None:
    """Type into several fields of one form before any is left; the last one is typed by hand, and left."""
    *rest, last = texts
    page.evaluate(
        "(texts) => { for (const [id, text] of Object.entries(texts)) document.getElementById(id).value = text; }",
        {name: texts[name] for name in rest},
    )
    page.locator(f"#{last}").press_sequentially("x")
    put(page, last, texts[last])


FORMS: dict[str, tuple[Field, ...]] = {
    "inverter": supply.INVERTER,
    "battery": supply.BATTERY,
    "arrays-0": supply.ARRAY,
    "circuits-1": supply.CIRCUIT,
    "water": supply.WATER,
    "generator": supply.GENERATOR,
    "rules": supply.RULES,
}
WHOLE = ("appliance", (*appliance.TRUST, *appliance.AFTER_CUT))
STAGE = ("stage-1", (*appliance.STAGE, appliance.ENERGY, *appliance.CYCLE, *appliance.START))
PLACES = ("site", place.SITE[1:])


def refuse_all(page: Page, site: Site, form: str, fields: Iterable[Field]) -> None:
    """Nonsense into every field of a form: each is refused beside itself and stays, and nothing is stored."""
    before = document(site)
    unfold(page)
    names = [f"{form}-{name}" for name in numbers(fields) if page.locator(f"#{form}-{name}").count()]
    stood = [value for value, _ in page.evaluate(STANDING, names).values()]
    type_all(page, dict.fromkeys(names, NONSENSE))
    expect(page.locator(f"#fault-{re.sub('-1-1$', '', names[-1])}")).to_be_visible()
    for name, (value, fault) in page.evaluate(STANDING, names).items():
        assert value == NONSENSE, name
        assert "cannot be read here" in (fault or ""), name
    assert document(site) == before
    type_all(page, dict(zip(names, stood, strict=True)))
    expect(page.locator(f"#{form} .fault")).to_have_count(0)
    assert document(site) == before


def test_every_figure_of_the_supply_is_refused_where_it_is_wrong(open_page: Open, site: Site) -> None:
    """Every form in turn; what is put right again is stored only where it is another figure."""
    page = open_page()
    page.goto(f"{site.address()}/supply")
    page.locator("#add-generator").click()
    expect(page.locator("#generator")).to_be_visible()
    for form, fields in FORMS.items():
        refuse_all(page, site, form, fields)
    # The generator that was added starts at 30 %.
    put(page, "battery-reserve", "30,5 %")
    expect(page.locator("#fault-battery-reserve")).to_contain_text("would start at 30 %, below")
    put(page, "battery-reserve", "25,5 %")
    expect(page.locator("#battery .fault")).to_have_count(0)
    put(page, "circuits-1-conductor_mm2", "10 AWG")
    expect(page.locator("#circuits-1-conductor_mm2")).to_have_value("5.2612")
    found = document(site)["supply"]
    assert found["battery"]["reserve"] == 0.255
    assert found["circuits"][1]["conductor_mm2"] == 5.2612


def names_and_choices(page: Page, form: str) -> tuple[list[str], list[str]]:
    """Ids of the texts of a form, and of its choices."""
    texts = page.locator(f"#{form} .figure.long input[id]").evaluate_all("(all) => all.map((one) => one.id)")
    choices = page.locator(f"#{form} .figure:not(.points) select[id]").evaluate_all("(all) => all.map((one) => one.id)")
    return texts, choices


def test_names_and_choices_that_are_none_are_refused_where_they_stand(open_page: Open, site: Site) -> None:
    """Names too long to be any, and choices no page has: said beside each; the text stays, the choice is as stored."""
    page = open_page()
    forms = {
        f"{site.address()}/supply": ("inverter", "battery", "arrays-0", "circuits-1", "water"),
        editor(site, "washer"): ("appliance", "stage-1"),
        f"{site.address()}/household": ("site", "formats"),
    }
    before, seen = document(site), 0
    for address, names in forms.items():
        page.goto(address)
        unfold(page)
        for form in names:
            texts, choices = names_and_choices(page, form)
            stood = {one: value for one, (value, _) in page.evaluate(STANDING, texts + choices).items()}
            page.evaluate(
                """([texts, choices]) => {
                  for (const id of texts) document.getElementById(id).value = "x".repeat(3000);
                  for (const id of choices)
                    document.getElementById(id).add(new Option("other", "<b>other</b>", true, true));
                }""",
                [texts, choices],
            )
            page.locator(f"#{(texts + choices)[-1]}").dispatch_event("change", {"bubbles": True})
            expect(page.locator(f"#fault-{(texts + choices)[-1]}")).to_be_visible()
            for one, (value, fault) in page.evaluate(STANDING, list(stood)).items():
                assert fault, one
                assert value == ("x" * 3000 if one in texts else stood[one]), one
            seen += len(stood)
    assert seen >= 20
    assert document(site) == before
    page.goto(editor(site, "washer"))
    for name, why in (("", "is needed"), ("dishwasher", "already"), (" ", "is needed")):
        put(page, "appliance-name", name)
        expect(page.locator("#fault-appliance-name")).to_contain_text(why)
        expect(page.locator("#appliance-name")).to_have_value(name)
    assert document(site) == before


def test_every_figure_of_an_appliance_and_its_stages_is_refused_where_it_is_wrong(open_page: Open, site: Site) -> None:
    """Then one figure of each is stored; the place of the household goes the same way."""
    page = open_page(1280, 800)
    page.goto(editor(site, "washer"))
    refuse_all(page, site, *WHOLE)
    refuse_all(page, site, *STAGE)
    put(page, "stage-1-watts", "9 A")
    expect(page.locator("#stage-1-watts")).to_have_value("2070")
    assert stored(site, "washer")["stages"][1]["watts"] == 2070
    page.goto(f"{site.address()}/household")
    refuse_all(page, site, *PLACES)


def test_a_figure_changes_the_strip_and_is_taken_back(open_page: Open, site: Site) -> None:
    """The word before stands beside the word now; undo has the figure and the word as they were."""
    page = open_page()
    page.goto(f"{site.address()}/supply")
    before = document(site)
    word = page.locator("#effect .current .word").inner_text()
    put(page, "inverter-overload-1-2", "1 s")
    expect(page.locator("#effect .current .word")).not_to_have_text(word)
    expect(page.locator("#effect .current")).to_contain_text(f"was: {word}")
    assert document(site) != before
    page.locator("#undo").click()
    expect(page.locator("#inverter-overload-1-2")).to_have_value("30 min")
    expect(page.locator("#effect .current .word")).to_have_text(word)
    assert document(site) == before


def test_stages_are_added_split_moved_and_taken_out(open_page: Open, site: Site) -> None:
    """The stage one is at stays unfolded; what is typed and refused in another goes with it."""
    page = open_page()
    page.goto(editor(site, "dishwasher"))
    before = stored(site, "dishwasher")["stages"]
    page.locator("#fold-stage-3 > summary").click()
    put(page, "stage-3-watts", "plenty")
    expect(page.locator("#fault-stage-3-watts")).to_be_visible()
    page.locator("#fold-stage-1 > summary").click()
    page.locator("#after-stage-1").click()
    expect(page.locator("#stage-2-watts")).to_have_value("100")
    expect(page.locator("#stage-4-watts")).to_have_value("plenty")
    expect(page.locator("#fault-stage-4-watts")).to_be_visible()
    put(page, "stage-2-watts", "1,5 kW")
    expect(page.locator("#fold-stage-2 > summary")).to_contain_text("1.5 kW")
    page.locator("#split-stage-2").click()
    expect(page.locator("#stage-3-watts")).to_have_value("1500")
    page.locator("#up-stage-2").click()
    expect(page.locator("#stage-1-watts")).to_have_value("1500")
    expect(page.locator("#fold-stage-1")).to_have_attribute("open", "")
    page.locator("#down-stage-1").click()
    expect(page.locator("#fold-stage-1 > summary")).not_to_contain_text("1.5 kW")
    page.locator("#remove-stage-2").click()
    expect(page.locator("details.stage")).to_have_count(len(before) + 1)
    found = stored(site, "dishwasher")["stages"]
    assert found[:2] + found[3:] == before
    assert found[2] == {"duration_s": 300, "watts": 1500}
    expect(page.locator("#stage-4-watts")).to_have_value("plenty")


def test_a_typical_one_is_found_while_it_is_typed_and_added(open_page: Open, site: Site) -> None:
    """Three taps and its name, from the day to the appliance's own editor; the best match comes first."""
    page = open_page()
    taps = 0
    for target in ("nav.tabs a:has-text('Appliances')", "#find"):
        page.locator(target).click()
        taps += 1
    page.locator("#find").press_sequentially("band saw")
    first = page.locator("#found li").first
    expect(first).to_contain_text("Band saw")
    expect(page.locator("#find")).to_be_focused()
    expect(page.locator("#find")).to_have_value("band saw")
    button = first.get_by_role("button")
    box = button.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < 500  # above where a phone's keyboard begins
    assert min(box["width"], box["height"]) >= 44
    button.click()
    taps += 1
    expect(page).to_have_title(re.compile("Band saw"))
    assert taps == 3
    assert any(one["name"].startswith("Band saw") for one in document(site)["appliances"])


def test_three_questions_show_what_they_make_while_they_are_answered(open_page: Open, site: Site) -> None:
    """Only what is open is asked; nonsense is said at once, what is not answered yet is not."""
    page = open_page(1280, 800)
    page.goto(f"{site.address()}/questions")
    before = document(site)
    expect(page.locator("#questions-on_s")).to_be_hidden()
    expect(page.locator("#questions-locked_rotor_a")).to_be_hidden()
    page.locator("#questions-name").fill("Garage <lathe>")
    page.locator("#questions-kind").select_option("motor")
    page.locator("#questions-run_s").fill("2 h")
    expect(page.locator("#made-of")).to_contain_text("Garage <lathe>")
    expect(page.locator("#questions-run_s")).to_be_focused()
    expect(page.locator(".fault")).to_have_count(0)
    page.locator("#questions-watts").fill("lots")
    expect(page.locator("#fault-questions-watts")).to_contain_text("cannot be read here")
    expect(page.locator("#questions-watts")).to_be_focused()
    expect(page.locator("#made")).to_have_count(0)
    page.locator("#questions-watts").fill("1,1 kW")
    expect(page.locator("#made-of")).to_contain_text("1.1\u00a0kW")
    assert document(site) == before
    page.locator("#add-made").click()
    expect(page).to_have_title(re.compile("Garage <lathe>"))
    assert document(site)["appliances"][-1]["stages"][0]["watts"] == 1100


def test_every_answer_that_is_none_is_refused_where_it_is_wrong(open_page: Open, site: Site) -> None:
    """All figures of the three questions at once, asked for and typed over."""
    page = open_page()
    page.goto(f"{site.address()}/questions")
    before = document(site)
    page.locator("#questions-name").fill("Compressor")
    page.locator("#questions-kind").select_option("comes_and_goes")
    page.locator("#questions-motor").select_option("yes")
    names = [f"questions-{name}" for name in numbers(QUESTIONS)]
    for name in sorted(names, key=lambda one: one in ("questions-volts", "questions-energy_over_s")):
        page.locator(f"#{name}").fill(NONSENSE)
    page.locator("#show-made").click()
    expect(page.locator(f"#fault-{names[-1]}")).to_be_visible()
    for name, (value, fault) in page.evaluate(STANDING, names).items():
        assert value == NONSENSE, name
        assert fault, name
    assert document(site) == before


def test_a_refusal_outlasts_what_was_about_to_be_sketched(open_page: Open, site: Site) -> None:
    """Shown at once with Enter after the last figure; what is asked for stays asked for while others are given."""
    page = open_page()
    page.goto(f"{site.address()}/questions")
    page.locator("#questions-name").fill("Circular saw")
    page.locator("#questions-kind").select_option("motor")
    page.locator("#questions-watts").fill("1200")
    page.locator("#questions-watts").press("Enter")
    missing = page.locator("#fault-questions-run_s")
    expect(missing).to_contain_text("how long a run takes")
    page.wait_for_timeout(600)  # longer than a sketch waits
    expect(missing).to_be_visible()
    with page.expect_response("**/questions"):
        page.locator("#questions-watts").fill("1300")
    expect(page.locator("#questions")).not_to_have_attribute("aria-busy", "true")
    expect(missing).to_be_visible()
    page.locator("#questions-run_s").fill("10 min")
    expect(page.locator("#made-of")).to_contain_text("Circular saw")
    expect(page.locator(".fault")).to_have_count(0)
    asked = stay_once(page)
    page.get_by_role("link", name="All appliances").click()
    expect(page.locator("#questions-watts")).to_have_value("1300")
    assert asked == ["beforeunload"]
    page.locator("#add-made").click()
    expect(page).to_have_title(re.compile("Circular saw"))


def test_a_start_is_worked_out_and_stored_when_it_is_taken(open_page: Open, site: Site) -> None:
    """Held still at 20 A: with its range and its source; nothing is stored by looking."""
    page = open_page()
    page.goto(editor(site, "iron"))
    before = document(site)
    page.locator("#fold-help-stage-0 > summary").click()
    page.locator("#help-stage-0-locked_rotor_a").fill("many")
    page.locator("#work-help-stage-0").click()
    expect(page.locator("#fault-help-stage-0-locked_rotor_a")).to_be_visible()
    page.locator("#help-stage-0-locked_rotor_a").fill("20")
    page.locator("#work-help-stage-0").click()
    expect(page.locator("#fault-help-stage-0-kind")).to_contain_text("Say whether it heats as well")
    page.locator("#help-stage-0-kind").select_option("motor")
    page.locator("#work-help-stage-0").click()
    expect(page.locator("#made-help-stage-0")).to_contain_text("4.6\u00a0kVA")
    expect(page.locator("#made-help-stage-0")).to_contain_text("It may be from")
    expect(page.locator("#made-help-stage-0")).to_contain_text("It rests on")
    assert document(site) == before
    page.locator("#use-help-stage-0").click()
    expect(page.locator("#start-stage-0 > summary")).to_contain_text("4.6\u00a0kVA")
    assert stored(site, "iron")["stages"][0]["start"]["va"] == 4600


def test_kilowatt_hours_become_watts_over_the_length(open_page: Open, site: Site) -> None:
    """A tenth of a kilowatt-hour in 20 minutes is 300 W; without its unit a figure is of kilowatt-hours."""
    page = open_page(1280, 800)
    page.goto(editor(site, "washer"))
    page.locator("#fold-stage-2 > summary").click()
    put(page, "stage-2-duration_s", "20 min")
    put(page, "stage-2-energy_wh", "0,1")
    expect(page.locator("#stage-2-watts")).to_have_value("300")
    expect(page.locator("#stage-2-energy_wh")).to_have_value("")
    put(page, "stage-2-energy_wh", "900 MWh")
    expect(page.locator("#fault-stage-2-energy_wh")).to_be_visible()
    expect(page.locator("#stage-2-energy_wh")).to_have_value("900 MWh")
    assert stored(site, "washer")["stages"][2]["watts"] == 300


def test_an_appliance_is_deleted_and_brought_back(open_page: Open, site: Site) -> None:
    """From its editor to the list, and one step has it and its runs again."""
    page = open_page()
    before = document(site)
    page.goto(editor(site, "dishwasher"))
    page.locator("#delete").click()
    expect(page.locator("#own")).to_have_text("14 appliances")
    page.locator("#undo").click()
    expect(page.locator("#own")).to_have_text("15 appliances")
    assert document(site) == before


def test_a_new_line_is_sent_when_it_is_left(open_page: Open, site: Site) -> None:
    """Half of it is no fault while the other half is still to come; left as half a line it is."""
    page = open_page(1280, 800)
    page.goto(f"{site.address()}/household")
    choose(page, "interlocks-interlocks-1-1", "dryer")
    page.wait_for_timeout(300)
    expect(page.locator(".fault")).to_have_count(0)
    choose(page, "interlocks-interlocks-1-2", "kettle").blur()
    expect(page.locator("#interlocks-interlocks-2-1")).to_be_visible()
    assert document(site)["interlocks"] == [{"of": ["dryer", "kettle"]}]
    choose(page, "interlocks-interlocks-2-1", "hob").blur()
    expect(page.locator("#fault-interlocks-interlocks")).to_contain_text("at least two")


def test_two_pages_edit_two_figures_of_one_part(open_page: Open, site: Site) -> None:
    """Neither takes the other's back; each sees it with its own next answer."""
    first, second = open_page(), open_page(1280, 800)
    for page in (first, second):
        page.goto(f"{site.address()}/supply")
    put(first, "battery-reserve", "40")
    expect(first.locator("#undo")).to_be_visible()
    put(second, "battery-modules", "6")
    expect(second.locator("#battery-reserve")).to_have_value("40")
    battery = document(site)["supply"]["battery"]
    assert (battery["reserve"], battery["modules"]) == (0.4, 6)


def test_what_is_typed_outlasts_a_server_that_is_away(open_page: Open, site: Site) -> None:
    """The line says so; the next figure that is stored takes the earlier one with it, and the line goes."""
    page = open_page()
    page.goto(f"{site.address()}/supply")
    page.route("**/supply", lambda route: route.abort("internetdisconnected"))
    put(page, "battery-reserve", "40")
    expect(page.locator("#net")).to_contain_text("Nothing was stored")
    expect(page.locator("#battery-reserve")).to_have_value("40")
    page.unroute("**/supply")
    put(page, "inverter-cut_off_v", "45")
    expect(page.locator("#net")).to_be_hidden()
    expect(page.locator("#undo")).to_be_visible()
    page.wait_for_timeout(600)
    found = document(site)["supply"]
    assert (found["inverter"]["cut_off_v"], found["battery"]["reserve"]) == (45, 0.4)


def test_a_slow_server_holds_up_nobody(open_page: Open, site: Site) -> None:
    """What is typed meanwhile stays and is sent after it; so is a button that was pressed meanwhile."""
    page = open_page()
    page.goto(editor(site, "dishwasher"))
    count = page.locator("details.stage").count()
    held: list[Route] = []
    page.locator("#fold-stage-0 > summary").click()
    page.route("**/appliances/*", lambda route: held.append(route), times=1)
    put(page, "stage-0-watts", "77")
    page.locator("#stage-0-duration_s").fill("7 min")
    page.locator("#after-stage-0").click()
    expect(page.locator("#net")).to_contain_text("Still waiting")
    held[0].continue_()
    expect(page.locator("details.stage")).to_have_count(count + 1)
    expect(page.locator("#net")).to_be_hidden()
    page.wait_for_timeout(400)
    first = stored(site, "dishwasher")["stages"][0]
    assert (first["watts"], first["duration_s"]) == (77, 420)


def test_what_was_refused_in_one_form_survives_the_saving_of_another(open_page: Open, site: Site) -> None:
    """With what is wrong beside it, and the cursor where it was."""
    page = open_page(1280, 800)
    page.goto(f"{site.address()}/supply")
    put(page, "battery-modules", "a few")
    expect(page.locator("#fault-battery-modules")).to_be_visible()
    put(page, "inverter-cut_off_v", "45")
    expect(page.locator("#undo")).to_be_visible()
    expect(page.locator("#battery-modules")).to_have_value("a few")
    expect(page.locator("#fault-battery-modules")).to_be_visible()
    put(page, "battery-modules", "5")
    expect(page.locator(".fault")).to_have_count(0)
    assert document(site)["supply"]["battery"]["modules"] == 5


def test_what_was_refused_for_another_form_is_sent_again_once_that_is_right(open_page: Open, site: Site) -> None:
    """A reserve above the charge at which the generator starts: stored as soon as that is above it."""
    page = open_page(1280, 800)
    page.goto(f"{site.address()}/supply")
    page.locator("#add-generator").click()
    expect(page.locator("#generator-start_below")).to_have_value("30")
    put(page, "battery-reserve", "40")
    expect(page.locator("#fault-battery-reserve")).to_be_visible()
    put(page, "generator-start_below", "45")
    expect(page.locator(".fault")).to_have_count(0)
    expect(page.locator("#battery-reserve")).to_have_value("40")
    supply = document(site)["supply"]
    assert (supply["battery"]["reserve"], supply["generator"]["start_below"]) == (0.4, 0.45)


def test_a_figure_refused_for_another_waits_where_it_was_typed(open_page: Open, site: Site) -> None:
    """It names the other, and neither it nor the line above takes the cursor or denies what is stored elsewhere."""
    page = open_page()
    page.goto(f"{site.address()}/supply")
    unfold(page)
    put(page, "inverter-cut_off_v", "60")
    expect(page.locator("#fault-inverter-cut_off_v")).to_contain_text("\u201cRestart voltage\u201d does not fit")
    expect(page.locator(".fault")).to_have_count(1)
    put(page, "battery-dc_fuse_a", "355 A")
    expect(page.locator("#wrong")).to_contain_text("what was changed last is stored")
    expect(page.locator("#undo")).to_contain_text("355")
    expect(page.locator("#inverter-cut_off_v")).to_have_value("60")
    expect(page.locator("#inverter-cut_off_v")).not_to_be_focused()
    put(page, "inverter-restart_v", "62")
    expect(page.locator(".fault, #wrong")).to_have_count(0)
    inverter = document(site)["supply"]["inverter"]
    assert (inverter["cut_off_v"], inverter["restart_v"]) == (60, 62)


def test_a_larger_inverter_is_entered_figure_by_figure(open_page: Open, site: Site) -> None:
    """For one plan alone: what fits is stored at once, what does not waits; with that the page asks before it goes."""
    page = open_page(1280, 800)
    page.goto(f"{site.address()}/supply?alone=1")
    before = document(site)["supply"]
    put(page, "inverter-rated_va", "8000")
    expect(page.locator("#fault-inverter-rated_va")).to_contain_text("What it carries for a short time")
    put(page, "inverter-continuous_w-1-2", "7000")
    expect(page.locator("#wrong")).to_contain_text("the rest was stored")
    expect(page.locator("#inverter-rated_va")).to_have_value("8000")
    asked = stay_once(page)
    page.get_by_role("link", name="Back to the what-if").click()
    expect(page.locator("#inverter-rated_va")).to_have_value("8000")
    assert asked == ["beforeunload"]
    for line, volt_amperes in ((3, "16 kVA"), (2, "12 kVA"), (1, "9600")):
        put(page, f"inverter-overload-{line}-1", volt_amperes)
    expect(page.locator(".fault, #wrong")).to_have_count(0)
    page.get_by_role("link", name="Back to the what-if").click()
    expect(page).to_have_url(re.compile("/what-if$"))
    plan = next(one for one in document(site)["scenarios"] if one["id"] == "laundry")["changes"]["supply"]
    assert plan["inverter"]["rated_va"] == 8000
    assert [level[0] for level in plan["inverter"]["overload"]] == [9600, 12000, 16000]
    assert document(site)["supply"] == before


def test_without_the_script_the_same_goes_by_buttons(open_page: Open, site: Site) -> None:
    """A figure, a refusal, a stage, a start, the library, the questions, and a step back."""
    page = open_page(script=False)
    page.goto(f"{site.address()}/supply")
    page.locator("#battery-reserve").fill("much")
    page.locator("#battery .save").click()
    expect(page.locator("#fault-battery-reserve")).to_be_visible()
    page.locator("#battery-reserve").fill("40")
    page.locator("#battery .save").click()
    expect(page.locator("#undo")).to_be_visible()
    assert document(site)["supply"]["battery"]["reserve"] == 0.4
    page.locator("#undo").click()
    expect(page.locator("#redo")).to_be_visible()
    assert document(site)["supply"]["battery"]["reserve"] == 0.25
    page.goto(editor(site, "dishwasher"))
    page.locator("#fold-stage-1 > summary").click()
    count = page.locator("details.stage").count()
    page.locator("#split-stage-1").click()
    expect(page.locator("details.stage")).to_have_count(count + 1)
    expect(page.locator("#fold-stage-1")).to_have_attribute("open", "")
    page.locator("#fold-help-stage-1 > summary").click()
    page.locator("#help-stage-1-locked_rotor_a").fill("20")
    page.locator("#work-help-stage-1").click()
    page.locator("#use-help-stage-1").click()
    expect(page.locator("#start-stage-1 > summary")).to_contain_text("4.6\u00a0kVA")
    assert stored(site, "dishwasher")["stages"][1]["start"]["va"] == 4600
    page.goto(f"{site.address()}/appliances")
    page.locator("#find").fill("kettle")
    page.locator("#seek button").click()
    page.locator("#found li button").first.click()
    expect(page).to_have_title(re.compile("[Kk]ettle"))
    page.goto(f"{site.address()}/questions")
    page.locator("#questions-name").fill("Heater")
    page.locator("#questions-kind").select_option("heats")
    page.locator("#questions-run_s").fill("1 h")
    page.locator("#show-made").click()
    page.locator("#add-made").click()
    expect(page).to_have_title(re.compile("Heater"))
    assert document(site)["appliances"][-1]["name"] == "Heater"


@pytest.mark.parametrize("size", [(390, 844)], ids=["phone"])
def test_the_editors_bar_nobody(open_page: Open, site: Site, size: tuple[int, int]) -> None:
    """Each with everything unfolded, and with what is wrong beside its field."""
    page = open_page(*size)
    pages = {
        "supply": f"{site.address()}/supply",
        "appliance": editor(site, "washer"),
        "library": f"{site.address()}/appliances?find=saw",
        "questions": f"{site.address()}/questions",
        "household": f"{site.address()}/household",
    }
    wrong = {"supply": "battery-reserve", "appliance": "stage-1-watts", "household": "site-latitude"}
    for name, address in pages.items():
        page.goto(address)
        unfold(page)
        if name in wrong:
            put(page, wrong[name], NONSENSE)
            expect(page.locator(f"#fault-{wrong[name]}")).to_be_visible()
        scan_by_screen(page, name)
        assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth"), name
