"""Side by side: two to four plans, differences counted from any of them, and what was wrong with what was asked."""

from collections.abc import Iterator
from typing import Any

import plotly.graph_objects as go
import pytest

from app.engine.assess import assess
from app.store.commands import AddPlan, RemovePlan, apply
from app.store.session import Database
from tests.application import assess_day_once, ways_out_once
from tests.databases import sqlite_url
from tests.households import with_plans
from tests.web.conftest import House, houses
from tests.web.markup import Page


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """The demo, one more what-if, and a plan that was deleted; nothing changes while it is looked at."""
    database = Database(sqlite_url(tmp_path_factory.mktemp("side")))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("app.web.planned.assess_day", assess_day_once)
        patch.setattr("app.web.planned.ways_out", ways_out_once)
        make = houses(database, with_plans("ordinary", "laundry", "shed"))
        house = make("owner")
        about: dict[str, Any] = {"household_key": house.key, "tab": "t", "link_key": None}
        softer = {"id": "softer", "name": "Bigger inverter", "date": "2026-05-19", "parent": "shed"}
        generator = {"rated_w": 4000, "charger_w": 1500, "start_below": 0.3, "stop_above": 0.6}
        changes = {"supply": {"inverter": {"rated_va": 5900}, "generator": generator}}
        with database.session() as session:
            apply(session, AddPlan(**about, sequence=1, document=softer | {"changes": changes}))
            gone = apply(session, AddPlan(**about, sequence=2, document={"name": "Gone", "date": "2026-05-01"}))
            apply(session, RemovePlan(**about, sequence=3, scenario_key=gone.part_key))
            session.commit()
        house.gone = gone.part_key  # type: ignore[attr-defined]
        house.reader = make("reader")  # type: ignore[attr-defined]
        yield house
    database.close()


def key(house: House, plan: str) -> str:
    return house.address(plan).rpartition("/")[2]


def look(house: House, plan: str, *beside: str, status: int = 200, **more: str) -> Page:
    """The page. beside: ids of plans, or keys."""
    keys = [key(house, one) if len(one) < 30 else one for one in beside]
    answer = house.client.get(
        f"{house.address(plan)}/side-by-side", params=[*(("with", one) for one in keys), *more.items()]
    )
    assert answer.status_code == status, answer.text
    return Page(answer.text)


def cells(page: Page, name: str) -> list[str]:
    """What each plan has of a row."""
    label = next(one for one in page.all("th") if one.text.startswith(name))
    assert label.parent is not None
    body = label.parent.parent
    assert body is not None
    return [one.text for one in page.all("td") if one.inside(body)]


def test_a_what_if_stands_beside_what_it_is_built_on(house: House) -> None:
    """Without being asked; the sentence says how it stands, why, and what it costs; the figures are the engine's."""
    page = look(house, "shed")
    verdict = page.by_id("decides").text

    assert verdict.startswith("Boat shed opens could cut out: inverter, for a start, 10.3 kVA of 9.0 kVA")
    assert "An ordinary day only just fits" in verdict
    own = assess(house.stored.household, "shed").limit("inverter_overload")
    assert own is not None
    assert cells(page, "Inverter, for a start")[0].startswith(f"{own.use / 1000:.1f} kVA")
    assert cells(page, "Bandsaw")[1] == "not there"
    assert cells(page, "How often the worst comes") == [
        "once in 6 such days 0.176 times on such a day, once in 5.67 days",
        "never less often",
    ]
    assert any("How often is a guess about habits" in one.text for one in page.all("p"))
    assert cells(page, "Charge at noon, next day") == ["100 %", "100 % same"]
    assert "Bandsaw: new: 1.1 kW, starts with 4.6 kVA" in page.by_id("differs-A").parent.text  # type: ignore[union-attr]
    found = look(house, "shed", ways="1").by_id("decides").text
    assert "it only just fits if Air compressor waits until 22:40" in found


def test_what_heats_for_too_long_is_no_start(house: House) -> None:
    """Laundry day's heaters are above a level for a while: that is named as on its own page, and in the table."""
    page = look(house, "laundry")
    said = page.by_id("decides").text
    day = house.client.get(house.address("laundry"), params={"unfold": "all-limits"}).text.replace("\u00a0", " ")

    assert "inverter, above 5.8 kVA for 48 s of the 1 min allowed" in said
    assert "bove 5.8 kVA for 48 s of the 1 min allowed" in day
    assert "start" not in said
    (cell,) = cells(page, "Inverter, for a short time")
    assert "above 5.8 kVA for 48 s of 1 min" in cell
    assert "Inverter, for a short time" in day
    both = look(house, "laundry", "shed")
    first, second = cells(both, "Inverter, for a start")  # something starts in the worse of them
    assert ("above 5.8 kVA" in first, "above" in second) == (True, False)


def test_differences_count_from_any_plan_and_a_phone_shows_two(house: House) -> None:
    """Three plans: the one counted from has none, the others theirs; the third is left out on a phone."""
    page = look(house, "ordinary", "shed", "laundry", **{"from": key(house, "shed"), "to": key(house, "laundry")})
    first, second, third = cells(page, "Inverter, for a start")

    assert ("−4.1 kVA" in first, "kVA" in second.partition("of")[2].partition("Could")[2]) == (True, False)
    assert "−1.6 kVA" in third
    assert [one.text.split()[1] for one in page.all("div", kind="head") if "off" in one.classes][:1] == ["An"]
    four = look(house, "ordinary", "shed", "laundry", "softer")
    assert len(four.all("div", kind="head")) == 4
    assert not [one for one in four.elements if one.get("id") == "side-add"]
    assert "rated power: 5000 VA → 5900 VA" in four.by_id("differs-D").parent.text  # type: ignore[union-attr]


def test_what_each_needs_at_least_is_told_when_it_is_asked_for(house: House) -> None:
    """Figures with what there is, how it was found, and a caution; the larger plan needs more."""
    folded = look(house, "ordinary", "shed")
    assert [one.get("id") for one in folded.elements if one.get("id") in ("show-needs", "needs-how")] == ["show-needs"]
    assert not [one for one in folded.all("table") if one.inside(folded.by_id("needs"))]
    page = look(house, "ordinary", "shed", needs="1")
    mine, other = cells(page, "Inverter, for hours, at 25")

    assert mine != other
    assert "licensed person" in page.by_id("needs").text
    assert len(page.by_id("needs-how").text) > 200
    assert "without the generator" not in page.by_id("needs").text
    assert "without the generator" in look(house, "ordinary", "softer", needs="1").by_id("needs").text


def test_the_drawing_and_its_closer_look_are_of_the_same_lines(house: House) -> None:
    """The library takes the figure; a table has every hour."""
    params = [("with", key(house, "shed"))]
    figure = house.client.get(f"{house.address('ordinary')}/side-by-side/figure", params=params).json()
    go.Figure(data=figure["data"], layout=figure["layout"])
    worst = next(one for one in figure["data"] if one["meta"] == {"kind": "worst", "letter": "B"})

    assert max(worst["y"]) == assess(house.stored.household, "shed").demand.peak_worst_w
    page = look(house, "ordinary", "shed")
    assert len([one for one in page.all("tr") if one.inside(page.by_id("side-hours"))]) == 37


@pytest.mark.parametrize(
    ("beside", "more", "status", "says"),
    [
        (["ordinary"], {}, 422, "A plan beside itself"),
        (["shed", "shed"], {}, 422, "named twice"),
        (["shed", "laundry", "softer", "0" * 32], {}, 404, "no such plan in this household"),
        (["f" * 32], {}, 404, "no such plan"),
        (["gone"], {}, 410, "“Gone” was deleted"),
        (["shed"], {"from": "f" * 32}, 422, "cannot be counted from a plan that is not shown"),
        (["x" * 5000], {}, 404, "no such plan"),
    ],
)
def test_what_cannot_stand_beside_is_said_and_the_rest_is_shown(
    house: House, beside: list[str], more: dict[str, str], status: int, says: str
) -> None:
    """A plan with itself, twice, of another household, deleted, or counted from though not shown."""
    named = [house.gone if one == "gone" else one for one in beside]  # type: ignore[attr-defined]
    page = look(house, "ordinary", *named, status=status, **more)

    assert says in page.by_id("wrong").text
    assert len(page.all("div", kind="head")) == 1 + len({one for one in named if len(one) < 30} - {"ordinary"})


def test_more_than_four_and_a_deleted_plans_own_page(house: House) -> None:
    """At most four; a deleted plan's page shows another and says so; a reader may look, a stranger not."""
    keys = [one.key for one in house.stored.scenarios if one.id != "ordinary"]
    address = f"{house.address('ordinary')}/side-by-side"
    assert house.client.get(address, params=[("with", one) for one in [*keys, *keys]]).status_code == 422
    gone = house.client.get(f"/h/{house.key}/{house.gone}/side-by-side")  # type: ignore[attr-defined]
    assert (gone.status_code, "was deleted" in gone.text) == (410, True)
    reader = house.reader  # type: ignore[attr-defined]
    answer = reader.client.get(address)
    assert (answer.status_code, 'method="post"' in answer.text) == (200, False)
    assert house.client.get(f"/h/{house.key}/{'0' * 32}/side-by-side").status_code == 404


def test_the_differences_come_before_the_drawing_and_few_are_first(house: House) -> None:
    """In the page itself: the sentence, what differs most, the drawing, the plans; the rest is one tap away."""
    page = look(house, "ordinary", "shed", "laundry", "softer")
    order = ["decides", "h-first", "more-limits", "side-hours", "plans-shown", "needs"]
    assert [one["id"] for one in page.elements if one.get("id") in order] == order
    folds = [one for one in page.all("details") if one["id"].startswith("more-")]
    labels = [one for one in page.all("th") if one.get("scope") == "rowgroup"]
    first = [one.text for one in labels if not any(one.inside(fold) for fold in folds)]
    assert first[0].startswith("Inverter, for a start")
    assert {"How often the worst comes, if habits are independent", "Energy of the day, typical"} <= set(first)
    assert len(first) <= 8 < len(labels)
    assert not [fold for fold in folds if fold.get("open") is not None]


def test_four_plans_have_a_sentence_each_and_the_worst_first(house: House) -> None:
    """That they are other days is said once."""
    page = look(house, "ordinary", "laundry", "shed", "softer")
    decides = page.by_id("decides")
    said = [one.text for one in page.all("li") if one.inside(decides)]
    assert [one.partition(" could cut out:")[0] for one in said[:2]] == ["Boat shed opens", "Bigger inverter"]
    assert said[2].startswith("Laundry day is fine, but only for a while")
    assert decides.text.count("own sun and charge") == 1
    assert "B, C and D are other days than A, each with its own sun and charge." in decides.text
    two = look(house, "ordinary", "laundry").by_id("decides").text
    assert two.count("on another day, with its own sun and charge") == 1


def test_a_plan_that_is_put_beside_is_the_one_a_phone_shows_and_may_be_the_last_to_go(house: House) -> None:
    """Left out, it does not come back as the nearest one; alone, a plan asks for another."""
    page = look(house, "shed")
    add = next(one["href"] for one in page.all("a") if one.text == "Laundry day" and "with=" in str(one.get("href")))
    three = Page(house.client.get(add).text)
    heads = [one for one in three.all("div") if "head" in one.classes]
    assert [("off" in one.classes, "Laundry" in one.text) for one in heads] == [
        (False, False), (True, False), (False, True),
    ]  # fmt: skip
    out = next(one["href"] for one in page.all("a") if one.get("aria-label") == "Leave out An ordinary day")
    alone = Page(house.client.get(out).text)
    assert len([one for one in alone.all("div") if "head" in one.classes]) == 1
    assert [one.text for one in alone.all("p", kind="choose-one")] == ["Choose a plan to put beside Boat shed opens."]
