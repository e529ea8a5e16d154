"""A plan that does not fit offers a change that makes it fit, and its button does just that."""

from collections.abc import Callable
from typing import Any

import pytest

from app.engine.assess import assess
from app.engine.day import lay_day
from app.household.file import household_from
from app.household.resolve import resolve
from app.store.households import import_household, load
from app.web import words
from app.web.planned import Planned
from tests.households import with_plans
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


@pytest.mark.parametrize(
    ("overload", "first", "then"),
    [
        # The pump comes with the taps: nobody placed it, and its start alone is too much.
        ([[3600, 5]], "It does not fit even with every run left off.", "a machine with a lower start, or a larger inv"),
        ([[6000, 5]], "No single change makes it fit.", "or move them apart."),
    ],
)
def test_nobody_is_told_to_move_what_comes_by_itself(overload: list[Any], first: str, then: str) -> None:
    """Where no single change helps, and none of the runs makes it, what could help is named instead."""
    document = with_plans("ordinary")
    document["supply"]["inverter"] |= {"rated_va": 2500, "continuous_w": [[25, 2400]], "overload": overload}
    household = household_from(document)
    resolved = resolve(household, "ordinary")
    plan = Planned(household, lay_day(resolved), assess(household, "ordinary"))
    lead, why = words.no_way(resolved, plan.by_itself)

    assert lead == first
    assert then in why
    assert ("Well pump (starting)" in why) == (first != "No single change makes it fit.")


def test_a_battery_that_a_restart_pulls_too_low_is_told_by_its_voltage() -> None:
    """The inverter gives three times what comes back after a power cut; the battery does not."""
    document = with_plans("ordinary")
    document["supply"]["inverter"] |= {
        "rated_va": 30_000, "continuous_w": [[25, 30_000]], "overload": [[60_000, 300]], "cut_off_v": 48,
        "restart_v": 51, "cut_off_delay_s": 0,
    }  # fmt: skip
    document["supply"]["battery"]["module_resistance_ohm"] = 0.2
    household = household_from(document)
    resolved = resolve(household, "ordinary")
    plan = Planned(household, lay_day(resolved), assess(household, "ordinary"))
    _, why = words.no_way(resolved, plan.by_itself)

    assert "That would pull the battery below the 48.0\u00a0V at which the inverter cuts out. What would help:" in why
    assert why.endswith("or a larger battery.")


def test_what_is_too_much_alone_is_not_to_be_moved() -> None:
    """A pump whose start alone is more than the inverter gives, planned by somebody: no hour makes it fit."""
    document = with_plans("ordinary")
    del document["supply"]["water"]
    document["scenarios"][0]["runs"] = [{"id": "pump", "appliance": "well-pump", "start": "08:00"}]
    document["supply"]["inverter"] |= {"rated_va": 2500, "continuous_w": [[25, 2400]], "overload": [[3000, 5]]}
    household = household_from(document)
    said = words.sentence(resolve(household, "ordinary"), assess(household, "ordinary"))

    assert said.endswith(
        "At 08:00 or any other time Well pump alone is too much: leave it off, or see to a lower start or a larger"
        " inverter."
    )


def test_a_plan_without_a_way_says_what_there_is_to_do(house: House) -> None:
    """The page says it where the ways would stand."""
    document = house.document
    document["supply"]["inverter"] |= {"rated_va": 2500, "continuous_w": [[25, 2400]], "overload": [[3600, 5]]}
    with house.database.session() as session:
        key = import_household(session, document | {"name": "Small inverter"}, None)
        session.commit()
        stored = load(session, key)
    assert stored is not None
    plan = next(one for one in stored.scenarios if one.id == "ordinary")
    page = Page(house.client.get(f"/h/{key}/{plan.key}?part=ways").text)

    assert "even with every run left off" in page.by_id("day-ways").text
    assert "move them apart" not in page.by_id("day-ways").text
