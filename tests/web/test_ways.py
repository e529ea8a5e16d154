"""A plan that does not fit offers a change that makes it fit, and its button does just that."""

from collections.abc import Callable

from tests.web.conftest import HTMX, House
from tests.web.markup import Page


def test_a_plan_that_does_not_fit_says_where_to_look_for_a_way(house: House) -> None:
    """The page itself only links to the search, which takes a while; the script follows the link."""
    page = house.page("shed")
    box = page.by_id("day-ways")

    assert "part=ways" in box["hx-get"]
    assert [one for one in page.all("a") if one.inside(box) and "part=ways" in one["href"]]


def test_a_plan_that_fits_offers_none(house: House) -> None:
    """Nothing is looked for where nothing is wrong."""
    box = house.page("ordinary").by_id("day-ways")

    assert box.text == ""
    assert box.get("hx-get") is None


def test_the_offered_change_makes_the_plan_fit(house: House, htmx: bool) -> None:
    """Sending the form of the offered way stores the change, and the plan is not red any more."""
    page = Page(house.client.get(f"{house.address('shed')}?part=ways").text)
    box = page.by_id("day-ways")
    form = next(one for one in page.all("form") if one.inside(box))
    button = next(one for one in page.all("button") if one.inside(form))
    fields = {one["name"]: one["value"] for one in page.all("input") if one.inside(form)}

    assert "Move Air compressor from" in form.text
    answer = house.client.post(
        form["action"], data=fields | {button["name"]: button["value"]}, headers=HTMX if htmx else {}
    )

    assert answer.status_code == 200
    verdict = next(
        one for one in house.page("shed").all("strong") if "verdict" in (one.parent.classes if one.parent else ())
    )
    assert not {"s-over", "s-chance"} & set(verdict.classes)


def test_a_reader_is_offered_nothing_to_press(house_of: Callable[..., House]) -> None:
    """Who may only look gets no button that would be refused."""
    reader = house_of("reader")
    page = Page(reader.client.get(f"{reader.address('shed')}?part=ways").text)

    assert page.by_id("day-ways").text == ""
