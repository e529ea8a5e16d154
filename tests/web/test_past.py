"""The history of an appliance's figures: each as it was, what it rested on, and what was taken back."""

from app.store.commands import ReplaceHousehold, apply
from app.web.words import rested_on
from tests.web.conftest import House
from tests.web.markup import Page
from tests.web.test_editors import PLAN, key_of, open_page, send, step_back, within

PLANS = (PLAN,)


def past(house: House, appliance: str = "kettle") -> list[str]:
    """The lines of its history, the newest first."""
    page = open_page(house, f"appliances/{key_of(house, appliance)}")
    return [one.text for one in within(page, page.by_id("past"), "li")]


def test_every_old_figure_stands_with_what_it_rested_on(house: House) -> None:
    """The basis, how sure it was, the source and its date, as they were until then."""
    path = f"appliances/{key_of(house, 'kettle')}"
    source = {"source.kind": "published", "source.text": "Table 3 of a paper", "source.date": "May 2026"}
    send(house, path, "appliance", basis="nameplate", uncertainty="15", **source)
    send(house, path, "stage-0", watts="2150 W")
    send(house, path, "appliance", basis="measured", **{"source.kind": "measured", "source.text": "plug meter"})
    newest, middle, oldest = past(house)

    assert "typical of its kind \u2192 its own label" in oldest.replace("these figures are ", "")
    assert "Draws 2000 W \u2192 2150 W" in middle
    for line in (middle, newest):
        assert "Until then: its own label, within 15 %; a published figure: Table 3 of a paper, May 2026." in line
    assert "its own label \u2192 measured here" in newest


def test_what_was_taken_back_is_told_in_its_order(house: House) -> None:
    """The change says that it was taken back, the step back what it made of the figure, doing it again as well."""
    path = f"appliances/{key_of(house, 'kettle')}"
    send(house, path, "stage-0", watts="2150 W")
    assert step_back(house, open_page(house, path)).status_code == 303
    back, change = past(house)
    assert "Taken back: draws 2150 W \u2192 2000 W" in back
    assert "Draws 2000 W \u2192 2150 W" in change
    assert "taken back since" in change
    assert "Until then: " in back
    page = open_page(house, path)
    redo = next(one for one in within(page, page.by_id("edit-steps"), "form") if "Redo" in one.text)
    fields = {field["name"]: field["value"] for field in within(page, redo, "input")}
    house.client.post(redo["action"], data=fields)
    again, back, change = past(house)

    assert "Done again: draws 2000 W \u2192 2150 W" in again
    assert "Taken back" in back
    assert "taken back since" not in change


def test_stages_and_deletion_have_their_lines_too(house: House) -> None:
    """What was added and taken back, taken out and brought back."""
    path = f"appliances/{key_of(house, 'dishwasher')}"
    send(house, path, "acts-stage-0", f"{path}/stages", what="add")
    step_back(house, open_page(house, path))
    fields = {"tab": "t", "sequence": "1", "revision": "1"}
    answer = house.client.post(f"{house.address(PLAN)}/{path}/delete", data=fields)
    step_back(house, Page(answer.text))
    told = ["Brought back", "Taken out", "Taken back: stage added", "Stage added"]

    for line, words in zip(past(house, "dishwasher"), told, strict=True):
        assert words in line


def test_a_file_that_changed_it_is_a_line(house: House) -> None:
    """What came with a household file is told figure by figure."""
    document = house.document
    kettle = next(one for one in document["appliances"] if one["id"] == "kettle")
    kettle["stages"][0]["watts"] = 1800
    with house.database.session() as session:
        about = {"household_key": house.key, "tab": "file", "sequence": 1, "link_key": None}
        apply(session, ReplaceHousehold(**about, document=document))
        session.commit()

    assert "By a household file: draws 2000 W \u2192 1800 W" in past(house)[0]


def test_what_the_source_says_of_itself_is_said_once() -> None:
    """A text that begins with its kind needs no kind before it."""
    told = rested_on({"source": {"kind": "common practice", "text": "Common practice, no source: half."}})

    assert told == "typical of its kind; Common practice, no source: half"
    assert rested_on({}) == "typical of its kind"
