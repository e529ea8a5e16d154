"""Plans and households in a real browser: begun, edited in place, deleted and had back, with and without scripts."""

import re
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, Route, expect

from app.store.households import export_document, list_households
from tests.browser.conftest import Device, Open, Site
from tests.browser.scanning import scan, scan_by_screen
from tests.browser.waiting import search_nothing

Size = tuple[int, int]

FIELDS = (
    ("name", "Washing day", "name", "Washing day"),
    ("date", "2026-06-01", "date", "2026-06-01"),
    ("cloud_oktas", "7", "cloud_oktas", 7),
    ("start_state_of_charge", "67,5", "start_state_of_charge", 0.675),
    ("wanted_margin", "20", "wanted_margin", 0.2),
)


def press(target: Locator) -> None:
    """A finger where there is one, else a click."""
    if target.page.viewport_size["width"] < 900:  # type: ignore[index]
        target.tap()
    else:
        target.click()


def unfold(page: Page, dom_id: str) -> None:
    if page.locator(f"#{dom_id}").get_attribute("open") is None:
        press(page.locator(f"#{dom_id} > summary"))


def stored(site: Site) -> dict[str, Any]:
    with site.database.session() as session:
        return export_document(session, site.key)


def plan(site: Site, plan_id: str = "laundry") -> dict[str, Any]:
    return next(one for one in stored(site)["scenarios"] if one["id"] == plan_id)


def names(site: Site) -> list[str]:
    return [one["name"] for one in stored(site)["scenarios"]]


def households(site: Site) -> list[str]:
    with site.database.session() as session:
        return [row.name for row in list_households(session)]


def test_each_value_is_edited_in_place(open_page: Open, site: Site, device: Device) -> None:
    """What is entered is stored; the sheet stays unfolded and the step back is offered, for what was done last."""
    page = open_page(device.width, device.height, script=device.script)
    unfold(page, "plan-sheet")
    said = ""
    for field, typed, named, value in FIELDS:
        entry = page.locator(f"#value-{field}")
        if field == "cloud_oktas":
            entry.select_option(typed)
        else:
            entry.fill(typed)
        if field != "cloud_oktas" or not device.script:
            press(page.locator(f"#set-{field}"))
        expect(page.locator("#undo")).to_be_visible()
        expect(page.locator("#undo")).not_to_have_text(said)
        said = page.locator("#undo").inner_text()

        assert plan(site)[named] == value
        assert page.locator("#plan-sheet").get_attribute("open") is not None


def test_an_edit_loads_no_page_and_leaves_what_is_typed_elsewhere(open_page: Open, site: Site) -> None:
    """With its script the page stays the same one, and a field that was begun keeps its text."""
    page = open_page()
    page.evaluate("() => { window.__same = true; }")
    unfold(page, "plan-sheet")
    page.locator("#value-name").fill("Half a na")
    page.locator("#value-wanted_margin").fill("20")
    page.locator("#value-wanted_margin").press("Enter")
    expect(page.locator("#undo")).to_contain_text("Wanted margin back to 15")

    assert page.evaluate("() => window.__same")
    assert page.locator("#value-name").input_value() == "Half a na"
    assert page.locator("#value-wanted_margin").evaluate("one => one === document.activeElement")
    assert plan(site)["name"] == "Laundry day"


def test_the_temperatures_are_one_list(open_page: Open, site: Site, device: Device) -> None:
    """A line more by typing it, Enter sets the list; a line less by its button.

    The list is shown in the order it is stored in, and can be set again at once.
    """
    page = open_page(device.width, device.height, script=device.script)
    unfold(page, "plan-sheet")
    page.locator("#hour-3").fill("22:30")
    page.locator("#degrees-3").fill("-1,5")
    page.locator("#degrees-3").press("Enter")
    expect(page.locator("#undo")).to_contain_text("Temperatures back to")
    assert plan(site)["ambient_c"] == [[5, 9], [15, 20], [22.5, -1.5]]

    press(page.locator("#without-2"))
    expect(page.locator("#without-3")).to_have_count(0)
    assert plan(site)["ambient_c"] == [[5, 9], [22.5, -1.5]]

    page.locator("#hour-3").fill("2")
    page.locator("#degrees-3").fill("7,5")
    press(page.locator("#set-ambient_c"))
    expect(page.locator("#hour-4")).to_have_count(1)
    shown = [page.locator(f"#hour-{number}").input_value() for number in (1, 2, 3, 4)]
    assert shown == ["02:00", "05:00", "22:30", ""]
    assert plan(site)["ambient_c"] == [[2, 7.5], [5, 9], [22.5, -1.5]]


def test_what_cannot_be_is_said_beside_its_field(open_page: Open, site: Site, device: Device) -> None:
    """The message is in sight and the text that was typed stays; a page that was loaded again starts in the field.

    So it is for a value that is none, one that is too long, a plan without a name, which leaves the list of plans
    unfolded, and a plan others stand on, which is not deleted.
    """
    page = open_page(device.width, device.height, script=device.script)
    unfold(page, "plan-sheet")
    field = page.locator("#value-name")
    field.fill("")
    field.press_sequentially("n" * 203, delay=0)
    assert len(field.input_value()) == 200
    if device.script:
        field.evaluate("(one) => { one.removeAttribute('maxlength'); }")
        field.fill("n" * 20_000)
        press(page.locator("#set-name"))
        expect(page.locator("#fault-name")).to_have_text("At most 200 characters, please; here are 20000.")
        assert len(page.locator("#value-name").input_value()) == 20_000
        expect(page.locator("#net")).to_be_hidden()

    page.locator("#value-start_state_of_charge").fill("0.75")
    press(page.locator("#set-start_state_of_charge"))
    message = page.locator("#fault-start_state_of_charge")
    expect(message).to_contain_text("write 75 for 75")
    if not device.script:
        expect(page.locator("#value-start_state_of_charge")).to_be_focused()

    expect(message).to_be_in_viewport()
    assert page.locator("#value-start_state_of_charge").input_value() == "0.75"
    if device.script:
        scan(page, "a value that is none", "#plan-sheet")

    page.goto(site.address("ordinary"))
    unfold(page, "plans")
    page.locator("#name-new").fill(" ")
    press(page.locator("#begin-new"))
    expect(page.locator("#fault-plan-new")).to_have_text(re.compile("Give it a name, such as Rainy day"))
    expect(page.locator("#fault-plan-new")).to_be_in_viewport()
    if device.script:
        scan(page, "a plan without a name", "#plans")

    page.goto(site.address("ordinary"))
    unfold(page, "plan-sheet")
    press(page.locator("#remove-plan"))
    expect(page.locator("#fault-removed")).to_contain_text("Boat shed opens")
    assert len(names(site)) == 3


def test_nothing_bars_anybody_at_the_sheet(open_page: Open, site: Site, size: Size) -> None:
    """The scan is clean with sheet and list of plans unfolded, steps offered, and an error among the temperatures."""
    page = open_page(*size)
    search_nothing(page)
    page.goto(site.address("shed"))
    unfold(page, "plan-sheet")
    page.locator("#value-cloud_oktas").select_option("6")
    expect(page.locator("#undo")).to_be_visible()
    scan_by_screen(page, "a step back")
    page.locator("#hour-1").fill("25:00")
    press(page.locator("#set-ambient_c"))
    expect(page.locator("#fault-ambient_c")).to_be_visible()
    scan_by_screen(page, "a fault", "#plan-sheet")
    unfold(page, "plans")
    scan_by_screen(page, "the plans", "#plans")


def test_a_plan_is_begun_renamed_copied_and_deleted(open_page: Open, site: Site, device: Device) -> None:
    """Each leads to the plan it is about; what was deleted is had back by the button that is offered right there."""
    page = open_page(device.width, device.height, script=device.script)
    unfold(page, "plans")
    page.locator("#name-new").fill("Bake day")
    press(page.locator("#begin-new"))
    expect(page.locator("#day-verdict")).to_contain_text("Nothing is planned yet.")
    assert names(site)[-1] == "Bake day"

    unfold(page, "plan-sheet")
    page.locator("#value-name").fill("Bread day")
    press(page.locator("#set-name"))
    expect(page.locator("#plans > summary")).to_contain_text("Bread day")

    unfold(page, "plans")
    assert page.locator("#name-copied").input_value() == "Bread day, copy"
    press(page.locator("#begin-copied"))
    expect(page.locator("#plans > summary")).to_contain_text("Bread day, copy")

    unfold(page, "plan-sheet")
    press(page.locator("#remove-plan"))
    expect(page.locator("#undo")).to_contain_text("Plan Bread day, copy back")
    assert names(site)[-1] == "Bread day"
    press(page.locator("#undo"))
    expect(page.locator("#redo")).to_contain_text("Plan Bread day, copy deleted")
    assert names(site)[-2:] == ["Bread day", "Bread day, copy"]


def test_a_run_is_moved_back_and_forth(open_page: Open, site: Site, device: Device) -> None:
    """Undo and redo say what they would do and do it."""
    page = open_page(device.width, device.height, script=device.script)
    press(page.locator(f"#run-{site.run_key('wash-2')}"))
    expect(page.locator("#undo")).to_have_text(re.compile(r"Undo: Washing machine.* at 10:48 on again"))
    press(page.locator("#undo"))
    expect(page.locator("#redo")).to_have_text(re.compile(r"Redo: Washing machine.* at 10:48 switched off"))
    assert site.run("wash-2").get("on", True) is True

    press(page.locator("#redo"))
    expect(page.locator("#undo")).to_be_visible()
    assert site.run("wash-2")["on"] is False


def test_the_keys_everybody_knows_step_back_and_forth(open_page: Open, site: Site) -> None:
    """Ctrl+Z and Ctrl+Shift+Z press the two buttons, but not while somebody types."""
    page = open_page(1280, 800)
    page.locator(f"#run-{site.run_key('wash-2')}").click()
    expect(page.locator("#undo")).to_be_visible()
    page.evaluate("() => document.activeElement.blur()")
    page.keyboard.press("Control+z")
    expect(page.locator("#redo")).to_be_visible()
    page.keyboard.press("Control+Shift+z")
    expect(page.locator("#undo")).to_be_visible()

    unfold(page, "plan-sheet")
    page.locator("#value-name").fill("Something else")
    page.locator("#value-name").press("Control+z")
    assert site.run("wash-2")["on"] is False


def test_on_a_phone_the_way_back_is_at_the_thumb_and_covers_nothing(open_page: Open, site: Site) -> None:
    """The bar keeps to the lower edge, is 44 pixels high to touch, and the page's last line stands above it."""
    for width in (320, 390):
        page = open_page(width, 700)
        page.locator(f"#run-{site.run_key('wash-2')}").tap()
        expect(page.locator("#undo")).to_be_visible()
        box = page.locator("#undo").bounding_box()
        page.evaluate("() => scrollTo(0, document.documentElement.scrollHeight)")
        bar = page.locator(".back").bounding_box()
        last = page.locator(".advice").bounding_box()

        assert box is not None
        assert bar is not None
        assert last is not None
        assert box["height"] >= 44
        assert bar["height"] <= 80
        assert abs(bar["y"] + bar["height"] - 700) < 1
        assert last["y"] + last["height"] <= bar["y"]
        page.locator("#undo").tap()
        expect(page.locator("#redo")).to_be_visible()


def test_on_a_desk_the_way_back_is_in_the_head(open_page: Open, site: Site) -> None:
    """It stands at the right of the head's line and moves nothing when it comes."""
    page = open_page(1280, 800)
    before = page.locator("#day-verdict").bounding_box()
    page.locator(f"#run-{site.run_key('wash-2')}").click()
    expect(page.locator("#undo")).to_be_visible()
    page.evaluate("() => scrollTo(0, 0)")
    after, undo = page.locator("#day-verdict").bounding_box(), page.locator("#undo").bounding_box()

    assert before is not None
    assert after is not None
    assert undo is not None
    assert before["y"] == after["y"]
    assert undo["y"] < 60
    assert undo["x"] + undo["width"] > 1200


@pytest.mark.parametrize("widths", [(320, 390, 768), (900, 1280)], ids=["touch", "desk"])
def test_nothing_of_the_sheet_sticks_out_or_is_too_small(open_page: Open, site: Site, widths: tuple[int, ...]) -> None:
    """With sheet and list unfolded and long names the page scrolls in no other way, and every control takes 44 px."""
    page = open_page(widths[0], 800)
    search_nothing(page)
    page.goto(site.address("shed"))
    unfold(page, "plan-sheet")
    page.locator("#value-name").fill("A name without any space: " + "verylongword" * 8)
    page.locator("#value-name").press("Enter")
    expect(page.locator("#undo")).to_be_visible()
    unfold(page, "plans")
    for width in widths:
        page.set_viewport_size({"width": width, "height": 800})
        small = page.evaluate(
            """() => Array.from(document.querySelectorAll('.headline, #day-plan'))
              .flatMap((part) => Array.from(
                part.querySelectorAll('a, button, summary, select, input:not([type=hidden])')))
              .filter((one) => one.checkVisibility())
              .map((one) => [one.id || one.textContent.trim(), one.getBoundingClientRect()])
              .filter(([, box]) => box.width < 43.5 || box.height < 43.5)
              .map(([name, box]) => [name, box.width, box.height])"""
        )

        assert small == [], width
        assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0, width


def test_a_server_that_is_away_loses_nothing_typed(open_page: Open, site: Site) -> None:
    """The page says so, the text stays in its field, and the next time it is stored."""
    page = open_page()
    unfold(page, "plan-sheet")
    page.locator("#value-name").fill("Washing day")
    page.context.set_offline(True)
    press(page.locator("#set-name"))
    expect(page.locator("#net")).to_be_visible()
    assert page.locator("#value-name").input_value() == "Washing day"

    page.context.set_offline(False)
    press(page.locator("#set-name"))
    expect(page.locator("#plans > summary")).to_contain_text("Washing day")
    expect(page.locator("#net")).to_be_hidden()
    assert plan(site)["name"] == "Washing day"


def test_a_second_edit_waits_for_the_first(open_page: Open, site: Site) -> None:
    """Two fields set while the server is slow are both stored, in their order."""
    page = open_page()
    unfold(page, "plan-sheet")

    def slow(route: Route) -> None:
        page.wait_for_timeout(300)
        route.continue_()

    page.route("**/plan", slow)
    page.locator("#value-name").fill("Washing day")
    page.locator("#value-name").press("Enter")
    page.locator("#value-wanted_margin").fill("20")
    page.locator("#value-wanted_margin").press("Enter")
    expect(page.locator("#undo")).to_contain_text("Wanted margin back to 15")

    assert (plan(site)["name"], plan(site)["wanted_margin"]) == ("Washing day", 0.2)


def test_a_figure_that_is_typed_is_stored_when_one_leaves_it(open_page: Open, site: Site, size: Size) -> None:
    """Without its button, and not before; a refusal takes nobody away from where one types by then."""
    page = open_page(*size)
    unfold(page, "plan-sheet")
    charge, margin = page.locator("#value-start_state_of_charge"), page.locator("#value-wanted_margin")
    charge.fill("64")
    page.locator("#at-start_state_of_charge").focus()
    page.wait_for_timeout(100)
    assert plan(site)["start_state_of_charge"] != 0.64
    margin.focus()
    expect(page.locator("#undo")).to_contain_text("Battery back to")
    assert plan(site)["start_state_of_charge"] == 0.64
    charge.fill("much")
    margin.focus()
    expect(page.locator("#fault-start_state_of_charge")).to_be_visible()
    expect(margin).to_be_focused()
    assert charge.input_value() == "much"


def test_what_is_typed_and_not_sent_is_not_left_without_asking(open_page: Open, site: Site) -> None:
    """A name that is half typed: the browser asks; once it is set, or where nothing is typed, it does not."""
    page = open_page()
    unfold(page, "plan-sheet")
    asked: list[str] = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    page.locator("#value-name").tap()
    page.locator("#value-name").fill("Washing")
    page.evaluate("() => document.querySelector('.tabs a:not([aria-current])').click()")
    page.wait_for_timeout(200)
    assert asked == ["beforeunload"]
    page.locator("#value-name").press("Enter")
    expect(page.locator("#plans > summary")).to_contain_text("Washing")
    page.locator(".tabs a:not([aria-current])").first.tap()
    expect(page.locator(".tabs [aria-current]")).not_to_have_text("Day")
    assert asked == ["beforeunload"]


def test_a_plan_deleted_elsewhere_is_named_with_a_way_on(open_page: Open, site: Site) -> None:
    """A change on its page is answered with what happened and a link to a plan that is there."""
    here, there = open_page(), open_page(1280, 800)
    unfold(there, "plan-sheet")
    there.locator("#remove-plan").click()
    expect(there.locator("#undo")).to_contain_text("Plan Laundry day back")
    unfold(here, "plan-sheet")
    here.locator("#value-name").fill("Washing day")
    press(here.locator("#set-name"))
    expect(here.locator(".news")).to_contain_text("The plan “Laundry day” was deleted.")
    assert here.locator("#value-name").input_value() == "Washing day"

    press(here.locator(".news a"))
    expect(here.locator("#plans > summary")).to_contain_text("An ordinary day")


def test_households_are_begun_renamed_copied_and_deleted(open_page: Open, site: Site, device: Device) -> None:
    """All on one list; what was deleted is had back by the button at the top."""
    page = open_page(device.width, device.height, script=device.script)
    page.goto("/")
    unfold(page, "begin")
    page.locator("#new-name").fill("Reedbank Cabin")
    press(page.get_by_role("button", name="Begin it"))
    press(page.get_by_role("link", name="Later"))
    expect(page.locator("#day-verdict")).to_contain_text("Nothing is planned yet.")
    press(page.locator("h1 a"))

    card = page.locator("section.household").last
    press(card.locator("summary"))
    card.get_by_label("Name", exact=True).fill("Reedbank")
    press(card.get_by_role("button", name="Rename"))
    expect(page.get_by_role("heading", name="Reedbank", exact=True)).to_be_visible()

    card = page.locator("section.household").last
    press(card.locator("summary"))
    press(card.get_by_role("button", name="Duplicate"))
    expect(page.get_by_role("heading", name="Reedbank, copy")).to_be_visible()

    card = page.locator("section.household").last
    press(card.locator("summary"))
    press(card.get_by_role("link", name="Delete"))
    press(page.get_by_role("link", name="Delete it"))
    press(page.get_by_role("button", name="Yes, delete"))
    expect(page.locator(".just")).to_contain_text("Reedbank, copy deleted.")
    assert households(site) == ["Saltmarsh Ferry House", "Reedbank"]
    press(page.locator("#undo"))
    expect(page.get_by_role("heading", name="Reedbank, copy")).to_be_visible()
    assert households(site) == ["Saltmarsh Ferry House", "Reedbank", "Reedbank, copy"]


def test_a_list_whose_server_is_away_keeps_what_is_typed(open_page: Open, site: Site) -> None:
    """It says so in one line, everything typed is still there, and the next time it is done."""
    page = open_page(1280, 800)
    page.goto("/")
    unfold(page, "begin")
    unfold(page, "place")
    page.locator("#new-name").fill("Reedbank Cabin")
    page.locator("#new-latitude").fill("54,3")
    page.locator("#new-longitude").fill("-2,5")
    page.context.set_offline(True)
    press(page.get_by_role("button", name="Begin it"))
    expect(page.locator("#net")).to_have_text(re.compile("No answer from the server. Nothing was stored;"))
    assert page.locator("#new-name").input_value() == "Reedbank Cabin"
    assert page.locator("#new-latitude").input_value() == "54,3"
    scan(page)

    page.context.set_offline(False)
    press(page.get_by_role("button", name="Begin it"))
    press(page.get_by_role("link", name="Later"))
    expect(page.locator("#day-verdict")).to_contain_text("Nothing is planned yet.")
    assert households(site) == ["Saltmarsh Ferry House", "Reedbank Cabin"]


def test_a_list_whose_server_fails_says_so(open_page: Open, site: Site) -> None:
    """What was typed stays; a second press while the first is on its way sends nothing more."""
    page = open_page()
    page.goto("/")
    page.locator("section.household summary").tap()
    name = page.locator(f"#rename-{site.key}")
    name.fill("Ferry")
    held: list[Route] = []
    page.route("**/name", lambda route: held.append(route))
    page.get_by_role("button", name="Rename").tap()
    expect(page.locator("#net")).to_have_text("Still waiting for the server.")
    page.get_by_role("button", name="Rename").tap()
    assert len(held) == 1
    held[0].fulfill(status=500)
    expect(page.locator("#net")).to_contain_text("The server could not do that.")
    assert name.input_value() == "Ferry"

    page.unroute("**/name")
    page.get_by_role("button", name="Rename").tap()
    expect(page.get_by_role("heading", name="Ferry", exact=True)).to_be_visible()
    expect(page.locator("#net")).to_be_hidden()


@pytest.mark.parametrize("script", [True, False], ids=["script", "plain"])
def test_a_file_typed_in_stays_when_the_server_is_away_or_refuses(open_page: Open, site: Site, script: bool) -> None:
    """A refusal says each fault with the text kept; without an answer the text is still there."""
    page = open_page(script=script)
    page.goto("/import")
    page.locator("#text").fill("{ not a file }")
    if script:
        page.context.set_offline(True)
        page.get_by_role("button", name="Bring it in").tap()
        expect(page.locator("#net")).to_be_visible()
        page.context.set_offline(False)
    page.get_by_role("button", name="Bring it in").tap()
    expect(page.locator("#faults")).to_be_in_viewport()
    expect(page.locator("#net")).to_be_hidden()
    assert page.locator("#text").input_value().strip() == "{ not a file }"


@pytest.mark.parametrize("size", [(390, 844)], ids=["phone"])
def test_nothing_bars_anybody_on_the_list(open_page: Open, size: Size) -> None:
    """The scan is clean with everything unfolded, with errors, after a deletion, and on the page of an empty plan."""
    page = open_page(*size)
    page.goto("/")
    unfold(page, "begin")
    unfold(page, "place")
    page.locator("#new-latitude").fill("north")
    press(page.get_by_role("button", name="Begin it"))
    expect(page.locator("#fault-new-latitude")).to_be_visible()
    page.evaluate("() => document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    scan_by_screen(page, "errors")
    page.locator("#new-latitude").fill("54,3")
    page.locator("#new-longitude").fill("-2,5")
    page.locator("#new-name").fill("Reedbank Cabin")
    press(page.get_by_role("button", name="Begin it"))
    press(page.get_by_role("link", name="Later"))
    expect(page.locator("#day-verdict")).to_contain_text("Nothing is planned yet.")
    scan_by_screen(page, "an empty plan")
    page.goto("/")
    card = page.locator("section.household").last
    press(card.locator("summary"))
    press(card.get_by_role("link", name="Delete"))
    press(page.get_by_role("link", name="Delete it"))
    press(page.get_by_role("button", name="Yes, delete"))
    expect(page.locator(".just")).to_be_visible()
    unfold(page, "removed")
    scan_by_screen(page, "after a deletion")


@pytest.mark.parametrize("widths", [(320, 390), (1280,)], ids=["touch", "desk"])
def test_nothing_of_the_list_sticks_out_or_is_too_small(open_page: Open, site: Site, widths: tuple[int, ...]) -> None:
    """With everything unfolded and a long name the list scrolls in no other way, and every control takes 44 px."""
    page = open_page(widths[0], 800)
    page.goto("/")
    unfold(page, "begin")
    page.locator("#new-name").fill("A name without any space: " + "verylongword" * 8)
    press(page.get_by_role("button", name="Begin it"))
    page.wait_for_selector("#see")
    page.goto("/")
    page.evaluate("() => document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    for width in widths:
        page.set_viewport_size({"width": width, "height": 800})
        small = page.evaluate(
            """() => Array.from(document.querySelectorAll('a, button, summary, input:not([type=hidden])'))
              .filter((one) => one.checkVisibility())
              .map((one) => [one.id || one.textContent.trim(), one.getBoundingClientRect()])
              .filter(([, box]) => box.width < 43.5 || box.height < 43.5)
              .map(([name, box]) => [name, box.width, box.height])"""
        )

        assert small == [], width
        assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0, width
