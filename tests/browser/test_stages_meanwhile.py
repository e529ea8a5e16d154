"""Two people have one programme open: what is typed goes with its stage, or is told with nothing stored."""

from playwright.sync_api import expect

from tests.browser.conftest import Open, Site
from tests.browser.test_editors import editor, put, stored

PLANS = ("laundry",)


def test_what_is_typed_goes_with_its_stage(open_page: Open, site: Site) -> None:
    """Stored where the stage stands now; refused and kept there too; told where the stage is gone."""
    mine, other = open_page(), open_page()
    count = len(stored(site, "dishwasher")["stages"])
    mine.goto(editor(site, "dishwasher"))
    for number in (1, 2, 3):
        mine.locator(f"#fold-stage-{number} > summary").click()
    put(mine, "stage-3-watts", "plenty")
    expect(mine.locator("#fault-stage-3-watts")).to_be_visible()
    other.goto(editor(site, "dishwasher"))
    other.locator("#fold-stage-0 > summary").click()
    other.locator("#after-stage-0").click()
    expect(other.locator("details.stage")).to_have_count(count + 1)

    put(mine, "stage-1-watts", "95 W")
    expect(mine.locator("#stage-2-watts")).to_have_value("95")
    expect(mine.locator("#stage-1-watts")).to_have_value("100")
    expect(mine.locator("#stage-4-watts")).to_have_value("plenty")
    expect(mine.locator("#fault-stage-4-watts")).to_be_visible()
    expect(mine.locator("#stage-3-watts")).to_have_value("1600")
    assert [one["watts"] for one in stored(site, "dishwasher")["stages"]][1:4] == [100, 95, 1600]

    other.reload()
    other.locator("#fold-stage-3 > summary").click()
    other.locator("#remove-stage-3").click()
    expect(other.locator("#stage-3-watts")).not_to_have_value("1600")
    before = stored(site, "dishwasher")
    put(mine, "stage-3-watts", "1700 W")
    expect(mine.locator("#wrong")).to_contain_text("\u20181700 W\u2019")
    expect(mine.locator("#stage-3-watts")).to_have_value("plenty")
    assert stored(site, "dishwasher") == before
